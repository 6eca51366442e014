//! A judgement in words: what was wrong in this reply, why it matters, and how it is said.

use crate::airport::value::written;
use crate::element::{Element, Fault, Severity, Verdict};
use crate::judge::judgement::{Finding, Judgement};
use crate::rules::{FORM_RULES, FormRule};
use crate::session::console::Timing;
use crate::session::screen::{Row, Tone, columns, hang, marked};
use crate::span::Span;
use std::time::Duration;

/// Blanks before feedback, so that it stands apart from what is said on the radio.
pub(crate) const INDENT: usize = 4;

/// The same as blanks.
pub(crate) const LEAD: &str = "    ";

/// Signs that tie a mark under the reply to its explanation.
const SIGNS: &[u8] = b"123456789abcdefghijklmnopqrstuvwxyz";

/// Feedback on one reply: a short line if all was right, else the reply with marks and a note for each finding.
#[must_use]
pub fn reply_rows(reply: &str, judgement: &Judgement, call: bool, timing: Timing, width: usize) -> Vec<Row> {
    let (mood, word) = verdict_words(judgement, reply, call);
    let head = Row::of(Tone::Plain, LEAD).and(mood, word);
    let mut rows = match timing_words(timing) {
        None => vec![head],
        Some(time) if INDENT + columns(word) + 3 + columns(&time) <= width => {
            vec![head.and(Tone::Faint, format!("   {time}"))]
        }
        Some(time) => vec![head, Row::of(Tone::Plain, LEAD).and(Tone::Faint, time)],
    };
    let crew = judgement.findings.iter().any(|f| f.element >= Element::Call);
    if reply.trim().is_empty() && !crew || judgement.findings.is_empty() {
        return rows;
    }
    let signs: Vec<char> = sign_list(&judgement.findings);
    let marks: Vec<(Span, char)> = judgement
        .findings
        .iter()
        .zip(&signs)
        .filter(|(_, sign)| **sign != '-')
        .filter_map(|(f, s)| Some((f.span?, *s)))
        .collect();
    if !marks.is_empty() {
        rows.extend(marked(reply, &marks, INDENT, width));
    }
    let names = judgement.findings.iter().map(|f| columns(&label(f.element))).max().unwrap_or(0);
    let column = INDENT + 2 + names + 2;
    for (n, (finding, sign)) in judgement.findings.iter().zip(signs).enumerate() {
        let head = format!("{LEAD}{sign} {}", label(finding.element));
        rows.extend(hang(
            (tone(finding.severity), &head),
            column,
            Tone::Plain,
            &what(finding, reply, call),
            width,
        ));
        // A reason that several findings share stands once, beneath the last of them.
        let reason = reason(finding);
        let again = judgement.findings.get(n + 1).is_some_and(|next| self::reason(next) == reason);
        if !reason.is_empty() && !again {
            rows.extend(hang((Tone::Plain, LEAD), column, Tone::Faint, &reason, width));
        }
    }
    rows
}

/// Why it matters, and who says so.
fn reason(finding: &Finding) -> String {
    let rule = if finding.rule.is_empty() { String::new() } else { format!("[{}]", finding.rule) };
    format!("{} {rule}", finding.why.trim()).trim().to_owned()
}

