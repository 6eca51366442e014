//! Hints before a reply and the rules behind the last one, in words.

use super::screen::{Row, Tone, columns, hang};
use crate::element::{Element, Standard};
use crate::feedback::{INDENT, LEAD, label, tone};
use crate::judge::judgement::Finding;
use crate::scenario::event::Skill;
use crate::scenario::play::{Attempt, Due};
use crate::session::respond::Open;
use crate::text::speak::spoken;
use std::collections::BTreeMap;

/// Hints after which a reply shows no skill: the last one is a right reply itself.
pub const TOLD: u8 = 3;

/// How far hints were asked for, by what they were about.
#[derive(Debug, Clone, Default)]
pub(super) struct Hints {
    /// By exchange, and by what was due of the crew in it: an exchange of the crew asks for several things.
    steps: BTreeMap<(usize, String), u8>,
}

impl Hints {
    /// An exchange begins, perhaps not for the first time.
    pub(super) fn begin(&mut self, exchange: usize) {
        self.steps.retain(|(of, _), _| *of != exchange);
    }

    /// The step that comes now, from 0, and counts it.
    pub(super) fn next(&mut self, due: &Due) -> u8 {
        let steps = self.steps.entry(key(due.exchange, due.skill, &due.asked)).or_default();
        let step = *steps;
        if !due.model.is_empty() {
            *steps = TOLD.min(step + 1);
        }
        step
    }

    /// How many were asked for before that attempt.
    pub(super) fn before(&self, attempt: &Attempt) -> u8 {
        let key = key(attempt.exchange, attempt.skill, &attempt.asked);
        self.steps.get(&key).copied().unwrap_or(0)
    }
}

/// On the radio a part that is said again is still the same matter.
fn key(exchange: usize, skill: Skill, asked: &str) -> (usize, String) {
    let radio = matches!(skill, Skill::ReadBack | Skill::RadioCall);
    (exchange, if radio { String::new() } else { asked.to_owned() })
}

/// The rule behind each finding of a reply.
#[must_use]
pub fn why_rows(findings: &[Finding], width: usize) -> Vec<Row> {
    if findings.is_empty() {
        return vec![Row::of(
            Tone::Plain,
            format!("{LEAD}There is nothing to explain yet: no finding so far."),
        )];
    }
    let mut rows = Vec::new();
    for finding in findings {
        let head =
            format!("{} {} ({})", label(finding.element), finding.fault.name(), finding.severity.name());
        rows.push(Row::of(tone(finding.severity), format!("{LEAD}{head}")));
        for text in [finding.element.doc(), finding.why.trim()].into_iter().filter(|t| !t.is_empty()) {
            rows.extend(hang((Tone::Plain, LEAD), INDENT + 2, Tone::Plain, text, width));
        }
        if !finding.rule.is_empty() {
            rows.extend(hang(
                (Tone::Plain, LEAD),
                INDENT + 2,
                Tone::Plain,
                &format!("Source: {}", finding.rule),
                width,
            ));
        }
        if !finding.id.is_empty() {
            let more = format!("More: hearback explain {}", finding.id);
            rows.extend(hang((Tone::Plain, LEAD), INDENT + 2, Tone::Faint, &more, width));
        }
    }
    rows
}

/// A hint: first which elements are due, then their form, then a right reply.
#[must_use]
pub fn hint_rows(due: &Due, step: u8, standard: Standard, width: usize) -> Vec<Row> {
    if due.model.is_empty() {
        return vec![Row::of(
            Tone::Plain,
            format!("{LEAD}Nobody wants an answer: press Enter and say nothing."),
        )];
    }
    let names: Vec<String> = due.elements.iter().map(|open| label(open.element)).collect();
    match step {
        0 => {
            let text = match names.as_slice() {
                [] => "Your callsign is answer enough.".to_owned(),
                names => format!("Due: {}", counted(names).join(", ")),
            };
            let mut rows =
                hang((Tone::Label, &format!("{LEAD}hint 1")), INDENT + 8, Tone::Plain, &text, width);
            rows.extend(hang(
                (Tone::Plain, LEAD),
                INDENT + 8,
                Tone::Faint,
                "/hint again shows the form",
                width,
            ));
            rows
        }
        1 => {
            let column = INDENT + 8 + names.iter().map(|n| columns(n)).max().unwrap_or(0) + 2;
            let mut rows =
                vec![Row::of(Tone::Label, format!("{LEAD}hint 2")).and(Tone::Faint, "  with other values")];
            for open in &due.elements {
                let label = format!("{LEAD}        {}", label(open.element));
                rows.extend(hang(
                    (Tone::Plain, &label),
                    column,
                    Tone::Plain,
                    &form(open, due.call, standard),
                    width,
                ));
            }
            rows.extend(hang(
                (Tone::Plain, LEAD),
                INDENT + 8,
                Tone::Faint,
                "/hint again shows a right reply",
                width,
            ));
            rows
        }
        _ => hang((Tone::Label, &format!("{LEAD}hint 3")), INDENT + 8, Tone::Plain, &due.model, width),
    }
}

/// Names in order; one that comes more than once stands once, with how often.
fn counted(names: &[String]) -> Vec<String> {
    let mut out: Vec<(&String, usize)> = Vec::new();
    for name in names {
        match out.iter_mut().find(|o| o.0 == name) {
            Some(known) => known.1 += 1,
            None => out.push((name, 1)),
        }
    }
    let text = |(name, n): (&String, usize)| match n {
        1 => name.clone(),
        2 => format!("{name} twice"),
        n => format!("{name} {n} times"),
    };
    out.into_iter().map(text).collect()
}

/// How an element is said, with a value that is not the one wanted.
fn form(open: &Open, call: bool, standard: Standard) -> String {
    let element = open.element;
    let value = open.value.as_deref().unwrap_or("");
    match element {
        Element::Callsign => match (call, standard) {
            (true, _) => "after the station's name".to_owned(),
            (false, Standard::Us) => "first or last".to_owned(),
            (false, _) => "at the end".to_owned(),
        },
        Element::Instruction if call => "what you want, with \"request\" or \"ready\"".to_owned(),
        Element::Instruction => "the verb you were given: hold short, cross, line up".to_owned(),
        Element::Condition => "all of it, with the aircraft and where it is".to_owned(),
        Element::Restriction => "the limit as it was given: above, until, or less".to_owned(),
        Element::Traffic => "the aircraft you were told about".to_owned(),
        Element::Unit => "place and function: \"Skerrow Tower\"".to_owned(),
        Element::ClearanceLimit => "the place you are cleared to, by its name".to_owned(),
        Element::Route | Element::Point => "as it was given, point by point".to_owned(),
        Element::Turn if value.starts_with("face") => {
            "which way you will face, or your nose or tail".to_owned()
        }
        _ => {
            let (example, other) = match element {
                Element::Level if value.ends_with("ft") => ("3000ft", "7000ft"),
                _ => (element.example(), ""),
            };
            let example = if example == value { other } else { example };
            if example.is_empty() {
                "as it was given".to_owned()
            } else {
                format!("as in \"{}\"", spoken(standard, element, example))
            }
        }
    }
}
