//! Draws the items of a paper: the same paper gives the same items on every machine, and each person's are as hard.

use super::item::{self, Difficulty, Item, Task, topics_of};
use super::{Paper, Part, Source};
use crate::callsign::Callsign;
use crate::crew::{CrewBook, Operator, Role};
use crate::drill::items;
use crate::drill::session::station;
use crate::drill::skill::{Skill, catalogue};
use crate::drill::values::Values;
use crate::element::{Element, Verdict};
use crate::error::Error;
use crate::judge::{Situation, judge, judge_call};
use crate::parse::{Speaker, read};
use crate::rules::{Phase, RuleSet};
use crate::scenario::draw::{Exchange, Turn, draw as draw_flight};
use crate::scenario::load::Library;
use crate::scenario::phases::Phases;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

/// Forms of one item with other values, where each person gets his own.
pub const FORMS: usize = 24;

/// Flights that are drawn at an airport, for each of its phases.
const FLIGHTS: u64 = 16;

/// Draws before an item is given up.
const TRIES: u64 = 60;

/// How many elements a transmission of a difficulty asks for.
#[must_use]
pub fn band(difficulty: Option<u8>) -> RangeInclusive<usize> {
    match difficulty {
        None => 1..=usize::MAX,
        Some(1) => 1..=1,
        Some(2) => 1..=2,
        Some(3) => 2..=3,
        Some(4) => 3..=4,
        Some(_) => 4..=usize::MAX,
    }
}

/// What cannot be drawn: the part, from 0, and what is lacking.
pub type Shortage = (usize, String);

pub(super) struct Drawing<'a> {
    paper: &'a Paper,
    rules: &'a RuleSet,
    book: &'a CrewBook,
    operator: Operator,
    library: &'a Library<'a>,
}

impl<'a> Drawing<'a> {
    /// A drawing of a paper by these rules and words, at the airports of a library.
    pub(super) fn new(
        paper: &'a Paper,
        rules: &'a RuleSet,
        book: &'a CrewBook,
        library: &'a Library<'a>,
    ) -> Self {
        let operator = book.operator(&paper.operator).cloned().unwrap_or_default();
        Self { paper, rules, book, operator, library }
    }

    fn chance(&self, purpose: &str) -> Values {
        let text = format!("hearback paper 1|{}|{purpose}", self.paper.seed);
        Values::from_seed(self.paper.standard, Sha256::digest(text).into())
    }

    /// The items of a part, each with its forms.
    pub(super) fn part(&self, number: usize, part: &Part) -> Result<Vec<Vec<Item>>, String> {
        match &part.source {
            Source::Radio { topics, airports, difficulty } if airports.is_empty() => {
                self.of_grammar(number, part.items, topics, *difficulty)
            }
            Source::Radio { topics, airports, difficulty } => {
                self.of_flights(number, part.items, topics, airports, *difficulty)
            }
            Source::Crew { calls, checklists } => self.of_crew(number, part.items, calls, checklists),
        }
    }

    /// Transmissions made from the grammar, topic by topic.
    fn of_grammar(
        &self,
        number: usize,
        count: usize,
        topics: &[String],
        difficulty: Option<u8>,
    ) -> Result<Vec<Vec<Item>>, String> {
        let mut chance = self.chance(&format!("part {number}"));
        let mut by_topic: BTreeMap<&str, Vec<Skill>> = BTreeMap::new();
        let all = catalogue(self.rules);
        for skill in &all {
            if topics.is_empty() || topics.contains(&skill.topic) {
                by_topic.entry(&skill.topic).or_default().push(skill.clone());
            }
        }
        if let Some(topic) = topics.iter().find(|topic| !by_topic.contains_key(topic.as_str())) {
            return Err(format!("nothing in the topic `{topic}` must be read back"));
        }
        let mut order: Vec<Vec<Skill>> = by_topic.into_values().collect();
        shuffle(&mut order, &mut chance);
        for skills in &mut order {
            shuffle(skills, &mut chance);
        }
        let mut out: Vec<Vec<Item>> = Vec::new();
        let mut said: BTreeSet<String> = BTreeSet::new();
        let (mut turn, mut dry) = (0usize, 0usize);
        while out.len() < count {
            let skills = &order[turn % order.len()];
            // A topic that cannot give an item as hard as is wanted leaves its turn to the others.
            if dry >= order.len() {
                return Err(lacking(out.len(), count, difficulty));
            }
            let made = (0..skills.len()).find_map(|k| {
                let skill = &skills[(turn / order.len() + k) % skills.len()];
                self.transmission(skill, &all, topics, number, out.len(), difficulty, &said)
            });
            turn += 1;
            match made {
                Some(made) => {
                    dry = 0;
                    said.insert(made.say.clone());
                    out.push(self.forms_of(&made));
                }
                None => dry += 1,
            }
        }
        Ok(out)
    }

