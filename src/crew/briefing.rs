//! Briefings: the parts that must be in one, the values they carry, and the judge of a briefing that was given.

use super::book::{Channel, CrewBook, Position};
use super::content::{Content, contents};
use super::duration::{durations, minutes};
use super::judge::{conclude, filled};
use super::said::{Values, Words};
use super::scan::{Heard, Hit, Phrase, Told};
use crate::element::{Element, Fault, Severity};
use crate::judge::judgement::{Finding, Judgement};
use crate::span::Span;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A briefing: what must be in it.
#[derive(Debug)]
pub struct Briefing {
    /// Its name in files, for instance `nits`.
    pub id: String,
    /// One line for lists.
    pub title: String,
    /// Who gives it.
    pub by: Position,
    /// Where.
    pub channel: Channel,
    /// In the order in which it is given.
    pub parts: Vec<BriefingPart>,
    /// What happens if something is left out.
    pub why: String,
    jargon: Vec<Phrase>,
}

/// One part of a briefing.
#[derive(Debug)]
pub struct BriefingPart {
    /// Its name in files, for instance `minimums`.
    pub id: String,
    /// What it is, in a few words.
    pub title: String,
    /// How much it can hurt to leave it out; advice if only some flights have it.
    pub severity: Severity,
    /// Where it comes from.
    pub source: String,
    /// The text that is taught, values in angle brackets.
    pub model: String,
    marks: Vec<Phrase>,
    aside: Vec<Phrase>,
    label: Vec<Phrase>,
    says: Vec<Phrase>,
    words: Vec<String>,
    minutes: Option<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct BriefingEntry {
    /// Its name in scenarios, for instance `nits`.
    pub(super) id: String,
    /// One line for lists.
    title: String,
    /// Who gives it.
    by: Position,
    /// Where; on the flight deck if left out.
    #[serde(default)]
    channel: Channel,
    /// What happens if something is left out.
    why: String,
    /// Words that the cabin does not know.
    #[serde(default)]
    jargon: Vec<String>,
    /// Its parts, in the order in which it is given.
    part: Vec<PartEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "BriefingPart")]
struct PartEntry {
    /// Its name, for instance `minimums`.
    id: String,
    /// What it is, in a few words.
    title: String,
    /// How much it can hurt to leave it out.
    severity: Severity,
    /// Document and paragraph, or `common practice`.
    source: String,
    /// The text that is taught, values in angle brackets.
    model: String,
    /// One of them is said: the part is there.
    marks: Vec<String>,
    /// What has a mark in it and says something else.
    #[serde(default)]
    aside: Vec<String>,
    /// The name of the part, said in front of it.
    #[serde(default)]
    label: Vec<String>,
    /// Where its numbers stand.
    #[serde(default)]
    says: Vec<String>,
    /// Values that are words.
    #[serde(default)]
    words: Vec<String>,
    /// The value that is a number of minutes.
    minutes: Option<String>,
}

impl BriefingEntry {
    /// Every text whose words must be known.
    pub(super) fn texts(&self) -> impl Iterator<Item = &String> {
        let parts = self.part.iter().flat_map(|part| {
            [&part.model]
                .into_iter()
                .chain(&part.marks)
                .chain(&part.aside)
                .chain(&part.label)
                .chain(&part.says)
        });
        self.jargon.iter().chain(parts)
    }

    pub(super) fn briefing(&self, words: &Words) -> Briefing {
        let parts = self.part.iter().map(|part| BriefingPart {
            id: part.id.clone(),
            title: part.title.clone(),
            severity: part.severity,
            source: part.source.clone(),
            model: part.model.clone(),
            marks: words.phrases(&part.marks),
            aside: words.phrases(&part.aside),
            label: words.phrases(&part.label),
            says: words.phrases(&part.says),
            words: part.words.clone(),
            minutes: part.minutes.clone(),
        });
        Briefing {
            id: self.id.clone(),
            title: self.title.clone(),
            by: self.by,
            channel: self.channel,
            parts: parts.collect(),
            why: self.why.clone(),
            jargon: words.phrases(&self.jargon),
        }
    }
}

