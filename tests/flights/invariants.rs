//! What no flight may have: read from what stations say, against the airport's file alone.

use crate::ground::{Ground, strip};
use crate::rules;
use hearback::airport;
use hearback::element::Element;
use hearback::parse::{Speaker, read};
use hearback::scenario::Scenario;
use hearback::scenario::draw::{Exchange, Turn, Values, draw, draw_values};
use toml::{Table, Value};

/// An airport as its file has it.
pub(crate) struct Facts {
    file: Table,
    ground: Option<Ground>,
}

impl Facts {
    pub(crate) fn of(id: &str) -> Self {
        let (_, text) = airport::load::builtin(id).expect("built in");
        let file: Table = toml::from_str(text).expect("it is TOML");
        let ground = Ground::read(&file);
        Self { file, ground }
    }

    fn number(&self, key: &str) -> Option<i64> {
        self.file.get(key)?.as_integer()
    }

    fn all(&self, key: &str) -> &[Value] {
        self.file.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
    }

    fn publishes(&self, station: &str, frequency: &str) -> bool {
        let has = |s: &Value, key: &str, wanted: &str| s[key].as_str() == Some(wanted);
        self.all("station").iter().any(|s| has(s, "name", station) && has(s, "frequency", frequency))
    }

    /// Magnetic bearing of a runway: from the file, or ten times its number.
    fn bearing(&self, designator: &str) -> f64 {
        let runway = self.all("runway").iter().find(|r| r["designator"].as_str() == Some(designator));
        let float = |value: &Value| value.as_float().or(value.as_integer().map(|n| n as f64));
        let bearing = runway.and_then(|r| r.get("bearing")).and_then(float);
        let variation = self.file.get("variation").and_then(float).unwrap_or(0.0);
        bearing.map_or_else(
            || designator[..2].parse::<f64>().expect("two digits") * 10.0,
            |bearing| bearing - variation,
        )
    }
}

/// Where a flight is and what it was told.
#[derive(Default)]
struct Told {
    heading: Option<f64>,
    airborne: bool,
    /// Ways on the ground, with the runways that were cleared to be crossed.
    ways: Vec<(Way, Vec<String>)>,
}

/// A way on the ground.
#[derive(Clone, Copy)]
enum Way {
    Out,
    In,
}

/// Everything that is wrong with the flight of a seed.
pub(crate) fn violations(facts: &Facts, scenario: &Scenario, seed: u64) -> Vec<String> {
    let standard = scenario.standard;
    let rules = rules(standard);
    let flight = draw(scenario, standard, seed).expect("it can be drawn");
    let values = draw_values(scenario, standard, seed).expect("it can be drawn");
    let mut out = Vec::new();
    let mut told = Told { airborne: scenario.id.ends_with("arrival"), ..Told::default() };
    for exchange in &flight.exchanges {
        let Exchange::Radio(radio) = exchange else { continue };
        if !facts.publishes(&radio.station.name, &radio.station.frequency) {
            out.push(format!("{} is not published on {}", radio.station.name, radio.station.frequency));
        }
        let says = match &radio.turn {
            Turn::Station { says, .. } => says,
            Turn::Call { phrase, .. } => {
                match phrase.as_str() {
                    "call.taxi" => told.ways.push((Way::Out, Vec::new())),
                    "call.vacated" => told.ways.push((Way::In, Vec::new())),
                    _ => {}
                }
                continue;
            }
        };
        let reading = read(&rules, says, Speaker::Controller);
        if !reading.unparsed.is_empty() {
            out.push(format!("not understood: {says}"));
        }
        let items: Vec<(Element, &str)> =
            reading.items.iter().map(|item| (item.element, &*item.value)).collect();
        out.extend(
            said(facts, &values, &items, &mut told).into_iter().map(|wrong| format!("{wrong}: {says}")),
        );
    }
    out.extend(told.ways.iter().filter_map(|(way, cleared)| uncleared(facts, &values, *way, cleared)));
    out
}

