//! Flights that airports give by themselves: every phase at every airport, by seed, flown by model replies.

#[path = "flights/ground.rs"]
mod ground;
#[path = "flights/invariants.rs"]
mod invariants;

use hearback::airport;
use hearback::crew::CrewBook;
use hearback::diagnostic::render;
use hearback::element::Standard;
use hearback::error::Error;
use hearback::rules::RuleSet;
use hearback::scenario::Scenario;
use hearback::scenario::load::Library;
use hearback::scenario::phases::{self, Phases, Wish};
use hearback::scenario::script::{Line, script};
use invariants::{Facts, violations};
use std::io::Write;
use std::sync::Arc;

fn rules(standard: Standard) -> Arc<RuleSet> {
    RuleSet::builtin(standard)
}

fn book() -> Arc<CrewBook> {
    CrewBook::builtin().expect("the book is in order")
}

/// Every phase that every built-in airport gives.
fn flights() -> Vec<Scenario> {
    let library = Library::new(&rules, book());
    let phases: Vec<&str> = Phases::builtin().expect("the phases are in order").names().collect();
    let mut out = Vec::new();
    for airport in airport::load::builtin_ids() {
        for phase in &phases {
            match library.generated(airport, phase) {
                Ok(scenario) => out.push(scenario),
                Err(Error::Answer { .. }) => {}
                Err(Error::Data(found)) => panic!("{airport} {phase}: {}", render(&found, false)),
                Err(other) => panic!("{airport} {phase}: {other}"),
            }
        }
    }
    out
}

/// Says at which flight a test broke off.
struct At<'a>(&'a str, u64);

impl Drop for At<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let _ = writeln!(std::io::stderr(), "this was {} with seed {}", self.0, self.1);
        }
    }
}

/// Seeds of each phase at each airport.
fn seeds() -> u64 {
    std::env::var("HEARBACK_SEEDS").ok().and_then(|n| n.parse().ok()).unwrap_or(40)
}

#[test]
fn every_flight_is_flown_to_its_end_without_a_finding() {
    let flights = flights();
    std::thread::scope(|scope| {
        for scenario in &flights {
            scope.spawn(move || {
                for seed in 1..=seeds() {
                    let _at = At(&scenario.id, seed);
                    let name = format!("{} with seed {seed}", scenario.id);
                    let script = script(scenario, scenario.standard, seed, rules(scenario.standard), book())
                        .unwrap_or_else(|problem| panic!("{name}: {problem}"));
                    for scene in &script.exchanges {
                        for line in &scene.lines {
                            if let Line::Owes(due, against) = line {
                                assert!(against.is_empty(), "{name}: {}: {against:?}", due.model);
                            }
                        }
                    }
                    let begun = script.exchanges.len();
                    assert_eq!(begun, script.flight.exchanges.len(), "{name}: every exchange is reached");
                }
            });
        }
    });
}

#[test]
fn no_flight_has_an_impossible_clearance() {
    let flights = flights();
    std::thread::scope(|scope| {
        for scenario in &flights {
            scope.spawn(move || {
                let facts = Facts::of(&scenario.airport.id);
                for seed in 1..=seeds() {
                    let _at = At(&scenario.id, seed);
                    let found = violations(&facts, scenario, seed);
                    assert!(found.is_empty(), "{} with seed {seed}: {found:#?}", scenario.id);
                }
            });
        }
    });
}

/// A phase as its file is written, with one passage written otherwise.
fn changed(airport: &str, phase: &str, from: &str, to: &str) -> Scenario {
    let library = Library::new(&rules, book());
    let found = library.airport(airport).expect("built in");
    let wish = Wish { crew: false, ..Wish::of(phase, airport) };
    let text =
        phases::write(Phases::builtin().expect("they are in order"), &found, &wish).expect("it is given");
    assert!(text.contains(from), "{from} is not in\n{text}");
    let text = text.replace(from, to);
    library
        .scenario(&format!("{airport}-{phase}"), text.as_bytes(), None)
        .unwrap_or_else(|found| panic!("{}", render(&found, false)))
}

#[test]
fn an_impossible_clearance_would_be_found() {
    for (airport, phase, from, to, what) in [
        (
            "hvalby",
            "departure",
            "says = '{callsign}, cross runway {crossing}'",
            "says = '{callsign}, continue taxi'",
            "cleared is []",
        ),
        (
            "hvalby",
            "arrival",
            "turn {vector_side} heading {vector_base}",
            "turn right heading {vector_base}",
            "long way",
        ),
        ("hvalby", "arrival", "descend to {altitude}", "descend to 1500 feet", "is below"),
        (
            "hvalby",
            "arrival",
            "descend to {descent}",
            "descend to flight level 55",
            "below the transition level",
        ),
        ("hvalby", "departure", "climb to {climb}", "climb to 9000 feet", "above the transition altitude"),
        (
            "hvalby",
            "departure",
            "contact {tower} {tower.frequency}",
            "contact {tower} 119.105",
            "not published",
        ),
        ("hvalby", "departure", "squawk {squawk}", "squawk 7612", "not to be given out"),
        (
            "skerrow",
            "departure",
            "says = '{callsign}, cross runway {crossing}'",
            "says = '{callsign}, continue taxi'",
            "cleared is []",
        ),
    ] {
        let scenario = changed(airport, phase, from, to);
        let facts = Facts::of(airport);
        let found: Vec<String> = (1..=200).flat_map(|seed| violations(&facts, &scenario, seed)).collect();
        assert!(found.iter().any(|text| text.contains(what)), "{from} as {to}: {found:#?}");
    }
}
