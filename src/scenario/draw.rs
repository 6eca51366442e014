//! Draws a flight from a scenario: the same seed gives the same flight on every machine.

mod layout;
mod values;
mod weather;

pub(super) use layout::rare;
pub use values::Values;

use super::difficulty::Difficulty;
use super::joined::join;
use super::traffic::add_traffic;
use super::{CrewEntry, EntryTurn, Leads, Rank, Scenario, Seat, Slip, Talk};
use crate::airport::{Departure, Station, Taxi};
use crate::callsign::Callsign;
use crate::element::{Element, Standard};
use crate::judge::judgement::Form;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// A flight with every value drawn.
#[derive(Debug, Clone)]
pub struct Flight {
    /// Id of the scenario.
    pub scenario: String,
    /// What it was drawn from.
    pub seed: u64,
    /// The rule set it is flown by.
    pub standard: Standard,
    /// How far the form of a reply counts.
    pub form: Form,
    /// The trainee's callsign.
    pub callsign: Callsign,
    /// One line for lists.
    pub title: String,
    /// What the trainee reads first.
    pub briefing: String,
    /// The trainee's rank.
    pub rank: Rank,
    /// Whose calls and values the crew uses.
    pub operator: String,
    /// How many of the other voices' words are wrong where they can be, from 0 to 1.
    pub slips: f64,
    /// From 1 to 5.
    pub difficulty: u8,
    /// What happens, in order.
    pub exchanges: Vec<Exchange>,
    /// Where each of them leads, counted from 0.
    pub leads: Vec<Leads>,
}

impl Flight {
    /// True if the trainee has more to do than to work the radio.
    #[must_use]
    pub fn has_crew(&self) -> bool {
        let crew = |exchange: &Exchange| matches!(exchange, Exchange::Crew(_)) || !exchange.duty().radio;
        self.exchanges.iter().any(crew)
    }
}

/// What the trainee does while an exchange lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Duty {
    /// Flies or monitors.
    pub seat: Seat,
    /// Works the radio.
    pub radio: bool,
}

/// One exchange of a flight.
#[derive(Debug, Clone)]
pub enum Exchange {
    /// On the radio, with a station.
    Radio(RadioExchange),
    /// On the radio, but not with the trainee.
    Other(OtherExchange),
    /// Between the pilots, with the cabin or the ground.
    Crew(CrewExchange),
}

impl Exchange {
    /// The exchange, if it is one on the radio.
    #[must_use]
    pub fn radio(&self) -> Option<&RadioExchange> {
        match self {
            Self::Radio(exchange) => Some(exchange),
            Self::Crew(_) | Self::Other(_) => None,
        }
    }

    /// What the trainee does meanwhile.
    #[must_use]
    pub fn duty(&self) -> Duty {
        match self {
            Self::Radio(exchange) => exchange.duty,
            Self::Other(exchange) => exchange.duty,
            Self::Crew(exchange) => exchange.duty,
        }
    }
}

/// An exchange of the crew.
#[derive(Debug, Clone)]
pub struct CrewExchange {
    /// What the trainee does meanwhile.
    pub duty: Duty,
    /// What has happened.
    pub cue: Option<String>,
    /// What is said.
    pub talk: Talk<String>,
    /// Values by name, as they are written.
    pub values: BTreeMap<String, String>,
    /// Those of them that the author set for this exchange.
    pub set: BTreeMap<String, String>,
    /// True if another voice can slip, so that it is to be watched.
    pub watched: bool,
    /// What another voice says wrongly, if the seed wants it.
    pub slip: Option<Slip<String>>,
    /// Seconds after the exchange before began; once that is over without.
    pub after: Option<f64>,
}

/// One exchange on the radio.
#[derive(Debug, Clone)]
pub struct RadioExchange {
    /// What the trainee does meanwhile.
    pub duty: Duty,
    /// Who is spoken to.
    pub station: Station,
    /// What has happened.
    pub cue: Option<String>,
    /// Who begins.
    pub turn: Turn,
}

