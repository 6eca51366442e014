//! `paper items` and `paper freeze`: what a paper asks, for whoever sets it.

use super::Look;
use crate::crew::Role;
use crate::diagnostic::count;
use crate::error::{Error, Result, exit};
use crate::paper::answering::Answering;
use crate::paper::exam::Exam;
use crate::paper::item::{Difficulty, Item, Task};
use crate::paper::opening::conditions;
use crate::paper::result::FORMAT;
use crate::paper::{Feedback, batch::shown};
use crate::scenario::phases::quoted;
use crate::session::screen::{Row, Tone, hang};
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::Write;
use std::path::Path;

/// Columns before what is said.
const COLUMN: usize = 14;

/// Prints the items, as they are for everybody or for one person.
pub(super) fn items(
    exam: &Exam,
    name: Option<&str>,
    json: bool,
    look: Look,
    out: &mut dyn Write,
) -> Result<u8> {
    let unequal = exam.unequal();
    if let Some((number, what)) = unequal.first() {
        return Err(Error::Internal(format!("item {number} is not equally hard for everybody: {what}")));
    }
    let chosen: Vec<&Item> = match name {
        Some(name) => exam.items(name, 1),
        None => exam.slots.iter().filter_map(|slot| slot.forms.first()).collect(),
    };
    if json {
        return as_json(exam, &chosen, out);
    }
    let paper = &exam.paper;
    let mut rows = hang((Tone::Plain, ""), 0, Tone::Label, &paper.title, 80);
    let facts = format!(
        "{} Rule set {}, seed {}, fingerprint {}.",
        conditions(&paper.conditions, chosen.len(), paper.pass_mark),
        paper.standard,
        paper.seed,
        &paper.fingerprint[..12]
    );
    rows.extend(hang((Tone::Plain, ""), 0, Tone::Plain, &facts, 80));
    if paper.own_values {
        let text = "Each person gets one of the forms of an item: other values in the same phrases, with the same elements to come back.";
        rows.extend(hang((Tone::Plain, ""), 0, Tone::Plain, text, 80));
    }
    for ((number, item), slot) in (1..).zip(chosen).zip(&exam.slots) {
        rows.push(Row::new());
        let forms =
            if slot.forms.len() > 1 { format!(", {} forms", slot.forms.len()) } else { String::new() };
        let head = format!("{}: {}{forms}", item.title(&exam.rules, &exam.book), owes(item, exam));
        rows.extend(hang((Tone::Label, &format!("{number:>3}")), 4, Tone::Label, &head, 80));
        let label = if matches!(item.task, Task::ReadBack { .. }) { &item.station } else { "cue" };
        let asked = if label == "cue" { item.asked().to_owned() } else { format!("\"{}\"", item.asked()) };
        rows.extend(hang(
            (Tone::Plain, &format!("    {label}")),
            COLUMN.max(label.len() + 6),
            Tone::Plain,
            &asked,
            80,
        ));
        let model = format!("\"{}\"", Answering::begin(exam, item).0.model());
        rows.extend(hang((Tone::Plain, "    right is"), COLUMN, Tone::Voice, &model, 80));
    }
    for row in rows {
        writeln!(out, "{}", row.paint(look.styled))?;
    }
    Ok(exit::DONE)
}

/// What an item owes, in words.
fn owes(item: &Item, exam: &Exam) -> String {
    let elements = match item.difficulty(&exam.rules) {
        Difficulty::ReadBack(demand) => demand.elements.into_iter().map(|(element, _)| element).collect(),
        Difficulty::RadioCall(_, elements) => elements,
        Difficulty::Crew(..) => return "one call".to_owned(),
    };
    let names: Vec<String> = elements.iter().map(|element| crate::feedback::label(*element)).collect();
    format!("{} ({})", count(names.len(), "element"), names.join(", "))
}

fn as_json(exam: &Exam, chosen: &[&Item], out: &mut dyn Write) -> Result<u8> {
    let items = (1..).zip(chosen).zip(&exam.slots).map(|((number, item), slot)| {
        json!({
            "number": number,
            "title": item.title(&exam.rules, &exam.book),
            "elements": item.difficulty(&exam.rules).elements(),
            "forms": slot.forms.len(),
            "item": item,
            "model": Answering::begin(exam, item).0.model(),
        })
    });
    let items: Vec<_> = items.collect();
    let object = json!({
        "format": FORMAT,
        "title": exam.paper.title,
        "fingerprint": exam.paper.fingerprint,
        "standard": exam.paper.standard.name(),
        "items": items,
    });
    writeln!(out, "{object}")?;
    Ok(exit::DONE)
}

