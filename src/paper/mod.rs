//! Graded papers: what is asked, how it is sat, how it is marked, and what a group has not understood.

pub mod answering;
pub mod batch;
pub mod check;
pub mod competency;
pub mod draw;
pub mod exam;
pub mod group;
pub mod item;
pub mod loss;
pub mod mark;
pub mod marked;
pub mod opening;
pub mod report;
pub mod result;
pub mod schema;
pub mod seal;
pub mod show;
pub mod sit;
pub mod stats;
pub mod told;
pub mod wrong;

use crate::element::{Element, Fault, Severity, Standard};
use crate::judge::judgement::{Finding, Form};
use item::Item;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// A paper, checked.
#[derive(Debug, Clone)]
pub struct Paper {
    /// The file, as it was named.
    pub path: String,
    /// SHA-256 of the file's text in hexadecimal digits; line ends do not count.
    pub fingerprint: String,
    /// One line for lists.
    pub title: String,
    /// Words shown before the first item.
    pub preface: Option<String>,
    /// The rule set.
    pub standard: Standard,
    /// What items are drawn from.
    pub seed: u64,
    /// Each person gets other values.
    pub own_values: bool,
    /// How it is sat.
    pub conditions: Conditions,
    /// Per cent to pass.
    pub pass_mark: u8,
    /// Findings that fail the paper whatever the mark.
    pub fails: Vec<Outright>,
    /// How far the form of a reply counts.
    pub form: Form,
    /// Whose calls and values the crew uses.
    pub operator: String,
    /// Items that are written out.
    pub written: Vec<Item>,
    /// What is drawn.
    pub parts: Vec<Part>,
}

/// How a paper is sat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Conditions {
    /// Minutes for all of it.
    pub minutes: Option<u32>,
    /// Seconds for each item.
    pub seconds: Option<u32>,
    /// A transmission is there only as long as it takes to say it.
    pub once: bool,
    /// Hints can be asked for.
    pub hints: bool,
    /// Replies to one item.
    pub replies: u8,
    /// How often a person may sit it.
    pub sittings: u32,
    /// When it is told what was wrong.
    pub feedback: Feedback,
}

/// When it is told what was wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feedback {
    /// After the last item.
    End,
    /// After each item.
    Item,
    /// Never: the mark alone is told.
    None,
}

impl Feedback {
    /// Every one with its name in files.
    pub const ALL: [(&'static str, Self); 3] =
        [("end", Self::End), ("item", Self::Item), ("none", Self::None)];
}

/// A part of a paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// One line, shown when it begins.
    pub title: Option<String>,
    /// How many items are drawn.
    pub items: usize,
    /// From what.
    pub source: Source,
}

/// What the items of a part are drawn from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// Transmissions, and with airports calls to stations.
    Radio {
        /// Ids of topics; empty is all.
        topics: Vec<String>,
        /// Names of airports; empty is none.
        airports: Vec<String>,
        /// From 1 to 5.
        difficulty: Option<u8>,
    },
    /// Calls of the crew, with whether their answer is meant; and checklists.
    Crew {
        /// Ids.
        calls: Vec<(String, bool)>,
        /// Ids.
        checklists: Vec<String>,
    },
}

/// A finding that fails a paper whatever the mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outright {
    /// Of this element; of any, if left out.
    pub element: Option<Element>,
    /// Of this fault; of any, if left out.
    pub fault: Option<Fault>,
    /// Only what can hurt someone.
    pub critical: bool,
}

impl Outright {
    /// `runway wrong`, `callsign missing`, `any wrong`, `critical wrong`, `critical`.
    ///
    /// # Errors
    /// What is allowed.
    ///
    /// ```
    /// use hearback::paper::Outright;
    /// assert_eq!(Outright::parse("runway wrong").unwrap().to_string(), "runway wrong");
    /// assert!(Outright::parse("critical").unwrap().fault.is_none());
    /// assert!(Outright::parse("runwy wrong").unwrap_err().contains("`runway`"));
    /// ```
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut words = text.split_whitespace();
        let what = words.next().unwrap_or_default();
        let (element, critical) = match what {
            "critical" => (None, true),
            "any" => (None, false),
            name => match Element::parse(name) {
                Some(element) => (Some(element), false),
                None => {
                    let known = Element::ALL.iter().map(|element| element.name());
                    let known: Vec<&str> = ["critical", "any"].into_iter().chain(known).collect();
                    let help = crate::diagnostic::suggestion(name, &known).unwrap_or_default();
                    return Err(format!("unknown element `{name}`; {help}"));
                }
            },
        };
        let fault = match words.next() {
            None => None,
            Some(word) => match Fault::parse(word) {
                Some(fault) => Some(fault),
                None => {
                    let known = Fault::ALL.map(Fault::name);
                    let help = crate::diagnostic::suggestion(word, &known).unwrap_or_default();
                    return Err(format!("unknown fault `{word}`; {help}"));
                }
            },
        };
        if words.next().is_some() || (what == "any" && fault.is_none()) {
            return Err(
                "write an element, `any` or `critical`, and a fault, for instance `runway wrong`".to_owned()
            );
        }
        Ok(Self { element, fault, critical })
    }

    /// True if this finding fails the paper; advice never does.
    #[must_use]
    pub fn fits(&self, element: Element, fault: Fault, severity: Severity) -> bool {
        severity > Severity::Advice
            && self.element.is_none_or(|own| own == element)
            && self.fault.is_none_or(|own| own == fault)
            && (!self.critical || severity == Severity::Critical)
    }

    /// The same for a finding of the judge.
    #[must_use]
    pub fn meets(&self, finding: &Finding) -> bool {
        self.fits(finding.element, finding.fault, finding.severity)
    }
}

impl std::fmt::Display for Outright {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let what = match self.element {
            Some(element) => element.name(),
            None if self.critical => "critical",
            None => "any",
        };
        f.write_str(what)?;
        self.fault.map_or(Ok(()), |fault| write!(f, " {}", fault.name()))
    }
}

/// SHA-256 of a text in hexadecimal digits; a line may end as it ends on any system.
#[must_use]
pub fn fingerprint(text: &str) -> String {
    hexadecimal(&Sha256::digest(text.replace("\r\n", "\n")))
}

/// Bytes in hexadecimal digits.
#[must_use]
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}
