//! Scenarios: a flight in exchanges, drawn by seed and played one exchange after another.

pub mod basis;
pub mod catalogue;
pub mod check;
mod choice;
mod crew_check;
pub mod deck;
pub mod difficulty;
pub mod draw;
pub mod event;
mod heard_check;
mod joined;
mod leads;
pub mod load;
mod names;
pub mod phases;
pub mod play;
pub mod schema;
pub mod script;
pub mod slip;
mod steps;
pub mod template;
mod traffic;
pub mod trains;

use crate::airport::{Airport, Station};
use crate::crew::{Channel, Position};
use crate::element::{Element, Standard};
use crate::judge::judgement::Form;
use std::sync::Arc;
use template::Template;

/// Codes of problems in scenario files, with what each means.
pub const CODES: &[(&str, &str)] = &[
    ("S001", "the file is empty or not UTF-8 text"),
    ("S002", "the file is not TOML, or has a key or a type that scenarios do not have"),
    ("S003", "the file is written for another version of the program"),
    ("S004", "an airport that is not there, or whose file has problems"),
    ("S005", "a rule set, seat, form or element that does not exist"),
    ("S006", "a callsign that cannot be one"),
    ("S007", "a value that is not allowed, or no value at all"),
    ("S008", "a station the airport does not have"),
    ("S009", "a slot that nothing fills"),
    ("S010", "a phrase that is no call of the grammar"),
    ("S011", "an exchange that neither speaks nor calls, or does both"),
    ("S012", "words of a transmission that the grammar does not understand"),
    ("S013", "no exchanges"),
    ("S014", "an exchange that no flight reaches"),
    ("S015", "a slot that is not filled in every flight"),
    ("S016", "values that no flight can have together"),
    ("S017", "a name that neither the airport nor the scenario has"),
    ("S018", "a transmission that is for nobody"),
    ("S019", "blocked words that the transmission does not have"),
    ("S020", "a call, checklist, item, briefing or operator that the crew's book does not have"),
    ("S021", "a value of a call, checklist or briefing that nothing fills"),
    ("S022", "a share, a time or a slip that cannot be"),
    ("S023", "a label that does not exist, or exists twice, or a way that leads nowhere"),
    ("S024", "a call of the trainee's without a part that it must have"),
];

/// A scenario that was checked.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// The file name without its ending, or the path as it was given.
    pub id: String,
    /// One line for lists.
    pub title: String,
    /// What the trainee reads first.
    pub briefing: Template,
    /// Where it begins.
    pub airport: Arc<Airport>,
    /// Its rule set.
    pub standard: Standard,
    /// How far the form of a reply counts.
    pub form: Form,
    /// What the trainee does on board.
    pub seat: Seat,
    /// The trainee's rank.
    pub rank: Rank,
    /// Whose calls and values the crew uses.
    pub operator: String,
    /// From 1 to 5.
    pub difficulty: u8,
    /// How many of the other voices' words are wrong where they can be, from 0 to 1.
    pub slips: f64,
    /// The callsign as it is written; drawn without one.
    pub callsign: Option<String>,
    /// Values of the scenario's own, and choices that narrow the airport's.
    pub values: Vec<Choice>,
    /// What happens, in order.
    pub exchanges: Vec<Entry>,
}

impl Scenario {
    /// The same flight from the other seat: who flew monitors, and the other way round, to its end.
    pub fn change_seat(&mut self) {
        let other = |seat| match seat {
            Seat::Monitoring => Seat::Flying,
            Seat::Flying => Seat::Monitoring,
        };
        let seats = self.exchanges.iter_mut().filter_map(|entry| entry.seat.as_mut());
        seats.chain([&mut self.seat]).for_each(|seat| *seat = other(*seat));
        for entry in &mut self.exchanges {
            entry.radio = entry.radio.map(|you| !you);
        }
    }
}

/// What the trainee does on board; the pilot monitoring works the radio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seat {
    /// Pilot monitoring.
    Monitoring,
    /// Pilot flying.
    Flying,
}

