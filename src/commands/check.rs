//! `check`: everything that is wrong with the data, in one go.

use super::paper::drawn;
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
use crate::machine;
use crate::rules::RuleSet;
use crate::scenario::load::{Kind, Library, kind};
use rayon::prelude::*;
use serde::Serialize;
use serde_json::json;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What was checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum Checked {
    /// Everything that is built in, and content of one's own.
    All {
        /// Phrases of the rule set that has the most.
        phrases: usize,
        /// Examples of the grammar, run as tests.
        examples: usize,
        /// Calls of the crew.
        calls: usize,
        /// Checklists.
        checklists: usize,
        /// Scenarios.
        scenarios: usize,
        /// Airports.
        airports: usize,
    },
    /// Files that were named, or lie in a folder that was.
    Files {
        /// How many.
        files: usize,
    },
}

/// What a check found.
#[derive(Debug)]
pub struct Report {
    /// What was checked.
    pub checked: Checked,
    /// What is wrong, each once.
    pub problems: Vec<Diagnostic>,
    /// Names that stand for several things.
    pub clashes: Vec<String>,
}

impl Report {
    /// Checks `files`, or all that is built in.
    ///
    /// # Errors
    /// A file can't be read.
    pub fn of(files: &[PathBuf], sets: &Sets, content: &Content) -> Result<Self> {
        let rules = |standard: Standard| -> Arc<RuleSet> { sets.get(standard) };
        let book = sets.crew().map_err(Error::Internal)?;
        let library = Library::new(&rules, Arc::clone(&book)).with_content(content);
        let mut found: Vec<Diagnostic> = Vec::new();
        if !files.is_empty() {
            let mut checked = 0;
            for path in files {
                let inside = if path.is_dir() { files_below(path)? } else { vec![path.clone()] };
                checked += inside.len();
                found.extend(check_files(&inside, &library)?);
            }
            let checked = Checked::Files { files: checked };
            return Ok(Self { checked, problems: once(found), clashes: Vec::new() });
        }
        let (mut phrases, mut examples) = (0, 0);
        let checked: Vec<_> =
            Standard::ALL.par_iter().map(|standard| check_examples(&sets.get(*standard))).collect();
        for (problems, counted) in checked {
            found.extend(problems);
            phrases = phrases.max(counted.phrases);
            examples += counted.examples;
        }
        let (problems, scenarios, airports) = library.check_builtin();
        found.extend(problems);
        let (problems, own_scenarios, own_airports) = library.check_content();
        found.extend(problems);
        let checked = Checked::All {
            phrases,
            examples,
            calls: book.calls().count(),
            checklists: book.checklist_ids().count(),
            scenarios: scenarios + own_scenarios,
            airports: airports + own_airports,
        };
        let clashes = content.clashes().iter().map(ToString::to_string).collect();
        Ok(Self { checked, problems: once(found), clashes })
    }

    /// The exit status that belongs to it.
    #[must_use]
    pub fn status(&self) -> u8 {
        if self.problems.is_empty() && self.clashes.is_empty() { exit::DONE } else { exit::PROBLEMS }
    }

    /// Writes it for people, problems to `err`, and returns the exit status.
    ///
    /// # Errors
    /// The output can't be written.
    pub fn text(&self, styled: bool, out: &mut dyn Write, err: &mut dyn Write) -> Result<u8> {
        let summary = self.checked.summary();
        for clash in &self.clashes {
            writeln!(err, "hearback: {clash}")?;
        }
        if self.status() == exit::DONE {
            writeln!(out, "no problems: {summary}")?;
        } else {
            write!(err, "{}", diagnostic::render(&self.problems, styled))?;
            writeln!(err, "{summary}")?;
        }
        Ok(self.status())
    }

    /// Writes it as one object and returns the exit status.
    ///
    /// # Errors
    /// The output can't be written.
    pub fn json(&self, out: &mut dyn Write) -> Result<u8> {
        let problems: Vec<_> =
            diagnostic::ordered(&self.problems).into_iter().map(machine::problem).collect();
        let object = json!({ "problems": problems, "clashes": self.clashes, "checked": self.checked });
        machine::write(&object, out)?;
        Ok(self.status())
    }
}

impl Checked {
    fn summary(self) -> String {
        match self {
            Self::All { phrases, examples, calls, checklists, scenarios, airports } => format!(
                "{}, {}, {}, {}, {} and {} checked",
                count(phrases, "phrase"),
                count(examples, "example"),
                count(calls, "call"),
                count(checklists, "checklist"),
                count(scenarios, "scenario"),
                count(airports, "airport")
            ),
            Self::Files { files } => format!("{} checked", count(files, "file")),
        }
    }
}

/// Everything that is wrong with files.
///
/// # Errors
/// A file can't be read.
pub fn problems(files: &[PathBuf], sets: &Sets, content: &Content) -> Result<Vec<Diagnostic>> {
    let rules = |standard: Standard| -> Arc<RuleSet> { sets.get(standard) };
    let library = Library::new(&rules, sets.crew().map_err(Error::Internal)?).with_content(content);
    Ok(once(check_files(files, &library)?))
}

