//! One item of a paper, with every value drawn: what is said or happens, and what it is judged by.

use crate::callsign::Callsign;
use crate::crew::{CrewBook, Operator, Role, names};
use crate::drill::debrief::title as topic_title;
use crate::drill::items::Demand;
use crate::drill::skill::Skill;
use crate::element::{Element, Fault};
use crate::feedback::label;
use crate::judge::{Situation, owed};
use crate::rules::RuleSet;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// What is tried, the same whatever the values are: `icao/line-up/runway`, `crew/to-v1`.
    pub skill: String,
    /// The trainee's callsign; empty where none is used.
    pub callsign: String,
    /// Who speaks, or is called.
    pub station: String,
    /// What has happened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cue: Option<String>,
    /// What is to be done.
    pub task: Task,
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Task {
    /// A transmission is read back.
    ReadBack {
        /// What the station says.
        says: String,
    },
    /// A station is called.
    RadioCall {
        /// Id of the phrase.
        phrase: String,
        /// Elements with their canonical values.
        wanted: Vec<(Element, String)>,
    },
    /// A call of the crew is made or answered.
    CrewCall {
        /// Its id.
        id: String,
        /// Call or answer.
        role: Role,
        /// Its values.
        values: BTreeMap<String, String>,
    },
    /// An item of a checklist is answered.
    Checklist {
        /// Its id.
        list: String,
        /// Counted from 1.
        item: usize,
        /// Its values.
        values: BTreeMap<String, String>,
    },
}

/// How hard an item is, whatever its values are: two items of the same demand ask for the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Difficulty {
    /// Phrases and elements of a transmission.
    ReadBack(Demand),
    /// The phrase and the elements of a call.
    RadioCall(String, Vec<Element>),
    /// The call, or the list and its item, with the names of its values.
    Crew(String, Vec<String>),
}

impl Item {
    /// What is said, or what has happened, for readers.
    #[must_use]
    pub fn asked(&self) -> &str {
        match &self.task {
            Task::ReadBack { says } => says,
            _ => self.cue.as_deref().unwrap_or_default(),
        }
    }

    /// What is tried, for readers: "Line up: runway".
    #[must_use]
    pub fn title(&self, rules: &RuleSet, book: &CrewBook) -> String {
        if let Some(skill) = Skill::parse(&self.skill) {
            return format!("{}: {}", topic_title(rules, &skill.topic), label(skill.element));
        }
        match &self.task {
            Task::RadioCall { phrase, .. } | Task::CrewCall { id: phrase, role: Role::First, .. } => {
                format!("Call: {phrase}")
            }
            Task::CrewCall { id, .. } => format!("Answer: {id}"),
            Task::Checklist { list, item, .. } => {
                let title = book.checklist(list).map_or(list.as_str(), |list| &list.title);
                format!("{title} checklist: item {item}")
            }
            Task::ReadBack { .. } => self.skill.clone(),
        }
    }

    /// Whose callsign it is; none where none is used, or it is none.
    #[must_use]
    pub fn own(&self) -> Option<Callsign> {
        Callsign::parse(&self.callsign)
    }

    /// How hard it is.
    #[must_use]
    pub fn difficulty(&self, rules: &RuleSet) -> Difficulty {
        let names = |values: &BTreeMap<String, String>| values.keys().cloned().collect();
        match &self.task {
            Task::ReadBack { says } => match self.own() {
                Some(callsign) => {
                    Difficulty::ReadBack(Demand::of(rules, &Situation { callsign, shortened: false }, says))
                }
                None => Difficulty::Crew(String::new(), Vec::new()),
            },
            Task::RadioCall { phrase, wanted } => {
                let instruction = rules.phrase(phrase).and_then(|p| p.instruction.as_ref());
                let values = wanted.iter().map(|(element, _)| *element);
                let elements = instruction.map(|_| Element::Instruction).into_iter().chain(values);
                Difficulty::RadioCall(phrase.clone(), elements.collect())
            }
            Task::CrewCall { id, values, .. } => Difficulty::Crew(id.clone(), names(values)),
            Task::Checklist { list, item, values } => {
                Difficulty::Crew(format!("{list}.{item}"), names(values))
            }
        }
    }
}

impl Difficulty {
    /// How many elements must come back, the callsign besides; a call of the crew counts one.
    #[must_use]
    pub fn elements(&self) -> usize {
        match self {
            Self::ReadBack(demand) => demand.elements.len(),
            Self::RadioCall(_, elements) => elements.len(),
            Self::Crew(..) => 1,
        }
    }
}

/// The skill that a transmission tries first: the most dangerous element that it owes, with the topic of its phrase.
/// `None` if it owes nothing but the callsign.
#[must_use]
pub fn skill_of(rules: &RuleSet, callsign: &Callsign, says: &str) -> Option<Skill> {
    topics_of(rules, callsign, says).into_iter().next()
}

