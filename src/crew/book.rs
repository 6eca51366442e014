//! What the book of the crew holds: calls with their answers, checklists, operators, slips.

use super::briefing::Briefing;
use super::said::{Speech, Words};
use super::speaking_up::Ladder;
use crate::element::Severity;
use crate::rules::Phase;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap, HashSet};

/// What one may say: every form that is right, forms that are understood, forms for another situation.
#[derive(Debug, Default)]
pub struct Lines {
    /// Right; the first is the one that is taught.
    pub(super) says: Vec<Speech>,
    /// Understood, but not what the trade says.
    pub(super) weak: Vec<Speech>,
    /// Right in another situation only, with that situation.
    pub(super) otherwise: Vec<(String, Vec<Speech>)>,
}

impl Lines {
    /// The form that is taught.
    #[must_use]
    pub fn taught(&self) -> &str {
        self.says.first().map_or("", |speech| &speech.text)
    }

    /// Every form that is right.
    pub fn right(&self) -> impl Iterator<Item = &str> {
        self.says.iter().map(|speech| speech.text.as_str())
    }

    /// Forms that are understood, but are not what the trade says.
    pub fn weak(&self) -> impl Iterator<Item = &str> {
        self.weak.iter().map(|speech| speech.text.as_str())
    }

    /// Situations in which other forms are right, with these.
    pub fn cases(&self) -> impl Iterator<Item = (&str, impl Iterator<Item = &str>)> {
        self.otherwise.iter().map(|(when, texts)| (when.as_str(), texts.iter().map(|s| s.text.as_str())))
    }
}

/// The names in angle brackets of a form of words.
pub fn names(text: &str) -> impl Iterator<Item = &str> {
    text.split('<').skip(1).filter_map(|rest| rest.split_once('>').map(|(name, _)| name))
}

/// Who speaks: a place in the crew, or a voice from outside the flight deck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum Position {
    /// Pilot flying.
    #[serde(rename = "PF")]
    Flying,
    /// Pilot monitoring.
    #[serde(rename = "PM")]
    Monitoring,
    /// Captain, whoever flies.
    #[serde(rename = "CA")]
    Captain,
    /// First officer, whoever flies.
    #[serde(rename = "FO")]
    FirstOfficer,
    /// The pilot who works the radio.
    #[serde(rename = "RP")]
    Radio,
    /// The pilot who does not work the radio.
    #[serde(rename = "NRP")]
    NotRadio,
    /// Both pilots.
    #[serde(rename = "BOTH")]
    Both,
    /// Either pilot.
    #[serde(rename = "EITHER")]
    Either,
    /// The pilot who sees it first.
    #[serde(rename = "FIRST")]
    First,
    /// Cabin crew.
    #[serde(rename = "CC")]
    Cabin,
    /// Senior cabin crew member.
    #[serde(rename = "SCC")]
    Senior,
    /// Ground crew at the headset.
    #[serde(rename = "GND")]
    Ground,
    /// A controller.
    #[serde(rename = "ATC")]
    Controller,
}

impl Position {
    /// What it is called.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Flying => "pilot flying",
            Self::Monitoring => "pilot monitoring",
            Self::Captain => "captain",
            Self::FirstOfficer => "first officer",
            Self::Radio => "pilot on the radio",
            Self::NotRadio => "pilot not on the radio",
            Self::Both => "both pilots",
            Self::Either => "either pilot",
            Self::First => "pilot who sees it first",
            Self::Cabin => "cabin crew",
            Self::Senior => "senior cabin crew",
            Self::Ground => "ground crew",
            Self::Controller => "controller",
        }
    }
}

/// Where something is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Channel {
    /// From pilot to pilot.
    #[default]
    Deck,
    /// To a station.
    Radio,
    /// To the cabin crew.
    Interphone,
    /// To the ground crew.
    Headset,
    /// To everybody in the cabin: public address.
    Pa,
}

impl Channel {
    /// Every channel.
    pub const ALL: [Channel; 5] = [Self::Deck, Self::Radio, Self::Interphone, Self::Headset, Self::Pa];

