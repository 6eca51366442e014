//! `map`: an airport as a plan in the terminal, as an SVG drawing, or as JSON, perhaps with a route.

use crate::airport::network::{NodeKind, Prefer};
use crate::cli::map::MapArgs;
use crate::content::Content;
use crate::contract::RuleSets;
use crate::diagnostic::clean;
use crate::error::{Error, Result, exit};
use crate::map::request::{PREFERENCES, Request, taxiways};
use crate::map::text::{COLUMNS, Look, page};
use crate::map::{Plan, svg, words};
use crate::rules::RuleSet;
use crate::scenario::load::Library;
use serde_json::{Value, json};
use std::io::{IsTerminal, Write};
use std::path::Path;
use std::sync::Arc;

/// Draws an airport and returns the exit status.
///
/// # Errors
/// If there is no such airport, taxiway or place, if the file has problems, nothing leads from one place to the
/// other, nothing can be drawn, or the output fails.
pub fn run(
    options: &MapArgs,
    sets: &dyn RuleSets,
    content: &Content,
    styled: bool,
    out: &mut dyn Write,
) -> Result<u8> {
    let rules = &|standard| -> Arc<RuleSet> { sets.get(standard) };
    let book = sets.crew().map_err(Error::Internal)?;
    let airport = Library::new(rules, book).with_content(content).airport(&options.airport)?;
    let closed = taxiways(&airport, &options.closed)?;
    let mut plan = Plan::new(&airport, &closed);
    if let (Some(from), Some(to)) = (&options.from, &options.to) {
        plan.show(&Request { from, to, prefer: options.by, code: options.code })?;
    }
    if options.json {
        serde_json::to_writer(&mut *out, &object(&plan, options.by)).map_err(|e| Error::Write(e.into()))?;
        writeln!(out)?;
    } else if let Some(file) = &options.svg {
        let drawing = svg::drawing(&plan)?;
        if file.as_os_str() == "-" {
            out.write_all(drawing.as_bytes())?;
        } else {
            write(file, options.force, &drawing)?;
            let gaps = plan.gaps();
            writeln!(out, "{} is drawn in {}", clean(&airport.name), clean(&file.to_string_lossy()))?;
            for gap in gaps {
                writeln!(out, "{}", clean(&gap))?;
            }
        }
    } else {
        let look = Look { width: width(options), plain: options.plain || !unicode(), styled };
        out.write_all(page(&plan, look).as_bytes())?;
    }
    out.flush()?;
    Ok(exit::DONE)
}

fn write(file: &Path, force: bool, text: &str) -> Result<()> {
    if !force && file.symlink_metadata().is_ok() {
        return Err(Error::Taken { path: file.to_owned() });
    }
    std::fs::write(file, text).map_err(|cause| Error::Create { path: file.to_owned(), cause })
}

/// Columns: as asked, of the terminal, or 80.
fn width(options: &MapArgs) -> usize {
    let own = || {
        let terminal = std::io::stdout().is_terminal().then(terminal_size::terminal_size).flatten();
        terminal.map(|(terminal_size::Width(columns), _)| columns)
    };
    let columns = options.width.or_else(own).unwrap_or(80);
    usize::from(columns).clamp(*COLUMNS.start(), *COLUMNS.end())
}

/// False if a terminal says that it has other letters than those of UTF-8.
fn unicode() -> bool {
    if cfg!(windows) || !std::io::stdout().is_terminal() {
        return true;
    }
    let named = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().filter_map(|name| std::env::var(name).ok());
    let first = named.into_iter().find(|value| !value.is_empty()).unwrap_or_default().to_lowercase();
    first.contains("utf-8") || first.contains("utf8")
}

fn object(plan: &Plan<'_>, by: Prefer) -> Value {
    let airport = plan.airport;
    let nodes = |kind: NodeKind| -> Vec<&str> {
        plan.nodes().iter().filter(|node| node.kind == kind).map(|node| node.id.as_str()).collect()
    };
    let strips = plan.strips.iter().map(|strip| {
        let [(ax, ay), (bx, by)] = strip.ends;
        json!({
            "designators": strip.names,
            "from": [ax, ay],
            "to": [bx, by],
            "width": strip.measured.then_some(strip.width),
            "closed": strip.closed,
        })
    });
    let mut ways: Vec<(&str, bool)> = Vec::new();
    for way in plan.network.iter().flat_map(|network| network.ways()) {
        let Some(name) = way.name.as_deref() else { continue };
        match ways.iter_mut().find(|(known, _)| *known == name) {
            Some((_, closed)) => *closed &= way.closed,
            None => ways.push((name, way.closed)),
        }
    }
    json!({
        "format": 1,
        "airport": airport.id,
        "name": airport.name,
        "elevation": airport.elevation,
        "runways": strips.collect::<Vec<_>>(),
        "taxiways": ways.iter().map(|(name, closed)| json!({ "name": name, "closed": closed })).collect::<Vec<_>>(),
        "holding_points": nodes(NodeKind::HoldingPoint),
        "exits": nodes(NodeKind::Exit),
        "stands": nodes(NodeKind::Stand),
        "not_drawn": plan.gaps(),
        "route": route(plan, by),
    })
}

fn route(plan: &Plan<'_>, by: Prefer) -> Value {
    let Some(shown) = &plan.route else { return Value::Null };
    let route = &shown.route;
    let by = PREFERENCES.iter().find(|(_, known)| *known == by).map(|(name, _)| *name);
    let said = words::said(plan);
    json!({
        "from": route.nodes.first(),
        "to": route.nodes.last(),
        "by": by,
        "from_runway": shown.from_runway,
        "to_runway": shown.to_runway,
        "nodes": route.nodes,
        "taxiways": route.taxiways,
        "crossings": route.crossings.iter().map(|crossing| json!({
            "runway": crossing.runway,
            "node": crossing.node,
            "holding_point": crossing.holding_point,
            "after": crossing.after,
        })).collect::<Vec<_>>(),
        // Decimetres are exact; metres have one decimal.
        "metres": route.length as f64 / 10.0,
        "turns": route.turns,
        "backtracked": words::backtracked(plan, shown),
        "said": said.iter().map(|said| &said.written).collect::<Vec<_>>(),
        "spoken": said.iter().map(|said| &said.spoken).collect::<Vec<_>>(),
    })
}
