//! A new scenario: a small departure from an airport of one's choice.

use super::ask::{self, Asker, line, one_of, quoted, slug};
use super::{Draft, place, typed};
use crate::airport::{self, Airport, Station};
use crate::cli::new::{NewCommand, NewFile};
use crate::diagnostic::{clean, list, nearest};
use crate::element::Standard;
use crate::error::{Error, Result};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

pub(super) fn draft(command: &NewCommand, to: &NewFile, asker: &mut Asker<'_>) -> Result<Draft> {
    let NewCommand::Scenario { title, airport, telephony, flight, seat, crew, .. } = command else {
        return Err(Error::Internal("a scenario was asked for".to_owned()));
    };
    let folder = to.file.as_deref().and_then(Path::parent).unwrap_or(Path::new("")).to_path_buf();
    let known = |id: &str| find(id, &folder).map(|_| id.to_owned());
    let question =
        format!("Airport: {}, or one of your own", list(&airport::load::builtin_ids().collect::<Vec<_>>()));
    let id = asker.ask("--airport", &question, airport.as_deref(), "skerrow", &known)?;
    let airport = find(&id, &folder).map_err(Error::Internal)?;
    let default = format!("A first flight from {}", airport.name);
    let title = asker.ask("--title", "Title", title.as_deref(), &default, &line)?;
    let telephony = asker.ask(
        "--telephony",
        "Name of the operator on the radio",
        telephony.as_deref(),
        "Whimbrel",
        &line,
    )?;
    let flight = asker.ask("--flight", "Number of the flight", flight.as_deref(), "214", &line)?;
    let seat = asker.ask(
        "--seat",
        "The trainee's seat: monitoring (works the radio) or flying",
        seat.as_deref(),
        "monitoring",
        &|text| one_of(text, &["monitoring", "flying"]),
    )?;
    let crew =
        asker.ask("--crew", "Calls between the pilots too: yes or no", crew.as_deref(), "yes", &|text| {
            one_of(text, &["yes", "no"])
        })?;
    let file = place(to, asker, &format!("{}.toml", slug(&title)))?;
    let mut text = head(&title, &id, &telephony, &flight, &seat, &airport);
    let size = text.len();
    exchanges(&mut text, &airport, crew == "yes");
    if text.len() == size {
        return Err(Error::Answer {
            name: "--airport".to_owned(),
            given: clean(&id).into_owned(),
            problem: format!(
                "it has none of the stations {}",
                list(&[CLEARANCE, GROUND, TOWER, DEPARTURE].concat())
            ),
        });
    }
    let name = typed(&file);
    let next = vec![
        format!("  hearback check {name}           what is wrong in it, if something is"),
        format!("  hearback check --watch {name}   the same while you write"),
        format!("  hearback preview {name}         the whole script, and what the trainee owes"),
        format!("  hearback practise {name}        fly it"),
    ];
    Ok(Draft { file, text, next })
}

/// The airport of that name: beside the scenario or built in.
fn find(id: &str, folder: &Path) -> std::result::Result<Airport, String> {
    ask::id(id)?;
    let beside =
        [folder.join("airports"), folder.to_path_buf()].map(|folder| folder.join(format!("{id}.toml")));
    let loaded = match beside.iter().find(|file| file.is_file()) {
        Some(file) => {
            let bytes =
                fs::read(file).map_err(|cause| format!("failed to read `{}`: {cause}", file.display()))?;
            airport::load::load_airport(&file.to_string_lossy(), &bytes)
        }
        None => match airport::load::builtin(id) {
            Some((path, text)) => airport::load::load_airport(path, text.as_bytes()),
            None => {
                let help = match nearest(id, airport::load::builtin_ids()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("built in: {}", list(&airport::load::builtin_ids().collect::<Vec<_>>())),
                };
                return Err(format!("there is no such airport; {help}"));
            }
        },
    };
    loaded
        .map_err(|found| format!("the airport has problems: `hearback check` shows {} of them", found.len()))
}

/// Ids of stations by what they do, the usual first.
const CLEARANCE: &[&str] = &["delivery", "clearance"];
const GROUND: &[&str] = &["ground"];
const TOWER: &[&str] = &["tower"];
const DEPARTURE: &[&str] = &["departure", "director", "radar", "approach"];
const NEXT: &[&str] = &["control", "center", "upper"];

