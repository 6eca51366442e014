//! A new airport: the questions, and what is done next.

use super::ask::{Asker, Checked, line, list, number, one_of, slug};
use super::layout::Facts;
use super::{Draft, place, standard_of, typed};
use crate::airport::value::canonical;
use crate::cli::new::{NewCommand, NewFile};
use crate::contract::RuleSets;
use crate::element::{Element, Standard};
use crate::error::{Error, Result};
use crate::grammar::sets::Sets;
use crate::parse::{Speaker, read};
use crate::rules::RuleSet;
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
        length,
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
    let metres = |text: &str| number(text, 1_200, 5_500);
    let length = asker.ask("--length", "Length of the runway, metres", length.as_deref(), "2600", &metres)?;
    let file = place(to, asker, &format!("airports/{}.toml", slug(&name)))?;
    let facts = Facts {
        name: &name,
        standard: &standard,
        runway: &runway,
        elevation: elevation.parse().unwrap_or(0),
        transition: transition.parse().unwrap_or(5000),
        length: length.parse().unwrap_or(2600),
        stands: stands.split(", ").collect(),
        destinations: &destinations,
    };
    let text = facts.text();
    let id = file.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let folder = match file.parent() {
        Some(parent) if parent.file_name().is_some_and(|name| name == "airports") => parent.parent(),
        parent => parent,
    };
    let flight = folder.unwrap_or(Path::new("")).join("my-flight.toml");
    let shown = typed(&file);
    let next = vec![
        format!("  hearback check {shown}                  what is wrong in it, if something is"),
        format!("  hearback map {shown}                    how it looks, and the way from a stand"),
        format!("  hearback practise --airport {shown}     fly from it: departure, arrival, ground, tower"),
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
