//! Finds and reads scenarios, built in or from disk, with the airport each of them needs.

use super::phases::{self, Phases, Wish};
use super::{Scenario, check::check_scenario, schema::ScenarioFile};
use crate::airport::{self, Airport};
use crate::content::pack::Pack;
use crate::content::{Content, File, Found, Item};
use crate::crew::CrewBook;
use crate::diagnostic::{self, Diagnostic};
use crate::element::Standard;
use crate::error::{Error, Result};
use crate::rules::RuleSet;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// Where scenarios and airports are looked up, and the rules their transmissions are read by.
pub struct Library<'a> {
    rules: &'a (dyn Fn(Standard) -> Arc<RuleSet> + Sync),
    book: Arc<CrewBook>,
    content: &'a Content,
    /// Built-in airports that were read before.
    airports: Mutex<BTreeMap<&'static str, Arc<Airport>>>,
}

/// Which flight is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// A scenario: of one's own, built in, or the path of a file.
    Scenario(String),
    /// A flight that an airport gives by itself.
    Phase {
        /// The airport: of one's own, built in, or the path of a file.
        airport: String,
        /// The phase.
        phase: String,
    },
}

/// What kind of data a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An airport.
    Airport,
    /// A scenario.
    Scenario,
    /// Phrases and rules.
    Grammar,
    /// Calls, checklists and words of the crew.
    Crew,
    /// The choices of an operator.
    Operator,
    /// A graded paper.
    Paper,
}

impl Kind {
    /// Every kind with its name on the command line.
    pub const ALL: [(&'static str, Self); 6] = [
        ("scenario", Self::Scenario),
        ("airport", Self::Airport),
        ("grammar", Self::Grammar),
        ("crew", Self::Crew),
        ("operator", Self::Operator),
        ("paper", Self::Paper),
    ];
}

impl<'a> Library<'a> {
    /// The rules by which transmissions are read.
    #[must_use]
    pub fn rules(&self, standard: Standard) -> Arc<RuleSet> {
        (self.rules)(standard)
    }

    /// The words of the crew.
    #[must_use]
    pub fn book(&self) -> Arc<CrewBook> {
        Arc::clone(&self.book)
    }

    /// A library that takes the rule set of a scenario from `rules`, and the words of the crew from `book`.
    #[must_use]
    pub fn new(rules: &'a (dyn Fn(Standard) -> Arc<RuleSet> + Sync), book: Arc<CrewBook>) -> Self {
        Self { rules, book, content: Content::none(), airports: Mutex::default() }
    }

    /// The same, with content of one's own that is searched before what is built in.
    #[must_use]
    pub fn with_content(self, content: &'a Content) -> Self {
        Self { content, ..self }
    }

    /// The scenario that is meant.
    ///
    /// # Errors
    /// As for [`Library::open`] and [`Library::generated`].
    pub fn which(&self, which: &Which) -> Result<Scenario> {
        match which {
            Which::Scenario(name) => self.open(name),
            Which::Phase { airport, phase } => self.generated(airport, phase),
        }
    }

    /// The scenario of that name: of one's own, built in, or the path of a file.
    ///
    /// # Errors
    /// [`Error::Unknown`] if there is none, [`Error::Clash`] if there are several, [`Error::Read`] if the file
    /// cannot be read, [`Error::Data`] with everything that is wrong in it or in its airport.
    pub fn open(&self, name: &str) -> Result<Scenario> {
        match self.content.find(Item::Scenario, name, None)? {
            Some(Found::Builtin(path, text)) => {
                return self.scenario(path, text.as_bytes(), None).map_err(Error::Data);
            }
            Some(Found::Own(pack, file)) => return self.own(pack, file).map_err(Error::Data),
            None => {}
        }
        let path = Path::new(name);
        let own = self.content.names(Item::Scenario);
        let of_pack = name.split_once('/').is_some_and(|(id, _)| self.content.has(id));
        if !path.exists() && !name.ends_with(".toml") && (of_pack || !name.contains(['/', '\\'])) {
            let builtin = builtin_ids().filter(|id| !own.contains(*id)).map(|id| -> &str { id });
            let known: Vec<&str> = own.iter().map(String::as_str).chain(builtin).collect();
            let help = match diagnostic::nearest(name, known.iter().copied()) {
                Some(near) => format!("; did you mean `{near}`?"),
                None if own.is_empty() => {
                    format!("; built in: {}", diagnostic::list(&builtin_ids().collect::<Vec<_>>()))
                }
                None => format!("; there are {}", diagnostic::list(&known)),
            };
            return Err(Error::Unknown {
                what: "scenario",
                name: diagnostic::clean(name).into_owned(),
                help,
            });
        }
        let bytes = read(path)?;
        if kind(&bytes) == Some(Kind::Airport) {
            return Err(Error::Unknown {
                what: "scenario",
                name: diagnostic::clean(name).into_owned(),
                help: "; the file is an airport: say --airport before it".to_owned(),
            });
        }
        self.scenario(name, &bytes, path.parent()).map_err(Error::Data)
    }