/// Who begins an exchange.
#[derive(Debug, Clone)]
pub enum Turn {
    /// The station speaks.
    Station {
        /// What it says.
        says: String,
        /// What is heard of it at first, if a part is blocked.
        cut: Option<String>,
        /// What it says if the trainee is unable.
        unable: Option<String>,
    },
    /// The trainee calls.
    Call {
        /// Id of the phrase.
        phrase: String,
        /// Elements with their canonical values.
        wanted: Vec<(Element, String)>,
    },
}

/// A station talks with another aircraft.
#[derive(Debug, Clone)]
pub struct OtherExchange {
    /// What the trainee does meanwhile.
    pub duty: Duty,
    /// Who speaks.
    pub station: Station,
    /// The other aircraft.
    pub callsign: Callsign,
    /// What is said to it.
    pub says: String,
}

/// Draws the flight of a seed; `None` if the scenario's values exclude one another.
#[must_use]
pub fn draw(scenario: &Scenario, standard: Standard, seed: u64) -> Option<Flight> {
    let values = draw_values(scenario, standard, seed)?;
    let spoken = |slot: &str| values.spoken(slot);
    let shown = |slot: &str| values.written(slot);
    let mut duty = Duty { seat: scenario.seat, radio: scenario.seat == Seat::Monitoring };
    let mut exchanges = Vec::new();
    let mut leads = Vec::new();
    let mut places = Vec::new();
    for (number, entry) in scenario.exchanges.iter().enumerate() {
        leads.resize(exchanges.len(), Leads::default());
        places.push(exchanges.len());
        if !entry.is_met(|slot| values.has(slot)) {
            continue;
        }
        leads.push(entry.leads);
        duty.seat = entry.seat.unwrap_or(duty.seat);
        duty.radio = entry.radio.unwrap_or(duty.radio);
        let cue = entry.cue.as_ref().map(|cue| cue.fill(shown).text);
        let (station, turn) = match &entry.turn {
            EntryTurn::Station { station, says, cut, unable } => {
                let turn = Turn::Station {
                    cut: cut.as_ref().map(|text| text.fill(spoken).text),
                    says: says.fill(spoken).text,
                    unable: unable.as_ref().map(|text| text.fill(spoken).text),
                };
                (station, turn)
            }
            EntryTurn::Call { phrase, addressed, with, station } => {
                let wanted = values.wanted(station, *addressed, with);
                (station, Turn::Call { phrase: phrase.clone(), wanted })
            }
            EntryTurn::Crew(crew) => {
                let draw = Draw { scenario, seed };
                exchanges.push(Exchange::Crew(draw.crew(
                    &format!("slip {number}"),
                    crew,
                    cue,
                    duty,
                    &values,
                )));
                continue;
            }
        };
        exchanges.push(Exchange::Radio(RadioExchange { duty, station: station.clone(), cue, turn }));
    }
    // What was not drawn is passed over on the way to what follows it.
    let place = |to: usize| places.get(to).copied().unwrap_or(exchanges.len());
    for lead in &mut leads {
        *lead = lead.moved(place);
    }
    if Difficulty::of(scenario.difficulty).joined {
        join(&values.callsign.spoken(standard), &mut exchanges, &mut leads);
    }
    add_traffic(scenario, standard, seed, &values.callsign, &mut exchanges, &mut leads);
    Some(Flight {
        scenario: scenario.id.clone(),
        seed,
        standard,
        form: scenario.form,
        callsign: values.callsign.clone(),
        title: scenario.title.clone(),
        rank: scenario.rank,
        operator: scenario.operator.clone(),
        slips: scenario.slips,
        briefing: scenario.briefing.fill(shown).text,
        difficulty: scenario.difficulty,
        exchanges,
        leads,
    })
}

