//! `packs`: what content of one's own is found where, and which names stand before others.

use super::pack::contents;
use crate::content::pack::Pack;
use crate::content::{Content, Item, spread, user_folder};
use crate::diagnostic::{self, clean};
use crate::error::{Error, Result, exit};
use serde_json::{Value, json};
use std::io::Write;
use std::path::PathBuf;

/// Lists the packs at these places and returns the exit status; what is refused goes to `err`.
///
/// # Errors
/// A place can't be read, or the output can't be written.
pub fn run(
    places: &[PathBuf],
    json: bool,
    styled: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let mut packs = Vec::new();
    let mut status = exit::DONE;
    for (place, skip) in spread(places) {
        match Pack::open(&place, &skip) {
            Ok(pack) => packs.push(pack),
            Err(Error::Data(problems)) => {
                write!(err, "{}", diagnostic::render(&problems, styled))?;
                status = exit::PROBLEMS;
            }
            Err(error @ Error::Pack { .. }) => {
                writeln!(err, "hearback: {error}")?;
                status = exit::PROBLEMS;
            }
            Err(error) => return Err(error),
        }
    }
    let content = Content::of(packs)?;
    if json {
        let packs: Vec<Value> = content.packs().iter().map(|pack| object(&content, pack)).collect();
        writeln!(out, "{}", json!({ "format": 1, "packs": packs }))?;
        for clash in content.clashes() {
            writeln!(err, "hearback: {clash}")?;
            status = exit::PROBLEMS;
        }
        return Ok(status);
    }
    if content.packs().is_empty() && status == exit::DONE {
        writeln!(out, "nothing but what is built in")?;
        if let Some(folder) = user_folder() {
            writeln!(out, "looked in {}; name more with --content", clean(&folder.to_string_lossy()))?;
        }
    }
    for pack in content.packs() {
        match &pack.manifest {
            Some(m) => writeln!(
                out,
                "{} {}  {}\n  by {}, {}\n  {}",
                m.id,
                clean(&m.version),
                clean(&m.title),
                clean(&m.author),
                clean(&m.licence),
                clean(&pack.place.to_string_lossy())
            )?,
            None => writeln!(out, "{}", clean(&pack.place.to_string_lossy()))?,
        }
        writeln!(out, "  {}", contents(pack))?;
        for (kind, name, _) in pack.items() {
            let others = content.shadowed(pack, kind, &name);
            if !others.is_empty() && pack.replaces(&name) {
                let (kind, name) = (kind.name(), clean(&name));
                writeln!(out, "  {kind} {name} stands before {}", others.join(" and "))?;
            }
        }
        for kind in Item::ALL {
            let names: Vec<String> =
                pack.items().filter(|item| item.0 == kind).map(|item| clean(&item.1).into_owned()).collect();
            if !names.is_empty() {
                writeln!(out, "    {:13} {}", kind.name(), names.join(", "))?;
            }
        }
    }
    for clash in content.clashes() {
        writeln!(err, "hearback: {clash}")?;
        status = exit::PROBLEMS;
    }
    Ok(status)
}

fn object(content: &Content, pack: &Pack) -> Value {
    let items = pack.items().map(|(kind, name, _)| {
        let before = content.shadowed(pack, kind, &name);
        let before = if pack.replaces(&name) { before } else { Vec::new() };
        json!({ "kind": kind.name(), "name": name, "before": before })
    });
    let manifest = pack.manifest.as_ref();
    json!({
        "id": manifest.map(|m| &m.id),
        "version": manifest.map(|m| &m.version),
        "title": manifest.map(|m| &m.title),
        "author": manifest.map(|m| &m.author),
        "licence": manifest.map(|m| &m.licence),
        "place": pack.place.to_string_lossy(),
        "items": items.collect::<Vec<_>>(),
    })
}
