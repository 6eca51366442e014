//! `explain`: an element, a phrase, a rule or a word, as a learner would want to read it.

use super::explain_crew;
use crate::book::side::who;
use crate::crew::CrewBook;
use crate::diagnostic::list;
use crate::element::{Element, Fault};
use crate::error::{Result, exit};
use crate::lookup::{self, Found};
use crate::rules::{Duty, Phrase, Rule, RuleSet};
use crate::wrap::paragraph;
use std::io::Write;

/// Explains `what` by `rules` and returns the exit status.
///
/// # Errors
/// [`crate::error::Error::Unknown`] if nothing of that name is known, with the nearest name.
pub fn run(what: &str, rules: &RuleSet, book: &CrewBook, out: &mut dyn Write) -> Result<u8> {
    if lookup::by_id(what, rules).is_none() && explain_crew::by_id(what, book, out)? {
        return Ok(exit::DONE);
    }
    let found = lookup::find(what, rules);
    // Words that no phrase of the radio says just so may be a call of the crew.
    let says = |phrase: &&Phrase| phrase.says.iter().any(|says| says.eq_ignore_ascii_case(what.trim()));
    let known = match &found {
        Ok(Found::Phrases(phrases)) => phrases.iter().any(says),
        Ok(_) => true,
        Err(_) => false,
    };
    if !known && explain_crew::by_words(what, book, out)? {
        return Ok(exit::DONE);
    }
    match found? {
        Found::Rule(rule) => rule_page(rule, rules, out)?,
        Found::Element(element) => element_page(element, rules, out)?,
        Found::Phrases(found) => {
            let mut found = found.into_iter();
            if let Some(first) = found.next() {
                phrase_page(first, rules, out)?;
            }
            let rest: Vec<&str> = found.map(|p| &*p.id).collect();
            paragraph(out, "See also", &list(&rest))?;
        }
    }
    Ok(exit::DONE)
}

fn phrase_page(phrase: &Phrase, rules: &RuleSet, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "{}   [{}]", phrase.id, rules.standard)?;
    writeln!(out, "  {}", who(phrase))?;
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
    paragraph(out, "Source", &phrase.source)?;
    Ok(())
}

fn rule_page(rule: &Rule, rules: &RuleSet, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "rule {}", rule.id)?;
    let state = if rule.on { "holds" } else { "does not hold" };
    paragraph(out, "In this rule set", &format!("{} {state}", rules.standard))?;
    paragraph(out, "Why", &rule.why)?;
    examples(&rule.id, rules, out)?;
    paragraph(out, "Source", &rule.source)?;
    Ok(())
}

fn element_page(element: Element, rules: &RuleSet, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "element {element}")?;
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