    /// The airport of that name: of one's own, built in, or the path of a file.
    ///
    /// # Errors
    /// [`Error::Unknown`] if there is none, [`Error::Clash`] if there are several, [`Error::Read`] if the file
    /// cannot be read, [`Error::Data`] with everything that is wrong in it.
    pub fn airport(&self, name: &str) -> Result<Arc<Airport>> {
        let load = |path: &str, bytes: &[u8]| {
            airport::load::load_airport(path, bytes).map(Arc::new).map_err(Error::Data)
        };
        match self.content.find(Item::Airport, name, None)? {
            Some(Found::Builtin(path, text)) => return self.builtin_airport(path, text).map_err(Error::Data),
            Some(Found::Own(pack, file)) => return load(&pack.shown(&file.name), &file.bytes),
            None => {}
        }
        let path = Path::new(name);
        if path.exists() || name.ends_with(".toml") || name.contains(['/', '\\']) {
            return load(name, &read(path)?);
        }
        let own = self.content.names(Item::Airport);
        let builtin = airport::load::builtin_ids().map(|id| -> &str { id });
        let known: Vec<&str> = own.iter().map(String::as_str).chain(builtin).collect();
        let help = match diagnostic::nearest(name, known.iter().copied()) {
            Some(near) => format!("; did you mean `{near}`?"),
            None => format!("; there are {}", diagnostic::list(&known)),
        };
        Err(Error::Unknown { what: "airport", name: diagnostic::clean(name).into_owned(), help })
    }

    /// A flight that an airport gives by itself: one of the phases, drawn at that airport.
    ///
    /// # Errors
    /// As for [`Library::airport`]; [`Error::Answer`] if there is no such phase, or the airport has not what it
    /// needs.
    pub fn generated(&self, airport: &str, phase: &str) -> Result<Scenario> {
        let phases = Phases::builtin().map_err(Error::Internal)?;
        let found = self.airport(airport)?;
        let text =
            phases::write(phases, &found, &Wish::of(phase, &found.id)).map_err(|problem| Error::Answer {
                name: "--phase".to_owned(),
                given: diagnostic::clean(phase).into_owned(),
                problem,
            })?;
        let name = format!("{}-{phase}", found.id);
        let source: Arc<str> = text.into();
        let file: ScenarioFile = toml::from_str(&source)
            .map_err(|error| Error::Data(vec![diagnostic::from_toml(&name, &source, &error, "S002")]))?;
        check_scenario(&name, &source, &file, &found, self.rules, &self.book).map_err(Error::Data)
    }

    /// Everything that is wrong with a scenario or airport file.
    ///
    /// # Errors
    /// [`Error::Read`] if the file cannot be read.
    pub fn check(&self, path: &Path) -> Result<Vec<Diagnostic>> {
        let bytes = read(path)?;
        let name = path.to_string_lossy();
        let among_airports = path.parent().and_then(Path::file_name).is_some_and(|f| f == "airports");
        let found = match kind(&bytes) {
            Some(Kind::Airport) => airport::load::load_airport(&name, &bytes).err(),
            None if among_airports => airport::load::load_airport(&name, &bytes).err(),
            _ => self.scenario(&name, &bytes, path.parent()).err(),
        };
        Ok(found.unwrap_or_default())
    }

