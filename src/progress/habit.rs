//! Dangerous habits: elements that often do not come back, weighed by what can happen.

use super::stats::{Z, wilson};
use crate::element::{Fault, Severity};
use crate::record::entry::Found;
use crate::record::{moment, skill_key};
use jiff::Timestamp;
use rusqlite::Connection;

/// Habits that are named; more would not be remembered.
const NAMED: usize = 5;

/// What did not come back once is no habit.
const TWICE: usize = 2;

/// An element that often does not come back right in a topic.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// `STANDARD/TOPIC/ELEMENT`.
    pub skill: String,
    /// The rule set.
    pub standard: String,
    /// The topic.
    pub topic: String,
    /// The element.
    pub element: String,
    /// First replies in which it did not come back right.
    pub missed: usize,
    /// First replies that owed it.
    pub owed: usize,
    /// How much the worst of them can hurt.
    pub severity: Severity,
    /// By this they are ordered: mean weight of the misses × the share that is missed at least, with 95 % confidence.
    pub danger: f64,
    /// The last time it happened at that severity.
    pub example: Option<Example>,
}

/// One time it happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Example {
    /// When.
    pub at: Timestamp,
    /// What was said, or the id of the call.
    pub asked: String,
    /// True for a call of the trainee's own.
    pub call: bool,
    /// What was typed.
    pub typed: String,
    /// What was wrong with the element: fault, what was transmitted, what came back.
    pub found: Option<(Fault, Option<String>, Option<String>)>,
}

/// Counts of one element of a topic.
#[derive(Debug, Default)]
pub(super) struct Counted {
    owed: usize,
    missed: usize,
    weight: f64,
    /// The worst, and the last attempt with it.
    worst: Option<(Severity, i64)>,
}

impl Counted {
    pub(super) fn add(&mut self, attempt: i64, missed: Option<Severity>) {
        self.owed += 1;
        let Some(severity) = missed else { return };
        self.missed += 1;
        self.weight += weight(severity);
        if self.worst.is_none_or(|(worst, _)| severity >= worst) {
            self.worst = Some((severity, attempt));
        }
    }

    fn danger(&self) -> f64 {
        if self.missed == 0 {
            return 0.0;
        }
        wilson(self.missed, self.owed, Z).0 * self.weight / self.missed as f64
    }
}

/// Each step is three times the one below: this program's own choice.
pub(crate) fn weight(severity: Severity) -> f64 {
    match severity {
        Severity::Advice => 0.0,
        Severity::Minor => 1.0,
        Severity::Major => 3.0,
        Severity::Critical => 9.0,
    }
}

/// The most dangerous of all, each with its last example.
pub(super) fn worst(db: &Connection, counted: Vec<([String; 3], Counted)>) -> rusqlite::Result<Vec<Habit>> {
    let mut habits: Vec<_> =
        counted.into_iter().filter(|(_, c)| c.missed >= TWICE && c.danger() > 0.0).collect();
    habits.sort_by(|(a_name, a), (b_name, b)| b.danger().total_cmp(&a.danger()).then(a_name.cmp(b_name)));
    habits.truncate(NAMED);
    let mut out = Vec::new();
    for ([standard, topic, element], counted) in habits {
        let Some((severity, attempt)) = counted.worst else { continue };
        out.push(Habit {
            skill: skill_key(&standard, &topic, &element),
            example: example(db, attempt, &element)?,
            standard,
            topic,
            element,
            missed: counted.missed,
            owed: counted.owed,
            severity,
            danger: counted.danger(),
        });
    }
    Ok(out)
}

fn example(db: &Connection, attempt: i64, element: &str) -> rusqlite::Result<Option<Example>> {
    let sql = "SELECT at, asked, call, reply, findings FROM attempt WHERE id = ?1";
    let here = |f: &Found| f.element.name() == element && matches!(f.fault, Fault::Wrong | Fault::Missing);
    db.query_row(sql, [attempt], |row| {
        let (at, findings): (String, String) = (row.get(0)?, row.get(4)?);
        let Ok(at) = moment::parse(&at) else { return Ok(None) };
        let findings: Vec<Found> = serde_json::from_str(&findings).unwrap_or_default();
        let found = findings.into_iter().find(here).map(|f| (f.fault, f.expected, f.given));
        Ok(Some(Example { at, asked: row.get(1)?, call: row.get(2)?, typed: row.get(3)?, found }))
    })
}

impl Habit {
    /// In plain words: which element, where, and how often.
    #[must_use]
    pub fn words(&self) -> String {
        let element = super::gather::spoken(&self.element);
        let topic = if self.topic == "any" { String::new() } else { format!(" in {}", self.topic) };
        format!(
            "{element}{topic} ({}): not right {} of {} times; {}",
            self.standard,
            self.missed,
            self.owed,
            self.severity.name()
        )
    }
}

impl Example {
    /// What was asked, in words.
    #[must_use]
    pub fn asked_words(&self) -> String {
        if self.call { format!("your call, {}", self.asked) } else { self.asked.clone() }
    }

    /// What was typed, in words.
    #[must_use]
    pub fn typed_words(&self) -> &str {
        if self.typed.trim().is_empty() { "(nothing)" } else { &self.typed }
    }

    /// What was wrong, in words.
    #[must_use]
    pub fn found_words(&self) -> String {
        match &self.found {
            Some((Fault::Wrong, Some(expected), Some(given))) => format!("{given} for {expected}"),
            Some((Fault::Wrong, Some(expected), None)) => format!("wrong, it was {expected}"),
            Some((_, Some(expected), _)) => format!("missing: {expected}"),
            Some((fault, None, _)) => fault.name().to_owned(),
            None => "left out with its clause".to_owned(),
        }
    }
}
