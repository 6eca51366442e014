//! What a drill showed: what went well, what would have been dangerous and how it should have sounded, what comes next.

use super::schedule::{Schedule, Want};
use super::session::Tried;
use super::skill::Skill;
use crate::diagnostic::count;
use crate::element::{Fault, Severity, Verdict};
use crate::feedback::{label, what};
use crate::judge::judgement::Finding;
use crate::rules::RuleSet;
use crate::session::screen::{Row, Tone, hang};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Slips that are told in full; more would not be remembered.
const NAMED: usize = 3;

/// Columns before a text.
const COLUMN: usize = 16;

/// What happened in a drill.
#[derive(Debug, Clone, Default)]
pub struct Ended {
    /// Items that were tried, in order.
    pub tried: Vec<Tried>,
    /// Items that were left by command.
    pub skipped: usize,
    /// Items with hints.
    pub hints: usize,
}

/// The heading of a topic; its id if the rule set does not have it.
#[must_use]
pub fn title(rules: &RuleSet, topic: &str) -> String {
    rules.topics.iter().find(|known| known.id == topic).map_or(topic, |known| &known.title).to_owned()
}

/// A day as it is said today: `today`, `tomorrow`, `in 3 days`.
#[must_use]
pub fn day_words(today: Date, day: Date) -> String {
    match today.until(day).map_or(0, |span| span.get_days()) {
        ..=0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        n => format!("in {n} days"),
    }
}

/// Skills by topic: `Line up: instruction, runway; Cross: runway`.
#[must_use]
pub fn by_topic<'s>(rules: &RuleSet, skills: impl IntoIterator<Item = &'s Skill>) -> String {
    let mut topics: Vec<(&str, Vec<String>)> = Vec::new();
    for skill in skills {
        let name = label(skill.element);
        match topics.iter_mut().find(|(topic, _)| *topic == skill.topic) {
            Some((_, names)) => names.push(name),
            None => topics.push((&skill.topic, vec![name])),
        }
    }
    let texts: Vec<String> = topics
        .into_iter()
        .map(|(topic, names)| format!("{}: {}", title(rules, topic), names.join(", ")))
        .collect();
    texts.join("; ")
}

/// The debrief on screen. `schedule` is what follows from all reviews, those of this drill included.
#[must_use]
pub fn debrief_rows(
    ended: &Ended,
    schedule: &Schedule,
    skills: &[Skill],
    want: Want,
    rules: &RuleSet,
    width: usize,
) -> Vec<Row> {
    let mut rows = vec![Row::new(), Row::of(Tone::Label, "Debrief")];
    rows.extend(hang((Tone::Plain, ""), 2, Tone::Plain, &summary(ended), width));
    if !ended.tried.is_empty() {
        well(ended, rules, &mut rows, width);
        slips(ended, &mut rows, width);
    }
    next(ended, schedule, skills, want, rules, &mut rows, width);
    rows
}

fn summary(ended: &Ended) -> String {
    let of = |verdict| ended.tried.iter().filter(|t| t.attempt.judgement.verdict == verdict).count();
    let mut text = format!(
        "{}: {} right, {} with a fault of form, {} incomplete, {} incorrect.",
        count(ended.tried.len(), "item"),
        of(Verdict::Correct),
        of(Verdict::Nonstandard),
        of(Verdict::Incomplete),
        of(Verdict::Incorrect)
    );
    for (number, words) in [(ended.skipped, "skipped"), (ended.hints, "with hints asked for")] {
        if number > 0 {
            text.push_str(&format!(" {number} {words}."));
        }
    }
    text
}

/// Skills that were right each time.
fn well(ended: &Ended, rules: &RuleSet, rows: &mut Vec<Row>, width: usize) {
    let reviews = || ended.tried.iter().flat_map(|tried| &tried.reviews);
    let slipped: BTreeSet<&Skill> = reviews().filter(|r| !r.right).map(|r| &r.skill).collect();
    let mut seen = BTreeSet::new();
    let right = reviews().map(|r| &r.skill).filter(|s| !slipped.contains(s) && seen.insert(*s));
    let text = by_topic(rules, right);
    if !text.is_empty() {
        rows.push(Row::new());
        rows.extend(hang((Tone::Good, "  went well"), COLUMN, Tone::Plain, &text, width));
    }
    let mended: BTreeSet<&Skill> =
        reviews().filter(|r| r.right && slipped.contains(&r.skill)).map(|r| &r.skill).collect();
    let text = by_topic(rules, mended);
    if !text.is_empty() {
        rows.extend(hang((Tone::Good, "  right again"), COLUMN, Tone::Plain, &text, width));
    }
}

fn is_slip(finding: &Finding) -> bool {
    matches!(finding.fault, Fault::Wrong | Fault::Missing)
}

