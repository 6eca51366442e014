//! Practice grades from 1 to 5 by competency, with the counts behind each: what a paper asked for, and what was shown.
//!
//! The scale is that of evidence-based training as the trade describes it: outcome, how many behaviours, how often
//! (own summary of the European and British table, `[verified]` in a published comparison). Where its words become numbers is
//! this program's own choice: [`CUTS`], the two caps, and what a behaviour is. Names of competencies `[memory: ICAO Doc
//! 9868]`; grade 1 means that training is needed `[memory: EASA AMC ORO.FC.231]`; "not observed" is a result of its own
//! `[verified]` (British guidance to the same rule).

use super::loss::{Piece, Subject};
use super::marked::MarkedItem;
use crate::diagnostic::count;
use crate::element::{Element, Fault, Severity};
use std::collections::BTreeMap;

/// What stands with every grade.
pub const CAUTION: &str = "Practice grade, not a competency assessment.";

/// Where the cuts lie, in words.
pub const CUT_WORDS: &str = "Under 25 % is 1 (few, rarely), from 25 % 2 (some, occasionally), from 50 % 3 (many, \
    regularly), from 75 % 4 (most), from 95 % 5 (all or almost all), of what the paper required; the lower of how many \
    and how often counts. With a critical value wrong and not corrected it is 1, with a critical item missed 2 at \
    most. These cuts and caps are this program's choice, no regulator's.";

/// What the program cannot see.
pub const UNSEEN: &str = "The program reads typed words. It does not hear tone, pace or pronunciation, and does not see \
    flying, attention, timing under load, or how two people work together. What it does not see it does not grade.";

/// Shares from which a grade of 2, 3, 4 and 5 is given `[this program's choice]`.
pub const CUTS: [f64; 4] = [0.25, 0.50, 0.75, 0.95];

/// Fewer opportunities than this are told as few `[this program's choice]`.
const FEW: usize = 5;

/// What is graded: those of the trade's competencies of which typed words show something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Competency {
    /// Read-backs and calls on the radio; listening to what others say there.
    Communication,
    /// Calls between the pilots, checklists and briefings.
    Procedures,
    /// Speaking up.
    Teamwork,
}

impl Competency {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Communication, Self::Procedures, Self::Teamwork];

    /// Its name in the trade.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Communication => "Communication",
            Self::Procedures => "Application of procedures",
            Self::Teamwork => "Leadership and teamwork",
        }
    }

    /// What is counted for it here.
    #[must_use]
    pub fn counted(self) -> &'static str {
        match self {
            Self::Communication => "read-backs and radio calls",
            Self::Procedures => "crew calls, checklists and briefings",
            Self::Teamwork => "speaking up, step by step",
        }
    }

    fn of(piece: &Piece) -> Self {
        let watched = matches!(piece.subject.topic.as_deref(), Some("watching" | "listening"));
        match piece.element {
            Element::Address
            | Element::Concern
            | Element::Evidence
            | Element::Proposal
            | Element::Agreement => Self::Teamwork,
            element if element < Element::Call || watched => Self::Communication,
            _ => Self::Procedures,
        }
    }
}

/// A line of evidence: what was required of one kind, and what was shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evidence {
    /// Which kind.
    pub what: &'static str,
    /// Came back right.
    pub shown: usize,
    /// Was required.
    pub required: usize,
}

/// Why a grade is no higher.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cap {
    /// A critical value was wrong, and not corrected.
    Unsafe,
    /// A critical item was missed, and is left to another safety net.
    Missed,
}

impl Cap {
    /// The reason in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Unsafe => "a critical value was wrong and not corrected: 1 at most",
            Self::Missed => "a critical item was missed: 2 at most",
        }
    }
}

/// What was seen of one person in one competency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Observed {
    /// Which.
    pub competency: Competency,
    /// The counts, by kind.
    pub evidence: Vec<Evidence>,
    /// Behaviours that came back right at least once: one element of a topic, or one call, is one.
    pub behaviours: usize,
    /// Behaviours that the paper required.
    pub behaviours_required: usize,
    /// Times that something came back right.
    pub shown: usize,
    /// Times that something was required.
    pub required: usize,
    /// Items with a critical value wrong and not corrected.
    pub unsafe_items: Vec<u32>,
    /// Items with something critical missed.
    pub missed_items: Vec<u32>,
}

