//! `explain`: an element, a phrase, a rule or a word, as a learner would want to read it.

use super::explain_crew::{self, CrewPage};
use crate::book::side::who;
use crate::crew::CrewBook;
use crate::diagnostic::list;
use crate::element::{Element, Fault, Severity};
use crate::error::{Result, exit};
use crate::lookup::{self, Found};
use crate::machine;
use crate::rules::{Duty, Phrase, Rule, RuleSet};
use crate::wrap::paragraph;
use serde::Serialize;
use std::io::Write;

/// What is told of a name: of the first thing that bears it, and the names of the others.
#[derive(Serialize)]
struct Explained<'r> {
    #[serde(flatten)]
    page: Page<'r>,
    see_also: Vec<&'r str>,
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Page<'r> {
    Phrase(PhrasePage<'r>),
    Rule(RulePage<'r>),
    Element(ElementPage<'r>),
    #[serde(untagged)]
    Crew(CrewPage<'r>),
}

/// Explains `what` by `rules`, as a page or as one object, and returns the exit status.
///
/// # Errors
/// [`crate::error::Error::Unknown`] if nothing of that name is known, with the nearest name.
pub fn run(what: &str, rules: &RuleSet, book: &CrewBook, json: bool, out: &mut dyn Write) -> Result<u8> {
    let explained = explained(what, rules, book)?;
    if json {
        machine::write(&explained, out)?;
        return Ok(exit::DONE);
    }
    match &explained.page {
        Page::Phrase(page) => page.text(out)?,
        Page::Rule(page) => page.text(out)?,
        Page::Element(page) => page.text(out)?,
        Page::Crew(page) => page.text(out)?,
    }
    // Of phrases any of these may be meant, of calls all of them are made.
    let others = match explained.page {
        Page::Crew(_) => explained.see_also.join(", "),
        _ => list(&explained.see_also),
    };
    paragraph(out, "See also", &others)?;
    Ok(exit::DONE)
}

fn explained<'r>(what: &str, rules: &'r RuleSet, book: &'r CrewBook) -> Result<Explained<'r>> {
    let alone = |page| Explained { page, see_also: Vec::new() };
    if lookup::by_id(what, rules).is_none()
        && let Some(page) = explain_crew::by_id(what, book)
    {
        return Ok(alone(Page::Crew(page)));
    }
    let found = lookup::find(what, rules);
    // Words that no phrase of the radio says just so may be a call of the crew.
    let says = |phrase: &&Phrase| phrase.says.iter().any(|says| says.eq_ignore_ascii_case(what.trim()));
    let known = match &found {
        Ok(Found::Phrases(phrases)) => phrases.iter().any(says),
        Ok(_) => true,
        Err(_) => false,
    };
    if !known && let Some((page, see_also)) = explain_crew::by_words(what, book) {
        return Ok(Explained { page: Page::Crew(page), see_also });
    }
    Ok(match found? {
        Found::Rule(rule) => alone(Page::Rule(RulePage::of(rule, rules))),
        Found::Element(element) => alone(Page::Element(ElementPage::of(element, rules))),
        Found::Phrases(found) => Explained {
            page: Page::Phrase(PhrasePage::of(found[0], rules)),
            see_also: found.iter().skip(1).map(|phrase| &*phrase.id).collect(),
        },
    })
}

#[derive(Serialize)]
struct PhrasePage<'r> {
    id: &'r str,
    standard: &'static str,
    who: &'static str,
    says: Vec<&'r str>,
    parts: Vec<&'static str>,
    must_come_back: Vec<Due>,
    why: &'r str,
    #[serde(flatten)]
    examples: Examples<'r>,
    source: &'r str,
}

#[derive(Serialize)]
struct Due {
    element: Element,
    duty: &'static str,
}

impl<'r> PhrasePage<'r> {
    fn of(phrase: &'r Phrase, rules: &'r RuleSet) -> Self {
        let duty = |element: Element| match phrase.duty(element) {
            Duty::ReadBack => Some("read back"),
            Duty::ReadBackOrWilco => Some("read back, or wilco"),
            Duty::Acknowledge => Some("acknowledge"),
            Duty::Carried | Duty::None => None,
        };
        Self {
            id: &phrase.id,
            standard: rules.standard.name(),
            who: who(phrase),
            says: phrase.says.iter().map(|says| &**says).collect(),
            parts: phrase.parts.iter().map(|part| part.name()).collect(),
            must_come_back: Element::ALL
                .iter()
                .filter_map(|&element| Some(Due { element, duty: duty(element)? }))
                .collect(),
            why: &phrase.why,
            examples: Examples::of(&phrase.id, rules),
            source: &phrase.source,
        }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "{}   [{}]", self.id, self.standard)?;
        writeln!(out, "  {}", self.who)?;
        for says in &self.says {
            writeln!(out, "    {says}")?;
        }
        paragraph(out, "Parts, in order", &self.parts.join(" · "))?;
        let owed: Vec<String> =
            self.must_come_back.iter().map(|due| format!("{} ({})", due.element, due.duty)).collect();
        paragraph(out, "What must come back", &owed.join(", "))?;
        paragraph(out, "Why", self.why)?;
        self.examples.text(out)?;
        paragraph(out, "Source", self.source)?;
        Ok(())
    }
}

#[derive(Serialize)]
struct RulePage<'r> {
    id: &'r str,
    standard: &'static str,
    holds: bool,
    why: &'r str,
    #[serde(flatten)]
    examples: Examples<'r>,
    source: &'r str,
}

