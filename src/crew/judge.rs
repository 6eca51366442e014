//! The judge of calls: the words that the moment asks for, beside those that were said.

use super::book::{Call, Checklist, CrewBook, Lines, Operator};
use super::said::{Match, Speech, Values};
use crate::element::{Element, Fault, Severity, Verdict};
use crate::judge::judgement::{Finding, Judgement};
use crate::span::Span;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Which side of an exchange is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// The call, or the challenge of a checklist item.
    First,
    /// The answer to a call, or the response to a challenge.
    Second,
}

/// What is judged, and what is said if it is not right.
struct Wanted<'a> {
    element: Element,
    lines: &'a Lines,
    severity: Severity,
    why: &'a str,
    source: &'a str,
    id: &'a str,
    model: String,
}

/// Judges one side of a call; `None` if the call wants no answer and the answer was asked for.
#[must_use]
pub fn judge_call(
    book: &CrewBook,
    call: &Call,
    role: Role,
    operator: &Operator,
    values: &BTreeMap<String, String>,
    reply: &str,
) -> Option<Judgement> {
    let (element, lines, preferred) = match role {
        Role::First => (Element::Call, &call.call, operator.says.get(&call.id)),
        Role::Second => (Element::Reply, call.answer.as_ref()?, operator.answer.get(&call.id)),
    };
    let preferred = preferred.filter(|_| call.case.is_none());
    let mut all = operator.value.clone();
    all.extend(values.iter().map(|(name, value)| (name.clone(), value.clone())));
    let taught = preferred.map_or_else(|| lines.says.first().map_or("", |s| &s.text), String::as_str);
    let model = filled(taught, &all);
    let wanted = Wanted {
        element,
        lines,
        severity: call.severity,
        why: &call.why,
        source: &call.source,
        id: &call.id,
        model,
    };
    Some(judge(book, &wanted, &all, reply))
}

/// Judges one side of a checklist item, counted from 1; `None` if the list has no such item.
#[must_use]
pub fn judge_item(
    book: &CrewBook,
    list: &Checklist,
    item: usize,
    role: Role,
    values: &BTreeMap<String, String>,
    reply: &str,
) -> Option<Judgement> {
    let at = item.checked_sub(1)?;
    let entry = list.items.get(at)?;
    let (element, lines) = match role {
        Role::First => (Element::Challenge, &entry.challenge),
        Role::Second => (Element::Response, &entry.response),
    };
    let why = match (role, entry.killer) {
        (Role::First, _) => "A checklist is read in order, with no item left out.",
        (Role::Second, true) => {
            "Look, then answer with what you see: an answer by habit hides a wrong setting."
        }
        (Role::Second, false) => "The answer tells what was seen.",
    };
    let severity = if entry.killer { Severity::Critical } else { Severity::Major };
    let model = filled(&lines.says[0].text, values);
    let wanted = Wanted { element, lines, severity, why, source: &list.source, id: &list.id, model };
    Some(judge(book, &wanted, values, reply))
}

fn score(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Correct => 100,
        Verdict::Nonstandard => 90,
        Verdict::Incomplete => 40,
        Verdict::Incorrect => 0,
    }
}

/// The judgement of a text of several parts, by its worst finding; the model is a right text.
pub(super) fn conclude(findings: Vec<Finding>, model: String) -> Judgement {
    let verdict = |f: &Finding| match (f.fault, f.severity) {
        (_, Severity::Advice) => Verdict::Correct,
        (Fault::Wrong, _) => Verdict::Incorrect,
        (Fault::Missing, Severity::Major | Severity::Critical) => Verdict::Incomplete,
        _ => Verdict::Nonstandard,
    };
    let verdict = findings.iter().map(verdict).max().unwrap_or(Verdict::Correct);
    Judgement { verdict, score: score(verdict), findings, ..Judgement::right(model) }
}

fn judge(book: &CrewBook, wanted: &Wanted<'_>, values: &Values, reply: &str) -> Judgement {
    let mut out = Judgement::right(wanted.model.clone());
    let fault = look(book, wanted, values, reply);
    out.verdict = match fault.as_ref().map(|f| f.0) {
        None => Verdict::Correct,
        Some(Fault::Missing) => Verdict::Incomplete,
        Some(Fault::Wrong) => Verdict::Incorrect,
        Some(_) => Verdict::Nonstandard,
    };
    out.score = score(out.verdict);
    out.findings.extend(fault.map(|(fault, expected, given, span, why)| Finding {
        element: wanted.element,
        fault,
        severity: if fault == Fault::Nonstandard {
            Severity::Minor
        } else {
            wanted.severity.max(Severity::Minor)
        },
        expected: Some(expected),
        given,
        span,
        rule: Arc::from(wanted.source),
        why: Arc::from(why.as_deref().unwrap_or(wanted.why)),
        better: Some(wanted.model.clone()),
        id: Arc::from(wanted.id),
    }));
    out
}

type Found = (Fault, String, Option<String>, Option<Span>, Option<String>);