/// What is the matter, in one line: both values where there are two, and what to say where there is a phrase for it.
pub(crate) fn what(finding: &Finding, reply: &str, call: bool) -> String {
    let shown = |value: &Option<String>| {
        value.as_deref().filter(|v| !v.is_empty()).map(|v| written(finding.element, v))
    };
    let (expected, given) = (shown(&finding.expected), shown(&finding.given));
    let words = finding.span.map(|span| span.of(reply).trim()).filter(|w| !w.is_empty());
    if finding.element >= Element::Call {
        return crew_words(finding, reply.trim().is_empty());
    }
    let source = if call { "it is" } else { "station" };
    let mut text = match finding.fault {
        Fault::Wrong => match (&expected, &given) {
            (Some(expected), Some(given)) => format!("{source} {expected}, you {given}"),
            (Some(expected), None) => format!("{source} {expected}, you something else"),
            (None, Some(given)) => format!("you {given}, which the station did not say"),
            (None, None) => "not what it should be".to_owned(),
        },
        Fault::Missing if finding.element == Element::Callsign => "your callsign is not in it".to_owned(),
        Fault::Missing if finding.element.is_form() => "the words that belong to it are missing".to_owned(),
        Fault::Missing if &*finding.id == FORM_RULES[FormRule::LostSayAgain as usize] => {
            "a part was blocked, and not asked for".to_owned()
        }
        Fault::Missing => match (&expected, call) {
            (Some(expected), true) => format!("{expected} is not in your call"),
            (Some(expected), false) => format!("station {expected}, not in your read-back"),
            (None, true) => "not in your call".to_owned(),
            (None, false) => "not in your read-back".to_owned(),
        },
        Fault::Misplaced => "right, but not in its place".to_owned(),
        Fault::Nonstandard => match words {
            Some(words) => format!("understood, but not in these words: \"{words}\""),
            None => "understood, but not in these words".to_owned(),
        },
        Fault::Unrequested => match words {
            Some(words) => format!("not to be read back: \"{words}\""),
            None => "not to be read back".to_owned(),
        },
    };
    if let (Fault::Wrong, Some(expected), Some(given)) = (finding.fault, &expected, &given)
        && let Some(slip) = slip(expected, given)
    {
        text.push_str(&format!(": {slip}"));
    }
    let form = expected.as_deref().filter(|_| finding.element.is_form() && finding.fault != Fault::Wrong);
    if let Some(better) = finding.better.as_deref().or(form).filter(|b| !b.is_empty()) {
        text.push_str(&format!("; say \"{better}\""));
    }
    text
}

/// What is the matter with words between the pilots, in one line.
fn crew_words(finding: &Finding, silent: bool) -> String {
    let expected = finding.better.as_deref().or(finding.expected.as_deref()).unwrap_or("");
    let given = finding.given.as_deref().unwrap_or("");
    match (finding.fault, finding.element) {
        (Fault::Misplaced, Element::Channel) => {
            format!("right words, but said on {given}; they belong on {expected}")
        }
        (Fault::Misplaced, _) => format!("right words, {given}; due {expected}"),
        (Fault::Unrequested, _) => "nothing was wrong".to_owned(),
        (Fault::Missing, _) if silent => format!("say \"{expected}\""),
        (Fault::Missing, Element::Challenge) if finding.severity == Severity::Critical => {
            format!("it was wrong; say \"{expected}\"")
        }
        (Fault::Missing, _) => format!("not all of it; say \"{expected}\""),
        (Fault::Nonstandard, Element::Call) if finding.better.is_none() => {
            format!("more than the moment needs; \"{expected}\" is enough")
        }
        (Fault::Nonstandard, _) => format!("understood, but not in these words; say \"{expected}\""),
        (Fault::Wrong, Element::Call) if finding.better.is_none() && !given.is_empty() => {
            format!("taken as \"{given}\"; the moment asks for \"{expected}\"")
        }
        (Fault::Wrong, _) if given.is_empty() => format!("not that; say \"{expected}\""),
        (Fault::Wrong, _) => format!("you said \"{given}\"; say \"{expected}\""),
    }
}

