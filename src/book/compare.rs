//! One thing in all four rule sets: rows in which sets that agree share a line.

use super::rows::{self, Row, rows};
use super::side::{Sets, Side};
use super::text::{groups, states};
use super::{rule_row, side};
use crate::contract::RuleSets;
use crate::diagnostic::list;
use crate::element::{Element, Fault, Standard};
use crate::error::{Error, Result};
use crate::lookup::{self, Found};
use crate::rules::{Duty, Phrase};
use crate::wrap::paragraph;
use std::io::Write;

/// Finds `what` in any rule set and writes what each of them says of it.
///
/// # Errors
/// [`Error::Unknown`] if no rule set knows anything of that name, with the nearest name; or the output
/// can't be written.
pub fn write(what: &str, sets: &dyn RuleSets, out: &mut dyn Write) -> Result<()> {
    let owned = Standard::ALL.map(|standard| sets.get(standard));
    let sets: Sets<'_> = std::array::from_fn(|i| &*owned[i]);
    match find(what, &sets)? {
        Found::Rule(rule) => rule_page(&rule.id, &sets, out),
        Found::Element(element) => element_page(element, &sets, out),
        Found::Phrases(found) => {
            if let Some(first) = found.first() {
                phrase_page(&first.id, &sets, out)?;
            }
            let rest: Vec<&str> = found.iter().skip(1).map(|p| &*p.id).collect();
            paragraph(out, "See also", &list(&rest))?;
            Ok(())
        }
    }
}

/// What the name stands for: an id of any rule set, else what the first set makes of it that knows it.
fn find<'r>(what: &str, sets: &Sets<'r>) -> Result<Found<'r>> {
    if let Some(found) = sets.iter().find_map(|rules| lookup::by_id(what, rules)) {
        return Ok(found);
    }
    let mut failure: Option<Error> = None;
    for rules in sets {
        match lookup::find(what, rules) {
            Ok(found) => return Ok(found),
            Err(error) => {
                // The first set that knows a near name tells it.
                let near = |e: &Error| matches!(e, Error::Unknown { help, .. } if help.contains('?'));
                if failure.as_ref().is_none_or(|old| !near(old) && near(&error)) {
                    failure = Some(error);
                }
            }
        }
    }
    Err(failure.unwrap_or_else(|| Error::Internal("there is no rule set".to_owned())))
}

fn phrase_page(id: &str, sets: &Sets<'_>, out: &mut dyn Write) -> Result<()> {
    let sides: [Option<Side>; 4] = Standard::ALL.map(|standard| Side::of(id, standard, sets));
    let who = sides.iter().flatten().next().map_or("", |s| s.who);
    writeln!(out, "{id}")?;
    writeln!(out, "  {who}")?;
    let sides: Vec<(Standard, Option<&Side>)> =
        Standard::ALL.into_iter().zip(&sides).map(|(s, side)| (s, side.as_ref())).collect();
    for row in rows(&sides) {
        write_row(&row, out)?;
    }
    write_row(&rows::sources(&sides), out)?;
    let phrases: Vec<&Phrase> = sets.iter().filter_map(|rules| rules.phrase(id)).collect();
    let bears = |element: Element| phrases.iter().any(|p| side::elements(p).contains(&element));
    forms(&bears, true, sets, out)
}

fn rule_page(id: &str, sets: &Sets<'_>, out: &mut dyn Write) -> Result<()> {
    let Some(at) = sets[0].rules().iter().position(|r| &*r.id == id) else { return Ok(()) };
    let rule = rule_row(at, &Standard::ALL, sets);
    writeln!(out, "rule {id}")?;
    let holds = Standard::ALL.map(|standard| {
        let on = rule.on[standard as usize];
        (standard, vec![if on { "holds" } else { "does not hold" }.to_owned()])
    });
    write_row(&Row::new("In the rule sets", holds), out)?;
    write_row(&rule.why, out)?;
    for right in [false, true] {
        let said =
            Standard::ALL.map(|standard| (standard, side::rule_example(id, right, sets[standard as usize])));
        let row = Row::new(if right { "Right" } else { "Wrong" }, said);
        if !row.groups.is_empty() {
            write_row(&row, out)?;
        }
    }
    write_row(&rule.sources, out)
}

fn element_page(element: Element, sets: &Sets<'_>, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "element {element}")?;
    paragraph(out, "What it is", element.doc())?;
    let wrong = element.severity(Fault::Wrong).name();
    let missing = element.severity(Fault::Missing).name();
    paragraph(out, "If it is wrong or missing", &format!("{wrong} if wrong, {missing} if missing"))?;
    let ids = |standard: Standard, wanted: &dyn Fn(Duty) -> bool| -> Vec<&str> {
        let phrases = sets[standard as usize].phrases().iter();
        phrases.filter(|p| wanted(p.duty(element))).map(|p| &*p.id).collect()
    };
    let read_back = |duty: Duty| duty >= Duty::ReadBackOrWilco;
    let everywhere: Vec<&str> = ids(Standard::Icao, &read_back)
        .into_iter()
        .filter(|id| Standard::ALL.iter().all(|&s| ids(s, &read_back).contains(id)))
        .collect();
    if !everywhere.is_empty() {
        paragraph(out, "Read back in every rule set", &everywhere.join(", "))?;
    }
    let rest = Standard::ALL.map(|standard| {
        let mut own = ids(standard, &read_back);
        own.retain(|id| !everywhere.contains(id));
        (standard, if own.is_empty() { Vec::new() } else { vec![own.join(", ")] })
    });
    let title = if everywhere.is_empty() { "Read back" } else { "Read back besides" };
    let row = Row::new(title, rest);
    if !row.groups.is_empty() {
        write_row(&row, out)?;
    }
    let acknowledged = Standard::ALL.map(|standard| {
        let own = ids(standard, &|duty| duty == Duty::Acknowledge);
        (standard, if own.is_empty() { Vec::new() } else { vec![own.join(", ")] })
    });
    let row = Row::new("Acknowledged", acknowledged);
    if !row.groups.is_empty() {
        write_row(&row, out)?;
    }
    forms(&|e| e == element, false, sets, out)
}

/// The rules of form of some elements: all of them, or those that not every rule set has.
fn forms(
    bears: &dyn Fn(Element) -> bool,
    only_different: bool,
    sets: &Sets<'_>,
    out: &mut dyn Write,
) -> Result<()> {
    let mut first = true;
    for (at, rule) in sets[0].rules().iter().enumerate() {
        let about = rule.id.split('.').next().and_then(Element::parse);
        let row = rule_row(at, &Standard::ALL, sets);
        if !about.is_some_and(bears) || only_different && !row.differs() {
            continue;
        }
        if std::mem::take(&mut first) {
            let title = if only_different { "Rules of form that differ" } else { "Rules of form" };
            writeln!(out, "\n  {title}")?;
            let heads = Standard::ALL.map(|s| format!("{:<6}", s.name())).concat();
            writeln!(out, "    {:<28}{}", "", heads.trim_end())?;
        }
        writeln!(out, "    {:<28}{}", rule.id, states(&row, &Standard::ALL))?;
        groups(&row.why, 6, out)?;
    }
    Ok(())
}

fn write_row(row: &Row, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "\n  {}", row.key)?;
    groups(row, 4, out)?;
    Ok(())
}