/// Draws a value for every slot.
#[must_use]
pub fn draw_values(scenario: &Scenario, standard: Standard, seed: u64) -> Option<Values> {
    let draw = Draw { scenario, seed };
    let callsign = draw.callsign()?;
    let mut values = Values { standard, callsign, drawn: BTreeMap::new(), said: BTreeMap::new() };
    let seat = match scenario.seat {
        Seat::Flying => "pilot flying",
        Seat::Monitoring => "pilot monitoring",
    };
    values.drawn.insert("seat".to_owned(), (None, seat.to_owned()));
    let rank = Rank::ALL.iter().find(|(_, rank)| *rank == scenario.rank).map_or("", |(name, _)| name);
    values.drawn.insert("rank".to_owned(), (None, rank.to_owned()));
    draw.airport(&mut values)?;
    let computed =
        |name: &str| scenario.airport.layout.as_ref().is_some_and(|layout| layout::narrows(layout, name));
    let own = |name: &str| !NARROWED.contains(&name) && !computed(name);
    for choice in scenario.values.iter().filter(|c| own(&c.name)) {
        values.said.remove(&choice.name);
        if choice.share < 1.0 && !happens(&mut draw.chance(&format!("share {}", choice.name)), choice.share) {
            values.drawn.remove(&choice.name);
            continue;
        }
        let value = draw.pick(&choice.name, &choice.values)?.clone();
        values.drawn.insert(choice.name.clone(), (choice.element, value));
    }
    Some(values)
}

/// Slots that hang together at the airport: a scenario's choice narrows them before anything is drawn.
pub const NARROWED: [&str; 5] = ["runway", "sid", "destination", "stand", "holding_point"];

/// Invented operators: of a trainee whose scenario names none, and of other aircraft.
pub(super) const OPERATORS: [&str; 6] = ["Larkspur", "Harebell", "Marlpit", "Fernway", "Tarrock", "Whimbrel"];

/// Letters behind a short flight number: none that looks or sounds like a digit.
const LETTERS: [&str; 12] = ["A", "C", "D", "F", "H", "J", "K", "M", "P", "R", "T", "V"];

/// Other names that the calls of a crew have for what an airport draws.
const ALSO: [(&str, &str); 4] =
    [("rwy", "runway"), ("hdg", "heading"), ("freq", "departure.frequency"), ("side", "turn")];

/// Chance for one purpose of a flight: a value that is added later leaves all others as they were.
#[must_use]
pub fn chance(scenario: &str, seed: u64, purpose: &str) -> ChaCha8Rng {
    let text = format!("hearback flight 1|{scenario}|{seed}|{purpose}");
    ChaCha8Rng::from_seed(Sha256::digest(text.as_bytes()).into())
}

/// True in this share of all cases.
pub fn happens(chance: &mut ChaCha8Rng, share: f64) -> bool {
    f64::from(chance.next_u32()) < share * (f64::from(u32::MAX) + 1.0)
}

struct Draw<'a> {
    scenario: &'a Scenario,
    seed: u64,
}

