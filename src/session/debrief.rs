//! What the session showed: right and wanted by element, findings by hazard, what to work on, time to reply.

use super::console::Timing;
use super::debrief_crew::crew_rows;
use super::screen::{Row, Tone, columns, hang};
use crate::crew::Channel;
use crate::diagnostic::count;
use crate::element::{Element, Fault, Severity, Verdict};
use crate::feedback::{duration_words, label};
use crate::judge::lost;
use crate::rules::RuleSet;
use crate::scenario::draw::Flight;
use crate::scenario::play::{Attempt, Skill};
use std::collections::BTreeMap;
use std::time::Duration;

/// Things to work on that are named; more would not be remembered.
const NAMED: usize = 3;

/// Why silence matters.
const SILENCE: &str =
    "A clearance without an answer is said again and again while others wait for the frequency.";

/// Everything that happened in a session.
#[derive(Debug, Default)]
pub struct Record {
    /// Judged replies with their times, in order.
    pub attempts: Vec<(Attempt, Timing)>,
    /// Exchanges that were left by command.
    pub skipped: usize,
    /// Hints that were asked for.
    pub hints: usize,
    /// Exchanges in which the station went on without a right reply.
    pub given_up: Vec<usize>,
    /// Transmissions the trainee was unable to comply with.
    pub unable: usize,
    /// Exchanges that were begun.
    pub begun: usize,
    /// True if the flight came to its end.
    pub finished: bool,
}

/// The debrief on screen.
#[must_use]
pub fn debrief_rows(
    record: &Record,
    flight: &Flight,
    rules: &RuleSet,
    repeat: &str,
    width: usize,
) -> Vec<Row> {
    let mut rows = vec![Row::new()];
    rows.extend(hang((Tone::Plain, ""), 0, Tone::Label, &format!("Debrief: {}", flight.title), width));
    rows.extend(hang((Tone::Plain, ""), 2, Tone::Plain, &summary(record, flight), width));
    if !record.attempts.is_empty() {
        elements(record, flight, rules, &mut rows);
        hazards(record, &mut rows, width);
        heard_right(record, &mut rows, width);
        work_on(record, &mut rows, width);
        if flight.has_crew() {
            crew_rows(record, &mut rows, width);
        }
        times(record, &mut rows, width);
    }
    rows.push(Row::new());
    rows.extend(hang((Tone::Label, "  fly it again"), 18, Tone::Plain, repeat, width));
    rows
}

fn summary(record: &Record, flight: &Flight) -> String {
    let firsts: Vec<&Attempt> = record.attempts.iter().map(|(a, _)| a).filter(|a| a.first).collect();
    let of = |verdict: Verdict| firsts.iter().filter(|a| a.judgement.verdict == verdict).count();
    let total = flight.exchanges.len();
    let mut text = if record.finished && record.skipped > 0 {
        format!("{} of {} flown.", total.saturating_sub(record.skipped), count(total, "exchange"))
    } else if record.finished {
        format!("All {} flown.", count(total, "exchange"))
    } else {
        format!("{} of {} begun.", record.begun, count(total, "exchange"))
    };
    text.push_str(&format!(
        " First replies: {} right, {} with a fault of form, {} incomplete, {} incorrect.",
        of(Verdict::Correct),
        of(Verdict::Nonstandard),
        of(Verdict::Incomplete),
        of(Verdict::Incorrect)
    ));
    for (number, words) in [
        (record.skipped, "skipped"),
        (record.hints, "with hints asked for"),
        (record.unable, "answered with unable"),
    ] {
        if number > 0 {
            text.push_str(&format!(" {number} {words}."));
        }
    }
    if !record.given_up.is_empty() {
        let others = if flight.has_crew() { "The others" } else { "The station" };
        let words = if flight.has_crew() { "the right words" } else { "a right read-back" };
        text.push_str(&format!(" {others} went on without {words} in {}.", numbers(&record.given_up)));
    }
    text
}