fn station<'a>(airport: &'a Airport, ids: &[&str]) -> Option<&'a Station> {
    ids.iter().find_map(|id| airport.station(id))
}

fn head(title: &str, id: &str, telephony: &str, flight: &str, seat: &str, airport: &Airport) -> String {
    let (gate, setting) = match airport.standard {
        Standard::Us => ("gate", "altimeter"),
        Standard::Icao | Standard::Eu | Standard::Uk => ("stand", "QNH"),
    };
    let duty = if seat == "flying" { "fly; the other pilot works the radio" } else { "work the radio" };
    let passing = (airport.elevation + 1400) / 100 * 100;
    let climb = if airport.transition_altitude >= 10_000 {
        "from = 10000\nto = 13000\nstep = 1000".to_owned()
    } else {
        let first = airport.transition_altitude / 1000 * 10 + 20;
        let levels: Vec<String> = (0..4).map(|n| format!("'FL{:03}'", first + n * 10)).collect();
        format!("one_of = [{}]", levels.join(", "))
    };
    format!(
        "# {title}
# Text in braces is a slot: its value is drawn anew for each seed. The airport fills {{stand}}, {{runway}}, {{sid}},
# {{level}}, {{squawk}}, {{qnh}}, {{wind}}, {{heading}} and more, and each station as in {{tower}}, {{tower.frequency}}.
# What must be read back is not written here: it follows from the grammar.
format = 1
title = {title_text}
# Read before the first transmission.
briefing = '{{airport}}, {gate} {{stand}}. You are {{callsign}} to {{destination}} and {duty}. Information {{information}}: runway {{runway}}, {setting} {{qnh}}.'
airport = {id}
# `monitoring` works the radio, `flying` listens to the other pilot.
seat = '{seat}'
callsign = {{ telephony = {telephony}, flight = {flight} }}

# Slots of your own: a list to draw from, or numbers in equal steps. `element` says what kind of value it is.
[value.passing]
element = 'level'
from = {passing}
to = {to}
step = 100

[value.climb]
element = 'level'
{climb}

# A slot of the airport can be narrowed too:
# [value.stand]
# one_of = ['12', '14']

# What happens, in order. `from` and `says`: a station speaks. `to` and `you_call`: the trainee calls, with the slots
# of `with`. `cue` tells what has happened, and never what to say. `when` and `unless` name a slot that not every
# flight has; `unable` is what the station says if the trainee cannot comply; `blocked` names words of `says` that do
# not come through at first.
",
        title_text = quoted(title),
        id = quoted(id),
        telephony = quoted(telephony),
        flight = quoted(flight),
        to = passing + 800,
    )
}

