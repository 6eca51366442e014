//! The part of the debrief about the crew: what was measured by channel and by skill, in time or not, and what
//! was noticed of the slips of others. What had no chance is not listed.

use super::debrief::Record;
use super::screen::{Row, Tone, columns, hang};
use crate::crew::Tally;
use crate::element::{Element, Fault, Verdict};
use crate::scenario::play::{Attempt, Detection, Skill};
use std::collections::BTreeMap;

/// Right and chances, by name.
type Counts<K> = BTreeMap<K, (usize, usize)>;

/// The rows of the crew.
pub(super) fn crew_rows(record: &Record, rows: &mut Vec<Row>, width: usize) {
    let firsts: Vec<&Attempt> = record.attempts.iter().map(|(a, _)| a).filter(|a| a.first).collect();
    let mut channels: Counts<&str> = BTreeMap::new();
    let mut skills: Counts<Skill> = BTreeMap::new();
    let mut in_time = (0, 0);
    for attempt in &firsts {
        let right = usize::from(is_right(attempt));
        if attempt.skill != Skill::Watching {
            let channel = channels.entry(attempt.channel.name()).or_default();
            *channel = (channel.0 + right, channel.1 + 1);
            let skill = skills.entry(attempt.skill).or_default();
            *skill = (skill.0 + right, skill.1 + 1);
        }
        if matches!(attempt.skill, Skill::Call | Skill::Answer | Skill::Challenge | Skill::Response) {
            let off = attempt.judgement.findings.iter().any(|f| f.element == Element::Timing);
            let said = !attempt.reply.trim().is_empty();
            in_time = (in_time.0 + usize::from(said && !off), in_time.1 + 1);
        }
    }
    table("right at first, by channel", channels.into_iter().map(|(name, n)| (name.to_owned(), n)), rows);
    let mut skills: Vec<(String, (usize, usize))> =
        skills.into_iter().map(|(skill, n)| (skill.name().to_owned(), n)).collect();
    if in_time.1 > 0 {
        skills.push(("said in time".to_owned(), in_time));
    }
    table("right at first, by skill", skills.into_iter(), rows);
    if firsts.iter().any(|attempt| attempt.skill == Skill::SpeakingUp) {
        let text = "Speaking up was judged by its words. How it sounded, and whether you looked at him, no typed text shows.";
        rows.extend(hang((Tone::Plain, "    "), 4, Tone::Faint, text, width));
    }
    watching(&firsts, rows, width);
}

/// True if the first reply was right, whatever its form; a wrong channel or a wrong moment is not.
fn is_right(attempt: &Attempt) -> bool {
    let misplaced = attempt
        .judgement
        .findings
        .iter()
        .any(|f| f.fault == Fault::Misplaced && matches!(f.element, Element::Channel | Element::Timing));
    attempt.judgement.verdict <= Verdict::Nonstandard && !misplaced
}

fn table(title: &str, lines: impl Iterator<Item = (String, (usize, usize))>, rows: &mut Vec<Row>) {
    let lines: Vec<_> = lines.collect();
    if lines.is_empty() {
        return;
    }
    let names = lines.iter().map(|(name, _)| columns(name)).max().unwrap_or(0);
    rows.push(Row::new());
    rows.push(Row::of(Tone::Label, format!("  {title}")));
    for (name, (right, chances)) in lines {
        let tone = if right == chances { Tone::Good } else { Tone::Bad };
        let mark = if right == chances { "" } else { "  <" };
        rows.push(
            Row::of(Tone::Plain, format!("    {name:names$}  "))
                .and(tone, format!("{right:>2} of {chances:>2}{mark}")),
        );
    }
}

/// What was noticed of the slips of others.
fn watching(firsts: &[&Attempt], rows: &mut Vec<Row>, width: usize) {
    let mut tally = Tally::default();
    for detection in firsts.iter().filter_map(|attempt| attempt.detection) {
        match detection {
            Detection::Hit => tally.hits += 1,
            Detection::Miss => tally.misses += 1,
            Detection::FalseAlarm => tally.false_alarms += 1,
            Detection::CorrectSilence => tally.correct_silences += 1,
        }
    }
    let (slips, rights) = (tally.hits + tally.misses, tally.false_alarms + tally.correct_silences);
    if slips + rights == 0 {
        return;
    }
    rows.push(Row::new());
    rows.push(Row::of(Tone::Label, "  watching the others"));
    let mut line = |text: &str| rows.extend(hang((Tone::Plain, "    "), 4, Tone::Plain, text, width));
    if slips > 0 {
        line(&format!("slips: {} of {slips} challenged", tally.hits));
    }
    if rights > 0 {
        line(&format!("right words: {} of {rights} left alone", tally.correct_silences));
    }
    if let Some((sensitivity, bias)) = tally.measure() {
        // No minus before nothing.
        let (sensitivity, bias) =
            ((sensitivity * 100.0).round() / 100.0 + 0.0, (bias * 100.0).round() / 100.0 + 0.0);
        line(&format!(
            "sensitivity d' {sensitivity:.2}, criterion c {bias:.2}: {}",
            sentence(sensitivity, bias, slips.min(rights))
        ));
    }
}

/// What the two figures mean.
fn sentence(sensitivity: f64, bias: f64, fewest: u32) -> String {
    let told = if sensitivity < 0.5 {
        "slips and right words were hardly told apart"
    } else if sensitivity < 1.5 {
        "slips were told from right words more often than by chance"
    } else {
        "slips were told from right words well"
    };
    let leaning = if bias > 0.3 {
        "leaning to silence"
    } else if bias < -0.3 {
        "leaning to challenge"
    } else {
        "leaning neither way"
    };
    let few = if fewest < 10 { "; so few chances make this a rough figure" } else { "" };
    format!("{told}, {leaning}{few}.")
}
