//! Reads airport files, built in or from disk.

use super::{Airport, check::check_airport, schema::AirportFile};
use crate::diagnostic::{self, Diagnostic};
use std::sync::Arc;

/// Where the built-in ones lie.
pub(crate) const FOLDER: &str = "scenarios/airports/";

/// Reads an airport from the bytes of a file.
///
/// # Errors
/// Everything that is wrong with the file, in the order of the file.
pub fn load_airport(path: &str, bytes: &[u8]) -> Result<Airport, Vec<Diagnostic>> {
    let source = diagnostic::text("A001", path, bytes).map_err(|problem| vec![*problem])?;
    let file = read(path, &source)?;
    let (airport, problems) = check_airport(path, &source, &file);
    match airport {
        Some(airport) if problems.is_empty() => Ok(airport),
        _ => Err(problems),
    }
}

/// The built-in airport of that id, as path and text.
#[must_use]
pub fn builtin(id: &str) -> Option<(&'static str, &'static str)> {
    let path = format!("{FOLDER}{id}.toml");
    crate::grammar::builtin_scenarios().iter().copied().find(|(name, _)| *name == path)
}

/// Ids of the built-in airports.
pub fn builtin_ids() -> impl Iterator<Item = &'static str> {
    crate::grammar::builtin_scenarios()
        .iter()
        .filter_map(|(name, _)| name.strip_prefix(FOLDER)?.strip_suffix(".toml"))
}

fn read(path: &str, source: &Arc<str>) -> Result<AirportFile, Vec<Diagnostic>> {
    let broken = diagnostic::syntax("A002", path, source);
    if !broken.is_empty() {
        return Err(broken);
    }
    toml::from_str(source).map_err(|error| vec![diagnostic::from_toml(path, source, &error, "A002")])
}
