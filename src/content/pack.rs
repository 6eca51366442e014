//! One folder or zip with content: its manifest, and what each of its files is.

use super::manifest::{MANIFEST, Manifest, read_manifest};
use super::zip::Refusal;
use super::{File, Item, folder, guard, zip};
use crate::diagnostic::{self, Diagnostic, clean, list};
use crate::element::Standard;
use crate::error::{Error, Result};
use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Where data files may lie in a pack.
const PLACES: [&str; 8] = [
    "scenarios",
    "scenarios/airports",
    "airports",
    "grammar/icao",
    "grammar/eu",
    "grammar/uk",
    "grammar/us",
    "grammar/crew",
];
/// Where operators lie.
const OPERATORS: &str = "grammar/crew/operators";
/// Problems of syntax that are shown of one file, and the size above which only the first is looked for.
const SHOWN: (usize, usize) = (20, 16 << 10);

/// A folder or a zip with content, read as a whole.
#[derive(Debug, Clone)]
pub struct Pack {
    /// Where it was found.
    pub place: PathBuf,
    /// True if it is a zip.
    pub is_zip: bool,
    /// What it says of itself; a zip always does.
    pub manifest: Option<Manifest>,
    /// Its files, by name.
    pub files: Vec<File>,
}

impl Pack {
    /// Reads a folder, or a zip; paths in `skip` are no part of the folder.
    ///
    /// # Errors
    /// [`Error::Read`] of the system, [`Error::Pack`] with the first reason to refuse it, [`Error::Data`] with
    /// what is wrong in the manifest, or files that are no TOML.
    pub fn open(place: &Path, skip: &[PathBuf]) -> Result<Self> {
        let is_zip = !place.is_dir();
        let read = if is_zip { zip::read(&load(place)?) } else { folder::read(place, skip)? };
        let mut files = read.map_err(|refusal| refused(place, is_zip, refusal))?;
        if is_zip {
            unwrap(&mut files);
        }
        let mut seen: BTreeMap<(Item, String), &str> = BTreeMap::new();
        for file in &files {
            let at = |reason| {
                refused(place, is_zip, Refusal { entry: Some(clean(&file.name).into_owned()), reason })
            };
            let Some(found) = item(&file.name) else {
                if file.name.ends_with(".toml") && file.name != MANIFEST {
                    return Err(at(lost(&file.name)));
                }
                continue;
            };
            if let Some(before) = seen.insert(found, &file.name) {
                return Err(at(format!("has the same name as `{}`", clean(before))));
            }
        }
        let mut pack = Self { place: place.to_owned(), is_zip, manifest: None, files };
        let problems: Vec<Diagnostic> = pack.files.iter().flat_map(|file| pack.syntax(file)).collect();
        if !problems.is_empty() {
            return Err(Error::Data(problems));
        }
        let manifest = pack.files.iter().find(|f| f.name == MANIFEST);
        pack.manifest = match manifest {
            Some(file) => {
                let names: Vec<String> = pack.items().map(|(_, name, _)| name).collect();
                Some(read_manifest(&pack.shown(&file.name), &file.bytes, &names).map_err(Error::Data)?)
            }
            None if is_zip => {
                let reason = format!("has no `{MANIFEST}`: {}", Manifest::WANTED);
                return Err(refused(place, is_zip, Refusal { entry: None, reason }));
            }
            None => None,
        };
        Ok(pack)
    }

    /// Its name in `packid/name`, if it has one.
    #[must_use]
    pub fn id(&self) -> Option<&str> {
        self.manifest.as_ref().map(|m| m.id.as_str())
    }

    /// True if it says that a name of its own takes the place of another's.
    #[must_use]
    pub fn replaces(&self, name: &str) -> bool {
        self.manifest.as_ref().is_some_and(|m| m.replaces.iter().any(|r| r == name))
    }

    /// A file of it as it is shown, for instance `club.zip/scenarios/mine.toml`.
    #[must_use]
    pub fn shown(&self, file: &str) -> String {
        format!("{}/{file}", self.place.to_string_lossy().replace('\\', "/").trim_end_matches('/'))
    }

    /// What it holds: kind, name, file.
    pub fn items(&self) -> impl Iterator<Item = (Item, String, &File)> {
        self.files.iter().filter_map(|file| item(&file.name).map(|(kind, id)| (kind, id, file)))
    }

