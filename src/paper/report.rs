//! What a leader learns from a paper that a group has sat: all that is shown, whatever it is written as.

use super::competency::{GroupGrade, Observed};
use super::loss::{Need, Strength};
use super::stats::Figure;
use super::wrong::{Slip, WrongReply};
use crate::element::{Element, Fault, Standard, Verdict};
use jiff::Timestamp;

/// The number of the form of the JSON object.
pub const FORMAT: u32 = 1;

/// What counts for a figure, in words for those who read it.
pub const READING: &str = "An item is right if nothing that was owed is wrong or missing; a fault of form leaves it \
    right. No reply counts as wrong, with no points. Difficulty is the share of people who had it right, with the \
    95 % interval after Wilson. Discrimination is the correlation of an item with the others: near 0 it tells \
    nothing, below 0 look at the item. KR-20 and alpha tell how far the items agree, 1 at most: with few people they \
    move a lot from group to group. The standard error is what a mark may be off by chance. Needs are ordered by the \
    share lost at least, times the hazard: major counts three times minor, critical nine times.";

/// A paper, as far as the figures need it.
#[derive(Debug, Clone, PartialEq)]
pub struct PaperInfo {
    /// Its title.
    pub title: String,
    /// Its rule set.
    pub standard: Standard,
    /// Per cent.
    pub pass_mark: f64,
    /// Tells it from every other paper.
    pub fingerprint: String,
    /// Its items, in order.
    pub items: Vec<ItemInfo>,
}

/// An item, as far as it is the same for everybody.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ItemInfo {
    /// Its number, from 1.
    pub number: u32,
    /// `icao/line-up/runway`, `call/to-v1`.
    pub skill: String,
    /// For readers.
    pub title: String,
}

/// What is wanted of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// People in the order of their marks, with their places; else by name.
    pub ranking: bool,
    /// Numbers instead of names and files, in an order that tells nothing of either.
    pub pseudonyms: bool,
}

/// Ways to train what is needed.
#[derive(Clone, Copy)]
pub struct Ways<'a> {
    /// True if `hearback drill --topic` knows the topic.
    pub drilled: &'a dyn Fn(&str) -> bool,
    /// Scenarios that train a topic of the radio book, or what is called between the pilots under that id.
    pub scenarios: &'a dyn Fn(&str) -> Vec<String>,
}

/// All that is shown. Names, files and replies in it are cleaned of what could steer a screen, and cut.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupReport {
    /// The paper.
    pub paper: PaperInfo,
    /// What was wanted.
    pub options: Options,
    /// Those whose papers count.
    pub people: Vec<Person>,
    /// Files that do not count.
    pub apart: Vec<Apart>,
    /// Item by item.
    pub items: Vec<ItemReport>,
    /// Of the whole paper.
    pub figures: Figures,
    /// What the group should train next, the most dangerous first.
    pub needs: Vec<Need>,
    /// Commands that train it.
    pub commands: Vec<String>,
    /// Findings that the leader took back.
    pub overruled: Vec<TakenBack>,
    /// Practice grades of the group.
    pub grades: Vec<GroupGrade>,
}

/// One person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// The name, or a number.
    pub name: String,
    /// The result file; empty behind a number.
    pub file: String,
    /// Place by mark, from 1; those of one mark share it. None without a ranking.
    pub place: Option<usize>,
    /// Which sitting.
    pub sitting: u32,
    /// When it began; none behind a number, for the clock would tell who it was.
    pub started: Option<Timestamp>,
    /// How long it took.
    pub seconds: u32,
    /// Per cent.
    pub mark: f64,
    /// The mark is enough, and nothing fails outright.
    pub passed: bool,
    /// Findings that fail the paper outright: item, element, fault.
    pub outright: Vec<(u32, Element, Fault)>,
    /// What came back whenever it was owed.
    pub strengths: Vec<Strength>,
    /// What was lost, the most dangerous first.
    pub dangers: Vec<Need>,
    /// What the leader should know of the file.
    pub notices: Vec<String>,
    /// Item by item.
    pub cells: Vec<Cell>,
    /// Practice grades.
    pub grades: Vec<Observed>,
}

/// One person's reply to one item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cell {
    /// From 0 to 100.
    pub score: u8,
    /// The overall call; none without a reply.
    pub verdict: Option<Verdict>,
}

impl Cell {
    /// Right, for statistics of right and wrong.
    #[must_use]
    pub fn is_right(self) -> bool {
        self.verdict.is_some_and(|verdict| verdict <= Verdict::Nonstandard)
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self.verdict {
            None => "no reply",
            Some(Verdict::Correct) => "right",
            Some(Verdict::Nonstandard) => "form",
            Some(Verdict::Incomplete) => "incomplete",
            Some(Verdict::Incorrect) => "incorrect",
        }
    }