/// How two values differ, where the difference is one of the common slips.
///
/// ```
/// use hearback::feedback::slip;
/// assert_eq!(slip("4421", "4412"), Some("two digits changed places"));
/// assert_eq!(slip("27L", "27R"), Some("the other side"));
/// assert_eq!(slip("TARNO 1A", "TARNO 1B"), Some("another letter"));
/// ```
#[must_use]
pub fn slip(expected: &str, given: &str) -> Option<&'static str> {
    let digits = |text: &str| -> Vec<u8> { text.bytes().filter(u8::is_ascii_digit).collect() };
    let side = |text: &str| text.chars().next_back().filter(|c| matches!(c, 'L' | 'C' | 'R'));
    let (here, there) = (digits(expected), digits(given));
    let letters = |text: &str| -> Vec<u8> { text.bytes().filter(u8::is_ascii_alphabetic).collect() };
    if !here.is_empty() && here == there && here.len() == 1 && letters(expected).len() == letters(given).len()
    {
        return Some("another letter");
    }
    if !here.is_empty() && here == there {
        return match (side(expected), side(given)) {
            (Some(_), Some(_)) => Some("the other side"),
            (Some(_), None) => Some("the side is lost"),
            (None, Some(_)) => Some("a side too many"),
            (None, None) => Some("the digits are right, what they stand for is not"),
        };
    }
    if matches!((expected, given), ("left", "right") | ("right", "left")) {
        return Some("the other way");
    }
    if here.len() != there.len() || here.len() < 2 {
        let lost = here.len() == there.len() + 1 && !there.is_empty();
        return lost.then_some("a digit is lost");
    }
    let off: Vec<usize> = (0..here.len()).filter(|&n| here[n] != there[n]).collect();
    match off.as_slice() {
        [_] => Some("one digit differs"),
        [a, b] if here[*a] == there[*b] && here[*b] == there[*a] => Some("two digits changed places"),
        _ => None,
    }
}

/// The name of an element for people.
#[must_use]
pub fn label(element: Element) -> String {
    match element {
        Element::Sid => "departure".to_owned(),
        Element::Star => "arrival".to_owned(),
        Element::Unit => "station".to_owned(),
        Element::ClearanceLimit => "clearance limit".to_owned(),
        Element::Altimeter => "altimeter setting".to_owned(),
        _ => element.name().replace('_', " "),
    }
}

/// A time to reply: `6.1 s`, `1 min 12 s`.
#[must_use]
pub fn duration_words(time: Duration) -> String {
    let tenths = time.as_millis().saturating_add(50) / 100;
    if tenths < 600 {
        format!("{}.{} s", tenths / 10, tenths % 10)
    } else {
        format!("{} min {} s", tenths / 600, tenths % 600 / 10)
    }
}

fn timing_words(timing: Timing) -> Option<String> {
    let sent = duration_words(timing.sent?);
    Some(match timing.first_key {
        Some(key) => format!("{sent}, first key after {}", duration_words(key)),
        None => sent,
    })
}

fn verdict_words(judgement: &Judgement, reply: &str, call: bool) -> (Tone, &'static str) {
    let silent = reply.trim().is_empty();
    let crew = judgement.findings.iter().any(|f| f.element >= Element::Call);
    let alone = judgement.findings.iter().all(|f| f.severity == Severity::Advice);
    match judgement.verdict {
        Verdict::Correct if silent => (Tone::Good, "right: no answer is wanted"),
        Verdict::Correct if judgement.findings.is_empty() => (Tone::Good, "right"),
        Verdict::Correct if alone => (Tone::Good, "right, with advice"),
        Verdict::Correct => (Tone::Good, "right"),
        _ if silent && crew => (Tone::Bad, "missed"),
        _ if silent && call => (Tone::Bad, "nobody heard you call"),
        _ if silent => (Tone::Bad, "no reply was heard"),
        Verdict::Nonstandard => (Tone::Fair, "understood, form to mend"),
        Verdict::Incomplete => (Tone::Bad, "incomplete"),
        Verdict::Incorrect => (Tone::Bad, "incorrect"),
    }
}

fn sign_list(findings: &[Finding]) -> Vec<char> {
    let mut next = SIGNS.iter();
    let sign = |f: &Finding| f.span.filter(|s| s.end > s.start).and_then(|_| next.next());
    findings.iter().map(sign).map(|s| s.map_or('-', |s| char::from(*s))).collect()
}

