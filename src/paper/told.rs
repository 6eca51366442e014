//! What is told of an answered item: what was wrong in the reply, and what would have been right.

use super::answering::Ended;
use super::item::{Item, Task};
use crate::element::Verdict;
use crate::feedback::reply_rows;
use crate::session::console::Timing;
use crate::session::screen::{Row, Tone, hang};

/// Columns before what is said.
const COLUMN: usize = 16;

/// The first reply as it was judged, whether a later one was right, and a right reply unless it was one.
#[must_use]
pub fn told_rows(item: &Item, ended: &Ended, timing: Timing, width: usize) -> Vec<Row> {
    let judgement = &ended.answer.judgement;
    let mut rows = Vec::new();
    if ended.corrected.is_some() {
        let text = "A later reply was right and counts half; the first one:";
        rows.extend(hang((Tone::Plain, ""), 4, Tone::Faint, text, width));
    }
    if ended.answered {
        let call = matches!(item.task, Task::RadioCall { .. });
        rows.extend(reply_rows(&ended.answer.reply, judgement, call, timing, width));
    } else {
        rows.push(Row::of(Tone::Bad, "    not answered"));
    }
    if !ended.answered || judgement.verdict > Verdict::Correct {
        let model = format!("\"{}\"", judgement.model);
        rows.extend(hang((Tone::Label, "    right is"), COLUMN, Tone::Voice, &model, width));
    }
    rows
}
