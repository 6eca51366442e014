//! `paper`: graded papers, set, sat, marked and reported.

mod items;
mod mark;
mod report;
mod take;

use crate::cli::paper::PaperCommand;
use crate::content::Content;
use crate::contract::RuleSets;
use crate::diagnostic::Diagnostic;
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::grammar::sets::Sets;
use crate::paper::check::read_paper;
use crate::paper::exam::Exam;
use crate::paper::seal::Key;
use crate::record::keep::Place;
use crate::rules::RuleSet;
use crate::scenario::load::Library;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How output looks.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Colours and bold letters.
    pub styled: bool,
    /// No other characters in bars.
    pub ascii: bool,
}

/// Does it and returns the exit status.
///
/// # Errors
/// The paper has problems, a file cannot be read or written, or the terminal fails.
pub fn run(
    command: &PaperCommand,
    sets: &Sets,
    content: &Content,
    look: Look,
    place: &Place,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    match command {
        PaperCommand::Items { paper, name, json } => {
            items::items(&open(paper, sets, content)?, name.as_deref(), *json, look, out)
        }
        PaperCommand::Freeze { paper, to, force } => {
            items::freeze(&open(paper, sets, content)?, to, *force, out)
        }
        PaperCommand::Take { paper, name, result, key, plain } => {
            let options = take::Options {
                name: name.as_deref(),
                result: result.as_deref(),
                key: key.as_deref().map(read_key).transpose()?,
                plain: *plain,
                styled: look.styled,
                place,
            };
            take::run(&open(paper, sets, content)?, paper, &options, &sets.fingerprint(), out, err)
        }
        PaperCommand::Mark { marking, json } => {
            let exam = open(&marking.paper, sets, content)?;
            mark::mark(&exam, &mark::Given::of(marking)?, &sets.fingerprint(), *json, out, err)
        }
        PaperCommand::Report { marking, .. } => {
            report::report(&open(&marking.paper, sets, content)?, command, sets, content, look, out, err)
        }
        PaperCommand::Overrule { marking, item, finding, reason, by } => {
            let exam = open(&marking.paper, sets, content)?;
            let ruling = mark::Ruling { number: *item, finding: *finding, reason, by };
            mark::overrule(&exam, &mark::Given::of(marking)?, &ruling, &sets.fingerprint(), out, err)
        }
        PaperCommand::Key { file } => {
            let text = Key::new_text().map_err(Error::Usage)?;
            create(file, format!("{text}\n").as_bytes())?;
            writeln!(out, "written: {}", crate::paper::batch::shown(file))?;
            writeln!(out, "Give it to those who sit the paper, and keep it from anybody else.")?;
            Ok(exit::DONE)
        }
    }
}

/// A paper with its items.
///
/// # Errors
/// [`Error::Data`] with everything that is wrong with it, and what the content cannot supply.
pub fn open(path: &Path, sets: &Sets, content: &Content) -> Result<Exam> {
    let bytes = fs::read(path).map_err(|cause| Error::Read { path: path.to_owned(), cause })?;
    let rules = |standard: Standard| -> Arc<RuleSet> { sets.get(standard) };
    let book = sets.crew().map_err(Error::Internal)?;
    let library = Library::new(&rules, Arc::clone(&book)).with_content(content);
    drawn(&path.to_string_lossy(), &bytes, &library).map_err(Error::Data)
}

/// Reads a paper and draws its items.
///
/// # Errors
/// Everything that is wrong with it.
pub fn drawn(path: &str, bytes: &[u8], library: &Library<'_>) -> std::result::Result<Exam, Vec<Diagnostic>> {
    let book = library.book();
    let (paper, places) = read_paper(path, bytes, &|standard| library.rules(standard), &book)?;
    let set = library.rules(paper.standard);
    Exam::draw(paper, set, book, library)
        .map_err(|short| short.iter().map(|(part, what)| places.shortage(*part, what)).collect())
}

/// The group's key.
fn read_key(path: &Path) -> Result<Key> {
    let bytes = fs::read(path).map_err(|cause| Error::Read { path: path.to_owned(), cause })?;
    Key::of(&bytes)
        .map_err(|problem| Error::Usage(format!("`{}`: {problem}", crate::paper::batch::shown(path))))
}

/// Writes a new file that others cannot read.
fn create(path: &Path, bytes: &[u8]) -> Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = match options.open(path) {
        Err(cause) if cause.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(Error::Exists { path: path.to_owned() });
        }
        opened => opened.map_err(|cause| Error::Create { path: path.to_owned(), cause })?,
    };
    file.write_all(bytes).map_err(|cause| Error::Create { path: path.to_owned(), cause })
}

/// Result files: those that were named, and in folders all that end in `.jsonl`.
fn result_files(named: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut out = Vec::new();
    for path in named {
        if !path.is_dir() {
            out.push(path.clone());
            continue;
        }
        let failed = |cause| Error::Read { path: path.clone(), cause };
        let mut inside = Vec::new();
        for entry in fs::read_dir(path).map_err(failed)? {
            let file = entry.map_err(failed)?.path();
            if file.extension().is_some_and(|end| end == "jsonl") {
                inside.push(file);
            }
        }
        inside.sort();
        if inside.is_empty() {
            return Err(Error::Usage(format!("no .jsonl file is in `{}`", crate::paper::batch::shown(path))));
        }
        out.extend(inside);
    }
    Ok(out)
}