/// Every data file below a folder, in order; hidden ones are passed over.
///
/// # Errors
/// [`Error::Read`] if a folder can't be read, [`Error::Empty`] if there is no data file in it.
pub fn files_below(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        let failed = |cause| Error::Read { path: folder.clone(), cause };
        for entry in fs::read_dir(&folder).map_err(failed)? {
            let entry = entry.map_err(failed)?;
            // A link to a folder could lead round in a circle.
            let kind = entry.file_type().map_err(failed)?;
            let path = entry.path();
            if entry.file_name().to_string_lossy().starts_with('.') {
                continue;
            }
            if kind.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "toml") {
                files.push(path);
            }
        }
    }
    files.sort();
    if files.is_empty() {
        return Err(Error::Empty { path: folder.to_path_buf() });
    }
    Ok(files)
}

/// Checks files by their kind. Those of grammar and of the crew are checked together, as they are read together.
fn check_files(files: &[PathBuf], library: &Library<'_>) -> Result<Vec<Diagnostic>> {
    let (mut grammar, mut crew, mut found) = (Vec::new(), Vec::new(), Vec::new());
    for path in files {
        let bytes = fs::read(path).map_err(|cause| Error::Read { path: path.clone(), cause })?;
        if path.file_name().is_some_and(|name| name == MANIFEST) {
            found.extend(check_manifest(path, &bytes)?);
            continue;
        }
        match kind(&bytes) {
            Some(Kind::Grammar) => grammar.push(Placed::grammar(path, bytes)),
            Some(Kind::Paper) => {
                found.extend(drawn(&path.to_string_lossy(), &bytes, library).err().unwrap_or_default());
            }
            Some(kind @ (Kind::Crew | Kind::Operator)) => crew.push(Placed::crew(path, bytes, kind)),
            _ => found.extend(library.check(path)?),
        }
    }
    found.extend(check_grammar(&grammar));
    found.extend(check_crew(&crew));
    Ok(found)
}

/// A file at the place in a grammar folder that it is checked at.
struct Placed {
    /// As the reader named it.
    shown: String,
    /// With its folder and the rule set's or the crew's.
    path: String,
    /// The end of it, by which it takes the place of a built-in file.
    own: String,
    standard: Standard,
    bytes: Vec<u8>,
}

impl Placed {
    fn new(path: &Path, bytes: Vec<u8>, folder: &str, standard: Standard) -> Self {
        let file = path.file_name().map(|f| f.to_string_lossy().into_owned()).unwrap_or_default();
        let shown = path.to_string_lossy().replace('\\', "/");
        let own = format!("{folder}/{file}");
        let path =
            if shown.ends_with(&format!("/{own}")) { shown.clone() } else { format!("{shown}@/{own}") };
        Self { shown, path, own, standard, bytes }
    }

    /// A file of grammar belongs to the rule set whose folder it lies in; to the base otherwise.
    fn grammar(path: &Path, bytes: Vec<u8>) -> Self {
        let folder = path.parent().and_then(Path::file_name).and_then(|f| f.to_str());
        let standard = folder.and_then(Standard::parse).unwrap_or(Standard::Icao);
        Self::new(path, bytes, standard.name(), standard)
    }

    fn crew(path: &Path, bytes: Vec<u8>, kind: Kind) -> Self {
        let folder = if kind == Kind::Operator { "crew/operators" } else { "crew" };
        Self::new(path, bytes, folder, Standard::Icao)
    }
}

/// What is wrong in files of grammar that are put over the built-in ones.
fn check_grammar(own: &[Placed]) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for standard in Standard::ALL.into_iter().filter(|s| own.iter().any(|file| file.standard == *s)) {
        let replaced = |path: &str| own.iter().any(|file| path.ends_with(&format!("/{}", file.own)));
        let builtin = crate::grammar::builtin_files().iter().filter(|f| !replaced(f.0));
        let builtin = builtin.map(|f| (f.0, f.1.as_bytes()));
        let files = builtin.chain(own.iter().map(|f| (f.path.as_str(), f.bytes.as_slice())));
        found.extend(match load::load(files, standard).and_then(RuleSet::compile) {
            Ok(rules) => check_examples(&rules).0,
            Err(problems) => problems,
        });
    }
    of(own, found)
}

/// What is wrong in files of calls, checklists or operators that are put over the built-in book.
fn check_crew(own: &[Placed]) -> Vec<Diagnostic> {
    if own.is_empty() {
        return Vec::new();
    }
    let builtin = crate::grammar::builtin_files().iter().map(|f| (f.0, f.1.as_bytes()));
    let files = builtin.chain(own.iter().map(|f| (f.path.as_str(), f.bytes.as_slice())));
    of(own, CrewBook::load(files).err().unwrap_or_default())
}

/// The problems of one's own files, under the names that the reader gave them.
fn of(own: &[Placed], found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let shown = |path: &str| own.iter().find(|file| file.path == path).map(|file| file.shown.clone());
    found.into_iter().filter_map(|d| Some(Diagnostic { path: shown(&d.path)?, ..d })).collect()
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
