//! What marking makes of one result file: each reply judged again, and the mark that comes of it.

use crate::element::{Element, Fault, Verdict};
use crate::record::entry::{Found, Part};
use crate::record::moment;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// One person's paper, marked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Marked {
    /// The result file, as it was named.
    pub file: String,
    /// Who sat the paper, as the person wrote it. Anything may stand here: clean it before it is shown.
    pub name: String,
    /// Which sitting of this person, from 1.
    pub sitting: u32,
    /// When the first item was shown.
    #[serde(with = "moment")]
    pub started: Timestamp,
    /// Seconds from there to the end.
    pub seconds: u32,
    /// Every item of the paper, in order.
    pub items: Vec<MarkedItem>,
    /// What was wrong with the file, or is worth knowing of it.
    pub notices: Vec<Notice>,
    /// True if it belongs to the group's figures: not altered, of this paper, the sitting that counts.
    pub counts: bool,
    /// Per cent, the mean of the items' scores.
    pub mark: f64,
    /// Findings that fail the paper outright: number of the item, element, fault.
    pub outright: Vec<(u32, Element, Fault)>,
    /// The mark is the pass mark or more, and nothing fails outright.
    pub passed: bool,
}

/// One item, marked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarkedItem {
    /// Its number in the paper, from 1.
    pub number: u32,
    /// What is tried, the same for everybody: `icao/line-up/runway`, `call/to-v1`.
    pub skill: String,
    /// The same for readers: "Line up: runway".
    pub title: String,
    /// What was said or had happened, in this person's draw.
    pub asked: String,
    /// A right reply to it.
    pub model: String,
    /// The reply that counts, as it was typed; none if nothing was answered in time. Anything may stand here.
    pub reply: Option<String>,
    /// The overall call; `incomplete` without a reply.
    pub verdict: Verdict,
    /// From 0 to 100.
    pub score: u8,
    /// What the judge found, without what was overruled.
    pub findings: Vec<Found>,
    /// What was owed, and whether it came back.
    pub owed: Vec<Part>,
    /// A later reply was right: the slip was caught.
    pub corrected: bool,
    /// A hint was asked for.
    pub hinted: bool,
    /// Milliseconds from the prompt to Enter.
    pub ms: Option<u32>,
    /// How often the transmission was asked for again.
    pub again: u32,
    /// Findings that the leader overruled.
    pub overruled: Vec<Overruled>,
}

impl MarkedItem {
    /// Right, for statistics of right and wrong: nothing that was owed is wrong or missing.
    #[must_use]
    pub fn is_right(&self) -> bool {
        self.verdict <= Verdict::Nonstandard && self.reply.is_some()
    }
}

/// A finding that the leader took back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Overruled {
    /// What the finding concerned.
    pub element: Element,
    /// What was the matter with it.
    pub fault: Fault,
    /// Why it was taken back.
    pub reason: String,
    /// Who took it back.
    pub by: String,
    /// When.
    #[serde(with = "moment")]
    pub at: Timestamp,
}

/// Something about a result file that a leader must know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Notice {
    /// How much it matters.
    pub weight: Weight,
    /// What it is, in a sentence; cleaned of control characters.
    pub text: String,
}

/// How much a notice matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Weight {
    /// Worth knowing: another version of the program, no seal.
    Note,
    /// The file cannot be trusted, or is not of this paper: it does not count.
    Refused,
}