impl BriefingPart {
    /// Names of the values that it can carry.
    #[must_use]
    pub fn values(&self) -> Vec<&str> {
        let gaps = self.says.iter().flat_map(Phrase::gaps).filter(|gap| *gap != "number");
        let mut names: Vec<&str> = gaps.chain(self.words.iter().map(String::as_str)).collect();
        names.extend(self.minutes.as_deref());
        let mut seen = std::collections::HashSet::new();
        names.retain(|name| seen.insert(*name));
        names
    }

    /// Values that a text tells where the part says them.
    pub(super) fn told_in(&self, text: &Heard<'_>, values: &mut Values) {
        text.fill(&self.says, values);
    }

    fn model(&self, words: &Words, values: &Values) -> String {
        let mut known: Values = self.values().into_iter().map(|n| (n.to_owned(), "…".to_owned())).collect();
        known.extend(values.clone());
        if let Some(name) = &self.minutes
            && let Some(value) = values.get(name)
        {
            known
                .insert(name.clone(), minutes(words, value).map_or_else(|| value.clone(), |m| m.to_string()));
        }
        filled(&self.model, &known)
    }
}

/// What was said of one value.
enum Said {
    Right,
    Wrong(Span),
    /// Most of its words; nothing else instead.
    Partly,
    Not,
}

/// Judges a briefing, or a read-back of one. Values that are not known may be anything.
#[must_use]
pub fn judge_briefing(
    book: &CrewBook,
    briefing: &Briefing,
    values: &BTreeMap<String, String>,
    reply: &str,
) -> Judgement {
    let values: Values = values.iter().filter(|v| !v.1.trim().is_empty()).map(own).collect();
    let heard = Heard::new(&book.talk, reply);
    let model: Vec<String> = briefing.parts.iter().map(|part| part.model(&book.talk, &values)).collect();
    let mut findings: Vec<Finding> = Vec::new();
    for part in &briefing.parts {
        findings.extend(look(book, briefing, part, &values, &heard));
    }
    // What the moment itself is called so is no jargon of the speaker.
    let told = |hit: &Hit<'_>| {
        let said = contents(book, &heard, hit.from, hit.to);
        values.values().map(|value| Heard::new(&book.talk, value)).any(|meant| {
            let own = contents(book, &meant, 0, meant.toks.len().min(LONGEST_VALUE));
            said.iter().all(|word| own.iter().any(|o| o.means(&meant, word, &heard)))
        })
    };
    // Each word of jargon is told once, where it stands first.
    let jargon = briefing.jargon.iter().filter_map(|phrase| heard.first(std::slice::from_ref(phrase)));
    for hit in jargon.filter(|hit| !told(hit)) {
        let span = heard.span(hit.from, hit.to);
        findings.push(Finding {
            element: Element::Word,
            fault: Fault::Nonstandard,
            severity: Severity::Minor,
            expected: None,
            given: span.map(|s| s.of(reply).to_owned()),
            span,
            rule: source(briefing),
            why: Arc::from("The cabin does not know this word: say what it means for the cabin."),
            better: None,
            id: Arc::from(briefing.id.as_str()),
        });
    }
    findings.extend(order(briefing, &heard));
    conclude(findings, model.join(" "))
}

fn own((name, value): (&String, &String)) -> (String, String) {
    (name.clone(), value.clone())
}

/// Where a briefing as a whole comes from: as its first part.
fn source(briefing: &Briefing) -> Arc<str> {
    Arc::from(briefing.parts.first().map_or("", |part| &part.source))
}