/// Right and wanted in first replies.
fn elements(record: &Record, flight: &Flight, rules: &RuleSet, rows: &mut Vec<Row>) {
    let mut tally: BTreeMap<Element, (usize, usize)> = BTreeMap::new();
    for (attempt, _) in record.attempts.iter().filter(|(a, _)| a.first) {
        let mut wanted: BTreeMap<Element, usize> = BTreeMap::new();
        for (element, _) in &attempt.wanted {
            *wanted.entry(*element).or_default() += 1;
        }
        if attempt.channel == Channel::Radio && (attempt.call || !attempt.wanted.is_empty()) {
            wanted.insert(Element::Callsign, 1);
        }
        let judgement = &attempt.judgement;
        // A clause left out whole is one finding, and all of it is lost.
        let owed = match attempt.skill {
            Skill::ReadBack => attempt.basis.owed(rules, &flight.callsign, &attempt.reply, judgement),
            _ => Vec::new(),
        };
        let lost: Vec<Element> = owed
            .iter()
            .zip(lost(&owed, &judgement.findings))
            .filter_map(|(owed, severity)| severity.map(|_| owed.element))
            .collect();
        for (element, number) in wanted {
            let bad = attempt
                .judgement
                .findings
                .iter()
                .filter(|f| f.element == element && matches!(f.fault, Fault::Wrong | Fault::Missing))
                .count();
            let bad = bad.max(lost.iter().filter(|lost| **lost == element).count());
            let bad = if attempt.reply.trim().is_empty() { number } else { bad.min(number) };
            let line = tally.entry(element).or_default();
            line.0 += number - bad;
            line.1 += number;
        }
    }
    if tally.is_empty() {
        return;
    }
    let names = tally.keys().map(|e| columns(&label(*e))).max().unwrap_or(0);
    rows.push(Row::new());
    rows.push(Row::of(Tone::Label, "  right at first, of wanted"));
    for (element, (right, wanted)) in tally {
        let tone = if right == wanted { Tone::Good } else { Tone::Bad };
        let mark = if right == wanted { "" } else { "  <" };
        rows.push(
            Row::of(Tone::Plain, format!("    {:names$}  ", label(element)))
                .and(tone, format!("{right:>2} of {wanted:>2}{mark}")),
        );
    }
}

/// Exchanges that are shown as they should have sounded; more would not be read.
const SHOWN: usize = 2;

/// What could have hurt someone, as it was said, as it was answered, and as it should have sounded.
fn heard_right(record: &Record, rows: &mut Vec<Row>, width: usize) {
    let worst = |attempt: &Attempt| {
        let slips =
            attempt.judgement.findings.iter().filter(|f| matches!(f.fault, Fault::Wrong | Fault::Missing));
        slips.map(|finding| finding.severity).max()
    };
    let mut slips: Vec<(Severity, &Attempt)> = record
        .attempts
        .iter()
        .map(|(attempt, _)| attempt)
        .filter(|attempt| {
            attempt.first && attempt.channel == Channel::Radio && !attempt.reply.trim().is_empty()
        })
        .filter(|attempt| !attempt.judgement.model.is_empty())
        .filter_map(|attempt| Some((worst(attempt)?, attempt)))
        .filter(|(severity, _)| *severity >= Severity::Major)
        .collect();
    // The worst first; of two alike the earlier.
    slips.sort_by(|(a, _), (b, _)| b.cmp(a));
    if slips.is_empty() {
        return;
    }
    rows.push(Row::new());
    rows.push(Row::of(Tone::Label, "  as it should have sounded"));
    for (_, attempt) in slips.into_iter().take(SHOWN) {
        let said = if attempt.call { "your call".to_owned() } else { format!("\"{}\"", attempt.asked) };
        let number = format!("    {:>2}", attempt.exchange);
        rows.extend(hang((Tone::Plain, &number), 14, Tone::Voice, &said, width));
        let model = format!("\"{}\"", attempt.judgement.model);
        rows.extend(hang((Tone::Label, "    right is"), 14, Tone::Good, &model, width));
    }
}

/// True if a station got no answer.
fn is_unanswered(attempt: &Attempt) -> bool {
    attempt.channel == Channel::Radio && attempt.reply.trim().is_empty()
}

fn hazards(record: &Record, rows: &mut Vec<Row>, width: usize) {
    rows.push(Row::new());
    rows.push(Row::of(Tone::Label, "  findings by hazard"));
    let mut any = false;
    for severity in [Severity::Critical, Severity::Major, Severity::Minor, Severity::Advice] {
        let mut kinds: BTreeMap<(Element, Fault), Vec<usize>> = BTreeMap::new();
        for (attempt, _) in record.attempts.iter().filter(|(a, _)| !is_unanswered(a)) {
            for finding in attempt.judgement.findings.iter().filter(|f| f.severity == severity) {
                kinds.entry((finding.element, finding.fault)).or_default().push(attempt.exchange);
            }
        }
        let texts: Vec<String> = kinds
            .iter()
            .map(|((element, fault), places)| {
                format!("{} {} ({})", label(*element), fault.name(), numbers(places))
            })
            .collect();
        if !texts.is_empty() {
            any = true;
            let tone = if severity >= Severity::Major { Tone::Bad } else { Tone::Fair };
            rows.extend(hang(
                (tone, &format!("    {}", severity.name())),
                14,
                Tone::Plain,
                &texts.join(", "),
                width,
            ));
        }
    }
    let silent = record.attempts.iter().filter(|(a, _)| is_unanswered(a) && !a.accepted).count();
    if silent > 0 {
        any = true;
        rows.extend(hang(
            (Tone::Bad, "    silence"),
            14,
            Tone::Plain,
            &format!("no reply {}", times_words(silent)),
            width,
        ));
    }
    if !any {
        rows.push(Row::of(Tone::Good, "    none"));
    }
}

