//! What a name typed by a learner stands for: a phrase, a rule, an element, or words as they are said.

use crate::diagnostic;
use crate::element::{Element, Fault};
use crate::error::Error;
use crate::parse::{self, Speaker};
use crate::rules::{Phrase, Rule, RuleSet};

/// What was found.
#[derive(Debug, Clone)]
pub enum Found<'r> {
    /// Phrases, the one that fits best first; never empty.
    Phrases(Vec<&'r Phrase>),
    /// A rule of form.
    Rule(&'r Rule),
    /// An element.
    Element(Element),
}

/// The phrase or rule that has just this id.
#[must_use]
pub fn by_id<'r>(what: &str, rules: &'r RuleSet) -> Option<Found<'r>> {
    let what = what.trim();
    let rule = || rules.rules().iter().find(|r| &*r.id == what);
    rules.phrase(what).map(|phrase| Found::Phrases(vec![phrase])).or_else(|| rule().map(Found::Rule))
}

/// Finds `what`: an id first, then an element or a finding of one, then words.
///
/// # Errors
/// [`Error::Unknown`] if nothing of that name is known, with the nearest name.
pub fn find<'r>(what: &str, rules: &'r RuleSet) -> Result<Found<'r>, Error> {
    let what = what.trim();
    if let Some(found) = by_id(what, rules) {
        return Ok(found);
    }
    let name = what.to_lowercase().replace([' ', '-'], "_");
    if let Some(element) = Element::parse(&name).or_else(|| finding(what)) {
        return Ok(Found::Element(element));
    }
    match by_words(what, rules) {
        found if found.is_empty() => Err(unknown(what, rules)),
        found => Ok(Found::Phrases(found)),
    }
}

/// The element of a finding as it is shown: `runway wrong`.
fn finding(what: &str) -> Option<Element> {
    let (element, fault) = what.rsplit_once(char::is_whitespace)?;
    Fault::parse(&fault.to_lowercase())?;
    Element::parse(&element.trim().to_lowercase().replace([' ', '-'], "_"))
}

/// The words in lower case with one space between them.
fn plain(text: &str) -> String {
    text.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>().join(" ")
}

/// True if the pattern is nothing but words.
fn is_bare(pattern: &str) -> bool {
    pattern.chars().all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-'))
}

/// Phrases that the words belong to, those most like them first: named so, saying just this, or what the words
/// are read as; if there are none, phrases that have the words somewhere.
fn by_words<'r>(what: &str, rules: &'r RuleSet) -> Vec<&'r Phrase> {
    let what = &*plain(what);
    let tail = what.replace(' ', "-");
    let named = |p: &Phrase| p.id.split('.').next_back() == Some(&tail);
    let says = |p: &Phrase| p.says.iter().any(|says| plain(says) == what);
    let mut out: Vec<&Phrase> = rules.phrases().iter().filter(|p| named(p) || says(p)).collect();
    for speaker in [Speaker::Controller, Speaker::Pilot] {
        for id in parse::phrases(rules, what, speaker) {
            if let Some(phrase) = rules.phrase(&id)
                && !out.iter().any(|p| p.id == phrase.id)
            {
                out.push(phrase);
            }
        }
    }
    // What the words do comes before other phrases that say them.
    let unlike = |p: &&Phrase| {
        let done = p.instruction.as_deref() == Some(what);
        let begins = p.says.iter().any(|says| says.starts_with(what));
        3 - [done, named(p), begins].into_iter().filter(|holds| *holds).count()
    };
    out.sort_by_key(unlike);
    if out.is_empty() {
        let wanted: Vec<&str> = what.split(' ').collect();
        let says = |p: &&Phrase| {
            let text = p.says.join(" ").to_lowercase();
            let named = p.instruction.as_deref().unwrap_or("").to_lowercase();
            wanted.iter().all(|w| {
                let mut words = text.split(|c: char| !c.is_alphanumeric());
                words.any(|t| t == *w) || named.split([' ', '-']).any(|t| t == *w)
            })
        };
        out.extend(rules.phrases().iter().filter(says));
        out.sort_by_key(unlike);
        out.truncate(8);
    }
    out
}

/// The words of a pattern, without its slots.
fn words(pattern: &str) -> impl Iterator<Item = &str> {
    pattern
        .split('<')
        .enumerate()
        .flat_map(|(i, part)| {
            let outside = if i == 0 { part } else { part.split_once('>').map_or("", |(_, rest)| rest) };
            outside.split(|c: char| !c.is_alphanumeric())
        })
        .filter(|word| word.chars().count() > 2)
}

fn unknown(what: &str, rules: &RuleSet) -> Error {
    let says = || rules.phrases().iter().flat_map(|p| &p.says);
    let bare = says().map(String::as_str).filter(|says| is_bare(says));
    let names: Vec<&str> = rules
        .phrase_ids()
        .chain(Element::ALL.iter().map(|e| e.name()))
        .chain(rules.rules().iter().map(|r| &*r.id))
        .chain(bare)
        .chain(says().flat_map(|says| words(says)))
        .collect();
    let help = match diagnostic::nearest(what, names) {
        Some(near) => format!("; did you mean `{near}`?"),
        None => "; try an element (`level`), a phrase (`runway.line-up`) or its words (`line up`)".to_owned(),
    };
    Error::Unknown { what: "element, phrase, rule or word", name: diagnostic::clean(what).into_owned(), help }
}