/// Every skill that a transmission tries, the most dangerous first.
#[must_use]
pub fn topics_of(rules: &RuleSet, callsign: &Callsign, says: &str) -> Vec<Skill> {
    let me = Situation { callsign: callsign.clone(), shortened: false };
    let mut all: Vec<Skill> = owed(rules, &me, says, "")
        .into_iter()
        .filter(|owed| owed.element != Element::Callsign && !owed.element.is_form())
        .filter_map(|owed| {
            Some(Skill { standard: rules.standard, topic: owed.topic?, element: owed.element })
        })
        .collect();
    all.sort_by_key(|skill| {
        let values = skill.element != Element::Instruction;
        (std::cmp::Reverse(skill.element.severity(Fault::Wrong)), !values, skill.topic.clone(), skill.element)
    });
    all
}

/// A call of the crew as an item, with these values; `Err` names a value that is wanted and not there.
///
/// # Errors
/// The name of the value, or an empty text if there is no such call, or no answer to it.
pub fn crew_call(
    book: &CrewBook,
    operator: &Operator,
    id: &str,
    role: Role,
    given: &BTreeMap<String, String>,
) -> Result<Item, String> {
    let call = book.call(id).ok_or_else(String::new)?;
    let lines = match role {
        Role::First => &call.call,
        Role::Second => call.answer.as_ref().ok_or_else(String::new)?,
    };
    let mut texts: Vec<&str> = lines.right().chain([call.cue.as_str()]).collect();
    if role == Role::Second {
        texts.push(call.call.taught());
    }
    let values = values_of(&texts, given, operator)?;
    let cue = match role {
        Role::First => filled(&call.cue, &values, operator),
        Role::Second => {
            let said =
                filled(operator.says.get(id).map_or(call.call.taught(), String::as_str), &values, operator);
            format!("{} The {} says: \"{said}\"", filled(&call.cue, &values, operator), call.by.words())
        }
    };
    let skill = match role {
        Role::First => format!("crew/{id}"),
        Role::Second => format!("crew/{id}/answer"),
    };
    let cue = with_unseen(cue, lines.taught(), &values);
    let by = if role == Role::First { call.by } else { call.answered.map_or(call.by, |(by, _)| by) };
    Ok(Item {
        skill,
        callsign: String::new(),
        station: by.words().to_owned(),
        cue: Some(cue),
        task: Task::CrewCall { id: id.to_owned(), role, values },
    })
}

/// An item of a checklist, counted from 1, with these values.
///
/// # Errors
/// As for [`crew_call`].
pub fn checklist_item(
    book: &CrewBook,
    operator: &Operator,
    list: &str,
    item: usize,
    given: &BTreeMap<String, String>,
) -> Result<Item, String> {
    let found = book.checklist(list).ok_or_else(String::new)?;
    let entry = item.checked_sub(1).and_then(|at| found.items.get(at)).ok_or_else(String::new)?;
    let taught = entry.response.taught();
    let values = values_of(&[taught, entry.challenge.taught()], given, operator)?;
    let challenge = filled(entry.challenge.taught(), &values, operator);
    let cue = format!("{} checklist, the {} reads: \"{challenge}\"", found.title, found.read_by.words());
    Ok(Item {
        skill: format!("checklist/{list}/{item}"),
        callsign: String::new(),
        station: entry.by.words().to_owned(),
        cue: Some(with_unseen(cue, taught, &values)),
        task: Task::Checklist { list: list.to_owned(), item, values },
    })
}

/// The values whose names stand in the texts.
fn values_of(
    texts: &[&str],
    given: &BTreeMap<String, String>,
    operator: &Operator,
) -> Result<BTreeMap<String, String>, String> {
    let mut out = BTreeMap::new();
    for name in texts.iter().flat_map(|text| names(text)) {
        if operator.value.contains_key(name) {
            continue;
        }
        let value = given.get(name).ok_or_else(|| name.to_owned())?;
        out.insert(name.to_owned(), value.clone());
    }
    Ok(out)
}

/// The text with its values.
fn filled(text: &str, values: &BTreeMap<String, String>, operator: &Operator) -> String {
    let mut out = text.to_owned();
    for (name, value) in values.iter().chain(&operator.value) {
        out = out.replace(&format!("<{name}>"), value);
    }
    out
}

/// The cue, with the values that the words need and that it does not tell.
fn with_unseen(cue: String, taught: &str, values: &BTreeMap<String, String>) -> String {
    let mut unseen: Vec<String> = Vec::new();
    for name in names(taught) {
        if let Some(value) = values.get(name).filter(|value| !cue.contains(value.as_str())) {
            unseen.push(format!("{} {value}", name.replace('_', " ")));
        }
    }
    if unseen.is_empty() { cue } else { format!("{cue} You see: {}.", unseen.join(", ")) }
}
