//! A new phrase: its duties are the usual ones, and its examples come from the judge.

use super::ask::{Asker, Checked, line, quoted};
use super::crew::beginning;
use super::{Draft, place};
use crate::cli::new::{NewCommand, NewFile};
use crate::element::{Element, Standard};
use crate::error::{Error, Result};
use crate::grammar::check::faults;
use crate::grammar::notation::{Node, parse};
use crate::grammar::{builtin_files, load};
use crate::judge::judge_addressed;
use crate::rules::RuleSet;
use crate::text::speak::spoken;
use std::fmt::Write as _;

pub(super) fn draft(command: &NewCommand, to: &NewFile, asker: &mut Asker<'_>) -> Result<Draft> {
    let NewCommand::Grammar { id, standard, says, instruction, example, .. } = command else {
        return Err(Error::Internal("a phrase was asked for".to_owned()));
    };
    let given = standard.map(|standard| super::standard_of(standard).name());
    let name = asker.ask("--standard", "Rule set: icao, eu, uk or us", given, "icao", &|text| {
        super::ask::one_of(text, &Standard::ALL.map(Standard::name))
    })?;
    let standard = Standard::parse(&name).unwrap_or(Standard::Icao);
    let id = asker.ask("--id", "Name of the phrase", id.as_deref(), "club.follow-van", &dotted)?;
    let pattern = |text: &str| {
        let text = line(text)?;
        parse(&text).map(|_| text).map_err(|error| error.message)
    };
    let question = "How it is said: words, [what may be left out], (one | of these), <value>";
    let says =
        asker.ask("--says", question, says.as_deref(), "follow the yellow van [to <stand>]", &pattern)?;
    let node = parse(&says).map_err(|error| Error::Internal(error.message))?;
    let usual = words(&node, standard, true);
    let what = words(&node, standard, false);
    let instruction =
        asker.ask("--instruction", "What is to be done", instruction.as_deref(), &what, &line)?;
    let example = asker.ask(
        "--example",
        "As a station says it, without the callsign",
        example.as_deref(),
        &usual,
        &line,
    )?;
    let file = place(to, asker, &format!("my-grammar/{}/{}.toml", standard.name(), id.replace('.', "-")))?;

    let mut duties = "instruction = 'read back or wilco'".to_owned();
    let mut elements = Vec::new();
    values(&node, &mut elements);
    for element in elements {
        let _ = write!(duties, ", {} = 'read back'", element.name());
    }
    let body = format!(
        "# Phrase: {id}
# A file for the folder `{standard}` of a grammar folder of your own.
format = 1

[[phrase]]
id = '{id}'
by = 'controller'
# What is to be done.
instruction = {instruction}
# Every way in which it is said; the first is the usual one. Write small clauses: a transmission may have several.
says = [{says}]
# What must come back, element by element: 'read back', 'read back or wilco', 'acknowledge', 'carried' or 'none'.
duty = {{ {duties} }}
source = 'club rules'
why = 'Say here, in one sentence, what the answer is good for.'
",
        standard = standard.name(),
        instruction = quoted(&instruction),
        says = quoted(&says),
    );
    // The right reply is the judge's model for the phrase; the wrong one is a bare answer, with what the judge finds.
    let callsign = crate::callsign::Callsign::parse("Whimbrel 214").map(|callsign| callsign.spoken(standard));
    let callsign = callsign.unwrap_or_default();
    let say = format!("{callsign}, {example}");
    let rules = with(&body, standard)?;
    let judge = |reply: &str| {
        judge_addressed(&rules, &say, reply)
            .ok_or_else(|| Error::Internal("the callsign is not heard".to_owned()))
    };
    let right = judge("")?.model;
    let bare = format!("Roger, {callsign}");
    let against = faults(&judge(&bare)?);
    if right.is_empty() || against.is_empty() {
        return Err(Error::Answer {
            name: "--example".to_owned(),
            given: crate::diagnostic::clean(&example).into_owned(),
            problem: format!("it is not what `{says}` says, or nothing of it must come back"),
        });
    }
    let against: Vec<String> = against.iter().map(|fault| format!("'{fault}'")).collect();
    let text = format!(
        "{body}# Examples are run as tests by `hearback check`: right replies have no fault, wrong ones just those named.
right = [{{ say = {say}, reply = {right} }}]
wrong = [{{ say = {say}, reply = {bare}, faults = [{against}] }}]
",
        say = quoted(&say),
        right = quoted(&right),
        bare = quoted(&bare),
        against = against.join(", "),
    );
    let next = beginning(&file, standard.name());
    Ok(Draft { file, text, next })
}

/// The built-in rule set with one more file. Its examples are not written yet: nobody runs any here.
fn with(body: &str, standard: Standard) -> Result<RuleSet> {
    let path = format!("{}/new phrase.toml", standard.name());
    let files = builtin_files().iter().map(|f| (f.0, f.1.as_bytes()));
    let files = files.chain([(path.as_str(), body.as_bytes())]);
    load::load(files, standard).and_then(RuleSet::compile).map_err(Error::Data)
}

/// The id of a phrase: names with dots between them.
fn dotted(text: &str) -> Checked {
    let parts: Vec<&str> = text.split('.').collect();
    if parts.len() == 2 && parts.iter().all(|part| super::ask::id(part).is_ok()) {
        Ok(text.to_owned())
    } else {
        Err("two names with a dot between them, in small letters: club.follow-van".to_owned())
    }
}

/// An example of a pattern: with values and with what may be left out, or without both.
fn words(node: &Node, standard: Standard, full: bool) -> String {
    let join = |items: &[Node]| {
        let parts = items.iter().map(|item| words(item, standard, full)).filter(|text| !text.is_empty());
        parts.collect::<Vec<_>>().join(" ")
    };
    match node {
        Node::Sequence(items) => join(items),
        Node::Either(items) => items.first().map_or(String::new(), |item| words(item, standard, full)),
        Node::Optional(item) if full => words(item, standard, full),
        Node::Optional(_) => String::new(),
        Node::Word(word) => word.clone(),
        Node::Slot(element, slot) if full => match element_of(element, slot) {
            Some(element) => spoken(standard, element, element.example()),
            None => String::new(),
        },
        Node::Slot(..) => String::new(),
    }
}

fn element_of(element: &str, slot: &str) -> Option<Element> {
    Element::parse(element).or_else(|| Element::parse(slot))
}

/// The elements of a pattern, each once.
fn values(node: &Node, out: &mut Vec<Element>) {
    match node {
        Node::Sequence(items) | Node::Either(items) => items.iter().for_each(|item| values(item, out)),
        Node::Optional(item) => values(item, out),
        Node::Word(_) => {}
        Node::Slot(element, slot) => {
            if element != "_"
                && let Some(found) = element_of(element, slot)
                && !out.contains(&found)
            {
                out.push(found);
            }
        }
    }
}
