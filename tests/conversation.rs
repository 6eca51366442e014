//! What is said around read-backs: short callsigns, other aircraft, corrections, questions, half a transmission.
//!
//! Rules behind the rows: Annex 10 Volume II 5.2.1.7 (callsigns), 5.2.1.9.4 (corrections and read-back),
//! PANS-ATM 12.3.1, as the grammar names them; the exchanges are our own.

use hearback::callsign::Callsign;
use hearback::element::{Element, Fault, Severity, Standard};
use hearback::judge::{Situation, judge, shortens};
use hearback::rules::RuleSet;

/// Own callsign, transmission, reply, verdict, faults that must be found.
type Row = (&'static str, &'static str, &'static str, &'static str, &'static [&'static str]);

const ROWS: &[Row] = &[
    // Two callsigns, and which of them it is.
    (
        "Whimbrel 214",
        "Whimbrel two one four, line up and wait runway two seven",
        "line up and wait runway two seven, Whimbrel two one four, Whimbrel two one five",
        "incorrect",
        &["callsign wrong"],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, line up and wait runway two seven",
        "line up and wait runway two seven, Whimbrel two one four, Whimbrel two one four",
        "correct",
        &[],
    ),
    // A word of agreement behind a correction is no other instruction.
    (
        "Whimbrel 214",
        "Whimbrel two one four, cross runway three six",
        "crossing runway two six, correction, runway three six, wilco, Whimbrel two one four",
        "correct",
        &[],
    ),
    // A time as it is written.
    (
        "Whimbrel 214",
        "Whimbrel two one four, released for departure at two three five six",
        "released for departure at 23:56, Whimbrel two one four",
        "correct",
        &[],
    ),
    // A callsign that is shortened by the station, and one that is not.
    (
        "QZ-ABD",
        "Quebec Bravo Delta, descend to altitude three thousand feet",
        "descend altitude three thousand feet, Quebec Bravo Delta",
        "correct",
        &[],
    ),
    (
        "QZ-ABD",
        "Quebec Bravo Delta, descend to altitude three thousand feet",
        "descend altitude 3000 ft qbd",
        "correct",
        &[],
    ),
    (
        "QZ-ABD",
        "Quebec Zulu Alfa Bravo Delta, descend to altitude three thousand feet",
        "descend altitude 3000 ft qbd",
        "nonstandard",
        &["callsign nonstandard"],
    ),
    // Blocked: what was lost is asked for, what was heard is read back.
    ("Whimbrel 214", "Whimbrel two one four, …", "say again, Whimbrel two one four", "correct", &[]),
    (
        "Whimbrel 214",
        "Whimbrel two one four, turn left heading two one five, …",
        "left heading two one five, say again all after heading, Whimbrel 214",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, turn left heading two one five, …",
        "left heading two one five, Whimbrel 214",
        "incomplete",
        &["instruction missing"],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, turn left heading two one five, …",
        "left heading two five one, say again all after heading, Whimbrel 214",
        "incorrect",
        &["heading wrong"],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, descend to flight level eight zero, turn left heading two one five",
        "heading two two five, say again level, Whimbrel 214",
        "incorrect",
        &["heading wrong"],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, … flight level eight zero",
        "descending flight level eight zero, Whimbrel 214",
        "incomplete",
        &["instruction missing"],
    ),
    // Another aircraft: silence is right.
    ("Whimbrel 214", "Whimbrel two four one, climb to flight level one two zero", "", "correct", &[]),
    (
        "Whimbrel 214",
        "Whimbrel two four one, climb to flight level one two zero",
        "climbing flight level one two zero, Whimbrel two one four",
        "incorrect",
        &["callsign wrong"],
    ),
    (
        "Whimbrel 214",
        "All stations, Skerrow Control, stop transmitting, mayday",
        "roger, Whimbrel two one four",
        "incorrect",
        &["callsign wrong"],
    ),
    // Two aircraft in one transmission.
    (
        "Whimbrel 214",
        "Whimbrel two one four, turn left heading two one zero, break break, Harebell five two, climb to flight level niner zero",
        "left heading two one zero, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Harebell five two, climb to flight level niner zero, break break, Whimbrel two one four, turn left heading two one zero",
        "climbing flight level niner zero, Whimbrel two one four",
        "incorrect",
        &["level wrong", "heading missing"],
    ),
    // The station corrects itself, or the pilot.
    (
        "Whimbrel 214",
        "Whimbrel two one four, climb to flight level one two zero, correction, flight level one three zero",
        "climbing flight level one three zero, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, climb to flight level one two zero, correction, flight level one three zero",
        "climbing flight level one two zero, Whimbrel two one four",
        "incorrect",
        &["level wrong"],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, negative, I say again, flight level one two zero",
        "flight level one two zero, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, climb to flight level one two zero",
        "climbing flight level one one zero, correction, one two zero, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, climb to flight level one two zero",
        "climbing flight level one two zero, correction, one one zero, Whimbrel two one four",
        "incorrect",
        &["level wrong"],
    ),
    // Questions, and answers that are none.
    (
        "Whimbrel 214",
        "Whimbrel two one four, how do you read",
        "readability five, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, how do you read",
        "Whimbrel two one four",
        "incomplete",
        &["instruction missing"],
    ),
    // Half a transmission, and asking for the rest.
    ("Whimbrel 214", "Whimbrel two one four, climb to", "say again, Whimbrel two one four", "correct", &[]),
    (
        "Whimbrel 214",
        "Whimbrel two one four, climb to flight level one two zero, squawk four five two one",
        "say again all after climb, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, climb to flight level one two zero",
        "unable due icing, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, change your call sign to Larkspur eight eight until further advised",
        "changing call sign to Larkspur eight eight, Whimbrel two one four",
        "correct",
        &[],
    ),
    (
        "Whimbrel 214",
        "Whimbrel two one four, change your call sign to Larkspur eight eight until further advised",
        "wilco",
        "incomplete",
        &["callsign missing"],
    ),
];