/// One kind of finding in a session.
struct Habit {
    severity: Severity,
    number: usize,
    /// Why it matters, with how often that was said.
    reasons: Vec<(String, usize)>,
}

/// The worst habits, each with one sentence.
fn work_on(record: &Record, rows: &mut Vec<Row>, width: usize) {
    let mut kinds: BTreeMap<String, Habit> = BTreeMap::new();
    let mut add = |name: String, severity: Severity, sentence: &str| {
        let line = kinds.entry(name).or_insert_with(|| Habit { severity, number: 0, reasons: Vec::new() });
        line.severity = line.severity.max(severity);
        line.number += 1;
        match line.reasons.iter_mut().find(|s| s.0 == sentence.trim()) {
            Some(same) => same.1 += 1,
            None => line.reasons.push((sentence.trim().to_owned(), 1)),
        }
    };
    for (attempt, _) in &record.attempts {
        if is_unanswered(attempt) {
            if !attempt.accepted {
                add("no reply".to_owned(), Severity::Major, SILENCE);
            }
            continue;
        }
        for finding in attempt.judgement.findings.iter().filter(|f| f.severity > Severity::Advice) {
            let better = finding.better.as_deref().map(|b| format!(" Say \"{b}\".")).unwrap_or_default();
            let why = if finding.why.trim().is_empty() { finding.element.doc() } else { finding.why.trim() };
            add(
                format!("{} {}", label(finding.element), finding.fault.name()),
                finding.severity,
                &format!("{why}{better}"),
            );
        }
    }
    let mut worst: Vec<_> = kinds.into_iter().collect();
    worst.sort_by(|(a, x), (b, y)| (y.severity, y.number, a).cmp(&(x.severity, x.number, b)));
    if worst.is_empty() {
        return;
    }
    rows.push(Row::new());
    rows.push(Row::of(Tone::Label, "  to work on"));
    for (n, (name, mut habit)) in worst.into_iter().take(NAMED).enumerate() {
        // Of several reasons the most frequent one stands for all; of equals the first.
        habit.reasons.sort_by_key(|s| std::cmp::Reverse(s.1));
        let sentence = habit.reasons.first().map_or("", |s| &s.0);
        let head = format!("{name}, {}", times_words(habit.number));
        rows.extend(hang((Tone::Label, &format!("    {}", n + 1)), 7, Tone::Label, &head, width));
        rows.extend(hang((Tone::Plain, "     "), 7, Tone::Plain, sentence, width));
    }
}

fn times(record: &Record, rows: &mut Vec<Row>, width: usize) {
    let sorted = |pick: fn(&Timing) -> Option<Duration>| {
        let mut list: Vec<Duration> = record.attempts.iter().filter_map(|(_, t)| pick(t)).collect();
        list.sort_unstable();
        list
    };
    let sent = sorted(|t| t.sent);
    let (Some(quick), Some(slow)) = (sent.first(), sent.last()) else {
        return;
    };
    let middle = sent[sent.len() / 2];
    let mut text = format!(
        "middle {}, quickest {}, slowest {}",
        duration_words(middle),
        duration_words(*quick),
        duration_words(*slow)
    );
    let keys = sorted(|t| t.first_key);
    if let Some(key) = keys.get(keys.len() / 2) {
        text.push_str(&format!("; first key after {}", duration_words(*key)));
    }
    rows.push(Row::new());
    rows.extend(hang((Tone::Label, "  time to reply"), 18, Tone::Plain, &text, width));
}

fn numbers(places: &[usize]) -> String {
    let mut places = places.to_vec();
    places.dedup();
    let texts: Vec<String> = places.iter().map(usize::to_string).collect();
    let s = if texts.len() == 1 { "" } else { "s" };
    format!("exchange{s} {}", texts.join(", "))
}

fn times_words(number: usize) -> String {
    match number {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}
