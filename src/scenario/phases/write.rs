//! A phase at an airport, written as a scenario file.

use super::levels::levels;
use super::{PartEntry, PhaseEntry, Phases, Slots};
use crate::airport::{Airport, Station};
use crate::element::Standard;
use crate::judge::judgement::Form;
use crate::scenario::draw::{draw_values, rare};
use crate::scenario::template::Template;
use crate::scenario::{Rank, Scenario, Seat};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::sync::Arc;

/// What is to be written.
#[derive(Debug, Clone)]
pub struct Wish<'a> {
    /// The phase.
    pub phase: &'a str,
    /// The airport's name as the file gives it.
    pub airport: &'a str,
    /// One line for lists; the phase's if left out.
    pub title: Option<&'a str>,
    /// Operator and flight; drawn if left out.
    pub callsign: Option<(&'a str, &'a str)>,
    /// Flying, or working the radio.
    pub seat: Seat,
    /// Calls between the pilots too.
    pub crew: bool,
}

impl<'a> Wish<'a> {
    /// A phase at an airport, with the radio and calls between the pilots.
    #[must_use]
    pub fn of(phase: &'a str, airport: &'a str) -> Self {
        Self { phase, airport, title: None, callsign: None, seat: Seat::Monitoring, crew: true }
    }
}

/// Flights that are drawn to see what an airport has.
const FLIGHTS: u64 = 64;

/// What an airport lacks if it never draws a slot.
const LACKING: [(&str, &str); 3] = [
    ("exit", "no exit from a runway to a stand"),
    ("approach_type", "no runway with `approaches`"),
    ("altitude", "no room between the lowest vectoring altitude and the transition altitude"),
];

/// Writes a phase at an airport as a scenario file.
///
/// # Errors
/// What the airport lacks for it, or that there is no such phase.
pub fn write(phases: &Phases, airport: &Arc<Airport>, wish: &Wish<'_>) -> Result<String, String> {
    let known = || crate::diagnostic::list(&phases.names().collect::<Vec<_>>());
    let phase = phases
        .phases
        .iter()
        .find(|phase| phase.name == wish.phase)
        .ok_or_else(|| format!("there is no phase `{}`; there are {}", wish.phase, known()))?;
    let standard = airport.standard;
    let levels = levels(airport);
    let [drawn, always] = drawn(airport)?;
    let mut slots: BTreeSet<&str> = drawn.iter().map(String::as_str).collect();
    let rare = rare(airport);
    slots.extend(rare.iter().map(String::as_str));
    slots.extend(levels.iter().map(|(name, _)| *name));
    slots.extend(phases.values.keys().map(String::as_str));
    let lacks = |needs: &[String]| needs.iter().find(|slot| !slots.contains(slot.as_str())).cloned();
    if let Some(slot) = lacks(&phase.needs) {
        return Err(match &airport.layout {
            None => format!(
                "{} has no taxiways and no arrivals in its file, and the phase `{}` needs them",
                airport.name, phase.name
            ),
            Some(_) => {
                let what = LACKING.iter().find(|(known, _)| *known == slot).map_or(&*slot, |(_, what)| what);
                format!("{} has {what}, and the phase `{}` needs it", airport.name, phase.name)
            }
        });
    }
    let mut writer = Writer {
        phases,
        standard,
        slots: &slots,
        always: &always,
        stations: stations(phases, airport),
        used: BTreeSet::new(),
        out: String::new(),
    };
    let wanted = phase.parts.iter().filter(|of| (wish.crew || !of.crew) && lacks(&of.needs).is_none());
    for of in wanted {
        for entry in phases.parts.get(&of.part).into_iter().flatten() {
            writer.exchange(entry);
        }
    }
    if writer.out.is_empty() {
        return Err(format!("{} has no station for the phase `{}`", airport.name, phase.name));
    }
    writer.uses(phase.briefing.of(standard).map_or("", String::as_str));
    Ok(head(phases, phase, airport, wish) + &values(phases, &levels, &writer.used) + &writer.out)
}

