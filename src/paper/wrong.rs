//! What was replied wrongly to an item: replies word for word, and values that came back instead, each with its count.
//!
//! However many people there are, no more than [`KEPT`] different ones are kept of an item.

use super::loss::{found_words, tidy};
use super::marked::MarkedItem;
use crate::airport::value::written;
use crate::element::{Element, Fault, Severity};
use crate::record::entry::Found;
use std::collections::{BTreeMap, HashMap};

/// Different wrong replies of an item, and different values of a fault, that are kept. What comes after them is counted
/// together.
pub const KEPT: usize = 256;

/// Characters of a reply that are kept.
const REPLY: usize = 160;

/// Faults of a reply that are told beside it.
const TOLD: usize = 6;

/// A wrong reply, and how often it came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongReply {
    /// As one of them typed it; capitals and blanks may differ in the others.
    pub text: String,
    /// How many people replied so.
    pub count: usize,
    /// What that one was asked.
    pub asked: String,
    /// All of them were asked the same.
    pub same: bool,
    /// What was wrong with it.
    pub what: Vec<String>,
}

/// A fault of one element, and how often it came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slip {
    /// Which element.
    pub element: Element,
    /// What was the matter with it.
    pub fault: Fault,
    /// How much the worst of them can hurt.
    pub severity: Severity,
    /// How often.
    pub count: usize,
    /// What was transmitted, what came back, and how often; the commonest first.
    pub values: Vec<(Option<String>, Option<String>, usize)>,
}

/// Expected, given.
type Pair = (Option<String>, Option<String>);

#[derive(Debug, Clone)]
struct Slips {
    severity: Severity,
    count: usize,
    values: HashMap<Pair, usize>,
}

/// What was wrong in the replies to one item.
#[derive(Debug, Clone, Default)]
pub(super) struct Wrongs {
    replies: HashMap<String, WrongReply>,
    /// Replies in words that are not kept.
    pub(super) others: usize,
    /// People without a reply.
    pub(super) silent: usize,
    slips: BTreeMap<(Element, Fault), Slips>,
}

impl Wrongs {
    pub(super) fn add(&mut self, item: &MarkedItem) {
        for found in &item.findings {
            self.slip(found);
        }
        let Some(reply) = &item.reply else {
            self.silent += 1;
            return;
        };
        if item.is_right() {
            return;
        }
        let text = tidy(reply, REPLY);
        let key = text.to_lowercase();
        let asked = tidy(&item.asked, REPLY);
        let heavy = item.findings.iter().filter(|f| matches!(f.fault, Fault::Wrong | Fault::Missing));
        let what: Vec<String> = heavy.take(TOLD).map(found_words).collect();
        if let Some(known) = self.replies.get_mut(&key) {
            known.count += 1;
            known.same &= known.asked == asked;
            // Which of them stands for all must not hang on the order of the files.
            if (&text, &asked, &what) < (&known.text, &known.asked, &known.what) {
                (known.text, known.asked, known.what) = (text, asked, what);
            }
        } else if self.replies.len() < KEPT {
            self.replies.insert(key, WrongReply { text, count: 1, asked, same: true, what });
        } else {
            self.others += 1;
        }
    }

    fn slip(&mut self, found: &Found) {
        let slips = self.slips.entry((found.element, found.fault)).or_insert_with(|| Slips {
            severity: found.severity,
            count: 0,
            values: HashMap::new(),
        });
        slips.count += 1;
        slips.severity = slips.severity.max(found.severity);
        let value = |value: &Option<String>| {
            value.as_deref().filter(|v| !v.is_empty()).map(|v| tidy(&written(found.element, v), 60))
        };
        let pair = (value(&found.expected), value(&found.given));
        if pair == (None, None) {
            return;
        }
        if let Some(count) = slips.values.get_mut(&pair) {
            *count += 1;
        } else if slips.values.len() < KEPT {
            slips.values.insert(pair, 1);
        }
    }

    /// The commonest replies first; of one count in the order of their letters.
    pub(super) fn replies(&self) -> Vec<WrongReply> {
        let mut out: Vec<WrongReply> = self.replies.values().cloned().collect();
        out.sort_by(|a, b| b.count.cmp(&a.count).then_with(|| a.text.cmp(&b.text)));
        out
    }

    /// The commonest faults first; of one count the more dangerous.
    pub(super) fn slips(&self) -> Vec<Slip> {
        let mut out: Vec<Slip> = self
            .slips
            .iter()
            .map(|(&(element, fault), slips)| {
                let mut values: Vec<_> =
                    slips.values.iter().map(|((e, g), n)| (e.clone(), g.clone(), *n)).collect();
                values.sort_by(|a, b| b.2.cmp(&a.2).then_with(|| a.cmp(b)));
                Slip { element, fault, severity: slips.severity, count: slips.count, values }
            })
            .collect();
        out.sort_by(|a, b| {
            (b.count, b.severity)
                .cmp(&(a.count, a.severity))
                .then_with(|| (a.element, a.fault).cmp(&(b.element, b.fault)))
        });
        out
    }
}