    /// How many items of a kind it holds.
    #[must_use]
    pub fn count(&self, kind: Item) -> usize {
        self.items().filter(|item| item.0 == kind).count()
    }

    /// What keeps a file from being TOML at all; little of it, if it is big.
    fn syntax(&self, file: &File) -> Vec<Diagnostic> {
        let code = match item(&file.name) {
            Some((kind, _)) => kind.syntax_code(),
            None if file.name == MANIFEST => "P002",
            None => return Vec::new(),
        };
        let path = self.shown(&file.name);
        let source = match diagnostic::text(code, &path, &file.bytes) {
            Ok(source) => source,
            Err(problem) => return vec![*problem],
        };
        match toml::de::DeTable::parse(&source) {
            Ok(_) => Vec::new(),
            Err(error) if source.len() > SHOWN.1 => {
                vec![diagnostic::from_toml(&path, &source, &error, code)]
            }
            Err(_) => diagnostic::syntax(code, &path, &source).into_iter().take(SHOWN.0).collect(),
        }
    }
}

/// The bytes of a zip; no more than a pack may have.
fn load(place: &Path) -> Result<Vec<u8>> {
    let failed = |cause| Error::Read { path: place.to_owned(), cause };
    let file = fs::File::open(place).map_err(failed)?;
    if !file.metadata().map_err(failed)?.is_file() {
        return Err(refused(
            place,
            true,
            Refusal { entry: None, reason: "is neither a zip nor a folder".to_owned() },
        ));
    }
    let mut out = Vec::new();
    file.take(guard::ALL_BYTES + 1).read_to_end(&mut out).map_err(failed)?;
    if out.len() as u64 > guard::ALL_BYTES {
        let reason = format!("is larger than {} MiB", guard::ALL_BYTES >> 20);
        return Err(refused(place, true, Refusal { entry: None, reason }));
    }
    Ok(out)
}

/// A pack that is not taken.
pub(crate) fn refused(place: &Path, is_zip: bool, refusal: Refusal) -> Error {
    let Refusal { entry, reason } = refusal;
    let what = if is_zip { "pack" } else { "content folder" };
    let place = clean(&place.to_string_lossy()).into_owned();
    let entry = entry.map_or(String::new(), |entry| format!(", `{entry}`"));
    Error::Pack { place: format!("{what} `{place}`{entry}"), reason }
}

/// Takes away the one folder that everything lies in, if the folder itself was put into the zip.
fn unwrap(files: &mut [File]) {
    let Some((folder, _)) = files.iter().find_map(|f| f.name.strip_suffix(MANIFEST)?.split_once('/')) else {
        return;
    };
    let folder = format!("{folder}/");
    if files.iter().all(|f| f.name.starts_with(&folder)) {
        for file in files {
            file.name.drain(..folder.len());
        }
    }
}

/// What a file of a pack is, by its place, and its name there.
#[must_use]
pub fn item(name: &str) -> Option<(Item, String)> {
    let stem = name.strip_suffix(".toml")?;
    let (folder, id) = stem.rsplit_once('/')?;
    let named = |kind| Some((kind, id.to_owned()));
    match folder {
        _ if id.is_empty() => None,
        "scenarios/airports" | "airports" => named(Item::Airport),
        _ if folder == "scenarios" || folder.starts_with("scenarios/") => named(Item::Scenario),
        OPERATORS => named(Item::Operator),
        _ => {
            let set = folder.strip_prefix("grammar/")?;
            let known = set == "crew" || Standard::parse(set).is_some_and(|s| s.name() == set);
            known.then(|| (Item::Grammar, format!("{set}/{id}")))
        }
    }
}

/// Says of a data file in no known place where it should lie.
fn lost(name: &str) -> String {
    let places: Vec<&str> = PLACES.into_iter().chain([OPERATORS]).collect();
    let folder = name.rsplit_once('/').map_or("", |(folder, _)| folder);
    let help = match diagnostic::nearest(folder, places.iter().copied()) {
        Some(near) if !folder.is_empty() && near != folder => format!("did you mean `{near}`?"),
        _ => format!("data files lie in {}", list(&places)),
    };
    format!("is a data file that nothing reads; {help}")
}
