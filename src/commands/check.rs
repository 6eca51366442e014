//! `check`: everything that is wrong with the data, in one go.

use crate::content::Content;
use crate::content::manifest::{MANIFEST, read_manifest};
use crate::contract::RuleSets;
use crate::crew::CrewBook;
use crate::diagnostic::{self, Diagnostic, count};
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::grammar::check::check_examples;
use crate::grammar::load;
use crate::grammar::sets::{Sets, once};
use crate::rules::RuleSet;
use crate::scenario::load::{Kind, Library, kind};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Checks `files`, or all that is built in, and returns the exit status. Problems go to `err`.
///
/// # Errors
/// A file can't be read, or the output can't be written.
pub fn run(
    files: &[PathBuf],
    sets: &Sets,
    content: &Content,
    styled: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let rules = |standard: Standard| -> Arc<RuleSet> { sets.get(standard) };
    let book = sets.crew().map_err(Error::Internal)?;
    let library = Library::new(&rules, Arc::clone(&book)).with_content(content);
    let mut found: Vec<Diagnostic> = Vec::new();
    let mut clashes = Vec::new();
    let summary = if files.is_empty() {
        let (mut phrases, mut examples) = (0, 0);
        for standard in Standard::ALL {
            let (problems, counted) = check_examples(&sets.get(standard));
            found.extend(problems);
            phrases = phrases.max(counted.phrases);
            examples += counted.examples;
        }
        let (problems, scenarios, airports) = library.check_builtin();
        found.extend(problems);
        clashes = content.clashes();
        let (problems, own_scenarios, own_airports) = library.check_content();
        found.extend(problems);
        let (scenarios, airports) = (scenarios + own_scenarios, airports + own_airports);
        format!(
            "{}, {}, {}, {}, {} and {} checked",
            count(phrases, "phrase"),
            count(examples, "example"),
            count(book.calls().count(), "call"),
            count(book.checklist_ids().count(), "checklist"),
            count(scenarios, "scenario"),
            count(airports, "airport")
        )
    } else {
        for path in files {
            found.extend(check_file(path, &library)?);
        }
        format!("{} checked", count(files.len(), "file"))
    };
    let found = once(found);
    for clash in &clashes {
        writeln!(err, "hearback: {clash}")?;
    }
    if found.is_empty() && clashes.is_empty() {
        writeln!(out, "no problems: {summary}")?;
        return Ok(exit::DONE);
    }
    write!(err, "{}", diagnostic::render(&found, styled))?;
    writeln!(err, "{summary}")?;
    Ok(exit::PROBLEMS)
}

fn check_file(path: &Path, library: &Library<'_>) -> Result<Vec<Diagnostic>> {
    let bytes = fs::read(path).map_err(|cause| Error::Read { path: path.to_owned(), cause })?;
    if path.file_name().is_some_and(|name| name == MANIFEST) {
        return check_manifest(path, &bytes);
    }
    match kind(&bytes) {
        Some(Kind::Grammar) => {}
        Some(kind @ (Kind::Crew | Kind::Operator)) => return Ok(check_crew(path, &bytes, kind)),
        _ => return library.check(path),
    }
    // A grammar file is checked as part of the rule set whose folder it lies in; the base otherwise.
    let standard = path
        .parent()
        .and_then(Path::file_name)
        .and_then(|f| f.to_str())
        .and_then(Standard::parse)
        .unwrap_or(Standard::Icao);
    let file = path.file_name().map(|f| f.to_string_lossy().into_owned()).unwrap_or_default();
    let shown = path.to_string_lossy().replace('\\', "/");
    let own = format!("{}/{file}", standard.name());
    let placed = if shown.ends_with(&own) { shown.clone() } else { format!("{shown}@/{own}") };
    let mut files: Vec<(&str, &[u8])> = crate::grammar::builtin_files()
        .iter()
        .filter(|f| !f.0.ends_with(&format!("/{own}")))
        .map(|f| (f.0, f.1.as_bytes()))
        .collect();
    files.push((&placed, &bytes));
    let problems = match load::load(files.into_iter(), standard).and_then(RuleSet::compile) {
        Ok(rules) => check_examples(&rules).0,
        Err(problems) => problems,
    };
    let here = problems.into_iter().filter(|d| d.path == placed);
    Ok(here.map(|d| Diagnostic { path: shown.clone(), ..d }).collect())
}

/// Checks a file of calls, checklists or an operator as part of the book it would be put over.
fn check_crew(path: &Path, bytes: &[u8], kind: Kind) -> Vec<Diagnostic> {
    let file = path.file_name().map(|f| f.to_string_lossy().into_owned()).unwrap_or_default();
    let folder = if kind == Kind::Operator { "crew/operators" } else { "crew" };
    let placed = format!("{folder}/{file}");
    let builtin = crate::grammar::builtin_files().iter().map(|f| (f.0, f.1.as_bytes()));
    let loaded = CrewBook::load(builtin.chain([(placed.as_str(), bytes)]));
    let found = loaded.err().unwrap_or_default().into_iter().filter(|d| d.path == placed);
    found.map(|d| Diagnostic { path: path.to_string_lossy().replace('\\', "/"), ..d }).collect()
}

/// Checks a manifest with the names of what lies beside it.
fn check_manifest(path: &Path, bytes: &[u8]) -> Result<Vec<Diagnostic>> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let files = match crate::content::folder::read(folder, &[])? {
        Ok(files) => files,
        Err(refusal) => return Err(crate::content::pack::refused(folder, false, refusal)),
    };
    let names: Vec<String> =
        files.iter().filter_map(|file| Some(crate::content::pack::item(&file.name)?.1)).collect();
    Ok(read_manifest(&path.to_string_lossy(), bytes, &names).err().unwrap_or_default())
}
