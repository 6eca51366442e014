//! The report of a group written out: for a terminal, as tables, as JSON, as a page with charts.

mod chart;
pub mod csv;
pub mod html;
pub mod json;
pub mod text;

use super::report::{Person, TakenBack};
use super::stats::{Absent, Figure};
use crate::feedback::label;

/// How often.
fn times(n: usize) -> String {
    if n == 1 { "once".to_owned() } else { format!("{n} times") }
}

/// A figure with so many decimals, or nothing.
fn figure(figure: Figure, decimals: usize) -> Option<String> {
    figure.ok().map(|value| decimal(value, decimals))
}

/// A number with so many decimals; nothing is not written with a minus.
fn decimal(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// A figure, or the reason why there is none.
fn words(found: Figure, decimals: usize) -> String {
    match found {
        Ok(value) => decimal(value, decimals),
        Err(reason) => none(reason),
    }
}

fn none(reason: Absent) -> String {
    format!("none: {}", reason.words())
}

/// What fails a person's paper outright, in words.
fn outright(person: &Person) -> Vec<String> {
    person
        .outright
        .iter()
        .map(|(item, element, fault)| format!("item {item}: {} {}", label(*element), fault.name()))
        .collect()
}

/// What was taken back, in words.
fn taken_back(taken: &TakenBack) -> String {
    format!(
        "item {}, {}: {} {}, taken back by {} on {}: {}",
        taken.item,
        taken.person,
        label(taken.element),
        taken.fault.name(),
        if taken.by.is_empty() { "(no name)" } else { &taken.by },
        crate::progress::day(taken.at),
        if taken.reason.is_empty() { "no reason given" } else { &taken.reason }
    )
}

/// `passed`, `not passed`, and how.
fn result(person: &Person) -> &'static str {
    match (person.passed, person.outright.is_empty()) {
        (true, _) => "passed",
        (false, true) => "not passed",
        (false, false) => "failed outright",
    }
}