/// Writes the paper with its items drawn.
pub(super) fn freeze(exam: &Exam, to: &Path, force: bool, out: &mut dyn Write) -> Result<u8> {
    if to.exists() && !force {
        return Err(Error::Taken { path: to.to_owned() });
    }
    fs::write(to, frozen(exam)).map_err(|cause| Error::Create { path: to.to_owned(), cause })?;
    writeln!(out, "written: {}, {} as they were drawn", shown(to), count(exam.slots.len(), "item"))?;
    if exam.paper.own_values {
        writeln!(out, "Everybody gets the same values in it.")?;
    }
    writeln!(out, "It is another paper than the one it was made from: give this one to everybody.")?;
    Ok(exit::DONE)
}

/// The text of a paper whose items are written out.
fn frozen(exam: &Exam) -> String {
    let paper = &exam.paper;
    let how = &paper.conditions;
    let mut out = format!("# Drawn from {} with seed {}.\nformat = 1\n", comment(&paper.path), paper.seed);
    let mut key = |name: &str, value: String| {
        let _ = writeln!(out, "{name} = {value}");
    };
    key("title", quoted(&paper.title));
    if let Some(preface) = &paper.preface {
        key("preface", quoted(preface));
    }
    key("standard", quoted(paper.standard.name()));
    key("pass_mark", paper.pass_mark.to_string());
    let fails: Vec<String> = paper.fails.iter().map(|fails| quoted(&fails.to_string())).collect();
    key("fails", format!("[{}]", fails.join(", ")));
    if let Some(minutes) = how.minutes {
        key("minutes", minutes.to_string());
    }
    if let Some(seconds) = how.seconds {
        key("seconds", seconds.to_string());
    }
    key("hear", quoted(if how.once { "once" } else { "readable" }));
    key("hints", how.hints.to_string());
    key("replies", how.replies.to_string());
    key("sittings", how.sittings.to_string());
    let feedback =
        Feedback::ALL.iter().find(|(_, known)| *known == how.feedback).map_or("end", |(name, _)| *name);
    key("feedback", quoted(feedback));
    let form = crate::judge::judgement::Form::ALL;
    key(
        "form",
        quoted(form.iter().find(|(_, known)| *known == paper.form).map_or("strict", |(name, _)| *name)),
    );
    key("operator", quoted(&paper.operator));
    for item in exam.slots.iter().filter_map(|slot| slot.forms.first()) {
        out.push_str(&written(item));
    }
    out
}

fn comment(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// An item as the file has it.
fn written(item: &Item) -> String {
    let mut out = String::from("\n[[item]]\n");
    let mut key = |name: &str, value: String| {
        let _ = writeln!(out, "{name} = {value}");
    };
    key("skill", quoted(&item.skill));
    if !item.callsign.is_empty() {
        key("callsign", quoted(&item.callsign));
    }
    key("station", quoted(&item.station));
    if let Some(cue) = &item.cue {
        key("cue", quoted(cue));
    }
    let table = |values: &BTreeMap<String, String>| {
        let pairs: Vec<String> =
            values.iter().map(|(name, value)| format!("{name} = {}", quoted(value))).collect();
        format!("{{ {} }}", pairs.join(", "))
    };
    match &item.task {
        Task::ReadBack { says } => key("says", quoted(says)),
        Task::RadioCall { phrase, wanted } => {
            key("you_call", quoted(phrase));
            let pairs: Vec<String> = wanted
                .iter()
                .map(|(element, value)| quoted(&format!("{} {value}", element.name())))
                .collect();
            key("with", format!("[{}]", pairs.join(", ")));
        }
        Task::CrewCall { id, role, values } => {
            key(if *role == Role::First { "call" } else { "answer" }, quoted(id));
            key("values", table(values));
        }
        Task::Checklist { list, item, values } => {
            key("checklist", quoted(list));
            key("item", item.to_string());
            key("values", table(values));
        }
    }
    out
}