/// The tone of a severity.
pub(crate) fn tone(severity: Severity) -> Tone {
    match severity {
        Severity::Critical | Severity::Major => Tone::Bad,
        Severity::Minor => Tone::Fair,
        Severity::Advice => Tone::Faint,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(
        element: Element,
        fault: Fault,
        expected: Option<&str>,
        given: Option<&str>,
        span: Option<Span>,
    ) -> Finding {
        Finding {
            element,
            fault,
            severity: element.severity(fault),
            expected: expected.map(str::to_owned),
            given: given.map(str::to_owned),
            span,
            rule: "Annex 11 3.7.3.1".into(),
            why: "The code tells the controller who you are.".into(),
            better: None,
            id: "squawk".into(),
        }
    }

    fn judgement(verdict: Verdict, findings: Vec<Finding>) -> Judgement {
        Judgement { verdict, score: 0, findings, ..Judgement::right(String::new()) }
    }

    fn shown(reply: &str, judgement: &Judgement, width: usize) -> String {
        let timing =
            Timing { first_key: Some(Duration::from_millis(1200)), sent: Some(Duration::from_millis(6100)) };
        let rows = reply_rows(reply, judgement, false, timing, width);
        rows.iter().map(|r| r.paint(false) + "\n").collect()
    }

    #[test]
    fn a_right_reply_is_one_short_line() {
        let text = shown("roger", &judgement(Verdict::Correct, vec![]), 80);
        assert_eq!(text, "    right   6.1 s, first key after 1.2 s\n");
    }

    #[test]
    fn a_wrong_digit_is_marked_named_and_explained() {
        let reply = "squawk 4412 whimbrel 214";
        let wrong =
            finding(Element::Squawk, Fault::Wrong, Some("4421"), Some("4412"), Some(Span::new(7, 11)));
        let mut lost = finding(Element::Level, Fault::Missing, Some("FL080"), None, None);
        lost.why = "Your level keeps others off you.".into();
        let text = shown(reply, &judgement(Verdict::Incorrect, vec![wrong, lost]), 80);
        let expected = "    incorrect   6.1 s, first key after 1.2 s
    squawk 4412 whimbrel 214
           1---
    1 squawk  station 4421, you 4412: two digits changed places
              The code tells the controller who you are. [Annex 11 3.7.3.1]
    - level   station FL80, not in your read-back
              Your level keeps others off you. [Annex 11 3.7.3.1]
";
        assert_eq!(text, expected);
    }

    #[test]
    fn forty_columns_are_enough() {
        let reply = "cleared to tarnmoor squawk 4412 whimbrel 214";
        let wrong =
            finding(Element::Squawk, Fault::Wrong, Some("4421"), Some("4412"), Some(Span::new(27, 31)));
        let text = shown(reply, &judgement(Verdict::Incorrect, vec![wrong]), 40);
        assert!(text.lines().all(|l| columns(l) <= 40), "{text}");
        assert!(
            text.contains("squawk 4412\n                               1---\n    whimbrel 214\n"),
            "{text}"
        );
    }

    #[test]
    fn slips_have_names() {
        for (expected, given, name) in [
            ("4421", "4412", Some("two digits changed places")),
            ("4421", "4422", Some("one digit differs")),
            ("118.705", "118.75", Some("a digit is lost")),
            ("27L", "27", Some("the side is lost")),
            ("FL80", "8,000 ft", None),
            ("left", "right", Some("the other way")),
            ("TARNO", "MERLO", None),
            ("210", "210 kt", Some("the digits are right, what they stand for is not")),
        ] {
            assert_eq!(slip(expected, given), name, "{expected} {given}");
        }
    }

    #[test]
    fn times_are_short() {
        assert_eq!(duration_words(Duration::from_millis(6149)), "6.1 s");
        assert_eq!(duration_words(Duration::from_millis(59_980)), "1 min 0 s");
        assert_eq!(duration_words(Duration::from_secs(72)), "1 min 12 s");
    }
}
