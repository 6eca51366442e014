//! The first screen: what is due, what was weak, and one key to begin.

use super::drill::{clock, kept};
use crate::CAUTION;
use crate::contract::RuleSets;
use crate::diagnostic::count;
use crate::drill::debrief::title;
use crate::drill::history::Review;
use crate::drill::schedule::{Schedule, Want};
use crate::drill::skill::{Skill, catalogue};
use crate::element::{Severity, Standard};
use crate::error::Result;
use crate::feedback::label;
use crate::record::keep::Place;
use crate::rules::RuleSet;
use crate::scenario::Seat;
use crate::settings::Settings;
use crate::wrap::{PAGE, lines};
use std::collections::BTreeMap;
use std::io::{BufRead, Write};
use terminal_size::{Width, terminal_size};

/// What is begun from here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// The drill of today.
    Drill,
    /// A flight.
    Practise,
    /// The list of flights.
    Scenarios,
    /// The page of progress.
    Progress,
    /// Nothing.
    Leave,
}

/// Keys with what they begin.
const KEYS: [(&str, &str, Choice); 5] = [
    ("", "the drill of today", Choice::Drill),
    ("f", "fly the first scenario", Choice::Practise),
    ("l", "list everything there is to fly", Choice::Scenarios),
    ("p", "progress", Choice::Progress),
    ("q", "leave", Choice::Leave),
];

/// What was weak lately is looked for in so many days.
const LATELY: i64 = 14;

/// Greets, and asks what to begin where somebody types; returns it with the settings.
///
/// # Errors
/// If there is no such moment as `HEARBACK_NOW`, or if the output fails.
pub fn run(
    place: &Place,
    sets: &dyn RuleSets,
    answers: Option<&mut dyn BufRead>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(Choice, Settings)> {
    let known = Settings::read();
    let columns = terminal_size().filter(|_| answers.is_some());
    let width = columns.map_or(PAGE, |(Width(columns), _)| PAGE.min(usize::from(columns)));
    let mut answers = answers;
    if known.is_none() {
        told(CAUTION, width, out)?;
    }
    let settings = match (known, &mut answers) {
        (Some(settings), _) => settings,
        (None, Some(answers)) => first(*answers, width, out, err)?,
        (None, None) => Settings::default(),
    };
    let rules = sets.get(settings.standard);
    today(&rules, &kept(place, err), width, out)?;
    writeln!(out)?;
    let Some(answers) = answers else {
        writeln!(out, "hearback drill begins it, hearback scenarios lists what there is to fly.")?;
        return Ok((Choice::Leave, settings));
    };
    for (key, what, _) in KEYS {
        writeln!(out, "  {:6} {what}", if key.is_empty() { "Enter" } else { key })?;
    }
    loop {
        write!(out, "> ")?;
        out.flush()?;
        let Some(typed) = line(answers)? else {
            writeln!(out)?;
            return Ok((Choice::Leave, settings));
        };
        match KEYS.iter().find(|(key, ..)| *key == typed) {
            Some((_, _, choice)) => return Ok((*choice, settings)),
            None => writeln!(out, "Enter, f, l, p or q")?,
        }
    }
}

/// A text in lines that fit.
fn told(text: &str, width: usize, out: &mut dyn Write) -> Result<()> {
    for line in lines(text, width) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

/// A line as it was typed, in small letters; none at the end.
fn line(answers: &mut dyn BufRead) -> Result<Option<String>> {
    let mut typed = Vec::new();
    let read = answers.read_until(b'\n', &mut typed)?;
    Ok((read > 0).then(|| String::from_utf8_lossy(&typed).trim().to_lowercase()))
}

/// The two questions of the first start; Enter takes what stands in brackets.
fn first(
    answers: &mut dyn BufRead,
    width: usize,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Settings> {
    writeln!(out)?;
    told("Two questions, once; Enter takes what stands in brackets.", width, out)?;
    let mut ask = |question: &str, allowed: &[&'static str]| -> Result<Option<&'static str>> {
        loop {
            write!(out, "{question}: {} [{}]: ", allowed.join(", "), allowed[0])?;
            out.flush()?;
            let Some(typed) = line(answers)? else {
                writeln!(out)?;
                return Ok(None);
            };
            if typed.is_empty() {
                return Ok(Some(allowed[0]));
            }
            if let Some(found) = allowed.iter().find(|name| **name == typed) {
                return Ok(Some(found));
            }
            writeln!(out, "  one of these words, or Enter for {}", allowed[0])?;
        }
    };
    let standard = ask("Rule set", &Standard::ALL.map(Standard::name))?;
    let seat = ask("Your seat", &Seat::ALL.map(|(name, _)| name))?;
    let settings = Settings {
        standard: standard.and_then(Standard::parse).unwrap_or_default(),
        seat: seat.map(str::to_owned),
    };
    if standard.is_some()
        && let Err(cause) = settings.keep()
    {
        writeln!(err, "hearback: the answers are not kept: {cause}")?;
    }
    writeln!(out)?;
    Ok(settings)
}

/// What is due, and what was weak.
fn today(rules: &RuleSet, reviews: &[Review], width: usize, out: &mut dyn Write) -> Result<()> {
    let now = clock()?;
    let skills = catalogue(rules);
    let schedule = Schedule::of(reviews, &now);
    let plan = schedule.plan(&skills, Want { count: usize::MAX, new: 10, ahead: false });
    let due = schedule.due(&skills).len();
    let text =
        format!("Due today: {}, {} new (rule set {}).", count(due, "skill"), plan.new.len(), rules.standard);
    told(&text, width, out)?;
    let since = now.timestamp().as_second() - LATELY * 86_400;
    let mut slips: BTreeMap<&Skill, (Option<Severity>, usize)> = BTreeMap::new();
    // Only what the drill can bring back.
    let slipped = |review: &&Review| !review.right && skills.contains(&review.skill);
    for review in reviews.iter().filter(slipped).filter(|review| review.at.as_second() >= since) {
        let slip = slips.entry(&review.skill).or_default();
        *slip = (slip.0.max(review.severity), slip.1 + 1);
    }
    let mut weak: Vec<(&Skill, (Option<Severity>, usize))> = slips.into_iter().collect();
    weak.sort_by(|(_, a), (_, b)| b.cmp(a));
    for (skill, (_, slips)) in weak.into_iter().take(3) {
        let name = format!("{}, {}", title(rules, &skill.topic), label(skill.element));
        told(&format!("Weak lately: {name} ({}).", count(slips, "slip")), width, out)?;
    }
    Ok(())
}