    /// A transmission for a skill that asks for as much as is wanted, joined of several if one does not.
    #[expect(clippy::too_many_arguments, reason = "one draw, told by all of them")]
    fn transmission(
        &self,
        skill: &Skill,
        all: &[Skill],
        topics: &[String],
        number: usize,
        place: usize,
        difficulty: Option<u8>,
        said: &BTreeSet<String>,
    ) -> Option<items::Item> {
        let band = band(difficulty);
        let callsign = items::callsign(self.paper.standard, self.paper.seed)?;
        let me = Situation { callsign: callsign.clone(), shortened: false };
        let demand = |say: &str| -> Vec<Element> {
            let elements = items::Demand::of(self.rules, &me, say).elements;
            let values = elements.into_iter().map(|(element, _)| element);
            values.filter(|element| *element != Element::Instruction).collect()
        };
        let hard = |say: &str| items::Demand::of(self.rules, &me, say).elements.len();
        let mut chance = self.chance(&format!("part {number} item {place} {skill}"));
        (0..TRIES).find_map(|_| {
            let mut made = items::item(self.rules, skill, &callsign, chance.number(), 0)?;
            for _ in 0..3 {
                if hard(&made.say) >= *band.start() {
                    break;
                }
                let k = chance.below(all.len());
                let other = all.get(k).filter(|s| topics.is_empty() || topics.contains(&s.topic))?;
                let second = items::item(self.rules, other, &callsign, chance.number(), 0)?;
                // What is said in one breath is of several kinds: two levels in one clearance contradict each other.
                let (one, two) = (demand(&made.say), demand(&second.say));
                if other.topic == skill.topic || one.iter().any(|element| two.contains(element)) {
                    return None;
                }
                made = items::joined(self.rules, &callsign, &made, &second)?;
            }
            (band.contains(&hard(&made.say)) && !said.contains(&made.say)).then_some(made)
        })
    }

    /// An item of the grammar in the forms that it can have.
    fn forms_of(&self, made: &items::Item) -> Vec<Item> {
        let callsign = items::callsign(self.paper.standard, self.paper.seed);
        let topic = self.rules.topics.iter().find(|topic| topic.id == made.skill.topic);
        let from = station(topic.map_or(Phase::Any, |topic| topic.phase), self.paper.standard);
        let as_item = |made: &items::Item| Item {
            skill: made.skill.to_string(),
            callsign: callsign.as_ref().map(Callsign::written).unwrap_or_default(),
            station: from.to_owned(),
            cue: None,
            task: Task::ReadBack { says: made.say.clone() },
        };
        let mut forms = vec![as_item(made)];
        if let Some(callsign) = callsign.as_ref().filter(|_| self.paper.own_values) {
            let hard = forms[0].difficulty(self.rules);
            for k in 1..FORMS {
                let purpose = format!("hearback paper 1|{}|{}|{k}", self.paper.seed, made.say);
                let other = items::other_values(self.rules, callsign, made, &purpose);
                let fits = |form: &Item| form.difficulty(self.rules) == hard && !forms.contains(form);
                let form = other.as_ref().map(as_item).filter(fits);
                forms.extend(form);
            }
        }
        forms
    }

