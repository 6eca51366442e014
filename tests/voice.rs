//! What the other voice says to a read-back, by rule set.

use hearback::callsign::Callsign;
use hearback::element::{Element, Standard};
use hearback::judge::{Situation, judge};
use hearback::rules::RuleSet;
use hearback::session::respond::{Response, Said, Voice};

/// What the other voice says to a reply, or nothing.
#[track_caller]
fn answer(standard: Standard, say: &str, reply: &str, tries: u8) -> Option<String> {
    let rules = RuleSet::builtin(standard);
    let callsign = Callsign::parse("Whimbrel 214").expect("a callsign");
    let situation = Situation { callsign, shortened: false };
    let spoken = situation.callsign.spoken(standard);
    let judgement = judge(&rules, &situation, say, reply);
    let voice = Voice { standard, callsign: &spoken, station: "Skerrow Tower" };
    let said = Said { text: say, items: &judgement.said };
    match voice.to_readback(said, &judgement, tries) {
        Response::Accept(text) => text,
        Response::Again { text, .. } => Some(text),
    }
}

#[test]
fn the_other_voice_answers_by_its_rule_set() {
    use Standard::{Eu, Icao, Uk, Us};
    let climb = "Whimbrel two one four, climb to flight level eight zero";
    let wrong = "climbing flight level niner zero, whimbrel 214";
    let us_climb = "Whimbrel two fourteen, climb and maintain eight thousand";
    let us_wrong = "climb and maintain niner thousand, whimbrel 214";
    let short = "Whimbrel two one four, taxi to holding point Bravo one, runway two seven, via Alfa, hold short of runway one five";
    let stand =
        "Whimbrel two one four, taxi to stand three via Alfa, Bravo and Delta, follow the Airbus ahead";
    let rows = [
        (
            Icao,
            stand,
            "stand two via alfa bravo delta, following the airbus, whimbrel 214",
            0,
            Some(
                "Whimbrel two one four, negative, I say again, taxi to stand three via Alfa, Bravo and Delta",
            ),
        ),
        (Icao, climb, "climbing flight level eight zero, whimbrel 214", 0, None),
        (
            Icao,
            climb,
            wrong,
            0,
            Some("Whimbrel two one four, negative, I say again, climb to flight level eight zero"),
        ),
        (
            Eu,
            climb,
            wrong,
            0,
            Some("Whimbrel two one four, negative, I say again, climb to flight level eight zero"),
        ),
        (Icao, climb, "roger, whimbrel 214", 0, Some("Whimbrel two one four, read back")),
        (Icao, climb, "climbing flight level eight zero", 0, Some("Confirm Whimbrel two one four")),
        (Uk, climb, "climbing flight level eight zero", 0, Some("Confirm call sign")),
        (
            Us,
            us_climb,
            us_wrong,
            0,
            Some("Whimbrel two fourteen, negative, I say again, climb and maintain eight thousand"),
        ),
        (
            Icao,
            "Whimbrel two one four, turn left heading two one zero, squawk four five two one",
            "right heading two one zero, squawk four five two one, whimbrel 214",
            0,
            Some("Whimbrel two one four, negative, I say again, turn left heading two one zero"),
        ),
        (
            Icao,
            short,
            "holding point bravo one, runway two seven, via alfa, whimbrel 214",
            0,
            Some("Whimbrel two one four, negative, I say again, hold short of runway one five"),
        ),
        (
            Icao,
            "Whimbrel two one four, wind two six zero degrees one zero knots, runway two seven, cleared for take-off",
            "runway two six, cleared for take-off, whimbrel 214",
            0,
            Some("Whimbrel two one four, negative, I say again, runway two seven, cleared for take-off"),
        ),
        (
            Icao,
            "Whimbrel two one four, behind the landing A three two zero on short final, line up and wait runway two seven, behind",
            "behind the landing a320 on short final, line up and wait runway two seven, behind, whimbrel 214",
            0,
            Some("Whimbrel two one four, correct"),
        ),
        (
            Us,
            "Whimbrel two fourteen, runway three six left, taxi via Alfa, hold short of runway two seven",
            "whimbrel 214",
            0,
            Some("Whimbrel two fourteen, read back hold short instructions"),
        ),
    ];
    for (standard, say, reply, tries, expected) in rows {
        assert_eq!(answer(standard, say, reply, tries).as_deref(), expected, "{standard}: {say}: {reply}");
    }
}

#[test]
fn another_slip_in_a_whole_read_back_after_a_correction_is_named() {
    use hearback::judge::judgement::Finding;
    use hearback::scenario::basis::Basis;
    use hearback::session::respond::Open;
    let rules = RuleSet::builtin(Standard::Icao);
    let callsign = Callsign::parse("Whimbrel 214").expect("a callsign");
    let say = "Whimbrel two one four, cleared to Tarnmoor, climb via SID to four thousand feet, squawk six three four five";
    let basis = Basis::Transmission {
        say: say.to_owned(),
        shortened: false,
        part: Some("Whimbrel two one four, negative, I say again, squawk six three four five".to_owned()),
        open: vec![Open { element: Element::Squawk, value: Some("6345".to_owned()) }],
    };
    let found = |reply: &str| -> Vec<String> {
        let judgement = basis.judge_radio(&rules, &callsign, reply).expect("it is of the radio");
        let name = |f: &Finding| format!("{} {}", f.element.name(), f.fault.name());
        judgement.findings.iter().map(name).collect()
    };
    assert_eq!(found("squawk 6345, whimbrel 214"), Vec::<String>::new());
    assert_eq!(
        found("cleared to tarnmoor, climb via SID to 4000 feet, squawk 6345, whimbrel 214"),
        Vec::<String>::new()
    );
    assert_eq!(
        found("cleared to tarnmoor, climb via SID to 5000 feet, squawk 6345, whimbrel 214"),
        ["level wrong"]
    );
    assert_eq!(found("squawk 6354, whimbrel 214"), ["squawk wrong"]);
}
