//! `explain`: an element, a phrase, a rule or a word, as a learner would want to read it.

use crate::diagnostic::{self, list};
use crate::element::{Element, Fault};
use crate::error::{Error, Result, exit};
use crate::parse::{self, Speaker};
use crate::rules::{Duty, Phrase, PhraseKind, RuleSet};
use std::io::Write;

/// Explains `what` by `rules` and returns the exit status.
///
/// # Errors
/// [`Error::Unknown`] if nothing of that name is known, with the nearest name.
pub fn run(what: &str, rules: &RuleSet, out: &mut dyn Write) -> Result<u8> {
    let what = what.trim();
    let name = what.to_lowercase().replace([' ', '-'], "_");
    if let Some(phrase) = rules.phrase(what) {
        phrase_page(phrase, rules, out)?;
    } else if let Some(rule) = rules.rules().iter().find(|r| &*r.id == what) {
        heading(out, &format!("rule {}", rule.id))?;
        let state = if rule.on { "holds" } else { "does not hold" };
        paragraph(out, "In this rule set", &format!("{} {state}", rules.standard))?;
        paragraph(out, "Why", &rule.why)?;
        examples(&rule.id, rules, out)?;
        paragraph(out, "Source", &rule.source)?;
    } else if let Some(element) = Element::parse(&name).or_else(|| finding(what)) {
        element_page(element, rules, out)?;
    } else {
        let found = by_words(what, rules);
        match found.as_slice() {
            [] => return Err(unknown(what, rules)),
            [one] => phrase_page(one, rules, out)?,
            [first, rest @ ..] => {
                phrase_page(first, rules, out)?;
                let rest: Vec<&str> = rest.iter().map(|p| &*p.id).collect();
                paragraph(out, "See also", &list(&rest))?;
            }
        }
    }
    Ok(exit::DONE)
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

/// Phrases that the words belong to: first those that say just this, then what the words are read as; if
/// there are none, phrases that have the words somewhere, those most like them first.
fn by_words<'r>(what: &str, rules: &'r RuleSet) -> Vec<&'r Phrase> {
    let what = &*plain(what);
    let mut out: Vec<&Phrase> =
        rules.phrases().iter().filter(|p| p.says.iter().any(|says| plain(says) == what)).collect();
    for speaker in [Speaker::Controller, Speaker::Pilot] {
        for id in parse::phrases(rules, what, speaker) {
            if let Some(phrase) = rules.phrase(&id)
                && !out.iter().any(|p| p.id == phrase.id)
            {
                out.push(phrase);
            }
        }
    }
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
        let tail = what.replace(' ', "-");
        out.sort_by_key(|p| {
            let done = p.instruction.as_deref() == Some(what);
            let named = p.id.split('.').next_back() == Some(&tail);
            let begins = p.says.iter().any(|says| says.starts_with(what));
            3 - [done, named, begins].into_iter().filter(|holds| *holds).count()
        });
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

fn phrase_page(phrase: &Phrase, rules: &RuleSet, out: &mut dyn Write) -> Result<()> {
    heading(out, &format!("{}   [{}]", phrase.id, rules.standard))?;
    let who = match (phrase.by_pilot, phrase.kind) {
        (true, _) => "Said by the pilot",
        (false, PhraseKind::Fragment) => "Said by either side",
        (false, PhraseKind::Information) => "News from the station: nothing to read back",
        (false, PhraseKind::Question) => "A question: answer it",
        (false, PhraseKind::Silence) => "For everybody: keep silent",
        (false, _) => "Said by the station",
    };
    writeln!(out, "  {who}")?;
    for says in &phrase.says {
        writeln!(out, "    {says}")?;
    }
    if !phrase.parts.is_empty() {
        let parts: Vec<&str> = phrase.parts.iter().map(|e| e.name()).collect();
        paragraph(out, "Parts, in order", &parts.join(" · "))?;
    }
    let owed: Vec<String> = Element::ALL
        .iter()
        .filter_map(|&e| match phrase.duty(e) {
            Duty::ReadBack => Some(format!("{e} (read back)")),
            Duty::ReadBackOrWilco => Some(format!("{e} (read back, or wilco)")),
            Duty::Acknowledge => Some(format!("{e} (acknowledge)")),
            Duty::Carried | Duty::None => None,
        })
        .collect();
    if !owed.is_empty() {
        paragraph(out, "What must come back", &owed.join(", "))?;
    }
    paragraph(out, "Why", &phrase.why)?;
    examples(&phrase.id, rules, out)?;
    paragraph(out, "Source", &phrase.source)
}

fn element_page(element: Element, rules: &RuleSet, out: &mut dyn Write) -> Result<()> {
    heading(out, &format!("element {element}"))?;
    paragraph(out, "What it is", element.doc())?;
    paragraph(out, "Written", element.example())?;
    paragraph(
        out,
        "If it is wrong or missing",
        &format!(
            "{} if wrong, {} if missing",
            element.severity(Fault::Wrong).name(),
            element.severity(Fault::Missing).name()
        ),
    )?;
    let owed: Vec<&str> =
        rules.phrases().iter().filter(|p| p.duty(element) >= Duty::ReadBackOrWilco).map(|p| &*p.id).collect();
    if !owed.is_empty() {
        paragraph(out, &format!("Read back in {}", rules.standard), &owed.join(", "))?;
    }
    let forms: Vec<String> = rules
        .rules()
        .iter()
        .filter(|r| r.on && r.id.split('.').next() == Some(element.name()))
        .map(|r| format!("{}: {} ({})", r.id, r.why, r.source))
        .collect();
    for form in forms {
        paragraph(out, "Form", &form)?;
    }
    Ok(())
}

/// Right and wrong replies that stand with the phrase.
fn examples(id: &str, rules: &RuleSet, out: &mut dyn Write) -> Result<()> {
    for right in [false, true] {
        let mut first = true;
        for case in rules.examples.iter().filter(|e| e.id == id && e.right == right) {
            if std::mem::take(&mut first) {
                writeln!(out, "\n  {}", if right { "Right" } else { "Wrong" })?;
            }
            if let Some(say) = &case.example.say {
                writeln!(out, "    station  {}", say.get_ref())?;
            }
            writeln!(out, "    pilot    {}", case.example.reply.get_ref())?;
            if !case.example.faults.is_empty() {
                let faults: Vec<&str> = case.example.faults.iter().map(|f| f.get_ref().as_str()).collect();
                writeln!(out, "             {}", faults.join(", "))?;
            }
        }
    }
    Ok(())
}

fn heading(out: &mut dyn Write, text: &str) -> Result<()> {
    writeln!(out, "{text}")?;
    Ok(())
}

/// A title and its text, wrapped at 78 columns.
fn paragraph(out: &mut dyn Write, title: &str, text: &str) -> Result<()> {
    if text.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  {title}")?;
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.chars().count() + word.chars().count() > 72 {
            writeln!(out, "    {line}")?;
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    writeln!(out, "    {line}")?;
    Ok(())
}