    /// Everything that is wrong with the built-in scenarios and airports, and how many there are of each.
    #[must_use]
    pub fn check_builtin(&self) -> (Vec<Diagnostic>, usize, usize) {
        let files = crate::grammar::builtin_scenarios();
        let airports = files.iter().filter(|(path, _)| path.starts_with(airport::load::FOLDER)).count();
        let checked = files.par_iter().map(|(path, text)| {
            let bytes = text.as_bytes();
            match () {
                () if path.starts_with(phases::FOLDER) => None,
                () if path.starts_with(airport::load::FOLDER) => self.builtin_airport(path, text).err(),
                () => self.scenario(path, bytes, None).err(),
            }
        });
        let found: Vec<Diagnostic> = checked.flatten().flatten_iter().collect();
        (found, builtin_paths().count(), airports)
    }

    /// Everything that is wrong with the scenarios and airports of one's own, and how many there are of each.
    #[must_use]
    pub fn check_content(&self) -> (Vec<Diagnostic>, usize, usize) {
        let mut found = Vec::new();
        let (mut scenarios, mut airports) = (0, 0);
        for pack in self.content.packs() {
            for (kind, _, file) in pack.items() {
                let problems = match kind {
                    Item::Airport => {
                        airports += 1;
                        airport::load::load_airport(&pack.shown(&file.name), &file.bytes).err()
                    }
                    Item::Scenario => {
                        scenarios += 1;
                        self.own(pack, file).err()
                    }
                    Item::Operator | Item::Grammar => None,
                };
                found.extend(problems.unwrap_or_default());
            }
        }
        (found, scenarios, airports)
    }

    /// Reads a scenario of a pack.
    fn own(&self, pack: &Pack, file: &File) -> Result<Scenario, Vec<Diagnostic>> {
        self.read(&pack.shown(&file.name), &file.bytes, None, Some(pack))
    }

    /// Reads a scenario from the bytes of a file; `folder` is where airport files may lie.
    ///
    /// # Errors
    /// Everything that is wrong with the file, or with the airport it names.
    pub fn scenario(
        &self,
        path: &str,
        bytes: &[u8],
        folder: Option<&Path>,
    ) -> Result<Scenario, Vec<Diagnostic>> {
        self.read(path, bytes, folder, None)
    }

    fn read(
        &self,
        path: &str,
        bytes: &[u8],
        folder: Option<&Path>,
        pack: Option<&Pack>,
    ) -> Result<Scenario, Vec<Diagnostic>> {
        let source = diagnostic::text("S001", path, bytes).map_err(|problem| vec![*problem])?;
        let broken = diagnostic::syntax("S002", path, &source);
        if !broken.is_empty() {
            return Err(broken);
        }
        let file: ScenarioFile = toml::from_str(&source)
            .map_err(|error| vec![diagnostic::from_toml(path, &source, &error, "S002")])?;
        let airport = self.airport_of(path, &source, &file, folder, pack)?;
        check_scenario(path, &source, &file, &airport, self.rules, &self.book)
    }

    /// A built-in airport, read once.
    fn builtin_airport(&self, path: &'static str, text: &str) -> Result<Arc<Airport>, Vec<Diagnostic>> {
        if let Some(known) = self.airports.lock().ok().and_then(|known| known.get(path).cloned()) {
            return Ok(known);
        }
        let airport = airport::load::load_airport(path, text.as_bytes()).map(Arc::new)?;
        if let Ok(mut known) = self.airports.lock() {
            known.insert(path, Arc::clone(&airport));
        }
        Ok(airport)
    }