    /// One sign for it.
    #[must_use]
    pub fn sign(self) -> char {
        match self.verdict {
            None => '-',
            Some(Verdict::Correct) => '+',
            Some(Verdict::Nonstandard) => '~',
            Some(Verdict::Incomplete) => 'o',
            Some(Verdict::Incorrect) => 'x',
        }
    }
}

/// A file that does not count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apart {
    /// The file; empty behind a number.
    pub file: String,
    /// The name, or a number.
    pub name: String,
    /// Why.
    pub why: Vec<String>,
}

/// One item, over all people.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemReport {
    /// Which.
    pub info: ItemInfo,
    /// People who had it right.
    pub right: usize,
    /// People whose papers count.
    pub people: usize,
    /// Share of those who had it right.
    pub difficulty: Figure,
    /// Where that share lies, with 95 % confidence.
    pub interval: (f64, f64),
    /// Mean score, from 0 to 100.
    pub score: Figure,
    /// Correlation of right and wrong with the number of other items that were right.
    pub discrimination: Figure,
    /// Correlation with the number of all items that were right.
    pub item_total: Figure,
    /// KR-20 of the paper without it.
    pub without: Figure,
    /// Median time to Enter, in milliseconds.
    pub median_ms: Option<f64>,
    /// How often the transmission was asked for again.
    pub again: usize,
    /// People who asked for it again.
    pub again_people: usize,
    /// People without a reply.
    pub silent: usize,
    /// Wrong replies word for word, the commonest first.
    pub replies: Vec<WrongReply>,
    /// Wrong replies in other words, which are not kept.
    pub other_replies: usize,
    /// What was wrong in all replies, the commonest first.
    pub slips: Vec<Slip>,
}

impl ItemReport {
    /// What a leader should look at in this item, if anything.
    #[must_use]
    pub fn remark(&self) -> Option<&'static str> {
        match (self.difficulty, self.discrimination) {
            (Ok(0.0), _) => Some("nobody had it right: look at the item, or teach it"),
            (_, Ok(r)) if r <= 0.0 => Some("those who do well elsewhere do no better here: look at the item"),
            _ => None,
        }
    }
}

/// Figures of the whole paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// People who passed.
    pub passed: usize,
    /// Where the share of those who pass lies, with 95 % confidence.
    pub pass_interval: (f64, f64),
    /// Mean mark.
    pub mean: Figure,
    /// Standard deviation of the marks.
    pub deviation: Figure,
    /// A quarter, half and three quarters of the marks are below.
    pub quartiles: Option<[f64; 3]>,
    /// The lowest and the highest mark.
    pub range: Option<(f64, f64)>,
    /// Marks from 0 to below 10, to below 20 … and from 90 to 100.
    pub bins: [usize; 10],
    /// Of right and wrong.
    pub kr20: Figure,
    /// Of scores.
    pub alpha: Figure,
    /// Standard error of a mark, by alpha.
    pub error: Figure,
    /// Items of the same kind that would bring alpha to 0.80.
    pub items_for_80: Option<usize>,
}

/// A finding that the leader took back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// Number of the item.
    pub item: u32,
    /// Whose reply.
    pub person: String,
    /// What it concerned.
    pub element: Element,
    /// What was the matter with it.
    pub fault: Fault,
    /// Why it was taken back.
    pub reason: String,
    /// By whom.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

impl GroupReport {
    /// One sentence on what it is of.
    #[must_use]
    pub fn summary(&self) -> String {
        let people = match self.people.len() {
            0 => "Nobody's paper counts".to_owned(),
            1 => "1 person's paper counts".to_owned(),
            n => format!("{n} people's papers count"),
        };
        let apart = match self.apart.len() {
            0 => String::new(),
            1 => "; 1 file does not".to_owned(),
            n => format!("; {n} files do not"),
        };
        let items = crate::diagnostic::count(self.items.len(), "item");
        format!(
            "{people}{apart}. {items}, rule set {}, pass mark {} %.",
            self.paper.standard,
            mark(self.paper.pass_mark)
        )
    }
}

/// A mark with at most one decimal, no nearer to the pass mark than it is: cut, not rounded.
#[must_use]
pub fn mark(mark: f64) -> String {
    let tenths = (mark * 10.0 + 1e-9).floor() / 10.0;
    if tenths.fract() == 0.0 { format!("{tenths:.0}") } else { format!("{tenths:.1}") }
}

/// A time: `45 s`, `12 min 5 s`.
#[must_use]
pub fn time(seconds: u32) -> String {
    if seconds < 60 { format!("{seconds} s") } else { format!("{} min {} s", seconds / 60, seconds % 60) }
}