/// What would have been dangerous, why, and how it should have sounded; then the rest in short.
fn slips(ended: &Ended, rows: &mut Vec<Row>, width: usize) {
    let dangerous = |f: &&Finding| f.severity == Severity::Critical && is_slip(f);
    let mut worst: Vec<(&Tried, Vec<&Finding>)> = Vec::new();
    let mut rest: BTreeMap<(Severity, String), Vec<usize>> = BTreeMap::new();
    for tried in &ended.tried {
        let findings = || tried.attempt.judgement.findings.iter().filter(|f| f.severity > Severity::Advice);
        let bad: Vec<&Finding> = findings().filter(dangerous).collect();
        if !bad.is_empty() {
            worst.push((tried, bad));
        }
        for finding in findings().filter(|f| !dangerous(f)) {
            let name = format!("{} {}", label(finding.element), finding.fault.name());
            let places = rest.entry((finding.severity, name)).or_default();
            if places.last() != Some(&tried.number) {
                places.push(tried.number);
            }
        }
    }
    rows.push(Row::new());
    if worst.is_empty() {
        rows.push(Row::of(Tone::Good, "  Nothing would have been dangerous."));
    } else {
        rows.push(Row::of(Tone::Label, "  would have been dangerous"));
    }
    for (tried, findings) in worst.iter().take(NAMED) {
        dangerous_rows(tried, findings, rows, width);
    }
    if worst.len() > NAMED {
        rows.push(Row::of(Tone::Plain, format!("      and {}", count(worst.len() - NAMED, "more item"))));
    }
    for severity in [Severity::Critical, Severity::Major, Severity::Minor] {
        let texts: Vec<String> = rest
            .iter()
            .filter(|((of, _), _)| *of == severity)
            .map(|((_, name), places)| {
                let places: Vec<String> = places.iter().map(usize::to_string).collect();
                format!("{name} ({})", places.join(", "))
            })
            .collect();
        if !texts.is_empty() {
            let tone = if severity >= Severity::Major { Tone::Bad } else { Tone::Fair };
            let head = format!("  {}", severity.name());
            rows.extend(hang((tone, &head), COLUMN, Tone::Plain, &texts.join(", "), width));
        }
    }
}

/// One item that would have been dangerous: what slipped, each reason once, and a right reply.
fn dangerous_rows(tried: &Tried, findings: &[&Finding], rows: &mut Vec<Row>, width: usize) {
    let silent = tried.attempt.reply.trim().is_empty();
    let mut told = BTreeSet::new();
    for (n, finding) in findings.iter().enumerate() {
        let number = if n == 0 { tried.number.to_string() } else { String::new() };
        let head = format!("  {number:>3} {}", label(finding.element));
        let text =
            if silent { "no reply was heard".to_owned() } else { what(finding, &tried.attempt.reply, false) };
        rows.extend(hang((Tone::Bad, &head), COLUMN + 4, Tone::Plain, &text, width));
        let own = finding.why.trim();
        let why = if own.is_empty() { finding.element.doc() } else { own };
        let again = findings.get(n + 1).is_some_and(|next| next.why.trim() == own);
        if !again && told.insert(why) {
            rows.extend(hang((Tone::Plain, "      "), COLUMN + 4, Tone::Faint, why, width));
        }
    }
    let model = format!("\"{}\"", tried.item.model);
    rows.extend(hang((Tone::Label, "      right is"), COLUMN + 4, Tone::Voice, &model, width));
}

/// When each skill of this drill comes again, and what the next drill will be.
fn next(
    ended: &Ended,
    schedule: &Schedule,
    skills: &[Skill],
    want: Want,
    rules: &RuleSet,
    rows: &mut Vec<Row>,
    width: usize,
) {
    let mut days: BTreeMap<Date, Vec<&Skill>> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    for review in ended.tried.iter().flat_map(|tried| &tried.reviews) {
        if let Some(standing) = schedule.standing(&review.skill)
            && seen.insert(&review.skill)
        {
            days.entry(standing.due.max(schedule.today)).or_default().push(&standing.skill);
        }
    }
    if !days.is_empty() {
        rows.push(Row::new());
        rows.push(Row::of(Tone::Label, "  comes again"));
    }
    for (day, skills) in days {
        let head = format!("    {}", day_words(schedule.today, day));
        let text = by_topic(rules, skills);
        rows.extend(hang((Tone::Plain, &head), COLUMN, Tone::Plain, &text, width));
    }
    let text = next_drill(schedule, skills, want);
    rows.push(Row::new());
    rows.extend(hang((Tone::Label, "  next drill"), COLUMN, Tone::Plain, &text, width));
}

/// What the next drill will be, and when.
pub(super) fn next_drill(schedule: &Schedule, skills: &[Skill], want: Want) -> String {
    let unknown = skills.iter().filter(|skill| schedule.standing(skill).is_none()).count();
    let due = schedule.due(skills).len();
    let new = unknown.min(want.new.saturating_sub(schedule.introduced_today()));
    let later = schedule.later(skills);
    let mut parts = Vec::new();
    match (due, new) {
        (0, 0) => {}
        (0, new) => parts.push(format!("{new} new left today")),
        (due, 0) => parts.push(format!("{} due today", count(due, "skill"))),
        (due, new) => parts.push(format!("{} due and {new} new left today", count(due, "skill"))),
    }
    match later.first_key_value() {
        Some((day, n)) => {
            parts.push(format!("{} {} due", day_words(schedule.today, *day), count(*n, "skill")))
        }
        None if due + new == 0 => parts.push("nothing is due".to_owned()),
        None => {}
    }
    let mut text = parts.join("; ");
    if unknown > new {
        text.push_str(&format!("; {} to learn, {} a day", count(unknown, "skill"), want.new));
    }
    text
}