#[test]
fn conversation_is_followed() {
    let rules = RuleSet::builtin(Standard::Icao);
    let mut wrong = Vec::new();
    for (own, say, reply, verdict, faults) in ROWS {
        let me = Situation { callsign: Callsign::parse(own).expect("a callsign"), shortened: false };
        let judged = judge(&rules, &me, say, reply);
        let found: Vec<String> = judged
            .findings
            .iter()
            .filter(|f| f.severity > Severity::Advice)
            .map(|f| format!("{} {}", f.element, f.fault.name()))
            .collect();
        let extra = faults.is_empty() && !found.is_empty();
        if judged.verdict.name() != *verdict || extra || !faults.iter().all(|f| found.iter().any(|g| g == f))
        {
            wrong.push(format!("{say} / {reply}: want {verdict}, got {} {found:?}", judged.verdict.name()));
        }
    }
    assert!(wrong.is_empty(), "{} of {}\n{}", wrong.len(), ROWS.len(), wrong.join("\n"));
}

#[test]
fn a_callsign_that_the_station_shortened_stays_short() {
    let rules = RuleSet::builtin(Standard::Icao);
    let callsign = Callsign::parse("QZ-ABD").expect("a callsign");
    assert!(shortens(&rules, &callsign, "Quebec Bravo Delta, contact Tower one one eight decimal one"));
    assert!(!shortens(
        &rules,
        &callsign,
        "Quebec Zulu Alfa Bravo Delta, contact Tower one one eight decimal one"
    ));
    let say = "Quebec Zulu Alfa Bravo Delta, descend to flight level eight zero";
    let reply = "descend to flight level eight zero, Quebec Bravo Delta";
    let verdict = |shortened| {
        judge(&rules, &Situation { callsign: callsign.clone(), shortened }, say, reply).verdict.name()
    };
    assert_eq!((verdict(false), verdict(true)), ("nonstandard", "correct"));
}

#[test]
fn names_in_any_letters_do_no_harm() {
    let rules = RuleSet::builtin(Standard::Icao);
    let me = Situation { callsign: Callsign::parse("Whimbrel 214").expect("a callsign"), shortened: false };
    let say = "Whimbrel two one four, cleared to Tarnmoor, contact Skerrow Ground one two one decimal niner";
    for name in ["élarnmoor", "ärnmoor", "é", "漢字漢字", "Ťarnmoor", "🛫"] {
        for reply in [format!("cleared to {name}, {name} ground 121.9 Whimbrel 214"), name.to_owned()] {
            let judged = judge(&rules, &me, say, &reply);
            assert_ne!(judged.verdict.name(), "correct", "{reply}");
        }
    }
}

#[test]
fn letters_behind_a_flight_number_make_another_flight_of_it() {
    let rules = RuleSet::builtin(Standard::Icao);
    let me = Situation { callsign: Callsign::parse("Whimbrel 214").expect("a callsign"), shortened: false };
    let say = "Whimbrel two one four, cross runway zero five";
    for (reply, right) in [
        ("crossing runway zero five, whimbrel 214", true),
        ("crossing runway zero five, whimbrel 214 alfa", false),
        ("whimbrel 214A, crossing runway zero five", false),
    ] {
        let judged = judge(&rules, &me, say, reply);
        let wrong = judged.findings.iter().any(|f| f.element == Element::Callsign && f.fault == Fault::Wrong);
        assert_eq!(wrong, !right, "{reply}: {:?}", judged.findings);
    }
}

#[test]
fn letters_of_a_route_are_no_registration() {
    let rules = RuleSet::builtin(Standard::Eu);
    let me = Situation { callsign: Callsign::parse("Harebell 52").expect("a callsign"), shortened: false };
    let say = "Harebell five two, taxi to holding point Delta one, runway one three, via Papa, Alfa, Charlie and Delta, hold short of runway zero four";
    for (route, right) in [("papa alfa charlie delta", true), ("papa alfa delta charlie", false)] {
        let reply = format!(
            "holding point delta one, runway one three, {route}, holding short of runway zero four, harebell 52"
        );
        let judged = judge(&rules, &me, say, &reply);
        assert_eq!(judged.findings.is_empty(), right, "{reply}: {:?}", judged.findings);
    }
}
