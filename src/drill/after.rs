//! After a flight: which of its skills come again, and when, and the next drill.

use super::debrief::{day_words, next_drill, title};
use super::schedule::{Schedule, Standing, Want};
use super::skill::Skill;
use crate::feedback::label;
use crate::rules::RuleSet;
use crate::session::screen::{Row, Tone, hang};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Skills of one day that are named; more would not be remembered.
const NAMED: usize = 4;

/// Columns before a text, as in the last row of a flight's debrief.
const COLUMN: usize = 18;

/// Rows below the debrief of a flight; none if the drill has none of its skills. `touched` are the skills that its
/// first replies owed, each with whether it came back right; `schedule` is what follows from all reviews, those of
/// this flight included; `command` begins a drill.
#[must_use]
pub fn after_rows(
    touched: &BTreeMap<Skill, bool>,
    schedule: &Schedule,
    skills: &[Skill],
    rules: &RuleSet,
    command: &str,
    width: usize,
) -> Vec<Row> {
    let known: BTreeSet<&Skill> = skills.iter().collect();
    let standing = |(skill, right): (&Skill, &bool)| {
        known.contains(skill).then(|| schedule.standing(skill)).flatten().map(|standing| (standing, *right))
    };
    let (well, slipped): (Vec<_>, Vec<_>) =
        touched.iter().filter_map(standing).partition(|(_, right)| *right);
    if well.is_empty() && slipped.is_empty() {
        return Vec::new();
    }
    let today = schedule.today;
    let day = |standing: &Standing| standing.due.max(today);
    let mut days: BTreeMap<(Date, bool), Vec<&Skill>> = BTreeMap::new();
    for (standing, _) in &slipped {
        days.entry((day(standing), !standing.dangerous)).or_default().push(&standing.skill);
    }
    let mut sentences = Vec::new();
    for ((day, harmless), skills) in &days {
        let names = named(rules, skills);
        sentences.push(match (harmless, *day == today) {
            (false, true) => format!("Still today, since a slip there could have hurt someone: {names}."),
            _ => format!("{}: {names}.", capital(&day_words(today, *day))),
        });
    }
    let earliest = well.iter().map(|(standing, _)| day(standing)).min();
    let latest = well.iter().map(|(standing, _)| day(standing)).max();
    if let Some((earliest, latest)) = earliest.zip(latest) {
        let when = span(today, earliest, latest);
        sentences.push(match (slipped.is_empty(), well.len()) {
            (true, 1) => format!("Nothing slipped; the one skill of this flight comes {when}."),
            (true, n) => format!("Nothing slipped; the {n} skills of this flight come {when}."),
            (false, _) => format!("What went well can wait: it comes {when}."),
        });
    }
    let next = format!("{}. It begins with {command}.", next_drill(schedule, skills, Want::default()));
    let mut rows = vec![Row::new()];
    rows.extend(hang((Tone::Label, "  comes again"), COLUMN, Tone::Plain, &sentences.join(" "), width));
    rows.extend(hang((Tone::Label, "  next drill"), COLUMN, Tone::Plain, &next, width));
    rows
}

/// What must come back, with its topic: `runway, hold (Line up); squawk (Transponder)`; those beyond a few by their
/// number.
fn named(rules: &RuleSet, skills: &[&Skill]) -> String {
    let mut topics: Vec<(&str, Vec<String>)> = Vec::new();
    for skill in skills.iter().take(NAMED) {
        let name = label(skill.element);
        match topics.last_mut() {
            Some((topic, names)) if *topic == skill.topic => names.push(name),
            _ => topics.push((&skill.topic, vec![name])),
        }
    }
    let texts = topics.iter().map(|(topic, names)| format!("{} ({})", names.join(", "), title(rules, topic)));
    let more = match skills.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!(", and {n} more"),
    };
    format!("{}{more}", texts.collect::<Vec<_>>().join("; "))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// `tomorrow`, `in 3 days`, `in 3 to 8 days`.
fn span(today: Date, from: Date, to: Date) -> String {
    let (first, last) = (day_words(today, from), day_words(today, to));
    match last.strip_prefix("in ") {
        _ if first == last => first,
        Some(last) if first.starts_with("in ") => format!("{} to {last}", first.trim_end_matches(" days")),
        _ => format!("from {first} on, the last {last}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_of_days_is_said_as_people_say_it() {
        let day = |n: i8| Date::constant(2026, 3, n);
        for (from, to, said) in [
            (2, 2, "tomorrow"),
            (4, 4, "in 3 days"),
            (4, 9, "in 3 to 8 days"),
            (1, 2, "from today on, the last tomorrow"),
            (2, 5, "from tomorrow on, the last in 4 days"),
        ] {
            assert_eq!(span(day(1), day(from), day(to)), said);
        }
    }
}
