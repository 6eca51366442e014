//! A new airport: one runway, two aprons, a departure from each end.

use super::ask::{Asker, Checked, line, list, number, one_of, quoted, slug};
use super::{Draft, place, standard_of, toml_list, typed};
use crate::airport::value::canonical;
use crate::cli::new::{NewCommand, NewFile};
use crate::contract::RuleSets;
use crate::element::{Element, Standard};
use crate::error::{Error, Result};
use crate::grammar::sets::Sets;
use crate::parse::{Speaker, read};
use crate::rules::RuleSet;
use std::fmt::Write as _;
use std::path::Path;

pub(super) fn draft(command: &NewCommand, to: &NewFile, sets: &Sets, asker: &mut Asker<'_>) -> Result<Draft> {
    let NewCommand::Airport {
        name,
        standard,
        runway,
        elevation,
        transition_altitude,
        stands,
        destinations,
        ..
    } = command
    else {
        return Err(Error::Internal("an airport was asked for".to_owned()));
    };
    let of = |element| move |text: &str| canonical(element, text).map_err(str::to_owned);
    let given = standard.map(|standard| standard_of(standard).name());
    let standard = asker.ask("--standard", "Rule set: icao, eu, uk or us", given, "icao", &|text| {
        one_of(text, &Standard::ALL.map(Standard::name))
    })?;
    let rules = sets.get(Standard::parse(&standard).unwrap_or_default());
    let spoken = |text: &str| line(text).and_then(|name| heard(&rules, name));
    let name = asker.ask("--name", "Name as it is spoken", name.as_deref(), "Larchmoor", &spoken)?;
    let runway =
        asker.ask("--runway", "One end of the runway", runway.as_deref(), "09", &of(Element::Runway))?;
    let feet = |text: &str| number(text, -1_000, 15_000);
    let elevation = asker.ask("--elevation", "Elevation, feet", elevation.as_deref(), "250", &feet)?;
    let usual = if standard == "us" { "18000" } else { "5000" };
    let feet = |text: &str| number(text, 3_000, 18_000);
    let transition = asker.ask(
        "--transition-altitude",
        "Transition altitude, feet",
        transition_altitude.as_deref(),
        usual,
        &feet,
    )?;
    let stands = asker.ask("--stands", "Stands", stands.as_deref(), "11, 12, 14, 15", &|text| {
        list(text, &of(Element::Stand))
    })?;
    let destinations = asker.ask(
        "--destinations",
        "Flights leave for",
        destinations.as_deref(),
        "Tarnmoor, Holmfell",
        &|text| list(text, &line),
    )?;
    let file = place(to, asker, &format!("airports/{}.toml", slug(&name)))?;
    let other = opposite(&runway);
    let clearance = if standard == "us" { ("clearance", "Clearance") } else { ("delivery", "Delivery") };
    let last = if standard == "us" { ("center", "Center") } else { ("control", "Control") };
    let mut text = format!(
        "# {name}: an airport with one runway.
# Everything here is drawn from for a flight: no value is fixed but by its list. Names should be invented.
format = 1
# As it is spoken.
name = {name_text}
# Feet above mean sea level.
elevation = {elevation}
transition_altitude = {transition}
# The rule set that is spoken here: icao, eu, uk or us.
standard = '{standard}'
# Letters that the broadcast can carry.
information = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ'

# Who can be spoken to: the name in scenarios, the name on the radio, megahertz.
",
        name_text = quoted(&name)
    );
    let stations = [
        (clearance.0, clearance.1, "121.655"),
        ("ground", "Ground", "121.805"),
        ("tower", "Tower", "118.705"),
        ("departure", "Departure", "124.355"),
        (last.0, last.1, "132.480"),
    ];
    for (id, function, frequency) in stations {
        let radio = quoted(&format!("{name} {function}"));
        let _ = write!(text, "[[station]]\nid = '{id}'\nname = {radio}\nfrequency = '{frequency}'\n\n");
    }
    let _ = write!(
        text,
        "# Both ends of the runway, with the points where one holds before it.
[[runway]]
designator = '{runway}'
holding_points = ['A1', 'A2']

[[runway]]
designator = '{other}'
holding_points = ['D1', 'D2']

# Stands that share their way out, and where the nose can point after the push-back.
[[apron]]
id = 'main'
stands = {stands}
face = ['north', 'south']

# Ways from an apron to a runway. `crosses = '15'` names a runway that is crossed on the way.
",
        stands = toml_list(&stands),
    );
    for (end, point, via) in
        [(&runway, "A1", "B A"), (&runway, "A2", "C A"), (&other, "D1", "B D"), (&other, "D2", "C D")]
    {
        let _ = write!(
            text,
            "[[taxi]]\napron = 'main'\nrunway = '{end}'\nholding_point = '{point}'\nvia = '{via}'\n\n"
        );
    }
    text.push_str(
        "# Departures: name and version, where they begin, their points, the first level, where they lead.\n",
    );
    for (sid, end, points) in
        [("TARNO 1A", &runway, "['TARNO', 'SKEVA']"), ("DUNLI 1B", &other, "['DUNLI', 'HOLMA']")]
    {
        let _ = write!(
            text,
            "[[departure]]\nname = '{sid}'\nrunways = ['{end}']\npoints = {points}\ninitial = '{initial}'\ndestinations = {destinations}\n\n",
            initial = first_level(&elevation),
            destinations = toml_list(&destinations),
        );
    }
    text.push_str(
        "# What the weather can be: hectopascals, knots, degrees Celsius.
[weather]
qnh = { from = 984, to = 1034 }
wind = { from = 4, to = 18 }
temperature = { from = -4, to = 24 }

# Transponder codes that are given out.
[[squawk]]
from = '4401'
to = '4477'
",
    );
    let id = file.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let folder = match file.parent() {
        Some(parent) if parent.file_name().is_some_and(|name| name == "airports") => parent.parent(),
        parent => parent,
    };
    let flight = folder.unwrap_or(Path::new("")).join("my-flight.toml");
    let next = vec![
        format!("  hearback check {}", typed(&file)),
        format!("  hearback new scenario {} --airport {}", typed(&flight), typed(Path::new(&id))),
    ];
    Ok(Draft { file, text, next })
}

/// The name, if stations that bear it are understood on the radio.
fn heard(rules: &RuleSet, name: String) -> Checked {
    let text = format!("Whimbrel two one four, contact {name} Tower one one eight decimal seven zero five");
    let one = name.chars().all(char::is_alphabetic);
    if one && read(rules, &text, Speaker::Controller).unparsed.is_empty() {
        Ok(name)
    } else {
        Err("one word that can be nothing else on the radio, such as Larchmoor".to_owned())
    }
}

/// The other end of a runway.
fn opposite(runway: &str) -> String {
    let (digits, side) = runway.split_at(2);
    let number = digits.parse::<u8>().unwrap_or(9);
    let other = if number > 18 { number - 18 } else { number + 18 };
    let side = match side {
        "L" => "R",
        "R" => "L",
        same => same,
    };
    format!("{other:02}{side}")
}

/// The level of the departures: a good way above the airport.
fn first_level(elevation: &str) -> String {
    let elevation = elevation.parse::<i64>().unwrap_or(0).max(0);
    format!("{}ft", (elevation + 4_500) / 1000 * 1000)
}