/// What is wrong with one transmission.
fn said(facts: &Facts, values: &Values, items: &[(Element, &str)], told: &mut Told) -> Vec<String> {
    let mut out = Vec::new();
    let of = |element| items.iter().filter(move |(e, _)| *e == element).map(|(_, value)| *value);
    let instructs = |name: &str| of(Element::Instruction).any(|value| value == name);
    for frequency in of(Element::Frequency) {
        let unit = of(Element::Unit).next();
        let published = match unit {
            Some(unit) => facts.publishes(unit, frequency),
            None => facts.all("station").iter().any(|s| s["frequency"].as_str() == Some(frequency)),
        };
        if !published {
            out.push(format!("{frequency} is not published for {unit:?}"));
        }
    }
    for code in of(Element::Squawk) {
        let fits = |block: &Value| {
            let end = |key: &str| block[key].as_str().map(str::to_owned).unwrap_or_default();
            (end("from")..=end("to")).contains(&code.to_owned())
        };
        if !facts.all("squawk").iter().any(fits) || ["7500", "7600", "7700", "2000", "0000"].contains(&code) {
            out.push(format!("{code} is not to be given out"));
        }
    }
    for level in of(Element::Level) {
        out.extend(low(facts, values, level, told.airborne));
    }
    if instructs("cross") {
        match told.ways.last_mut() {
            Some((_, crossed)) => crossed.extend(of(Element::Runway).take(1).map(strip)),
            None => out.push("nobody was taxiing".to_owned()),
        }
    }
    if instructs("cleared for take-off") {
        told.airborne = true;
        told.heading = values.get("runway").map(|(_, runway)| facts.bearing(runway));
    }
    if instructs("go around") {
        told.heading = values.get("landing_runway").map(|(_, runway)| facts.bearing(runway));
    }
    for heading in of(Element::Heading).filter_map(|heading| heading.parse::<f64>().ok()) {
        if let (Some(before), Some(turn)) = (told.heading, of(Element::Turn).next()) {
            let right = (heading - before).rem_euclid(360.0);
            let around = if turn == "right" { right } else { 360.0 - right };
            // Bearings are rounded to tens in headings.
            if (190.0..355.0).contains(&around) {
                out.push(format!("{turn} from {before} to {heading} is the long way"));
            }
        }
        told.heading = Some(heading);
    }
    out
}

/// What is wrong with a level: too low, or between transition altitude and level.
fn low(facts: &Facts, values: &Values, level: &str, airborne: bool) -> Option<String> {
    let transition = facts.number("transition_altitude").expect("every airport has one");
    let elevation = facts.number("elevation").expect("every airport has one");
    let least = facts.number("minimum_vectoring_altitude").unwrap_or(elevation + 1000).max(elevation + 1000);
    let flight_level = level.strip_prefix("FL").and_then(|n| n.parse::<i64>().ok());
    let feet = flight_level.map(|n| n * 100).or(level.trim_end_matches("ft").parse().ok())?;
    let lowest = values.get("transition_level").map(|(_, level)| level.trim_start_matches("FL").to_owned());
    if flight_level.is_none() && feet > transition {
        return Some(format!("{level} is above the transition altitude {transition}"));
    }
    if let (Some(level), Some(lowest)) = (flight_level, lowest.and_then(|n| n.parse::<i64>().ok()))
        && level < lowest
    {
        return Some(format!("FL{level} is below the transition level {lowest}"));
    }
    (airborne && feet < least).then(|| format!("{level} is below {least} ft"))
}

/// What is wrong with a way: it crosses other runways than those that were cleared, or cannot be taxied.
fn uncleared(facts: &Facts, values: &Values, way: Way, cleared: &[String]) -> Option<String> {
    let value = |slot: &str| values.get(slot).map_or("", |(_, value)| value);
    let (from, to, route) = match way {
        Way::Out => (value("stand"), value("holding_point"), value("taxi_route")),
        Way::In => (value("exit"), value("stand"), value("taxi_in")),
    };
    let names: Vec<&str> = route.split(' ').filter(|name| !name.is_empty()).collect();
    let crossed = match &facts.ground {
        Some(ground) => ground.crossed(from, to, &names),
        None => {
            let fits = |taxi: &&Value| {
                taxi["holding_point"].as_str() == Some(to) && taxi["via"].as_str() == Some(route)
            };
            let crosses = |taxi: &Value| {
                taxi.get("crosses").and_then(Value::as_str).into_iter().map(strip).collect::<Vec<_>>()
            };
            facts.all("taxi").iter().filter(fits).map(crosses).collect()
        }
    };
    (!crossed.contains(cleared))
        .then(|| format!("from {from} to {to} via {route} crosses {crossed:?}, cleared is {cleared:?}"))
}