    /// Transmissions and calls of flights at airports.
    fn of_flights(
        &self,
        number: usize,
        count: usize,
        topics: &[String],
        airports: &[String],
        difficulty: Option<u8>,
    ) -> Result<Vec<Vec<Item>>, String> {
        let mut chance = self.chance(&format!("part {number}"));
        let mut pool: Vec<(Item, Difficulty, Skill)> = Vec::new();
        for airport in airports {
            self.flights(airport, &mut pool)?;
        }
        let band = band(difficulty);
        pool.retain(|(_, hard, skill)| {
            (topics.is_empty() || topics.contains(&skill.topic)) && band.contains(&hard.elements())
        });
        // What asks for the same is one item in several forms.
        let mut slots: Vec<(Vec<Item>, Difficulty, Skill)> = Vec::new();
        for (item, hard, skill) in pool {
            match slots.iter_mut().find(|slot| slot.1 == hard && slot.2 == skill) {
                Some(slot) if slot.0.contains(&item) => {}
                Some(slot) => slot.0.push(item),
                None => slots.push((vec![item], hard, skill)),
            }
        }
        // One of each topic in turn, none twice before all were there; then the same again with other values.
        let mut by_topic: BTreeMap<String, Vec<Vec<Item>>> = BTreeMap::new();
        for (forms, _, skill) in slots {
            by_topic.entry(skill.topic).or_default().push(forms);
        }
        let mut order: Vec<Vec<Vec<Item>>> = by_topic.into_values().collect();
        shuffle(&mut order, &mut chance);
        for slots in &mut order {
            shuffle(slots, &mut chance);
            slots.iter_mut().for_each(|forms| shuffle(forms, &mut chance));
        }
        let longest = order.iter().map(Vec::len).max().unwrap_or(0);
        let turns = (0..longest).flat_map(|round| order.iter().filter_map(move |slots| slots.get(round)));
        let mut turns: Vec<(&Vec<Item>, usize)> = turns.map(|forms| (forms, 0)).collect();
        let there: usize = turns.iter().map(|(forms, _)| forms.len()).sum();
        if there < count {
            return Err(lacking(there, count, difficulty));
        }
        let mut places = Vec::new();
        while places.len() < count {
            for (at, (forms, used)) in turns.iter_mut().enumerate() {
                if places.len() < count && *used < forms.len() {
                    places.push((at, *used));
                    *used += 1;
                }
            }
        }
        // Items of the same demand share its forms, and no form is in two of them.
        let forms = places.into_iter().filter_map(|(at, first)| {
            let (forms, used) = turns.get(at)?;
            let own = forms.iter().skip(first).step_by((*used).max(1)).cloned();
            Some(own.take(if self.paper.own_values { FORMS } else { 1 }).collect())
        });
        Ok(forms.collect())
    }

    /// Everything that stations say and that the trainee calls in flights at an airport.
    fn flights(&self, airport: &str, pool: &mut Vec<(Item, Difficulty, Skill)>) -> Result<(), String> {
        let phases = Phases::builtin()?;
        let mut known = BTreeSet::new();
        let mut flown = false;
        for phase in phases.names() {
            let scenario = match self.library.generated(airport, phase) {
                Ok(scenario) => scenario,
                Err(Error::Answer { .. }) => continue,
                Err(Error::Data(found)) => {
                    let first = found.first().map_or(String::new(), |d| format!(": {}", d.title));
                    return Err(format!("the airport `{airport}` has problems{first}"));
                }
                Err(other) => return Err(other.to_string()),
            };
            flown = true;
            for k in 0..FLIGHTS {
                let seed = self.chance(&format!("flight {airport} {phase} {k}")).number();
                let Some(flight) = draw_flight(&scenario, self.paper.standard, seed) else { continue };
                for exchange in flight.exchanges.iter().filter_map(Exchange::radio).filter(|e| e.duty.radio) {
                    let made = match &exchange.turn {
                        Turn::Station { says, .. } => {
                            self.read_back(&flight.callsign, &exchange.station.name, says)
                        }
                        Turn::Call { phrase, wanted } => self.call(
                            &flight.callsign,
                            &exchange.station.name,
                            exchange.cue.as_deref(),
                            phrase,
                            wanted,
                        ),
                    };
                    if let Some((item, skill)) =
                        made.filter(|(item, _)| known.insert(item.asked().to_owned()))
                    {
                        let hard = item.difficulty(self.rules);
                        pool.push((item, hard, skill));
                    }
                }
            }
        }
        if flown { Ok(()) } else { Err(format!("the airport `{airport}` gives no flights")) }
    }

    /// A transmission as an item, if the grammar reads all of it and a right reply is right.
    fn read_back(&self, callsign: &Callsign, from: &str, says: &str) -> Option<(Item, Skill)> {
        let skill = topics_of(self.rules, callsign, says).into_iter().next()?;
        let me = Situation { callsign: callsign.clone(), shortened: false };
        if !read(self.rules, says, Speaker::Controller).unparsed.is_empty() {
            return None;
        }
        let model = judge(self.rules, &me, says, "").model;
        let judged = judge(self.rules, &me, says, &model);
        let item = Item {
            skill: skill.to_string(),
            callsign: callsign.written(),
            station: from.to_owned(),
            cue: None,
            task: Task::ReadBack { says: says.to_owned() },
        };
        (judged.verdict == Verdict::Correct && judged.findings.is_empty()).then_some((item, skill))
    }