    /// The word for it in files, commands and on screen.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Deck => "deck",
            Self::Radio => "radio",
            Self::Interphone => "interphone",
            Self::Headset => "headset",
            Self::Pa => "pa",
        }
    }
}

/// A call and its answer.
#[derive(Debug)]
pub struct Call {
    /// Its name in files, for instance `to-v1`.
    pub id: String,
    /// The situation it is for, if that is not the usual one.
    pub case: Option<String>,
    /// The call in other situations.
    pub cases: Vec<Call>,
    /// What happens before it.
    pub cue: String,
    /// Who makes it.
    pub by: Position,
    /// Where it is made.
    pub channel: Channel,
    /// Seconds in which it must begin.
    pub window: f64,
    /// What is said.
    pub call: Lines,
    /// What is answered; none if the call wants an action only.
    pub answer: Option<Lines>,
    /// Who answers, and where.
    pub answered: Option<(Position, Channel)>,
    /// True if many crews do without it.
    pub optional: bool,
    /// How much a miss can hurt.
    pub severity: Severity,
    /// What happens if it is missed.
    pub why: String,
    /// Where it comes from.
    pub source: String,
}

/// One item of a checklist.
#[derive(Debug)]
pub struct Item {
    /// Who answers.
    pub by: Position,
    /// True if it waits until the rest of the list has been read.
    pub below: bool,
    /// What is read.
    pub challenge: Lines,
    /// What is answered.
    pub response: Lines,
    /// Its answer must carry the value or the state that was seen.
    pub killer: bool,
}

/// A checklist of challenges and responses.
#[derive(Debug)]
pub struct Checklist {
    /// Its name in files, for instance `before-takeoff`.
    pub id: String,
    /// Its name as it is called.
    pub title: String,
    /// Who calls for it.
    pub called_by: Position,
    /// Who reads it.
    pub read_by: Position,
    /// In order.
    pub items: Vec<Item>,
    /// Where it comes from.
    pub source: String,
}

/// What an operator chose where the trade has several ways.
#[derive(Debug, Clone, Default)]
pub struct Operator {
    /// One line for lists.
    pub title: String,
    /// Values that calls take from the operator.
    pub value: BTreeMap<String, String>,
    /// The wording of calls.
    pub says: BTreeMap<String, String>,
    /// The wording of answers.
    pub answer: BTreeMap<String, String>,
    /// Times that are the operator's own.
    pub time: Times,
}

/// Times in seconds.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Times {
    /// In which an answer must begin.
    pub answer: f64,
    /// A call counts as late up to this many times its window, then as missed.
    pub late_factor: f64,
    /// Typing takes longer than speaking: so much more for each reply ...
    pub typing: f64,
    /// ... and so much for each character.
    pub typing_per_character: f64,
}

impl Default for Times {
    fn default() -> Self {
        Self { answer: 3.0, late_factor: 2.0, typing: 1.5, typing_per_character: 0.25 }
    }
}

/// A way in which a read-back goes wrong.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadBackSlip {
    /// Its name.
    pub id: String,
    /// What happens, for the debrief.
    pub what: String,
    /// How often, beside the others.
    pub weight: u32,
    /// The elements it concerns, by name.
    pub elements: Vec<String>,
    /// What becomes of the value.
    pub does: Change,
    /// Where it comes from.
    pub source: String,
}

/// What becomes of a value that is read back wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Change {
    /// A value beside it.
    Near,
    /// Two digits change places, or one is another.
    Digit,
    /// It is left out.
    Omit,
    /// The other side.
    Side,
    /// The digits of another flight.
    Flight,
}

/// How much is read back wrongly, and how words are heard that challenge it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Watching {
    /// The share of clearances that come back wrong where a scenario says nothing.
    pub share: f64,
    /// How often the controller hears it.
    pub controller_hears: f64,
    /// Seconds in which a slip must be challenged.
    pub window: f64,
    /// Replies that agree, as a whole.
    pub agrees: Vec<String>,
    /// Words that doubt what was said.
    pub words: Vec<String>,
}

