//! Calls between two pilots and with cabin and ground: the book of calls and checklists, and its judge.

mod book;
mod detection;
mod judge;
mod line;
mod said;

pub use book::{
    Call, Change, Channel, Checklist, CrewBook, Item, Lines, Operator, Position, ReadBackSlip, Times,
    Watching, names,
};
pub use detection::{Tally, sensitivity_and_bias};
pub(crate) use judge::filled;
pub use judge::{Role, judge_call, judge_item};
pub use line::{is_crew_line, judge_line};