impl<'r> RulePage<'r> {
    fn of(rule: &'r Rule, rules: &'r RuleSet) -> Self {
        Self {
            id: &rule.id,
            standard: rules.standard.name(),
            holds: rule.on,
            why: &rule.why,
            examples: Examples::of(&rule.id, rules),
            source: &rule.source,
        }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "rule {}", self.id)?;
        let state = if self.holds { "holds" } else { "does not hold" };
        paragraph(out, "In this rule set", &format!("{} {state}", self.standard))?;
        paragraph(out, "Why", self.why)?;
        self.examples.text(out)?;
        paragraph(out, "Source", self.source)?;
        Ok(())
    }
}

#[derive(Serialize)]
struct ElementPage<'r> {
    element: Element,
    standard: &'static str,
    what: &'static str,
    written: &'static str,
    if_wrong: Severity,
    if_missing: Severity,
    read_back_in: Vec<&'r str>,
    form: Vec<FormRule<'r>>,
}

/// A rule of form that holds.
#[derive(Serialize)]
struct FormRule<'r> {
    rule: &'r str,
    why: &'r str,
    source: &'r str,
}

impl<'r> ElementPage<'r> {
    fn of(element: Element, rules: &'r RuleSet) -> Self {
        let owed = rules.phrases().iter().filter(|p| p.duty(element) >= Duty::ReadBackOrWilco);
        let form = rules.rules().iter().filter(|r| r.on && r.id.split('.').next() == Some(element.name()));
        Self {
            element,
            standard: rules.standard.name(),
            what: element.doc(),
            written: element.example(),
            if_wrong: element.severity(Fault::Wrong),
            if_missing: element.severity(Fault::Missing),
            read_back_in: owed.map(|phrase| &*phrase.id).collect(),
            form: form.map(|r| FormRule { rule: &r.id, why: &r.why, source: &r.source }).collect(),
        }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "element {}", self.element)?;
        paragraph(out, "What it is", self.what)?;
        paragraph(out, "Written", self.written)?;
        let severities = format!("{} if wrong, {} if missing", self.if_wrong.name(), self.if_missing.name());
        paragraph(out, "If it is wrong or missing", &severities)?;
        paragraph(out, &format!("Read back in {}", self.standard), &self.read_back_in.join(", "))?;
        for FormRule { rule, why, source } in &self.form {
            paragraph(out, "Form", &format!("{rule}: {why} ({source})"))?;
        }
        Ok(())
    }
}

/// Replies that stand with a phrase or a rule.
#[derive(Serialize)]
struct Examples<'r> {
    wrong: Vec<Example<'r>>,
    right: Vec<Example<'r>>,
}

#[derive(Serialize)]
struct Example<'r> {
    station: Option<&'r str>,
    pilot: &'r str,
    faults: Vec<&'r str>,
}

impl<'r> Examples<'r> {
    fn of(id: &str, rules: &'r RuleSet) -> Self {
        let those = |right: bool| -> Vec<Example<'r>> {
            let cases = rules.examples.iter().filter(|e| *e.id == *id && e.right == right);
            cases
                .map(|case| Example {
                    station: case.example.say.as_ref().map(|say| say.get_ref().as_str()),
                    pilot: case.example.reply.get_ref(),
                    faults: case.example.faults.iter().map(|f| f.get_ref().as_str()).collect(),
                })
                .collect()
        };
        Self { wrong: those(false), right: those(true) }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        for (title, examples) in [("Wrong", &self.wrong), ("Right", &self.right)] {
            if !examples.is_empty() {
                writeln!(out, "\n  {title}")?;
            }
            for example in examples {
                if let Some(station) = example.station {
                    writeln!(out, "    station  {station}")?;
                }
                writeln!(out, "    pilot    {}", example.pilot)?;
                if !example.faults.is_empty() {
                    writeln!(out, "             {}", example.faults.join(", "))?;
                }
            }
        }
        Ok(())
    }
}
