//! Confusion traps: pairs that sound or look alike, each with the reason why the judge must tell them apart.
//!
//! Reasons are from the ranking of read-back faults in published studies and rules named in the grammar;
//! the exchanges are our own.

use hearback::callsign::Callsign;
use hearback::element::{Severity, Standard};
use hearback::judge::{Situation, judge};
use hearback::rules::RuleSet;

/// Rule set, transmission, reply, verdict, faults that must be found, reason.
type Trap = (&'static str, &'static str, &'static str, &'static str, &'static [&'static str], &'static str);

const ME: &str = "Whimbrel 214";

const TRAPS: &[Trap] = &[
    (
        "icao",
        "wind zero eight zero degrees niner knots, runway one four, cleared for take-off",
        "are we cleared for take-off runway one four",
        "nonstandard",
        &["word nonstandard"],
        "whoever asks has not taken the clearance",
    ),
    (
        "icao",
        "cross runway zero five",
        "do you want us to cross runway zero five",
        "nonstandard",
        &["word nonstandard"],
        "whoever asks has not taken the clearance",
    ),
    (
        "icao",
        "squawk four five two one, ident",
        "squawk four five two one, standby",
        "incomplete",
        &["squawk missing"],
        "a transponder on standby takes the aircraft off the screen, and the word also means wait",
    ),
    (
        "icao",
        "hold short of runway two seven",
        "crossing runway two seven",
        "incorrect",
        &["instruction wrong"],
        "holding short and crossing are one word apart and one runway apart",
    ),
    (
        "us",
        "runway two seven, line up and wait",
        "runway two seven, cleared for takeoff",
        "incorrect",
        &["instruction wrong"],
        "lined up is not cleared",
    ),
    (
        "icao",
        "continue approach runway two seven",
        "cleared to land runway two seven",
        "incorrect",
        &["instruction wrong"],
        "continue is no landing clearance",
    ),
    (
        "icao",
        "intercept localizer runway two seven",
        "cleared ILS approach runway two seven",
        "incorrect",
        &["approach wrong"],
        "to intercept is not to descend on the approach",
    ),
    (
        "us",
        "descend and maintain one zero thousand",
        "descend and maintain one one thousand",
        "incorrect",
        &["level wrong"],
        "ten and eleven thousand are the levels most often taken for each other",
    ),
    (
        "us",
        "climb and maintain one one thousand",
        "climb and maintain 10,000",
        "incorrect",
        &["level wrong"],
        "the same trap the other way, typed",
    ),
    (
        "icao",
        "turn left heading two one zero",
        "right heading two one zero",
        "incorrect",
        &["turn wrong"],
        "the heading is right, the way there is not",
    ),
    (
        "icao",
        "line up and wait runway two seven left",
        "lining up runway two seven right",
        "incorrect",
        &["runway wrong"],
        "parallel runways differ in one letter",
    ),
    (
        "icao",
        "line up and wait runway two seven left",
        "lining up runway two seven",
        "incorrect",
        &["runway wrong"],
        "without its letter a runway is another one",
    ),
    (
        "icao",
        "descend to flight level eight zero",
        "descend to altitude eight thousand feet",
        "incorrect",
        &["level wrong"],
        "a flight level and an altitude are measured from different pressures",
    ),
    (
        "icao",
        "QNH one zero zero three",
        "QNH one zero one three",
        "incorrect",
        &["altimeter wrong"],
        "ten hectopascals are some 280 feet",
    ),
    (
        "icao",
        "cross MERLO at flight level one two zero or above",
        "cross MERLO at flight level one two zero",
        "incorrect",
        &["restriction wrong"],
        "at is not at or above",
    ),
    (
        "icao",
        "climb to flight level one six zero, maintain two one zero knots until MERLO",
        "climb to flight level one six zero, maintain two one zero knots",
        "incomplete",
        &["restriction missing"],
        "without its end a speed holds for ever",
    ),
    (
        "us",
        "maintain two thousand until established on the localizer, cleared ILS runway three six approach",
        "maintain two thousand, cleared ILS runway three six approach",
        "incorrect",
        &["restriction missing"],
        "until established is what keeps you above the ground",
    ),
    (
        "icao",
        "expect runway two seven right",
        "cleared to land runway two seven right",
        "incorrect",
        &["instruction wrong"],
        "what may be expected is not given",
    ),
    (
        "icao",
        "traffic, one o'clock, five miles, opposite direction, flight level one one zero",
        "climbing flight level one one zero",
        "incorrect",
        &["level wrong"],
        "a level heard in traffic information is somebody else's",
    ),
    (
        "icao",
        "wind two six zero degrees one two knots, runway two seven cleared to land",
        "heading two six zero, runway two seven cleared to land",
        "incorrect",
        &["heading wrong"],
        "a wind is no heading",
    ),
    (
        "icao",
        "climb to flight level two four zero",
        "climb flight level four zero",
        "incorrect",
        &["level wrong"],
        "two is taken for to, and a digit is gone",
    ),
    (
        "icao",
        "descend to altitude four thousand feet",
        "descending for five thousand feet",
        "incorrect",
        &["level wrong"],
        "for is taken for four",
    ),
    (
        "icao",
        "climb to flight level one two zero, report passing flight level niner zero",
        "climbing flight level niner zero, Wilco",
        "incorrect",
        &["level wrong"],
        "the level of a report is not the level of the clearance",
    ),
    (
        "icao",
        "hold short of runway two seven",
        "not holding short of runway two seven",
        "incorrect",
        &["instruction wrong"],
        "one small word turns it round",
    ),
    (
        "icao",
        "cross runway one eight left, hold short of runway one eight right",
        "cross runway one eight right, hold short of runway one eight left",
        "incorrect",
        &["runway wrong"],
        "both runways are there, each under the other's instruction",
    ),
    (
        "icao",
        "descend to altitude five thousand feet, QNH one zero zero seven",
        "descend to altitude five thousand feet, QFE one zero zero seven",
        "incorrect",
        &["altimeter wrong"],
        "the same digits from another datum are another height",
    ),
    (
        "icao",
        "line up and wait runway three three",
        "lining up, cleared for take-off runway three three",
        "incorrect",
        &["instruction wrong"],
        "a take-off hides behind a line-up that is right",
    ),
    (
        "icao",
        "proceed direct TARNO",
        "direct TARNO then BIRLA",
        "incorrect",
        &["route wrong"],
        "the point after the right one was never given",
    ),
    (
        "icao",
        "climb to flight level one two zero",
        "climb flight level one two zero or one four zero",
        "incorrect",
        &["level wrong"],
        "two answers are none",
    ),
    (
        "icao",
        "expect push back at two five",
        "push back approved at two five",
        "incorrect",
        &["instruction wrong"],
        "what may be expected is not yet approved, and the tug would move",
    ),
    (
        "icao",
        "report ready for push back",
        "pushing back",
        "incorrect",
        &["instruction wrong"],
        "to report is not to go",
    ),
    (
        "icao",
        "proceed direct TARNO",
        "direct TARNO, descending",
        "incorrect",
        &["instruction wrong"],
        "nobody gave a descent",
    ),
    (
        "icao",
        "do not climb above flight level one niner zero",
        "climbing to flight level one niner zero",
        "incorrect",
        &["restriction missing"],
        "a limit is no level to go to",
    ),
    (
        "us",
        "maintain flight level two four zero",
        "maintain flight level two four zero or above",
        "incorrect",
        &["restriction wrong"],
        "room that nobody gave",
    ),
    (
        "icao",
        "when established on the localizer descend on the glide path",
        "descend on the glide path",
        "incorrect",
        &["restriction missing"],
        "before the localizer there is other ground below",
    ),
    (
        "uk",
        "do not cross runway two four",
        "crossing runway two four",
        "incorrect",
        &["runway wrong"],
        "the not is half of it",
    ),
    (
        "icao",
        "do not hold short of runway two seven",
        "holding short of runway two seven",
        "incorrect",
        &["runway wrong"],
        "to wait is safe, but it is the reverse of what was said",
    ),
    (
        "icao",
        "do not go around",
        "going around",
        "incorrect",
        &["instruction wrong"],
        "the not is half of it",
    ),
    (
        "icao",
        "line up and wait runway two seven",
        "behind the departing Airbus line up and wait runway two seven behind",
        "incorrect",
        &["condition wrong"],
        "who waits for somebody that nobody named has heard another clearance",
    ),
    (
        "icao",
        "runway two seven, cleared for take-off",
        "expect cleared for take-off runway two seven",
        "incomplete",
        &["instruction missing"],
        "what is expected is not taken",
    ),
    (
        "icao",
        "climb to flight level one two zero",
        "expect climb flight level one two zero",
        "incomplete",
        &["level missing"],
        "what is expected is not done",
    ),
];

