//! One thing in all four rule sets: rows in which sets that agree share a line.

use super::rows::{self, Row, rows};
use super::side::{Sets, Side};
use super::text::{groups, states};
use super::{RuleRow, rule_row, side};
use crate::contract::RuleSets;
use crate::diagnostic::list;
use crate::element::{Element, Fault, Severity, Standard};
use crate::error::{Error, Result};
use crate::lookup::{self, Found};
use crate::rules::{Duty, Phrase};
use crate::wrap::paragraph;
use serde::Serialize;
use std::io::Write;

/// What the rule sets say of one thing.
#[derive(Debug, Serialize)]
pub struct Compared {
    /// `phrase`, `rule` or `element`.
    pub kind: &'static str,
    /// Its name.
    pub id: String,
    /// What it is: who says a phrase, what an element stands for.
    pub what: Option<&'static str>,
    /// Of an element: how much it can hurt if it is wrong, and if it is missing.
    pub severity: Option<[Severity; 2]>,
    /// Of an element: phrases that every rule set wants read back.
    pub read_back_everywhere: Vec<String>,
    /// What the rule sets say, those that agree together.
    pub rows: Vec<Row>,
    /// Rules of form: all of an element, or those of a phrase that not every rule set has.
    pub forms: Vec<RuleRow>,
    /// Other phrases that may be meant.
    pub see_also: Vec<String>,
}

impl Compared {
    /// Finds `what` in any rule set.
    ///
    /// # Errors
    /// [`Error::Unknown`] if no rule set knows anything of that name, with the nearest name.
    pub fn of(what: &str, sets: &dyn RuleSets) -> Result<Self> {
        let owned = Standard::ALL.map(|standard| sets.get(standard));
        let sets: Sets<'_> = std::array::from_fn(|i| &*owned[i]);
        Ok(match find(what, &sets)? {
            Found::Rule(rule) => rule_page(&rule.id, &sets),
            Found::Element(element) => element_page(element, &sets),
            Found::Phrases(found) => {
                let see_also = found.iter().skip(1).map(|p| p.id.to_string()).collect();
                Self { see_also, ..phrase_page(&found[0].id, &sets) }
            }
        })
    }

    fn new(kind: &'static str, id: &str) -> Self {
        Self {
            kind,
            id: id.to_owned(),
            what: None,
            severity: None,
            read_back_everywhere: Vec::new(),
            rows: Vec::new(),
            forms: Vec::new(),
            see_also: Vec::new(),
        }
    }