/// What is the matter with a reply: a fault, what was expected and given, where, and a reason of its own.
fn look(book: &CrewBook, wanted: &Wanted<'_>, values: &Values, reply: &str) -> Option<Found> {
    let model = || wanted.model.clone();
    let trimmed = reply.trim();
    if !trimmed.chars().any(char::is_alphanumeric) {
        return Some((Fault::Missing, model(), None, None, None));
    }
    let nearest = |speeches: &[Speech]| -> Option<Match> {
        speeches.iter().map(|s| book.words.compare(s, values, reply)).min_by_key(|m| m.cost)
    };
    let clean = |found: &Option<Match>| found.as_ref().is_some_and(|m| m.whole() && m.extra.is_empty());
    let best = nearest(&wanted.lines.says)?;
    let given = || Some(trimmed.to_owned());
    if best.whole() && best.extra.is_empty() || repaired(book, &wanted.lines.says, values, reply) {
        return None;
    }
    if clean(&nearest(&wanted.lines.weak)) {
        let why = "Understood, but it does not say what the call says.".to_owned();
        return Some((Fault::Nonstandard, model(), given(), None, Some(why)));
    }
    for (when, speeches) in &wanted.lines.otherwise {
        if clean(&nearest(speeches)) {
            let why = format!("This is right when {when}, and only then.");
            return Some((Fault::Wrong, model(), given(), None, Some(why)));
        }
    }
    // Words too many for one form may be another value in a longer one.
    let longer = || {
        let all = wanted.lines.says.iter().map(|s| book.words.compare(s, values, reply));
        all.filter(|m| m.missing == 0 && m.extra.is_empty()).find(|m| !m.wrong.is_empty())
    };
    let best = if best.whole() { longer().unwrap_or(best) } else { best };
    // A call of its own says something else, also where it holds the words of this one.
    let says = |call: &Call| {
        let fixed =
            call.call.says.iter().chain(call.answer.iter().flat_map(|a| &a.says)).filter(|s| s.is_fixed());
        fixed.map(|s| book.words.compare(s, values, reply)).any(|m| m.whole() && m.extra.is_empty())
    };
    let talks = wanted.element == Element::Call || wanted.element == Element::Reply;
    let own = || book.calls().find(|call| talks && call.id != wanted.id && says(call));
    let another = |own: &Call| {
        let why = format!("This is another call, `{}`. {}", own.id, wanted.why);
        Some((Fault::Wrong, model(), given(), None, Some(why)))
    };
    if best.whole() {
        if let Some(own) = own() {
            return another(own);
        }
        let span = best.extra.iter().copied().reduce(Span::to);
        let why = "A call says one thing and no more.".to_owned();
        return Some((Fault::Nonstandard, model(), span.map(|s| s.of(reply).to_owned()), span, Some(why)));
    }
    if let Some((name, span)) = best.wrong.first().filter(|_| !best.turned) {
        let value = values.get(name).cloned().unwrap_or_else(model);
        return Some((Fault::Wrong, value, Some(span.of(reply).to_owned()), Some(*span), None));
    }
    if best.found == 0 && book.words.acknowledges(reply) {
        let checks = wanted.element == Element::Reply && wanted.model == "Checked";
        let why = "An acknowledgement says that it was heard, not that anything was looked at.".to_owned();
        let fault = if checks { Fault::Nonstandard } else { Fault::Missing };
        return Some((fault, model(), given(), None, Some(why)));
    }
    if best.extra.is_empty() && !best.turned {
        if let Some(value) = best.missing_values.first().filter(|_| best.missing == 0) {
            let expected = values.get(value).cloned().unwrap_or_else(model);
            return Some((Fault::Missing, expected, None, None, None));
        }
        if let Some(own) = own() {
            return another(own);
        }
        return Some((Fault::Missing, model(), given(), None, None));
    }
    Some((Fault::Wrong, model(), given(), None, None))
}

/// True if a reply that corrects itself comes out right: the words after "correction" stand for the last ones before it.
fn repaired(book: &CrewBook, speeches: &[Speech], values: &Values, reply: &str) -> bool {
    let lower = reply.to_ascii_lowercase();
    let Some(at) = lower.rfind("correction") else { return false };
    let tail = &reply[at + "correction".len()..];
    let before: Vec<&str> = reply[..at].split_whitespace().take(60).collect();
    (0..=before.len()).any(|kept| {
        let text = format!("{} {tail}", before[..kept].join(" "));
        speeches.iter().any(|s| {
            let found = book.words.compare(s, values, &text);
            found.whole() && found.extra.is_empty()
        })
    })
}

/// The text with its values as they were given; a value that nobody gave keeps its name.
pub(crate) fn filled(text: &str, values: &Values) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(open) = rest.find('<') {
        let close = rest[open..].find('>').map_or(rest.len(), |c| open + c);
        out.push_str(&rest[..open]);
        let name = &rest[open + 1..close];
        out.push_str(values.get(name).map_or(name, String::as_str));
        rest = rest.get(close + 1..).unwrap_or("");
    }
    out + rest
}