#[test]
fn what_sounds_alike_is_told_apart() {
    let me = Situation { callsign: Callsign::parse(ME).expect("a callsign"), shortened: false };
    let mut wrong = Vec::new();
    for (standard, say, reply, verdict, faults, reason) in TRAPS {
        let standard = Standard::parse(standard).expect("a rule set");
        let rules = RuleSet::builtin(standard);
        let spoken = me.callsign.spoken(standard);
        let judged = judge(&rules, &me, &format!("{spoken}, {say}"), &format!("{reply}, {spoken}"));
        let found: Vec<String> = judged
            .findings
            .iter()
            .filter(|f| f.severity > Severity::Advice)
            .map(|f| format!("{} {}", f.element, f.fault.name()))
            .collect();
        if judged.verdict.name() != *verdict || !faults.iter().all(|f| found.iter().any(|g| g == f)) {
            wrong.push(format!("{say} / {reply}: {} {found:?}, but {reason}", judged.verdict.name()));
        }
        // The same words back are never a trap.
        let back = judge(&rules, &me, &format!("{spoken}, {say}"), &judged.model);
        if back.verdict.name() != "correct" {
            wrong.push(format!("{say} / {}: {}", judged.model, back.verdict.name()));
        }
    }
    assert!(wrong.is_empty(), "{} of {} traps\n{}", wrong.len(), TRAPS.len(), wrong.join("\n"));
}