/// What is the matter with one part.
fn look(
    book: &CrewBook,
    briefing: &Briefing,
    part: &BriefingPart,
    values: &Values,
    heard: &Heard<'_>,
) -> Option<Finding> {
    let mut own = heard.clone();
    own.hide(&part.aside);
    let marked = own.first(&part.marks).is_some();
    let (mut wrong, mut missing, mut partly) = (Vec::new(), Vec::new(), Vec::new());
    let mut there = marked;
    let mut known = false;
    for name in part.values() {
        let Some(value) = values.get(name) else { continue };
        known = true;
        let said = if part.minutes.as_deref() == Some(name) {
            of_time(heard, value)
        } else if part.words.iter().any(|word| word == name) || !value.contains(|c: char| c.is_ascii_digit())
        {
            of_words(book, briefing, part, value, heard)
        } else {
            let numbers = part.values().len() - part.words.len() == 1;
            let loose: &[Phrase] = if numbers { &part.marks } else { &[] };
            match heard.told(&part.says, loose, name, values) {
                Told::Right => Said::Right,
                Told::Wrong(span) => Said::Wrong(span),
                Told::Not => Said::Not,
            }
        };
        there |= matches!(said, Said::Right | Said::Partly);
        match said {
            Said::Right => {}
            Said::Wrong(span) => wrong.push((value.as_str(), span)),
            Said::Partly => partly.push(value.as_str()),
            Said::Not => missing.push(value.as_str()),
        }
    }
    let severity = if known && part.severity == Severity::Advice { Severity::Major } else { part.severity };
    let finding = |fault, severity, expected: String, span: Option<Span>, given: Option<String>| {
        Some(Finding {
            element: Element::Briefing,
            fault,
            severity,
            expected: Some(expected),
            given,
            span,
            rule: Arc::from(part.source.as_str()),
            why: Arc::from(briefing.why.as_str()),
            better: Some(part.model(&book.talk, values)),
            id: Arc::from(format!("{}.{}", briefing.id, part.id)),
        })
    };
    if !wrong.is_empty() {
        let expected: Vec<&str> = wrong.iter().map(|w| w.0).collect();
        let mut given: Vec<&str> = wrong.iter().map(|w| w.1.of(heard.text)).collect();
        given.dedup();
        let span = wrong.iter().map(|w| w.1).reduce(Span::to);
        let given = Some(given.join(", "));
        return finding(Fault::Wrong, severity.max(Severity::Major), expected.join(", "), span, given);
    }
    if !there {
        return finding(Fault::Missing, severity, part.title.clone(), None, None);
    }
    if !missing.is_empty() {
        return finding(Fault::Missing, severity, missing.join(", "), None, None);
    }
    if !partly.is_empty() {
        return finding(Fault::Missing, Severity::Minor, partly.join(", "), None, None);
    }
    None
}

/// Digits of a time of the day.
const CLOCK: usize = 4;

/// A number of minutes, or a time of the day, beside the one that was meant.
fn of_time(heard: &Heard<'_>, value: &str) -> Said {
    if value.trim().len() == CLOCK && value.trim().bytes().all(|b| b.is_ascii_digit()) {
        let runs = || (0..heard.toks.len()).filter(|&k| heard.run(k) == k + CLOCK);
        let equal = runs().any(|k| heard.number(k, k + CLOCK) == heard.number_of(value));
        let other = || runs().find_map(|k| heard.span(k, k + CLOCK));
        return if equal { Said::Right } else { other().map_or(Said::Not, Said::Wrong) };
    }
    let Some(wanted) = minutes(heard.words, value) else { return Said::Right };
    let said = durations(heard);
    if said.iter().any(|d| d.minutes == wanted) {
        return Said::Right;
    }
    said.first().and_then(|d| heard.span(d.from, d.to)).map_or(Said::Not, Said::Wrong)
}

/// So far from its word a number of a name may stand.
const NEAR: usize = 4;

/// Words of a value that are compared.
const LONGEST_VALUE: usize = 40;