impl Draw<'_> {
    fn chance(&self, purpose: &str) -> ChaCha8Rng {
        chance(&self.scenario.id, self.seed, purpose)
    }

    /// The scenario's callsign, or one of an invented operator.
    fn callsign(&self) -> Option<Callsign> {
        if let Some(callsign) = &self.scenario.callsign {
            return Callsign::parse(callsign);
        }
        let operator = self.pick("operator", &OPERATORS)?;
        let flight = match self.below("kind of callsign", 4)? {
            0 => self.between("flight", &(2..=9))?.to_string() + self.pick("letter", &LETTERS)?,
            1 => self.between("flight", &(10..=98))?.to_string() + self.pick("letter", &LETTERS)?,
            2 => self.between("flight", &(101..=989))?.to_string(),
            _ => self.between("flight", &(1001..=6999))?.to_string(),
        };
        Callsign::parse(&format!("{operator} {flight}"))
    }

    fn crew(
        &self,
        purpose: &str,
        entry: &CrewEntry,
        cue: Option<String>,
        duty: Duty,
        values: &Values,
    ) -> CrewExchange {
        let shown = |slot: &str| values.written(slot);
        let fill = |text: &super::template::Template| text.fill(shown).text;
        let slips = entry.slip.is_some() && happens(&mut self.chance(purpose), self.scenario.slips);
        CrewExchange {
            duty,
            cue,
            talk: match &entry.talk {
                Talk::Call { id, case } => Talk::Call { id: id.clone(), case: case.clone() },
                Talk::Checklist { list, first, last } => {
                    Talk::Checklist { list: list.clone(), first: *first, last: *last }
                }
                Talk::Brief(id) => Talk::Brief(id.clone()),
                Talk::SpeakUp { seconds, unanswered } => {
                    Talk::SpeakUp { seconds: *seconds, unanswered: *unanswered }
                }
                Talk::Voice { by, channel, says } => {
                    Talk::Voice { by: *by, channel: *channel, says: fill(says) }
                }
            },
            values: crew_values(entry, values),
            set: entry.set.iter().map(|(name, text)| (name.clone(), fill(text))).collect(),
            watched: entry.slip.is_some(),
            slip: entry.slip.as_ref().filter(|_| slips).map(|slip| Slip {
                item: slip.item,
                says: fill(&slip.says),
                heard: fill(&slip.heard),
            }),
            after: entry.after,
        }
    }

    /// A number from 0 to `end`, `end` excluded, each as likely as the other.
    fn below(&self, purpose: &str, end: u64) -> Option<u64> {
        let limit = u64::MAX - u64::MAX.checked_rem(end)?;
        let mut chance = self.chance(purpose);
        loop {
            let number = chance.next_u64();
            if number < limit {
                return Some(number % end);
            }
        }
    }

    fn pick<'b, T>(&self, purpose: &str, list: &'b [T]) -> Option<&'b T> {
        let at = self.below(purpose, list.len() as u64)?;
        list.get(usize::try_from(at).ok()?)
    }

    fn between(&self, purpose: &str, range: &std::ops::RangeInclusive<i64>) -> Option<i64> {
        let size = u64::try_from(range.end().checked_sub(*range.start())?).ok()? + 1;
        Some(range.start() + i64::try_from(self.below(purpose, size)?).ok()?)
    }

    /// True if the scenario leaves the slot open or names this value.
    fn allows(&self, slot: &str, value: &str) -> bool {
        let choice = self.scenario.values.iter().find(|c| c.name == slot);
        choice.is_none_or(|c| c.values.iter().any(|v| v == value))
    }

    fn leads(&self, way: &Taxi, apron: &str, runway: &str) -> bool {
        way.apron == apron && way.runway == runway && self.allows("holding_point", &way.holding_point)
    }

    fn airport(&self, values: &mut Values) -> Option<()> {
        let airport = &*self.scenario.airport;
        let mut put = |slot: &str, element: Option<Element>, value: &str| {
            values.drawn.insert(slot.to_owned(), (element, value.to_owned()));
        };
        for station in &airport.stations {
            put(&station.id, Some(Element::Unit), &station.name);
            put(&format!("{}.frequency", station.id), Some(Element::Frequency), &station.frequency);
        }
        put("airport", None, &airport.name);
        if let Some(layout) = &airport.layout {
            return self.layout(layout, values);
        }

        let (departure, runway) = self.departure()?;
        put("runway", Some(Element::Runway), runway);
        put("sid", Some(Element::Sid), &departure.name);
        put("level", Some(Element::Level), &departure.initial);
        for (n, point) in departure.points.iter().enumerate() {
            let slot = if n == 0 { "point".to_owned() } else { format!("point_{}", n + 1) };
            put(&slot, Some(Element::Point), point);
        }
        let destinations: Vec<&String> =
            departure.destinations.iter().filter(|d| self.allows("destination", d)).collect();
        put("destination", Some(Element::ClearanceLimit), self.pick("destination", &destinations)?);

        let stands: Vec<_> = airport
            .aprons
            .iter()
            .flat_map(|apron| apron.stands.iter().map(move |stand| (apron, stand)))
            .filter(|(apron, stand)| {
                self.allows("stand", stand)
                    && airport.taxi.iter().any(|way| self.leads(way, &apron.id, runway))
            })
            .collect();
        let (apron, stand) = self.pick("stand", &stands)?;
        put("stand", Some(Element::Stand), stand);
        put("face", None, self.pick("face", &apron.face)?);
        let ways: Vec<_> = airport.taxi.iter().filter(|way| self.leads(way, &apron.id, runway)).collect();
        let way = self.pick("taxi", &ways)?;
        put("holding_point", Some(Element::HoldingPoint), &way.holding_point);
        put("taxi_route", Some(Element::TaxiRoute), &way.via);
        if let Some(crossing) = &way.crosses {
            put("crossing", Some(Element::Runway), crossing);
        }
        let codes = self.pick("squawk block", &airport.squawks)?;
        let code = self.between("squawk", &(i64::from(*codes.start())..=i64::from(*codes.end())))?;
        put("squawk", Some(Element::Squawk), &format!("{code:04o}"));
        self.information(values)?;
        self.weather(values, runway)
    }

    /// The letter of the broadcast, and the one that follows it.
    fn information(&self, values: &mut Values) -> Option<()> {
        let letters = &self.scenario.airport.information;
        let at = usize::try_from(self.below("information", letters.len() as u64)?).ok()?;
        let next = (at + 1) % letters.len();
        for (slot, at) in [("information", at), ("next_information", next)] {
            values.drawn.insert(slot.to_owned(), (Some(Element::Information), letters.get(at)?.clone()));
        }
        Some(())
    }

    /// The pressure, and what it has become when the broadcast changes: one hectopascal more or less.
    fn pressure(&self, values: &mut Values) -> Option<i64> {
        let range = &self.scenario.airport.qnh;
        let own = self.scenario.values.iter().find(|choice| matches!(&*choice.name, "qnh" | "altimeter"));
        // Where a broadcast says it, a scenario's choice narrows it before.
        let own = own.filter(|_| self.scenario.airport.layout.is_some());
        let qnh = match own {
            Some(choice) => weather::hectopascals(self.pick("qnh", &choice.values)?)?,
            None => self.between("qnh", range)?,
        };
        let next = match *self.pick("next qnh", &[-1, 1])? {
            step if range.contains(&(qnh + step)) => qnh + step,
            step => qnh - step,
        };
        for (slot, pressure) in [("qnh", qnh), ("altimeter", qnh), ("next_qnh", next)] {
            let setting = weather::setting(values.standard, pressure);
            values.drawn.insert(slot.to_owned(), (Some(Element::Altimeter), setting));
        }
        Some(qnh)
    }

    fn departure(&self) -> Option<(&Departure, &String)> {
        let departures = &self.scenario.airport.departures;
        let pairs: Vec<_> = departures
            .iter()
            .filter(|d| {
                self.allows("sid", &d.name) && d.destinations.iter().any(|x| self.allows("destination", x))
            })
            .flat_map(|d| d.runways.iter().map(move |runway| (d, runway)))
            .filter(|(_, runway)| self.allows("runway", runway))
            .collect();
        self.pick("departure", &pairs).copied()
    }
}

/// Values of a crew exchange: what was drawn, under its own name and the crew's, and over it what the author set.
pub(super) fn crew_values(entry: &CrewEntry, values: &Values) -> BTreeMap<String, String> {
    let mut out: BTreeMap<String, String> =
        values.slots().filter_map(|slot| Some((slot.to_owned(), values.written(slot)?))).collect();
    for (name, slot) in ALSO {
        if let Some(value) = out.get(slot).cloned() {
            out.entry(name.to_owned()).or_insert(value);
        }
    }
    let shown = |slot: &str| values.written(slot);
    // On the radio the callsign is spoken.
    out.extend(values.spoken("callsign").map(|callsign| ("callsign".to_owned(), callsign)));
    out.extend(entry.set.iter().map(|(name, text)| (name.clone(), text.fill(shown).text)));
    out
}
