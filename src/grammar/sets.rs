//! Rule sets by name: built in, with the files of a folder put over them.

use super::load;
use crate::content::{Content, Found, Item};
use crate::contract::RuleSets;
use crate::crew::CrewBook;
use crate::diagnostic::{self, Diagnostic};
use crate::element::Standard;
use crate::error::{Error, Result};
use crate::rules::RuleSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// Rule sets, each compiled when it is first asked for.
#[derive(Default)]
pub struct Sets {
    /// Files of the folder: path, bytes. Empty: the built-in sets as they are.
    files: Vec<(String, Vec<u8>)>,
    sets: [OnceLock<Arc<RuleSet>>; 4],
    /// The words of the crew, if the folder has any of its own.
    crew: Option<Arc<CrewBook>>,
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
    /// [`Error::Read`] if the folder or a file can't be read, [`Error::Folder`] if it isn't laid out as
    /// folders of rule sets, [`Error::Data`] with everything that is wrong in the files, in any rule set
    /// they touch.
    pub fn with_folder(folder: &Path) -> Result<Self> {
        Self::over(Some(folder), Content::none())
    }

    /// The built-in sets with the grammar of packs put over them, and that of a folder over these.
    ///
    /// # Errors
    /// Those of [`Sets::with_folder`], and [`Error::Clash`] if a file has the name of another.
    pub fn over(folder: Option<&Path>, content: &Content) -> Result<Self> {
        let mut own = Vec::new();
        let mut operators = Vec::new();
        for pack in content.packs() {
            for (kind, name, file) in pack.items() {
                let path = pack.shown(&file.name);
                if kind == Item::Operator {
                    operators.extend(pack.id().map(|id| (format!("{id}/{name}"), path.clone(), &file.bytes)));
                    let first = content.find(kind, &name, None)?;
                    if !matches!(first, Some(Found::Own(found, _)) if std::ptr::eq(found, pack)) {
                        continue;
                    }
                } else if kind == Item::Grammar {
                    content.find(kind, &name, None)?;
                } else {
                    continue;
                }
                own.push((path, file.bytes.clone()));
            }
        }
        for path in folder.map(layout).transpose()?.unwrap_or_default() {
            let bytes = fs::read(&path).map_err(|cause| Error::Read { path: path.clone(), cause })?;
            own.push((path.to_string_lossy().replace('\\', "/"), bytes));
        }
        if own.is_empty() {
            return Ok(Self::builtin());
        }
        let tail = |path: &str| path.rsplit('/').take(2).map(str::to_owned).collect::<Vec<_>>();
        let replaced: Vec<_> = own.iter().map(|f| tail(&f.0)).collect();
        let mut files: Vec<(String, Vec<u8>)> = super::builtin_files()
            .iter()
            .filter(|f| !replaced.contains(&tail(f.0)))
            .map(|f| (f.0.to_owned(), f.1.as_bytes().to_vec()))
            .collect();
        files.extend(own);
        let mut problems: Vec<Diagnostic> = Vec::new();
        let crew = match CrewBook::load(files.iter().map(|f| (f.0.as_str(), f.1.as_slice()))) {
            Ok(mut book) => {
                for (name, path, bytes) in operators {
                    problems.extend(book.name_operator(name, &path, bytes).err().map(|problem| *problem));
                }
                Some(Arc::new(book))
            }
            Err(found) => {
                problems.extend(found);
                None
            }
        };
        let sets = Self { files, sets: Default::default(), crew };
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

/// The folder with the words of the crew, and the folder in it with operators.
const CREW: &str = "crew";
const OPERATORS: &str = "operators";

/// What a grammar folder may hold.
const ALLOWED: &str =
    "a grammar folder holds folders named icao, eu, uk, us or crew, and these hold .toml files";

/// The grammar files of a folder, in order, base rule set first.
fn layout(folder: &Path) -> Result<Vec<PathBuf>> {
    let fail = |path: &Path, problem: String| Err(Error::Folder { path: path.to_owned(), problem });
    if !folder.exists() {
        return fail(folder, "there is no such folder".to_owned());
    }
    if !folder.is_dir() {
        return fail(folder, format!("this is a file; {ALLOWED}"));
    }
    let inside = entries(folder)?;
    if inside.is_empty() {
        return fail(folder, format!("the folder is empty; {ALLOWED}"));
    }
    for path in &inside {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if path.is_dir() && Standard::parse(&name).is_none() && name != CREW {
            let near =
                diagnostic::nearest(&name, Standard::ALL.map(Standard::name).into_iter().chain([CREW]));
            let near = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
            return fail(path, format!("this is no rule set{near}; {ALLOWED}"));
        }
        if !path.is_dir() && is_toml(path) {
            return fail(path, format!("this file belongs to no rule set; {ALLOWED}"));
        }
    }
    let mut out = Vec::new();
    let sets = Standard::ALL.map(|standard| folder.join(standard.name()));
    let crew = [folder.join(CREW), folder.join(CREW).join(OPERATORS)];
    for set in sets.iter().chain(&crew).filter(|set| set.is_dir()) {
        for path in entries(set)? {
            if path == crew[1] && path.is_dir() {
                continue;
            }
            if path.is_dir() {
                return fail(&path, format!("nothing is read from a folder inside a rule set; {ALLOWED}"));
            }
            if is_toml(&path) {
                out.push(path);
            }
        }
    }
    if out.is_empty() {
        return fail(folder, format!("no .toml file is in it; {ALLOWED}"));
    }
    Ok(out)
}

/// What lies in a folder, in order, without hidden files.
fn entries(folder: &Path) -> Result<Vec<PathBuf>> {
    let read = |cause| Error::Read { path: folder.to_owned(), cause };
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).map_err(read)? {
        let entry = entry.map_err(read)?;
        if !entry.file_name().to_string_lossy().starts_with('.') {
            out.push(entry.path());
        }
    }
    out.sort();
    Ok(out)
}

fn is_toml(path: &Path) -> bool {
    path.extension().is_some_and(|e| e == "toml")
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

    fn crew(&self) -> Result<Arc<CrewBook>, String> {
        self.crew.clone().map_or_else(CrewBook::builtin, Ok)
    }

    fn fingerprint(&self) -> String {
        if self.files.is_empty() {
            return super::fingerprint(super::builtin_files().iter().map(|f| (f.0, f.1.as_bytes())));
        }
        super::fingerprint(self.files.iter().map(|f| (f.0.as_str(), f.1.as_slice())))
    }
}