impl Seat {
    /// Both seats with their names in files.
    pub const ALL: [(&'static str, Seat); 2] = [("monitoring", Self::Monitoring), ("flying", Self::Flying)];
}

/// The rank of a pilot, whoever flies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rank {
    /// First officer.
    FirstOfficer,
    /// Captain.
    Captain,
}

impl Rank {
    /// Both ranks with their names in files.
    pub const ALL: [(&'static str, Rank); 2] =
        [("first officer", Self::FirstOfficer), ("captain", Self::Captain)];
}

/// A slot and what can be drawn for it.
#[derive(Debug, Clone)]
pub struct Choice {
    /// The slot.
    pub name: String,
    /// What kind of value it is; plain words without one.
    pub element: Option<Element>,
    /// Canonical values, one at least.
    pub values: Vec<String>,
    /// In how many flights it is drawn at all, from 0 to 1.
    pub share: f64,
}

/// One exchange of a scenario before anything is drawn.
#[derive(Debug, Clone)]
pub struct Entry {
    /// What has happened.
    pub cue: Option<Template>,
    /// Who speaks.
    pub turn: EntryTurn,
    /// Only if all these slots were drawn.
    pub when: Vec<String>,
    /// Only if none of these slots was drawn.
    pub unless: Vec<String>,
    /// Where it leads.
    pub leads: Leads,
    /// From here on the trainee has this seat.
    pub seat: Option<Seat>,
    /// From here on the trainee works the radio, or does not.
    pub radio: Option<bool>,
}

impl Entry {
    /// True if a flight with these slots has the exchange.
    #[must_use]
    pub fn is_met(&self, has: impl Fn(&str) -> bool) -> bool {
        self.when.iter().all(|slot| has(slot)) && !self.unless.iter().any(|slot| has(slot))
    }
}

/// Where an exchange leads: the exchanges are counted from 0, before anything is drawn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Leads {
    /// After all; the next one without.
    pub then: Option<usize>,
    /// How often `then` may be taken.
    pub times: u8,
    /// If no reply was right.
    pub wrong: Option<usize>,
    /// If the trainee was unable.
    pub unable: Option<usize>,
}

impl Leads {
    /// The same ways where every exchange has come to lie at another place.
    fn moved(self, place: impl Fn(usize) -> usize) -> Self {
        Self {
            then: self.then.map(&place),
            times: self.times,
            wrong: self.wrong.map(&place),
            unable: self.unable.map(&place),
        }
    }
}

/// Who begins an exchange.
#[derive(Debug, Clone)]
pub enum EntryTurn {
    /// A station speaks.
    Station {
        /// Who.
        station: Station,
        /// What it says.
        says: Template,
        /// What is heard of it at first, if a part is blocked.
        cut: Option<Template>,
        /// What it says if the trainee is unable.
        unable: Option<Template>,
    },
    /// The trainee calls.
    Call {
        /// Whom.
        station: Station,
        /// Id of the phrase.
        phrase: String,
        /// True if the call begins with the name of the station.
        addressed: bool,
        /// Slots the call must carry.
        with: Vec<String>,
    },
    /// The crew, the cabin or the ground speaks.
    Crew(Box<CrewEntry>),
}

/// An exchange of the crew before anything is drawn.
#[derive(Debug, Clone)]
pub struct CrewEntry {
    /// What is said.
    pub talk: Talk<Template>,
    /// Values by name.
    pub set: Vec<(String, Template)>,
    /// What another voice may say wrongly.
    pub slip: Option<Slip<Template>>,
    /// Seconds after the exchange before began; once that is over without.
    pub after: Option<f64>,
}

/// What is said on board.
#[derive(Debug, Clone, PartialEq)]
pub enum Talk<T> {
    /// A call, with its answer.
    Call {
        /// Which.
        id: String,
        /// In which situation, if it is not the usual one.
        case: Option<String>,
    },
    /// Items of a checklist.
    Checklist {
        /// Which.
        list: String,
        /// The first item, from 1.
        first: usize,
        /// The last item.
        last: usize,
    },
    /// A briefing that the trainee gives.
    Brief(String),
    /// The trainee speaks up.
    SpeakUp {
        /// What is left.
        seconds: u32,
        /// Calls of before that had no answer.
        unanswered: u32,
    },
    /// Another voice says something of its own.
    Voice {
        /// Who.
        by: Position,
        /// Where.
        channel: Channel,
        /// What.
        says: T,
    },
}

/// A slip of another voice.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip<T> {
    /// Item of a checklist, from 1; 0 elsewhere.
    pub item: usize,
    /// What is said wrongly.
    pub says: T,
    /// What is right.
    pub heard: T,
}