    /// The airport that a scenario names: beside its file, of its pack, of one's own, built in.
    fn airport_of(
        &self,
        path: &str,
        source: &Arc<str>,
        file: &ScenarioFile,
        folder: Option<&Path>,
        pack: Option<&Pack>,
    ) -> Result<Arc<Airport>, Vec<Diagnostic>> {
        let id = file.airport.get_ref();
        let plain =
            !id.is_empty() && id.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_'));
        let problem = |title: String| Diagnostic::new("S004", path, source, file.airport.span(), title);
        let mut places: Vec<PathBuf> = Vec::new();
        places.extend(folder.iter().flat_map(|folder| [folder.join("airports"), folder.to_path_buf()]));
        // The layout of a pack: `scenarios`, perhaps with folders in it, and `airports` in it or side by side.
        let scenarios = folder.into_iter().flat_map(Path::ancestors).find(|f| f.ends_with("scenarios"));
        let beside = scenarios.into_iter().flat_map(|f| [Some(f), f.parent()]).flatten();
        places.extend(beside.map(|folder| folder.join("airports")));
        for place in places.iter().filter(|_| plain) {
            let found = place.join(format!("{id}.toml"));
            if found.is_file() {
                let name = found.to_string_lossy();
                let bytes =
                    fs::read(&found).map_err(|e| vec![problem(format!("failed to read `{name}`: {e}"))])?;
                if kind(&bytes) != Some(Kind::Scenario) {
                    return airport::load::load_airport(&name, &bytes).map(Arc::new);
                }
            }
        }
        match self.content.find(Item::Airport, id, pack).map_err(|e| vec![problem(e.to_string())])? {
            Some(Found::Builtin(name, text)) => self.builtin_airport(name, text),
            Some(Found::Own(pack, file)) => {
                airport::load::load_airport(&pack.shown(&file.name), &file.bytes).map(Arc::new)
            }
            None => {
                let problem =
                    problem(format!("unknown airport `{id}`")).label("neither beside this file nor built in");
                let own = self.content.names(Item::Airport);
                let builtin = airport::load::builtin_ids().map(|id| -> &str { id });
                let known = own.iter().map(String::as_str).chain(builtin);
                Err(vec![problem.suggest(id, known)])
            }
        }
    }
}

/// The built-in scenario of that id, as path and text.
#[must_use]
pub fn builtin(id: &str) -> Option<(&'static str, &'static str)> {
    builtin_paths().find(|(name, _)| stem(name) == id)
}

/// Ids of the built-in scenarios.
pub fn builtin_ids() -> impl Iterator<Item = &'static str> {
    builtin_paths().map(|(name, _)| stem(name))
}

/// Paths and texts of the built-in scenarios.
pub(super) fn builtin_paths() -> impl Iterator<Item = (&'static str, &'static str)> {
    let all = crate::grammar::builtin_scenarios().iter().copied();
    all.filter(|(name, _)| !name.starts_with(airport::load::FOLDER) && !name.starts_with(phases::FOLDER))
}

/// The name of a file without folders and ending.
fn stem(path: &'static str) -> &'static str {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.strip_suffix(".toml").unwrap_or(name)
}

/// What a data file seems to hold, by the tables in it.
#[must_use]
pub fn kind(bytes: &[u8]) -> Option<Kind> {
    let text = String::from_utf8_lossy(bytes);
    let (table, _) = toml::de::DeTable::parse_recoverable(&text);
    let has = |key: &str| table.get_ref().keys().any(|k| k.get_ref() == key);
    let list = |key: &str| {
        table.get_ref().iter().any(|(k, value)| k.get_ref() == key && value.get_ref().as_array().is_some())
    };
    if list("part") || list("item") || has("pass_mark") {
        Some(Kind::Paper)
    } else if list("briefing") || has("speaking_up") {
        Some(Kind::Crew)
    } else if ["exchange", "airport", "briefing", "callsign"].into_iter().any(has) {
        Some(Kind::Scenario)
    } else if ["station", "apron", "taxi", "departure", "weather"].into_iter().any(has) {
        Some(Kind::Airport)
    } else if ["phrase", "word", "filler", "slot", "rule"].into_iter().any(has) {
        Some(Kind::Grammar)
    } else if ["call", "checklist", "slip", "watching"].into_iter().any(has) {
        Some(Kind::Crew)
    } else if ["says", "answer", "time"].into_iter().any(has) {
        Some(Kind::Operator)
    } else {
        None
    }
}

fn read(path: &Path) -> Result<Vec<u8>> {
    fs::read(path).map_err(|cause| Error::Read { path: PathBuf::from(path), cause })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_told_apart_by_their_tables() {
        assert_eq!(kind(b"airport = 'x'\n[[exchange]]"), Some(Kind::Scenario));
        assert_eq!(kind(b"[[station]]\nid = 'tower'"), Some(Kind::Airport));
        assert_eq!(kind(b"[[phrase]]\nid = 'x'"), Some(Kind::Grammar));
        assert_eq!(kind(b"[[call]]\nid = 'x'"), Some(Kind::Crew));
        assert_eq!(kind(b"title = 'x'\n[[part]]\nitems = 3"), Some(Kind::Paper));
        assert_eq!(kind(b"[says]\nto-pos = 'Positive rate'"), Some(Kind::Operator));
        assert_eq!(kind(b"\xff"), None);
    }
}
