//! Calls between two pilots and with cabin and ground: the book of calls and checklists, and its judge.

mod book;
mod judge;
mod line;
mod said;

pub use book::{Call, Checklist, CrewBook, Item, Lines, Operator};
pub use judge::{Role, judge_call, judge_item};
pub use line::{is_crew_line, judge_line};