impl Observed {
    /// The grade from 1 to 5; none if nothing was required: not observed.
    #[must_use]
    pub fn grade(&self) -> Option<u8> {
        if self.required == 0 {
            return None;
        }
        let how_many = step(self.behaviours, self.behaviours_required);
        let how_often = step(self.shown, self.required);
        let most = match self.cap() {
            Some(Cap::Unsafe) => 1,
            Some(Cap::Missed) => 2,
            None => 5,
        };
        Some(how_many.min(how_often).min(most))
    }

    /// Why the grade can be no higher.
    #[must_use]
    pub fn cap(&self) -> Option<Cap> {
        if !self.unsafe_items.is_empty() {
            Some(Cap::Unsafe)
        } else if !self.missed_items.is_empty() {
            Some(Cap::Missed)
        } else {
            None
        }
    }

    /// The evidence, line by line, in words.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let mut out: Vec<String> = self
            .evidence
            .iter()
            .map(|e| format!("{}: {} of {} right", e.what, e.shown, e.required))
            .collect();
        if self.required > 0 {
            out.push(format!(
                "how many: {} of {} shown at least once; how often: {} of {} times",
                self.behaviours, self.behaviours_required, self.shown, self.required
            ));
        }
        for (items, what) in [
            (&self.unsafe_items, "critical and wrong, not corrected"),
            (&self.missed_items, "critical and missed"),
        ] {
            if !items.is_empty() {
                out.push(format!("{what}: {}", item_words(items)));
            }
        }
        out
    }

    /// The grade in words, behind the evidence.
    #[must_use]
    pub fn words(&self) -> String {
        let Some(grade) = self.grade() else { return "not observed: nothing of it was required".to_owned() };
        let cap = self.cap().map_or(String::new(), |cap| format!(" ({})", cap.words()));
        let few = match self.required {
            n if n < FEW => format!("; only {}, a hint", count(n, "opportunity").replace("ys", "ies")),
            _ => String::new(),
        };
        format!("suggested practice grade {grade} of 5{cap}{few}")
    }
}

/// `item 3`, `items 3, 7`; many are cut short.
fn item_words(items: &[u32]) -> String {
    const SHOWN: usize = 12;
    let mut words: Vec<String> = items.iter().take(SHOWN).map(u32::to_string).collect();
    if items.len() > SHOWN {
        words.push(format!("and {} more", items.len() - SHOWN));
    }
    format!("item{} {}", if items.len() == 1 { "" } else { "s" }, words.join(", "))
}

/// The grade of a share.
fn step(shown: usize, required: usize) -> u8 {
    let share = shown as f64 / required.max(1) as f64;
    1 + CUTS.iter().filter(|cut| share >= **cut).count() as u8
}

/// One competency over the group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroupGrade {
    /// Which.
    pub competency: Competency,
    /// People with a practice grade of 1, 2, 3, 4 and 5.
    pub grades: [usize; 5],
    /// People of whom nothing was required.
    pub not_observed: usize,
    /// Times that something came back right, over all people.
    pub shown: usize,
    /// Times that something was required, over all people.
    pub required: usize,
    /// People with a critical value wrong and not corrected.
    pub unsafe_people: usize,
    /// People who missed something critical.
    pub missed_people: usize,
}

impl GroupGrade {
    /// Over all people, each with their grades.
    #[must_use]
    pub fn of(people: &[&[Observed]]) -> Vec<Self> {
        Competency::ALL
            .into_iter()
            .map(|competency| {
                let mut out = Self {
                    competency,
                    grades: [0; 5],
                    not_observed: 0,
                    shown: 0,
                    required: 0,
                    unsafe_people: 0,
                    missed_people: 0,
                };
                for seen in people.iter().flat_map(|all| all.iter()).filter(|o| o.competency == competency) {
                    match seen.grade().and_then(|grade| out.grades.get_mut(usize::from(grade) - 1)) {
                        Some(number) => *number += 1,
                        None => out.not_observed += 1,
                    }
                    out.shown += seen.shown;
                    out.required += seen.required;
                    out.unsafe_people += usize::from(!seen.unsafe_items.is_empty());
                    out.missed_people += usize::from(!seen.missed_items.is_empty());
                }
                out
            })
            .collect()
    }

