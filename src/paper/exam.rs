//! A paper with its items drawn: what each person gets, and that it is as hard for everybody.

use super::Paper;
use super::draw::{Drawing, Shortage};
use super::item::Item;
use crate::crew::{CrewBook, Operator};
use crate::drill::values::Values;
use crate::rules::RuleSet;
use crate::scenario::load::Library;
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// A paper with its items, and what they are judged by.
pub struct Exam {
    /// The paper.
    pub paper: Paper,
    /// The rule set.
    pub rules: Arc<RuleSet>,
    /// The words of the crew.
    pub book: Arc<CrewBook>,
    /// Items in order, each in one form or several.
    pub slots: Vec<Slot>,
}

/// One item of a paper, in the forms that it can have.
#[derive(Debug, Clone)]
pub struct Slot {
    /// The part that it belongs to, from 0; none if it is written out.
    pub part: Option<usize>,
    /// The same words with other values; the first is that of the paper.
    pub forms: Vec<Item>,
}

impl Exam {
    /// Draws the items of a paper.
    ///
    /// # Errors
    /// What the content cannot supply, for each part that lacks something.
    pub fn draw(
        paper: Paper,
        rules: Arc<RuleSet>,
        book: Arc<CrewBook>,
        library: &Library<'_>,
    ) -> Result<Self, Vec<Shortage>> {
        let drawing = Drawing::new(&paper, &rules, &book, library);
        let mut slots: Vec<Slot> =
            paper.written.iter().map(|item| Slot { part: None, forms: vec![item.clone()] }).collect();
        let mut short = Vec::new();
        for (number, part) in paper.parts.iter().enumerate() {
            match drawing.part(number, part) {
                Ok(forms) => slots.extend(forms.into_iter().map(|forms| Slot { part: Some(number), forms })),
                Err(what) => short.push((number, what)),
            }
        }
        if short.is_empty() { Ok(Self { paper, rules, book, slots }) } else { Err(short) }
    }

    /// The items of one person's sitting: the name decides which forms.
    #[must_use]
    pub fn items(&self, name: &str, sitting: u32) -> Vec<&Item> {
        let who = format!("{}|{}|{sitting}", self.paper.fingerprint, plain(name));
        let mut chance = Values::from_seed(self.paper.standard, Sha256::digest(who).into());
        self.slots
            .iter()
            .filter_map(|slot| {
                let k = chance.below(slot.forms.len());
                slot.forms.get(k)
            })
            .collect()
    }

    /// What the crew's calls are judged by.
    #[must_use]
    pub fn operator(&self) -> Operator {
        self.book.operator(&self.paper.operator).cloned().unwrap_or_default()
    }

    /// Items whose forms are not equally hard, counted from 1, each with what differs; empty shows that all are.
    #[must_use]
    pub fn unequal(&self) -> Vec<(usize, String)> {
        let mut out = Vec::new();
        for (number, slot) in self.slots.iter().enumerate() {
            let Some(first) = slot.forms.first() else { continue };
            let hard = first.difficulty(&self.rules);
            for form in slot.forms.iter().skip(1) {
                if form.skill != first.skill || form.difficulty(&self.rules) != hard {
                    out.push((number + 1, format!("\"{}\" and \"{}\"", first.asked(), form.asked())));
                }
            }
        }
        out
    }
}

/// A name as it tells people apart: without case, and with one blank between words.
#[must_use]
pub fn plain(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