/// Everything that is known about calls.
#[derive(Debug)]
pub struct CrewBook {
    /// Values that go together, by name: exercises take them where no flight gives any.
    pub values: Vec<BTreeMap<String, String>>,
    /// Ways in which a read-back goes wrong.
    pub slips: Vec<ReadBackSlip>,
    /// How much goes wrong, and how it is challenged.
    pub watching: Watching,
    pub(super) words: Words,
    /// The vocabulary of briefings and of speaking up.
    pub(super) talk: Words,
    /// Words that mean the same, by the first of them.
    pub(super) same: HashMap<u64, u64>,
    /// Words of a briefing that carry nothing.
    pub(super) generic: HashSet<u64>,
    pub(super) ladder: Ladder,
    pub(super) briefings: BTreeMap<String, Briefing>,
    pub(super) calls: BTreeMap<String, Call>,
    pub(super) checklists: BTreeMap<String, Checklist>,
    /// When in a flight calls and checklists are made, by their ids.
    pub(super) phases: BTreeMap<String, Phase>,
    pub(super) operators: BTreeMap<String, Operator>,
}

impl CrewBook {
    /// The call of that id.
    #[must_use]
    pub fn call(&self, id: &str) -> Option<&Call> {
        self.calls.get(id)
    }

    /// The call of that id in a situation; the usual one without.
    #[must_use]
    pub fn call_when(&self, id: &str, case: Option<&str>) -> Option<&Call> {
        let call = self.call(id)?;
        match case {
            None => Some(call),
            Some(case) => call.cases.iter().find(|other| other.case.as_deref() == Some(case)),
        }
    }

    /// When in a flight the call or the checklist of that id is made; none if its file does not tell.
    #[must_use]
    pub fn phase(&self, id: &str) -> Option<Phase> {
        self.phases.get(id).copied()
    }

    /// Every call, by id.
    pub fn calls(&self) -> impl Iterator<Item = &Call> {
        self.calls.values()
    }

    /// The checklist of that id.
    #[must_use]
    pub fn checklist(&self, id: &str) -> Option<&Checklist> {
        self.checklists.get(id)
    }

    /// Ids of all checklists.
    pub fn checklist_ids(&self) -> impl Iterator<Item = &str> {
        self.checklists.keys().map(String::as_str)
    }

    /// True if the reply holds that value, whatever stands beside it.
    #[must_use]
    pub fn holds(&self, value: &str, reply: &str) -> bool {
        self.words.holds(value, reply)
    }

    /// True if the reply gives a number of two digits or more.
    #[must_use]
    pub fn gives_number(&self, reply: &str) -> bool {
        self.words.digits(reply) > 1
    }

    /// True if the reply doubts what was said.
    #[must_use]
    pub fn doubts(&self, reply: &str) -> bool {
        self.watching.words.iter().any(|word| {
            let found = self.words.compare(&self.words.speech(word), &BTreeMap::new(), reply);
            found.missing == 0
        })
    }

    /// True if the reply says no more than that something was heard, or was right.
    #[must_use]
    pub fn agrees(&self, reply: &str) -> bool {
        let plain = |text: &str| {
            let words = text.split(|c: char| !c.is_alphanumeric() && c != '\'').filter(|w| !w.is_empty());
            words.map(str::to_lowercase).collect::<Vec<_>>().join(" ")
        };
        let said = plain(reply);
        self.watching.agrees.iter().any(|text| plain(text) == said)
    }

    /// The briefing of that id.
    #[must_use]
    pub fn briefing(&self, id: &str) -> Option<&Briefing> {
        self.briefings.get(id)
    }

    /// Every briefing, by id.
    pub fn briefings(&self) -> impl Iterator<Item = &Briefing> {
        self.briefings.values()
    }

    /// The operator of that name.
    #[must_use]
    pub fn operator(&self, id: &str) -> Option<&Operator> {
        self.operators.get(id)
    }

    /// Names of all operators.
    pub fn operator_ids(&self) -> impl Iterator<Item = &str> {
        self.operators.keys().map(String::as_str)
    }
}