/// Writes the exchanges for which the airport has stations.
fn exchanges(out: &mut String, airport: &Airport, crew: bool) {
    let us = airport.standard == Standard::Us;
    let uk = airport.standard == Standard::Uk;
    let pick = |american: &'static str, british: &'static str, other: &'static str| match airport.standard {
        Standard::Us => american,
        Standard::Uk => british,
        Standard::Icao | Standard::Eu => other,
    };
    let departure = station(airport, DEPARTURE);
    if let Some(Station { id, .. }) = station(airport, CLEARANCE) {
        call(
            out,
            id,
            "The doors are closing, and nobody has given you a route.",
            "clearance",
            &["stand", "information", "destination"],
        );
        let clearance = match (airport.standard, departure) {
            (Standard::Us, Some(departure)) => format!(
                "{{callsign}}, cleared to {{destination}} airport, {{sid}} departure, then as filed, climb via SID except maintain {{level}}, departure frequency {{{}.frequency}}, squawk {{squawk}}",
                departure.id
            ),
            (Standard::Us, None) => "{callsign}, cleared to {destination} airport, {sid} departure, then as filed, squawk {squawk}".to_owned(),
            (Standard::Uk, _) => "{callsign}, cleared to {destination}, {sid} departure, squawk {squawk}".to_owned(),
            (Standard::Icao | Standard::Eu, _) => "{callsign}, cleared to {destination}, {sid} departure, climb via SID to {level}, squawk {squawk}".to_owned(),
        };
        says(out, id, "", &clearance);
    }
    let tower = station(airport, TOWER);
    if let Some(Station { id, .. }) = station(airport, GROUND) {
        call(
            out,
            id,
            "The tug is away and both engines run; Ground is tuned.",
            "taxi",
            &["stand", "information"],
        );
        let taxi = pick(
            "{callsign}, runway {runway}, taxi via {taxi_route}",
            "{callsign}, taxi holding point {holding_point}, runway {runway}, via {taxi_route}",
            "{callsign}, taxi to holding point {holding_point}, runway {runway}, via {taxi_route}",
        );
        // Only some ways cross a runway.
        let crossing = airport.taxi.iter().any(|way| way.crosses.is_some());
        if airport.taxi.iter().any(|way| way.crosses.is_none()) {
            says(out, id, if crossing { "unless = 'crossing'\n" } else { "" }, taxi);
        }
        if crossing {
            says(out, id, "when = 'crossing'\n", &format!("{taxi}, hold short of runway {{crossing}}"));
            let cue = "cue = 'You are stopped before runway {crossing}.'\nwhen = 'crossing'\n";
            says(out, id, cue, "{callsign}, cross runway {crossing}");
        }
        if let Some(tower) = tower {
            contact(out, id, "", tower);
        }
    }
    if let Some(Station { id, .. }) = tower {
        let with: &[&str] = if us { &["runway"] } else { &[] };
        call(
            out,
            id,
            "Before runway {runway}. The cabin is secure and the checklist is complete.",
            "ready",
            with,
        );
        says(
            out,
            id,
            "",
            pick(
                "{callsign}, runway {runway}, line up and wait",
                "{callsign}, line up and wait runway {runway}",
                "{callsign}, line up and wait runway {runway}",
            ),
        );
        says(
            out,
            id,
            "cue = 'Lined up.'\n",
            pick(
                "{callsign}, {wind}, runway {runway}, cleared for takeoff",
                "{callsign}, runway {runway}, cleared for take-off, {wind}",
                "{callsign}, {wind}, runway {runway}, cleared for take-off",
            ),
        );
    }
    if crew {
        out.push_str(CREW);
    }
    let (Some(Station { id, .. }), Some(departure)) = (tower, departure) else { return };
    contact(out, id, "cue = 'Airborne, gear up.'\n", departure);
    let Station { id, .. } = departure;
    let with: &[&str] = if uk { &["sid", "passing", "level"] } else { &["passing", "level"] };
    call(
        out,
        id,
        "The altimeter runs through {passing}; you are on the {sid} departure, first to {level}, and the next station is tuned.",
        "departure",
        with,
    );
    says(
        out,
        id,
        "unable = '{callsign}, maintain {level}'\n",
        pick(
            "{callsign}, radar contact, climb and maintain {climb}",
            "{callsign}, identified, climb {climb}",
            "{callsign}, identified, climb to {climb}",
        ),
    );
    says(out, id, "", "{callsign}, turn {turn} heading {heading}");
    if let Some(next) = station(airport, NEXT) {
        contact(out, id, "", next);
    }
}

fn call(out: &mut String, to: &str, cue: &str, call: &str, with: &[&str]) {
    let _ = write!(out, "\n[[exchange]]\ncue = '{cue}'\nto = '{to}'\nyou_call = 'call.{call}'\n");
    if !with.is_empty() {
        let slots: Vec<String> = with.iter().map(|slot| format!("'{slot}'")).collect();
        let _ = writeln!(out, "with = [{}]", slots.join(", "));
    }
}

fn says(out: &mut String, from: &str, keys: &str, says: &str) {
    let _ = write!(out, "\n[[exchange]]\n{keys}from = '{from}'\nsays = '{says}'\n");
}

fn contact(out: &mut String, from: &str, keys: &str, next: &Station) {
    says(out, from, keys, &format!("{{callsign}}, contact {{{0}}} {{{0}.frequency}}", next.id));
}

/// Exchanges on the flight deck.
const CREW: &str = "
# Between the pilots: `call` is a call of the crew's book (`hearback explain to-pos`), `checklist` a list of it, with
# the first and last item that is read. Who speaks follows from the seats. `after` is seconds after the exchange
# before began.
[[exchange]]
call = 'lu-cleared'

[[exchange]]
call = 'to-stable'

[[exchange]]
call = 'to-thrust'
after = 6

[[exchange]]
call = 'to-pos'
after = 30

[[exchange]]
call = 'to-gearsel'

[[exchange]]
checklist = 'after-takeoff'
items = [1, 4]
";