    /// The counts in words; the grades come after them.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        if self.required == 0 {
            return vec!["not observed: nothing of it was required".to_owned()];
        }
        let mut out = vec![format!("{} of {} times right", self.shown, self.required)];
        for (people, what) in [
            (self.unsafe_people, "with a critical value wrong and not corrected"),
            (self.missed_people, "with something critical missed"),
        ] {
            if people > 0 {
                out.push(format!("{} {what}", persons(people)));
            }
        }
        let grades: Vec<String> =
            (1..=5).zip(self.grades).map(|(grade, n)| format!("{grade}: {n}")).collect();
        let unseen = match self.not_observed {
            0 => String::new(),
            n => format!("; not observed: {n}"),
        };
        out.push(format!("people by practice grade {}{unseen}", grades.join(", ")));
        out
    }
}

/// `1 person`, `3 people`.
#[must_use]
pub fn persons(number: usize) -> String {
    if number == 1 { "1 person".to_owned() } else { format!("{number} people") }
}

/// What one person's items show, taken item by item.
#[derive(Debug, Default)]
pub(super) struct Watch {
    kinds: BTreeMap<(Competency, &'static str), (usize, usize)>,
    behaviours: BTreeMap<(Competency, Subject, Element), bool>,
    unsafe_items: BTreeMap<Competency, Vec<u32>>,
    missed_items: BTreeMap<Competency, Vec<u32>>,
}

impl Watch {
    pub(super) fn add(&mut self, item: &MarkedItem, pieces: &[Piece]) {
        for piece in pieces {
            let competency = Competency::of(piece);
            if piece.owed {
                let counts = self.kinds.entry((competency, kind(piece))).or_default();
                counts.0 += usize::from(piece.lost.is_none());
                counts.1 += 1;
                *self.behaviours.entry((competency, piece.subject.clone(), piece.element)).or_default() |=
                    piece.lost.is_none();
            }
            if piece.lost != Some(Severity::Critical) {
                continue;
            }
            let wrong = |f: &&crate::record::entry::Found| {
                f.element == piece.element && f.fault == Fault::Wrong && f.severity == Severity::Critical
            };
            // What the station caught and the person then said right was rescued by another net.
            let list = if !item.corrected && item.findings.iter().find(wrong).is_some() {
                self.unsafe_items.entry(competency).or_default()
            } else {
                self.missed_items.entry(competency).or_default()
            };
            if list.last() != Some(&item.number) {
                list.push(item.number);
            }
        }
    }

    pub(super) fn observed(mut self) -> Vec<Observed> {
        Competency::ALL
            .into_iter()
            .map(|competency| {
                let of = |found: &Competency| *found == competency;
                let evidence: Vec<Evidence> = self
                    .kinds
                    .iter()
                    .filter(|((found, _), _)| of(found))
                    .map(|((_, what), (shown, required))| Evidence {
                        what,
                        shown: *shown,
                        required: *required,
                    })
                    .collect();
                let behaviours: Vec<bool> = self
                    .behaviours
                    .iter()
                    .filter(|((found, ..), _)| of(found))
                    .map(|(_, shown)| *shown)
                    .collect();
                Observed {
                    competency,
                    shown: evidence.iter().map(|e| e.shown).sum(),
                    required: evidence.iter().map(|e| e.required).sum(),
                    evidence,
                    behaviours: behaviours.iter().filter(|shown| **shown).count(),
                    behaviours_required: behaviours.len(),
                    unsafe_items: self.unsafe_items.remove(&competency).unwrap_or_default(),
                    missed_items: self.missed_items.remove(&competency).unwrap_or_default(),
                }
            })
            .collect()
    }
}

/// The kind of evidence that a piece is.
fn kind(piece: &Piece) -> &'static str {
    match piece.element {
        Element::Challenge if piece.subject.topic.as_deref() == Some("watching") => {
            "watching others' read-backs"
        }
        Element::Callsign => "callsigns",
        Element::Call => "calls between the pilots",
        Element::Reply => "answers to calls",
        Element::Challenge | Element::Response => "checklist items",
        Element::Briefing => "briefings",
        Element::Address => "addressing",
        Element::Concern => "naming the concern",
        Element::Evidence => "giving the fact",
        Element::Proposal => "proposing what to do",
        Element::Agreement => "asking for consent",
        element if element.severity(Fault::Wrong) == Severity::Critical => "elements that can hurt someone",
        _ => "other elements",
    }
}
