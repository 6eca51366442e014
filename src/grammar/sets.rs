//! Rule sets by name: built in, with the files of a folder put over them.

use super::load;
use crate::contract::RuleSets;
use crate::diagnostic::Diagnostic;
use crate::element::Standard;
use crate::error::{Error, Result};
use crate::rules::RuleSet;
use std::fs;
use std::path::Path;
use std::sync::{Arc, OnceLock};

/// Rule sets, each compiled when it is first asked for.
#[derive(Default)]
pub struct Sets {
    /// Files of the folder: path, bytes. Empty: the built-in sets as they are.
    files: Vec<(String, Vec<u8>)>,
    sets: [OnceLock<Arc<RuleSet>>; 4],
}

impl Sets {
    /// The sets that the binary carries.
    #[must_use]
    pub fn builtin() -> Self {
        Self::default()
    }

    /// The built-in sets with the files below `folder` put over them: `DIR/icao/taxi.toml` replaces the
    /// file of that name, a file of another name adds to the rule set whose folder it lies in.
    ///
    /// # Errors
    /// [`Error::Read`] if the folder or a file can't be read, [`Error::Unknown`] if it has no rule set,
    /// [`Error::Data`] with everything that is wrong in the files, in any rule set they touch.
    pub fn with_folder(folder: &Path) -> Result<Self> {
        let mut own = Vec::new();
        for standard in Standard::ALL {
            let inside = folder.join(standard.name());
            if !inside.is_dir() {
                continue;
            }
            let read = |cause| Error::Read { path: inside.clone(), cause };
            let mut paths = Vec::new();
            for entry in fs::read_dir(&inside).map_err(read)? {
                let path = entry.map_err(read)?.path();
                if path.extension().is_some_and(|e| e == "toml") {
                    paths.push(path);
                }
            }
            paths.sort();
            for path in paths {
                let bytes = fs::read(&path).map_err(|cause| Error::Read { path: path.clone(), cause })?;
                own.push((path.to_string_lossy().replace('\\', "/"), bytes));
            }
        }
        if own.is_empty() {
            let help =
                "; a grammar folder holds folders named icao, eu, uk or us with .toml files".to_owned();
            return Err(Error::Unknown {
                what: "grammar in",
                name: folder.to_string_lossy().into_owned(),
                help,
            });
        }
        let tail = |path: &str| path.rsplit('/').take(2).map(str::to_owned).collect::<Vec<_>>();
        let replaced: Vec<_> = own.iter().map(|f| tail(&f.0)).collect();
        let mut files: Vec<(String, Vec<u8>)> = super::builtin_files()
            .iter()
            .filter(|f| !replaced.contains(&tail(f.0)))
            .map(|f| (f.0.to_owned(), f.1.as_bytes().to_vec()))
            .collect();
        files.extend(own);
        let sets = Self { files, sets: Default::default() };
        let mut problems: Vec<Diagnostic> = Vec::new();
        for standard in Standard::ALL {
            match sets.compile(standard) {
                Ok(set) => {
                    let _ = sets.sets[standard as usize].set(set);
                }
                Err(found) => problems.extend(found.into_iter().filter(|d| !d.path.is_empty())),
            }
        }
        problems.dedup();
        if problems.is_empty() { Ok(sets) } else { Err(Error::Data(once(problems))) }
    }

    fn compile(&self, standard: Standard) -> Result<Arc<RuleSet>, Vec<Diagnostic>> {
        let files = self.files.iter().map(|f| (f.0.as_str(), f.1.as_slice()));
        load::load(files, standard).and_then(RuleSet::compile).map(Arc::new)
    }
}

/// Each problem once, although several rule sets share the file it is in.
#[must_use]
pub fn once(mut problems: Vec<Diagnostic>) -> Vec<Diagnostic> {
    problems.sort_by(|a, b| {
        (&a.path, a.span.start, a.code, &a.title).cmp(&(&b.path, b.span.start, b.code, &b.title))
    });
    problems.dedup_by(|a, b| (&a.path, a.span, a.code, &a.title) == (&b.path, b.span, b.code, &b.title));
    problems
}

impl RuleSets for Sets {
    fn get(&self, standard: Standard) -> Arc<RuleSet> {
        if self.files.is_empty() {
            return RuleSet::builtin(standard);
        }
        self.sets[standard as usize]
            .get_or_init(|| self.compile(standard).unwrap_or_else(|_| RuleSet::builtin(standard)))
            .clone()
    }
}