    /// Writes it for a terminal.
    ///
    /// # Errors
    /// The output can't be written.
    pub fn text(&self, out: &mut dyn Write) -> Result<()> {
        match (self.kind, self.what) {
            ("phrase", what) => writeln!(out, "{}\n  {}", self.id, what.unwrap_or_default())?,
            (kind, what) => {
                writeln!(out, "{kind} {}", self.id)?;
                paragraph(out, "What it is", what.unwrap_or_default())?;
            }
        }
        if let Some([wrong, missing]) = self.severity {
            let text = format!("{} if wrong, {} if missing", wrong.name(), missing.name());
            paragraph(out, "If it is wrong or missing", &text)?;
        }
        paragraph(out, "Read back in every rule set", &self.read_back_everywhere.join(", "))?;
        for row in &self.rows {
            writeln!(out, "\n  {}", row.key)?;
            groups(row, 4, out)?;
        }
        if !self.forms.is_empty() {
            let title = if self.kind == "phrase" { "Rules of form that differ" } else { "Rules of form" };
            writeln!(out, "\n  {title}")?;
            let heads = Standard::ALL.map(|s| format!("{:<6}", s.name())).concat();
            writeln!(out, "    {:<28}{}", "", heads.trim_end())?;
        }
        for rule in &self.forms {
            writeln!(out, "    {:<28}{}", rule.id, states(rule, &Standard::ALL))?;
            groups(&rule.why, 6, out)?;
        }
        paragraph(out, "See also", &list(&self.see_also))?;
        Ok(())
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

fn phrase_page(id: &str, sets: &Sets<'_>) -> Compared {
    let sides: [Option<Side>; 4] = Standard::ALL.map(|standard| Side::of(id, standard, sets));
    let what = sides.iter().flatten().next().map(|s| s.who);
    let sides: Vec<(Standard, Option<&Side>)> =
        Standard::ALL.into_iter().zip(&sides).map(|(s, side)| (s, side.as_ref())).collect();
    let mut rows = rows(&sides);
    rows.push(rows::sources(&sides));
    let phrases: Vec<&Phrase> = sets.iter().filter_map(|rules| rules.phrase(id)).collect();
    let bears = |element: Element| phrases.iter().any(|p| side::elements(p).contains(&element));
    let mut forms = forms(&bears, sets);
    forms.retain(RuleRow::differs);
    Compared { what, rows, forms, ..Compared::new("phrase", id) }
}

fn rule_page(id: &str, sets: &Sets<'_>) -> Compared {
    let page = Compared::new("rule", id);
    let Some(at) = sets[0].rules().iter().position(|r| &*r.id == id) else { return page };
    let rule = rule_row(at, &Standard::ALL, sets);
    let holds = Standard::ALL.map(|standard| {
        let on = rule.on[standard as usize];
        (standard, vec![if on { "holds" } else { "does not hold" }.to_owned()])
    });
    let mut rows = vec![Row::new("In the rule sets", holds), rule.why];
    for right in [false, true] {
        let said =
            Standard::ALL.map(|standard| (standard, side::rule_example(id, right, sets[standard as usize])));
        rows.push(Row::new(if right { "Right" } else { "Wrong" }, said));
    }
    rows.retain(|row| !row.groups.is_empty());
    rows.push(rule.sources);
    Compared { rows, ..page }
}

fn element_page(element: Element, sets: &Sets<'_>) -> Compared {
    let ids = |standard: Standard, wanted: &dyn Fn(Duty) -> bool| -> Vec<&str> {
        let phrases = sets[standard as usize].phrases().iter();
        phrases.filter(|p| wanted(p.duty(element))).map(|p| &*p.id).collect()
    };
    let read_back = |duty: Duty| duty >= Duty::ReadBackOrWilco;
    let everywhere: Vec<&str> = ids(Standard::Icao, &read_back)
        .into_iter()
        .filter(|id| Standard::ALL.iter().all(|&s| ids(s, &read_back).contains(id)))
        .collect();
    let rest = Standard::ALL.map(|standard| {
        let mut own = ids(standard, &read_back);
        own.retain(|id| !everywhere.contains(id));
        (standard, if own.is_empty() { Vec::new() } else { vec![own.join(", ")] })
    });
    let title = if everywhere.is_empty() { "Read back" } else { "Read back besides" };
    let acknowledged = Standard::ALL.map(|standard| {
        let own = ids(standard, &|duty| duty == Duty::Acknowledge);
        (standard, if own.is_empty() { Vec::new() } else { vec![own.join(", ")] })
    });
    let mut rows = vec![Row::new(title, rest), Row::new("Acknowledged", acknowledged)];
    rows.retain(|row| !row.groups.is_empty());
    Compared {
        what: Some(element.doc()),
        severity: Some([Fault::Wrong, Fault::Missing].map(|fault| element.severity(fault))),
        read_back_everywhere: everywhere.into_iter().map(str::to_owned).collect(),
        rows,
        forms: forms(&|e| e == element, sets),
        ..Compared::new("element", element.name())
    }
}

/// The rules of form of some elements.
fn forms(bears: &dyn Fn(Element) -> bool, sets: &Sets<'_>) -> Vec<RuleRow> {
    let about = |id: &str| id.split('.').next().and_then(Element::parse).is_some_and(bears);
    let rules = sets[0].rules().iter().enumerate().filter(|(_, rule)| about(&rule.id));
    rules.map(|(at, _)| rule_row(at, &Standard::ALL, sets)).collect()
}