/// Words beside the ones that were meant: by what they mean, in any order, denied or not.
fn of_words(
    book: &CrewBook,
    briefing: &Briefing,
    part: &BriefingPart,
    value: &str,
    heard: &Heard<'_>,
) -> Said {
    let meant = Heard::new(&book.talk, value);
    let wanted = contents(book, &meant, 0, meant.toks.len().min(LONGEST_VALUE));
    let all = contents(book, heard, 0, heard.toks.len());
    if wanted.is_empty() {
        return if heard.first(&part.marks).is_some() { Said::Right } else { Said::Not };
    }
    let same = |a: &Content, b: &Content| a.means(&meant, b, heard);
    let named: Vec<&Content> =
        all.iter().filter(|said| !said.number && wanted.iter().any(|w| same(w, said))).collect();
    // A number counts beside a word that it belongs to.
    let beside = |said: &Content| {
        !said.number
            || wanted.iter().all(|w| w.number)
            || named.iter().any(|word| word.from.abs_diff(said.from) <= NEAR)
    };
    let found =
        |w: &&Content| all.iter().any(|said| same(w, said) && w.negated == said.negated && beside(said));
    if let Some(turned) = wanted
        .iter()
        .filter(|w| !found(w))
        .find_map(|w| all.iter().find(|said| same(w, said) && said.negated != w.negated))
    {
        return heard.span(turned.from, turned.to).map_or(Said::Not, Said::Wrong);
    }
    let count = wanted.iter().filter(found).count();
    if count == wanted.len() {
        return Said::Right;
    }
    // What was said in its place, if anything.
    let others = || briefing.parts.iter().filter(|other| other.id != part.id).flat_map(|p| &p.label);
    let starts: Vec<usize> =
        others().flat_map(|label| heard.find(std::slice::from_ref(label))).map(|hit| hit.from).collect();
    let places: Vec<(usize, usize)> = match heard.first(&part.label) {
        Some(hit) => {
            let next = starts.iter().copied().filter(|&k| k >= hit.to).min();
            vec![(hit.to, next.unwrap_or(heard.toks.len()))]
        }
        None => clauses(heard, &named, part),
    };
    let foreign: Vec<Content> = places
        .into_iter()
        .flat_map(|(from, to)| contents(book, heard, from, to))
        .filter(|said| !wanted.iter().any(|w| same(w, said)))
        .collect();
    match (foreign.first(), foreign.last()) {
        (Some(first), Some(last)) => heard.span(first.from, last.to).map_or(Said::Not, Said::Wrong),
        _ if count * 2 >= wanted.len() => Said::Partly,
        _ => Said::Not,
    }
}

/// The clauses that say most of what was meant, or some of it beside a mark of the part; if none says any of it, the one that has a mark of the part.
fn clauses(heard: &Heard<'_>, named: &[&Content], part: &BriefingPart) -> Vec<(usize, usize)> {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for said in named {
        *counts.entry(heard.clause(said.from)).or_default() += 1;
    }
    let most = counts.values().copied().max().unwrap_or(0);
    let marked: Vec<usize> = heard.find(&part.marks).iter().map(|hit| heard.clause(hit.from)).collect();
    let own = |from: &usize, count: usize| count == most || marked.contains(from);
    let mut starts: Vec<usize> =
        counts.iter().filter(|(from, count)| own(from, **count)).map(|c| *c.0).collect();
    if starts.is_empty() {
        starts.extend(marked.first());
    }
    starts.into_iter().map(|from| (from, heard.clause_end(from))).collect()
}

/// Named parts out of their order.
fn order(briefing: &Briefing, heard: &Heard<'_>) -> Option<Finding> {
    let places = briefing.parts.iter().filter_map(|part| heard.first(&part.label));
    let places: Vec<usize> = places.map(|hit| hit.from).collect();
    let at = places.windows(2).find(|pair| pair[1] < pair[0])?[1];
    let titles: Vec<&str> = briefing.parts.iter().map(|p| p.title.as_str()).collect();
    let span = heard.span(at, at + 1);
    Some(Finding {
        element: Element::Order,
        fault: Fault::Nonstandard,
        severity: Severity::Advice,
        expected: Some(titles.join("; ")),
        given: span.map(|s| s.of(heard.text).to_owned()),
        span,
        rule: source(briefing),
        why: Arc::from("The other side writes the parts down in their order."),
        better: None,
        id: Arc::from(briefing.id.as_str()),
    })
}
