//! What a person reads before a paper begins: its title, how it is sat, and whose callsign is his.

use super::exam::Exam;
use super::{Conditions, Feedback};
use crate::CAUTION;
use crate::diagnostic::{count, list};
use crate::session::screen::{Row, Tone, hang};

/// What stands before the first item.
#[must_use]
pub fn opening(exam: &Exam, name: &str, sitting: u32, width: usize) -> Vec<Row> {
    let paper = &exam.paper;
    let plain = |tone: Tone, text: &str| hang((Tone::Plain, ""), 0, tone, text, width);
    let mut rows = plain(Tone::Label, &paper.title);
    if let Some(preface) = &paper.preface {
        rows.extend(plain(Tone::Plain, preface));
    }
    rows.extend(plain(Tone::Plain, &conditions(&paper.conditions, exam.slots.len(), paper.pass_mark)));
    if !paper.fails.is_empty() {
        let fails: Vec<String> = paper.fails.iter().map(ToString::to_string).collect();
        rows.extend(plain(Tone::Plain, &format!("Fails whatever the mark: {}.", list(&fails))));
    }
    let items = exam.items(name, sitting);
    let own: Vec<&str> =
        items.iter().map(|item| item.callsign.as_str()).filter(|own| !own.is_empty()).collect();
    if let Some(first) = own.first() {
        let text = if own.iter().all(|callsign| callsign == first) {
            format!("You are {first}.")
        } else {
            "Your callsign is the one that the station says, or that stands with the item.".to_owned()
        };
        rows.extend(plain(Tone::Plain, &text));
    }
    rows.extend(plain(
        Tone::Faint,
        &format!("{CAUTION} /help lists the commands; rule set {}.", paper.standard),
    ));
    rows
}

/// How a paper is sat, in words.
#[must_use]
pub fn conditions(conditions: &Conditions, items: usize, pass_mark: u8) -> String {
    let mut out = vec![format!("{}, {pass_mark} % to pass.", count(items, "item"))];
    match (conditions.minutes, conditions.seconds) {
        (None, None) => out.push("No limit of time.".to_owned()),
        (Some(minutes), None) => out.push(format!("{} in all.", count_of(minutes, "minute"))),
        (None, Some(seconds)) => out.push(format!("{} for each.", count_of(seconds, "second"))),
        (Some(minutes), Some(seconds)) => {
            let (minutes, seconds) = (count_of(minutes, "minute"), count_of(seconds, "second"));
            out.push(format!("{minutes} in all, {seconds} for each."));
        }
    }
    if conditions.once {
        out.push("Each transmission is heard once; \"say again\" brings it back.".to_owned());
    }
    out.push(match conditions.replies {
        1 => "One reply to each.".to_owned(),
        n => format!("Up to {n} replies to each; a later one counts half."),
    });
    out.push(if conditions.hints { "/hint halves an item.".to_owned() } else { "No hints.".to_owned() });
    out.push(match conditions.feedback {
        Feedback::End => "What was wrong is told at the end.".to_owned(),
        Feedback::Item => "What was wrong is told at once.".to_owned(),
        Feedback::None => "The mark alone is told.".to_owned(),
    });
    out.join(" ")
}

fn count_of(n: u32, what: &str) -> String {
    count(usize::try_from(n).unwrap_or(usize::MAX), what)
}

/// "12:05" or "40 s".
#[must_use]
pub fn duration(seconds: u64) -> String {
    if seconds < 60 { format!("{seconds} s") } else { format!("{}:{:02}", seconds / 60, seconds % 60) }
}
