//! What scenarios train: the topics of their transmissions and calls, and what is called between the pilots.

use super::catalogue::catalogue;
use super::draw::{Exchange, Turn, draw};
use super::load::Library;
use super::{EntryTurn, Talk};
use crate::content::Content;
use crate::element::{Element, Standard};
use crate::judge::{Situation, owed};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Scenarios that are named for one thing, the easiest first.
const NAMED: usize = 2;

/// Names of scenarios by what they train: ids of topics, of calls and of checklists. Each scenario is looked at in one
/// flight; only those of the rule set count, and one that cannot be read is left to `check`.
#[must_use]
pub fn trains(library: &Library<'_>, content: &Content, standard: Standard) -> BTreeMap<String, Vec<String>> {
    let listed = catalogue(content);
    let found: Vec<(u8, &str, Vec<String>)> = listed
        .par_iter()
        .filter_map(|listed| {
            Some((listed.difficulty, listed.name.as_str(), subjects(library, &listed.name, standard)?))
        })
        .collect();
    let mut found: Vec<(u8, usize, &str, Vec<String>)> = found
        .into_iter()
        .enumerate()
        .map(|(place, (difficulty, name, subjects))| (difficulty, place, name, subjects))
        .collect();
    found.sort_by_key(|(difficulty, place, ..)| (*difficulty, *place));
    let mut out: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (.., name, subjects) in found {
        for subject in subjects {
            let names = out.entry(subject).or_default();
            if names.len() < NAMED && !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
    }
    out
}

/// What one scenario trains.
fn subjects(library: &Library<'_>, name: &str, standard: Standard) -> Option<Vec<String>> {
    let scenario = library.open(name).ok().filter(|scenario| scenario.standard == standard)?;
    let rules = library.rules(scenario.standard);
    let mut out = Vec::new();
    for entry in &scenario.exchanges {
        if let EntryTurn::Crew(crew) = &entry.turn {
            match &crew.talk {
                Talk::Call { id, .. } => out.push(id.clone()),
                Talk::Checklist { list, .. } => out.push(list.clone()),
                _ => {}
            }
        }
    }
    let flight = draw(&scenario, scenario.standard, 1)?;
    let me = Situation { callsign: flight.callsign.clone(), shortened: false };
    for radio in flight.exchanges.iter().filter_map(Exchange::radio).filter(|radio| radio.duty.radio) {
        match &radio.turn {
            Turn::Station { says, .. } => {
                let owed = owed(&rules, &me, says, "").into_iter();
                out.extend(
                    owed.filter(|owed| owed.element != Element::Callsign).filter_map(|owed| owed.topic),
                );
            }
            Turn::Call { phrase, .. } => {
                let topic =
                    rules.phrase(phrase).and_then(|found| rules.topics.get(usize::from(found.topic?)));
                out.extend(topic.map(|topic| topic.id.clone()));
            }
        }
    }
    Some(out)
}
