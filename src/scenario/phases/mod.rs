//! Flights that an airport gives by itself: phases of a flight, made of parts that stand in `scenarios/phases`.

mod levels;
mod write;

use crate::element::Standard;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use toml::Table;

pub use write::{Wish, quoted, write};

/// The phases and their parts.
#[derive(Debug)]
pub struct Phases {
    functions: BTreeMap<String, Vec<String>>,
    phases: Vec<PhaseEntry>,
    values: Table,
    parts: BTreeMap<String, Vec<PartEntry>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PhasesFile {
    #[serde(rename = "format")]
    _format: u8,
    function: BTreeMap<String, Vec<String>>,
    phase: Vec<PhaseEntry>,
    value: Table,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartsFile {
    #[serde(rename = "format")]
    _format: u8,
    part: BTreeMap<String, Vec<PartEntry>>,
}

/// One phase: what the trainee reads, and its parts in order.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PhaseEntry {
    name: String,
    title: String,
    briefing: Wording<String>,
    /// Slots that the airport must draw.
    #[serde(default)]
    needs: Vec<String>,
    parts: Vec<PartOf>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartOf {
    part: String,
    /// Slots without which the part falls away.
    #[serde(default)]
    needs: Vec<String>,
    /// Only if calls between the pilots are wanted.
    #[serde(default)]
    crew: bool,
}

/// One exchange, with functions in the place of stations.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartEntry {
    /// Only in these rule sets.
    rules: Option<Vec<Standard>>,
    /// Only if these two functions are two stations.
    apart: Option<[String; 2]>,
    #[serde(default)]
    when: Slots,
    #[serde(default)]
    unless: Slots,
    cue: Option<Wording<String>>,
    from: Option<String>,
    says: Option<Wording<String>>,
    unable: Option<Wording<String>>,
    to: Option<String>,
    you_call: Option<String>,
    with: Option<Wording<Vec<String>>>,
    call: Option<String>,
    checklist: Option<String>,
    items: Option<[u8; 2]>,
    after: Option<f64>,
}

/// A slot, several, or none.
#[derive(Debug, Default, Deserialize)]
#[serde(untagged)]
enum Slots {
    One(String),
    Many(Vec<String>),
    #[default]
    None,
}

impl Slots {
    fn all(&self) -> &[String] {
        match self {
            Self::One(slot) => std::slice::from_ref(slot),
            Self::Many(slots) => slots,
            Self::None => &[],
        }
    }
}

/// Something that is the same everywhere, or that some rule sets say otherwise.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Wording<T> {
    ByRules(BTreeMap<Standard, T>),
    Same(T),
}

impl<T> Wording<T> {
    /// As a rule set says it: its own, or that of the set it is put over.
    fn of(&self, standard: Standard) -> Option<&T> {
        let over: &[Standard] = match standard {
            Standard::Icao => &[Standard::Icao],
            Standard::Eu => &[Standard::Eu, Standard::Icao],
            Standard::Uk => &[Standard::Uk, Standard::Eu, Standard::Icao],
            Standard::Us => &[Standard::Us, Standard::Icao],
        };
        match self {
            Self::Same(what) => Some(what),
            Self::ByRules(sets) => over.iter().find_map(|set| sets.get(set)),
        }
    }
}

impl Phases {
    /// The phases that the program carries.
    ///
    /// # Errors
    /// What is wrong with their files: a mistake of the program.
    pub fn builtin() -> Result<&'static Self, String> {
        static PHASES: LazyLock<Result<Phases, String>> = LazyLock::new(Phases::read);
        PHASES.as_ref().map_err(Clone::clone)
    }

    fn read() -> Result<Self, String> {
        let mut parts = BTreeMap::new();
        let mut head = None;
        for (path, text) in crate::grammar::builtin_scenarios() {
            let Some(name) = path.strip_prefix(FOLDER) else { continue };
            let broken = |error: toml::de::Error| format!("{path}: {error}");
            if name == "phases.toml" {
                head = Some(toml::from_str::<PhasesFile>(text).map_err(broken)?);
            } else {
                let file: PartsFile = toml::from_str(text).map_err(broken)?;
                for (name, exchanges) in file.part {
                    if parts.insert(name.clone(), exchanges).is_some() {
                        return Err(format!("{path}: the part `{name}` stands twice"));
                    }
                }
            }
        }
        let head = head.ok_or_else(|| format!("{FOLDER}phases.toml is not there"))?;
        let unknown =
            head.phase.iter().flat_map(|phase| &phase.parts).find(|of| !parts.contains_key(&of.part));
        if let Some(of) = unknown {
            return Err(format!("{FOLDER}phases.toml: there is no part `{}`", of.part));
        }
        Ok(Self { functions: head.function, phases: head.phase, values: head.value, parts })
    }

    /// A title for a phase at an airport.
    #[must_use]
    pub fn title(&self, phase: &str, airport: &str) -> String {
        let found = self.phases.iter().find(|known| known.name == phase);
        found.map_or(phase, |known| &known.title).replace("{airport}", airport)
    }

    /// Their names, in the order of a first choice.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.phases.iter().map(|phase| phase.name.as_str())
    }
}

/// Where their files lie.
pub(crate) const FOLDER: &str = "scenarios/phases/";