/// The slots that some flight at this airport has, and those of every flight.
fn drawn(airport: &Arc<Airport>) -> Result<[BTreeSet<String>; 2], String> {
    let bare = Scenario {
        id: airport.id.clone(),
        title: String::new(),
        briefing: Template::default(),
        airport: Arc::clone(airport),
        standard: airport.standard,
        form: Form::Strict,
        seat: Seat::Monitoring,
        rank: Rank::FirstOfficer,
        operator: String::new(),
        difficulty: 1,
        slips: 0.0,
        callsign: None,
        values: Vec::new(),
        exchanges: Vec::new(),
    };
    let flights = (1..=FLIGHTS).filter_map(|seed| draw_values(&bare, airport.standard, seed));
    let slots = flights.map(|values| values.slots().map(str::to_owned).collect::<BTreeSet<_>>());
    let slots: Vec<BTreeSet<String>> = slots.collect();
    let every = slots.iter().cloned().reduce(|one, other| &one & &other);
    let every = every.ok_or_else(|| format!("no flight can be drawn at {}", airport.name))?;
    Ok([slots.into_iter().flatten().collect(), every])
}

/// The station of each function.
fn stations<'a>(phases: &'a Phases, airport: &'a Airport) -> BTreeMap<&'a str, &'a Station> {
    let station = |ids: &[String]| ids.iter().find_map(|id| airport.station(id));
    phases.functions.iter().filter_map(|(function, ids)| Some((function.as_str(), station(ids)?))).collect()
}

fn head(phases: &Phases, phase: &PhaseEntry, airport: &Airport, wish: &Wish<'_>) -> String {
    let briefing = phase.briefing.of(airport.standard).map_or("", String::as_str);
    let title = match wish.title {
        Some(title) => title.to_owned(),
        None => phases.title(&phase.name, &airport.name),
    };
    let seat = Seat::ALL.iter().find(|(_, seat)| *seat == wish.seat).map_or("monitoring", |(name, _)| name);
    let callsign = wish.callsign.map_or(String::new(), |(telephony, flight)| {
        format!("callsign = {{ telephony = {}, flight = {} }}\n", quoted(telephony), quoted(flight))
    });
    format!(
        "# {title}
# Text in braces is a slot: its value is drawn anew for each seed. The airport fills {{stand}}, {{runway}}, {{sid}},
# {{level}}, {{squawk}}, {{qnh}}, {{wind}}, {{heading}} and more, and each station as in {{tower}}, {{tower.frequency}}.
# What must be read back is not written here: it follows from the grammar.
format = 1
title = {title_text}
# Read before the first transmission.
briefing = {briefing}
airport = {airport}
# `monitoring` works the radio, `flying` listens to the other pilot.
seat = '{seat}'
{callsign}
# Slots of your own: a list to draw from, or numbers in equal steps. `element` says what kind of value it is; with a
# `share` it is drawn in so many of the flights only. A slot of the airport can be narrowed too, for instance
# `[value.stand]`.
",
        title = title.replace(char::is_control, " "),
        title_text = quoted(&title),
        briefing = quoted(briefing),
        airport = quoted(wish.airport),
    )
}