    /// A call to a station as an item, if its model is right.
    fn call(
        &self,
        callsign: &Callsign,
        to: &str,
        cue: Option<&str>,
        phrase: &str,
        wanted: &[(Element, String)],
    ) -> Option<(Item, Skill)> {
        let me = Situation { callsign: callsign.clone(), shortened: false };
        let model = judge_call(self.rules, &me, phrase, wanted, "").model;
        let judged = judge_call(self.rules, &me, phrase, wanted, &model);
        let found = self.rules.phrase(phrase)?;
        let topic = self.rules.topics.get(usize::from(found.topic?))?;
        let skill = Skill { standard: self.rules.standard, topic: topic.id.clone(), element: Element::Call };
        let item = Item {
            skill: skill.to_string(),
            callsign: callsign.written(),
            station: to.to_owned(),
            cue: Some(seen(cue?, wanted)),
            task: Task::RadioCall { phrase: phrase.to_owned(), wanted: wanted.to_vec() },
        };
        (judged.verdict == Verdict::Correct && judged.findings.is_empty()).then_some((item, skill))
    }

    /// Calls of the crew and items of checklists, none twice with the same values.
    fn of_crew(
        &self,
        number: usize,
        count: usize,
        calls: &[(String, bool)],
        checklists: &[String],
    ) -> Result<Vec<Vec<Item>>, String> {
        let mut chance = self.chance(&format!("part {number}"));
        let sides =
            calls.iter().map(|(id, answer)| (id.as_str(), if *answer { Role::Second } else { Role::First }));
        let mut wanted: Vec<Vec<Item>> = Vec::new();
        for (id, role) in sides {
            wanted.push(
                self.crew_forms(|values| item::crew_call(self.book, &self.operator, id, role, values))?,
            );
        }
        for list in checklists {
            for n in 1..=self.book.checklist(list).map_or(0, |found| found.items.len()) {
                wanted.push(
                    self.crew_forms(|values| {
                        item::checklist_item(self.book, &self.operator, list, n, values)
                    })?,
                );
            }
        }
        shuffle(&mut wanted, &mut chance);
        let there: usize = wanted.iter().map(Vec::len).sum();
        let mut out = Vec::new();
        for round in 0.. {
            let before = out.len();
            for forms in &mut wanted {
                if out.len() < count && round < forms.len() {
                    // Whoever gets other values does not get those of another item.
                    let mut own = forms.clone();
                    own.rotate_left(round);
                    own.truncate(if self.paper.own_values && round == 0 { FORMS } else { 1 });
                    out.push(own);
                }
            }
            if out.len() == count {
                return Ok(out);
            }
            if out.len() == before {
                break;
            }
        }
        Err(format!(
            "{count} items are wanted: the calls and checklists give {there}, each once with its values"
        ))
    }

    fn crew_forms(
        &self,
        make: impl Fn(&BTreeMap<String, String>) -> Result<Item, String>,
    ) -> Result<Vec<Item>, String> {
        let mut forms: Vec<Item> = Vec::new();
        let none = BTreeMap::new();
        let given: Vec<&BTreeMap<String, String>> = self.book.values.iter().chain([&none]).collect();
        let mut lacks = String::new();
        for values in given {
            match make(values) {
                Ok(item) if !forms.contains(&item) => forms.push(item),
                Ok(_) => {}
                Err(name) => lacks = name,
            }
        }
        let mut chance = self.chance(&forms.first().map_or(String::new(), |form| form.skill.clone()));
        shuffle(&mut forms, &mut chance);
        if forms.is_empty() { Err(format!("no values are known for `{lacks}`")) } else { Ok(forms) }
    }
}

/// The cue of a call, with the values that it does not tell.
fn seen(cue: &str, wanted: &[(Element, String)]) -> String {
    let bare = |text: &str| -> String {
        text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
    };
    let told = bare(cue);
    let unseen: Vec<String> = wanted
        .iter()
        .filter(|(_, value)| !told.contains(&bare(value)))
        .map(|(element, value)| format!("{} {value}", crate::feedback::label(*element)))
        .collect();
    if unseen.is_empty() { cue.to_owned() } else { format!("{cue} You have: {}.", unseen.join(", ")) }
}

fn lacking(made: usize, count: usize, difficulty: Option<u8>) -> String {
    let hard = difficulty.map_or(String::new(), |d| {
        let band = band(Some(d));
        let most =
            if *band.end() == usize::MAX { " and more".to_owned() } else { format!(" to {}", band.end()) };
        format!(" of difficulty {d} ({}{most} elements)", band.start())
    });
    format!("{count} items{hard} are wanted: the content gives {made}; fewer items, or more topics, help")
}

/// Any order, each as likely as the others.
fn shuffle<T>(all: &mut [T], chance: &mut Values) {
    for at in (1..all.len()).rev() {
        all.swap(at, chance.below(at + 1));
    }
}
