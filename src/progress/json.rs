//! The report as one JSON object.

use super::stats::{Times, Trend};
use super::{FORMAT, Line, Report};
use crate::record::moment;
use serde_json::{Value, json};

/// The object; shares from 0 to 1, times in milliseconds.
#[must_use]
pub fn object(report: &Report) -> Value {
    let groups: Value = report
        .groups
        .iter()
        .map(|group| (group.by.name().to_owned(), group.lines.iter().map(line).collect()))
        .collect::<serde_json::Map<_, _>>()
        .into();
    let habits: Vec<Value> = report
        .habits
        .iter()
        .map(|habit| {
            let example = habit.example.as_ref().map(|example| {
                let found = example.found.as_ref();
                json!({
                    "at": moment::text(example.at), "asked": example.asked, "call": example.call,
                    "typed": example.typed, "fault": found.map(|f| f.0), "expected": found.map(|f| &f.1),
                    "given": found.map(|f| &f.2),
                })
            });
            json!({
                "skill": habit.skill, "standard": habit.standard, "topic": habit.topic, "element": habit.element,
                "missed": habit.missed, "owed": habit.owed, "severity": habit.severity, "danger": habit.danger,
                "example": example,
            })
        })
        .collect();
    let [correct, nonstandard, incomplete, incorrect] = report.verdicts;
    json!({
        "format": FORMAT,
        "profile": report.profile,
        "since": report.since.map(moment::text),
        "from": report.span.map(|span| moment::text(span.0)),
        "to": report.span.map(|span| moment::text(span.1)),
        "attempts": report.attempts,
        "first_replies": report.firsts,
        "told_before": report.told,
        "verdicts": {
            "correct": correct, "nonstandard": nonstandard, "incomplete": incomplete, "incorrect": incorrect,
        },
        "total": line(&report.total),
        "typing_ms": report.typing.map(times),
        "by": groups,
        "habits": habits,
    })
}

fn line(line: &Line) -> Value {
    let (low, high) = line.interval();
    let weeks: Vec<Value> = line
        .weeks
        .iter()
        .map(|&(week, right, owed)| {
            json!({ "week": super::gather::week_name(week), "right": right, "owed": owed })
        })
        .collect();
    let slope = match line.trend {
        Trend::Rising(slope) => Some(slope),
        Trend::Falling(slope) => Some(-slope),
        Trend::TooFew | Trend::Steady => None,
    };
    json!({
        "name": line.name, "right": line.right, "owed": line.owed, "share": line.share(),
        "interval": [low, high], "first_key_ms": line.times.map(times), "weeks": weeks,
        "trend": line.trend.name(), "slope_a_week": slope,
    })
}

fn times(times: Times) -> Value {
    json!({ "count": times.count, "median": times.median, "quartiles": [times.lower, times.upper] })
}