fn values(phases: &Phases, levels: &[(&'static str, Vec<String>)], used: &BTreeSet<String>) -> String {
    let mut out = String::new();
    for (name, values) in levels.iter().filter(|(name, _)| used.contains(*name)) {
        let list: Vec<String> = values.iter().map(|value| quoted(value)).collect();
        let _ = write!(out, "[value.{name}]\nelement = 'level'\none_of = [{}]\n\n", list.join(", "));
    }
    for (name, table) in phases.values.iter().filter(|(name, _)| used.contains(*name)) {
        let _ = writeln!(out, "[value.{name}]");
        for (key, value) in table.as_table().into_iter().flatten() {
            let list = |items: &Vec<toml::Value>| {
                let items: Vec<String> =
                    items.iter().map(|v| v.as_str().map_or(v.to_string(), quoted)).collect();
                format!("[{}]", items.join(", "))
            };
            let text = value.as_array().map(list).or(value.as_str().map(quoted));
            let _ = writeln!(out, "{key} = {}", text.unwrap_or_else(|| value.to_string()));
        }
        out.push('\n');
    }
    out.push_str(
        "# What happens, in order. `from` and `says`: a station speaks. `to` and `you_call`: the trainee calls, with the slots
# of `with`. `cue` tells what has happened, and never what to say. `when` and `unless` name slots that not every
# flight has; `unable` is what the station says if the trainee cannot comply. Between the pilots: `call` is a call of
# the crew's book, `checklist` a list of it; who speaks follows from the seats.
",
    );
    out
}

struct Writer<'a> {
    phases: &'a Phases,
    standard: Standard,
    /// What can be drawn.
    slots: &'a BTreeSet<&'a str>,
    /// What is drawn in every flight.
    always: &'a BTreeSet<String>,
    stations: BTreeMap<&'a str, &'a Station>,
    /// Slots that the exchanges name.
    used: BTreeSet<String>,
    out: String,
}

impl Writer<'_> {
    /// Writes an exchange, unless the airport has nobody or nothing for it.
    fn exchange(&mut self, entry: &PartEntry) {
        let id = |function: &String| self.stations.get(function.as_str()).map(|station| station.id.clone());
        let excluded = entry.rules.as_ref().is_some_and(|rules| !rules.contains(&self.standard));
        let apart = entry.apart.as_ref().map(|[one, other]| (id(one), id(other)));
        let together = apart.is_some_and(|(one, other)| one.is_none() || other.is_none() || one == other);
        let possible = entry.when.all().iter().all(|slot| self.slots.contains(slot.as_str()))
            && !entry.unless.all().iter().any(|slot| self.always.contains(slot));
        if excluded || together || !possible {
            return;
        }
        let wording = |text: &Option<super::Wording<String>>| {
            text.as_ref().and_then(|text| text.of(self.standard)).map(|text| self.placed(text))
        };
        let (cue, says, unable) = (wording(&entry.cue), wording(&entry.says), wording(&entry.unable));
        let station = entry.from.as_ref().or(entry.to.as_ref());
        let lost = station.is_some_and(|function| id(function).is_none());
        // A text that names a station which is not there.
        if lost || [&cue, &says, &unable].into_iter().any(|text| matches!(text, Some(None))) {
            return;
        }
        let (from, to) = (entry.from.as_ref().and_then(id), entry.to.as_ref().and_then(id));
        let with = entry.with.as_ref().and_then(|with| with.of(self.standard)).cloned().unwrap_or_default();
        let mut out = String::from("\n[[exchange]]\n");
        let mut key = |name: &str, value: Option<String>| {
            if let Some(value) = value {
                let _ = writeln!(out, "{name} = {value}");
            }
        };
        let text = |text: Option<&str>| text.map(quoted);
        key("cue", text(cue.clone().flatten().as_deref()));
        key("when", self.list(&entry.when));
        key("unless", self.list(&entry.unless));
        key("from", text(from.as_deref()));
        key("says", text(says.clone().flatten().as_deref()));
        key("unable", text(unable.clone().flatten().as_deref()));
        key("to", text(to.as_deref()));
        key("you_call", text(entry.you_call.as_deref()));
        let slots: Vec<String> = with.iter().map(|slot| quoted(slot)).collect();
        key("with", (!slots.is_empty()).then(|| format!("[{}]", slots.join(", "))));
        key("call", text(entry.call.as_deref()));
        key("checklist", text(entry.checklist.as_deref()));
        key("items", entry.items.map(|[first, last]| format!("[{first}, {last}]")));
        key("after", entry.after.map(|seconds| seconds.to_string()));
        self.out.push_str(&out);
        let conditions = entry.when.all().iter().chain(entry.unless.all());
        self.used.extend(conditions.chain(&with).cloned());
        for text in [cue, says, unable].into_iter().flatten().flatten() {
            self.uses(&text);
        }
    }

    /// Notes the slots of a text.
    fn uses(&mut self, text: &str) {
        if let Ok(template) = Template::parse(text) {
            self.used.extend(template.slots().map(|(slot, _)| slot.to_owned()));
        }
    }

    /// The slots of a condition that can be drawn, as a key has them.
    fn list(&self, slots: &Slots) -> Option<String> {
        let here: Vec<&String> = slots.all().iter().filter(|s| self.slots.contains(s.as_str())).collect();
        match here[..] {
            [] => None,
            [slot] => Some(quoted(slot)),
            _ => Some(format!("[{}]", here.iter().map(|slot| quoted(slot)).collect::<Vec<_>>().join(", "))),
        }
    }

    /// A text with stations in the place of functions; `None` if one of them is not there.
    fn placed(&self, text: &str) -> Option<String> {
        let mut out = text.to_owned();
        for function in self.phases.functions.keys() {
            for ending in ["}", ".frequency}"] {
                let slot = format!("{{{function}{ending}");
                if out.contains(&slot) {
                    let station = self.stations.get(function.as_str())?;
                    // Marked, so that a station with the name of another function stays.
                    out = out.replace(&slot, &format!("{{\u{1}{}{ending}", station.id));
                }
            }
        }
        Some(out.replace('\u{1}', ""))
    }
}

/// A text as TOML writes it: in single quotes if it can.
#[must_use]
pub fn quoted(text: &str) -> String {
    if text.contains('\'') || text.chars().any(char::is_control) {
        toml::Value::String(text.to_owned()).to_string()
    } else {
        format!("'{text}'")
    }
}
