//! `scenarios`: what there is to fly, from easy to hard.

use crate::airport;
use crate::content::{Content, Item};
use crate::diagnostic::clean;
use crate::error::{Error, Result, exit};
use crate::scenario::catalogue::{Listed, catalogue};
use crate::scenario::phases::Phases;
use crate::wrap::{PAGE, lines};
use serde_json::json;
use std::io::Write;
use unicode_width::UnicodeWidthStr;

/// Prints the list and returns the exit status.
///
/// # Errors
/// The output can't be written.
pub fn run(json: bool, content: &Content, out: &mut dyn Write) -> Result<u8> {
    let all = catalogue(content);
    let own = content.names(Item::Airport);
    let mut airports: Vec<&str> = own.iter().map(String::as_str).collect();
    airports.extend(airport::load::builtin_ids().filter(|id| !own.contains(*id)).map(|id| -> &str { id }));
    let phases: Vec<&str> = Phases::builtin().map_err(Error::Internal)?.names().collect();
    if json {
        let scenarios: Vec<_> = all.iter().map(object).collect();
        let list = json!({ "format": 1, "scenarios": scenarios, "airports": airports, "phases": phases });
        writeln!(out, "{list}")?;
        return Ok(exit::DONE);
    }
    let width = all.iter().map(|s| s.name.width()).max().unwrap_or(0);
    let mut group = "";
    for scenario in &all {
        if scenario.group != group {
            let gap = if group.is_empty() { "" } else { "\n" };
            group = &scenario.group;
            writeln!(out, "{gap}{}", clean(group))?;
        }
        let standard = scenario.standard.map_or("", |standard| standard.name());
        let seat = if scenario.seat == "flying" { "PF" } else { "PM" };
        let name = clean(&scenario.name);
        let pad = width - name.width().min(width);
        let head = format!(
            "  {name}{:pad$}  {}  {seat}  {standard:4}  {:>3}  ",
            "", scenario.difficulty, scenario.exchanges
        );
        let title = lines(&clean(&scenario.title), PAGE.saturating_sub(head.width()).max(20));
        for (n, line) in title.iter().enumerate() {
            let lead = if n == 0 { head.clone() } else { " ".repeat(head.width()) };
            writeln!(out, "{lead}{line}")?;
        }
    }
    writeln!(out, "\nColumns: difficulty from 1 to 5, your seat, rule set, exchanges, title.")?;
    writeln!(out, "Fly one with `hearback practise NAME`; without end at any airport, by seed:")?;
    writeln!(out, "  hearback practise --airport NAME --phase {}", phases.join("|"))?;
    for line in lines(&clean(&airports.join(", ")), PAGE - 4) {
        writeln!(out, "    {line}")?;
    }
    Ok(exit::DONE)
}

fn object(scenario: &Listed) -> serde_json::Value {
    json!({
        "name": scenario.name,
        "group": scenario.group,
        "title": scenario.title,
        "airport": scenario.airport,
        "standard": scenario.standard.map(|standard| standard.name()),
        "seat": scenario.seat,
        "difficulty": scenario.difficulty,
        "exchanges": scenario.exchanges,
    })
}
