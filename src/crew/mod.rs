//! Calls between two pilots and with cabin and ground: the book of calls, checklists and briefings, and its judges.

mod book;
mod briefing;
mod content;
mod context;
mod detection;
mod duration;
mod judge;
mod line;
mod load;
mod said;
mod scan;
mod schema;
mod speaking_up;

pub use book::{
    Call, Change, Channel, Checklist, CrewBook, Item, Lines, Operator, Position, ReadBackSlip, Times,
    Watching, names,
};
pub use briefing::{Briefing, BriefingPart, judge_briefing};
pub use context::SpeakingUp;
pub use detection::{Tally, sensitivity_and_bias};
pub(crate) use judge::filled;
pub use judge::{Role, judge_call, judge_item};
pub use line::{is_crew_line, judge_line};
pub(crate) use schema::{crew_schema, operator_schema};
pub use speaking_up::judge_speaking_up;
