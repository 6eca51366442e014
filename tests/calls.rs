//! Laws of the calls that a pilot begins: of every call of every rule set.

use hearback::callsign::Callsign;
use hearback::element::{Element, Fault, Severity, Standard, Verdict};
use hearback::grammar::check::faults;
use hearback::judge::judgement::Judgement;
use hearback::judge::{Situation, judge_call};
use hearback::rules::{PhraseKind, RuleSet};

type Values = Vec<(Element, String)>;
/// Values as a situation gives them.
type Given = &'static [(Element, &'static str)];

/// Two values of an element that a situation can give, each unlike the other.
fn samples(call: &str, element: Element) -> Option<[&'static str; 2]> {
    Some(match element {
        Element::Information if call == "call.deviation" => ["weather", "turbulence"],
        Element::Information if call == "call.mayday" => ["284 persons on board", "190 persons on board"],
        Element::Time if call == "call.mayday" => ["120 minutes fuel", "90 minutes fuel"],
        Element::Unit => ["Skerrow Tower", "Skerrow Ground"],
        Element::Stand => ["12", "21"],
        Element::Information => ["K", "M"],
        Element::Runway => ["09", "27L"],
        Element::HoldingPoint => ["C1", "C2"],
        Element::Level => ["FL080", "FL190"],
        Element::Heading => ["210", "120"],
        Element::Speed => ["250kt", "220kt"],
        Element::Point | Element::Route => ["TARNO", "DUNLI"],
        Element::ClearanceLimit => ["Tarnmoor", "Holmfell"],
        Element::Sid | Element::Star => ["MERLO 2A", "BIRLA 3C"],
        Element::Time => ["25", "47"],
        Element::Squawk => ["4421", "2614"],
        Element::Frequency => ["118.700", "121.800"],
        Element::Deviation => ["10 miles left of route", "20 miles right of route"],
        Element::Concern => ["engine failure", "smoke"],
        Element::Proposal => ["returning to Skerrow", "diverting to Brackwater"],
        Element::Approach => ["ILS", "RNP"],
        _ => return None,
    })
}

/// Every call of a rule set with its parts, each value its own.
fn calls(rules: &RuleSet) -> Vec<(String, Values)> {
    let calls = rules.phrases().iter().filter(|p| p.kind == PhraseKind::Call && !p.parts.is_empty());
    calls
        .map(|phrase| {
            let mut seen = Vec::new();
            let mut values = Values::new();
            for &part in &phrase.parts {
                let nth = seen.iter().filter(|e| **e == part).count();
                seen.push(part);
                if let Some(value) = samples(&phrase.id, part).and_then(|s| s.get(nth).copied()) {
                    values.push((part, value.to_owned()));
                }
            }
            (phrase.id.to_string(), values)
        })
        .collect()
}

fn me() -> Situation {
    Situation { callsign: Callsign::parse("Whimbrel 214").expect("a callsign"), shortened: false }
}

fn told(judged: &Judgement) -> String {
    let found = judged
        .findings
        .iter()
        .map(|f| format!("{} {} {:?} {:?}", f.element, f.fault.name(), f.expected, f.given));
    format!("{} {}", judged.verdict.name(), found.collect::<Vec<_>>().join("; "))
}

/// What to tell of a reply, unless all is fine.
fn unless(fine: bool, reply: &str, judged: &Judgement) -> Vec<String> {
    if fine { Vec::new() } else { vec![format!("{reply}\n    {}", told(judged))] }
}

/// Tries every call of every rule set and tells all failures at once.
#[track_caller]
fn every_call(mut law: impl FnMut(&RuleSet, &str, &Values) -> Vec<String>) {
    let mut failed = Vec::new();
    let mut tried = 0;
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        for (call, values) in calls(&rules) {
            tried += 1;
            failed
                .extend(law(&rules, &call, &values).into_iter().map(|f| format!("{call} [{standard}] {f}")));
        }
    }
    assert!(tried > 100, "{tried} calls");
    assert!(failed.is_empty(), "{} failures\n{}", failed.len(), failed.join("\n"));
}

fn model(rules: &RuleSet, call: &str, values: &Values) -> String {
    judge_call(rules, &me(), call, values, "").model
}

#[test]
fn the_model_of_a_call_is_right() {
    every_call(|rules, call, values| {
        let model = model(rules, call, values);
        let judged = judge_call(rules, &me(), call, values, &model);
        unless(judged.verdict == Verdict::Correct, &model, &judged)
    });
}

/// Who calls a station by its name begins with it, and nobody blames him.
#[test]
fn a_station_may_be_named_first() {
    every_call(|rules, call, values| {
        let named = values.iter().any(|v| v.0 == Element::Unit);
        let plain = model(rules, call, values);
        let signal = plain.starts_with("Mayday") || plain.starts_with("Pan");
        if named || signal {
            return Vec::new();
        }
        let reply = format!("Skerrow Tower, {plain}");
        let judged = judge_call(rules, &me(), call, values, &reply);
        unless(judged.verdict == Verdict::Correct, &reply, &judged)
    });
}

#[test]
fn a_part_left_out_is_missing_and_nothing_else_is() {
    every_call(|rules, call, values| {
        let mut failed = Vec::new();
        for (k, (element, value)) in values.iter().enumerate() {
            let mut fewer = values.clone();
            fewer.remove(k);
            let reply = model(rules, call, &fewer);
            // Without the cleared level, the one passed would be said as cleared; some reasons are said anyway.
            let cleared = *element == Element::Level && values[..k].iter().any(|v| v.0 == Element::Level);
            if cleared || reply.contains(value.as_str()) {
                continue;
            }
            // Whether the situation gives the values or only the call is known.
            for given in [values, &Values::new()] {
                let judged = judge_call(rules, &me(), call, given, &reply);
                let found: Vec<_> =
                    judged.findings.iter().filter(|f| f.severity > Severity::Advice).collect();
                let just = matches!(found[..], [f] if f.element == *element && f.fault == Fault::Missing);
                if !just || judged.verdict != Verdict::Incomplete {
                    let count = given.len();
                    failed.push(format!(
                        "without {element} {value}, {count} given: {reply}\n    {}",
                        told(&judged)
                    ));
                }
            }
        }
        failed
    });
}

#[test]
fn a_part_with_another_value_is_wrong_and_nothing_else_is() {
    every_call(|rules, call, values| {
        let mut failed = Vec::new();
        for (k, (element, value)) in values.iter().enumerate() {
            let other =
                samples(call, *element).into_iter().flatten().find(|s| values.iter().all(|v| v.1 != *s));
            let Some(other) = other else { continue };
            let mut changed = values.clone();
            changed[k].1 = other.to_owned();
            let reply = model(rules, call, &changed);
            let judged = judge_call(rules, &me(), call, values, &reply);
            let found: Vec<_> = judged.findings.iter().filter(|f| f.severity > Severity::Advice).collect();
            let just = matches!(found[..], [f] if f.element == *element && f.fault == Fault::Wrong);
            if !just || judged.verdict != Verdict::Incorrect {
                failed.push(format!("{element} {other} for {value}: {reply}\n    {}", told(&judged)));
            }
        }
        failed
    });
}

#[test]
fn a_call_without_its_callsign_lacks_it() {
    every_call(|rules, call, values| {
        let spoken = me().callsign.spoken(rules.standard);
        let whole = model(rules, call, values);
        let reply = whole.replacen(&spoken, "", 1);
        assert_ne!(reply, whole, "{call} names its callsign");
        let judged = judge_call(rules, &me(), call, values, &reply);
        let missing =
            judged.findings.iter().any(|f| f.element == Element::Callsign && f.fault == Fault::Missing);
        unless(missing, &reply, &judged)
    });
}

/// Calls as they are published, by rule set, judged by their parts alone.
#[test]
fn published_calls_are_right() {
    let icao: &[(&str, &str)] = &[
        (
            "call.clearance",
            "Skerrow Delivery, Whimbrel two one four, stand one two, information Kilo, request clearance to Tarnmoor",
        ),
        (
            "call.startup",
            "Skerrow Ground, Whimbrel two one four, stand one two, request start up, information Kilo",
        ),
        (
            "call.departure",
            "Skerrow Departure, Whimbrel two one four, TARNO one Alfa, passing two thousand five hundred feet, climbing flight level eight zero",
        ),
        (
            "call.departure-via",
            "Skerrow Departure, Whimbrel two one four, passing two thousand five hundred feet, climbing via SID to flight level eight zero",
        ),
        ("call.checkin", "Tarnmoor Control, Whimbrel two one four, flight level three five zero"),
        (
            "call.checkin",
            "Tarnmoor Control, Whimbrel two one four, passing flight level one two zero, descending flight level eight zero, heading two one zero",
        ),
        ("call.level", "Whimbrel two one four, request descent"),
        (
            "call.position",
            "Whimbrel two one four, MERLO two five, passing flight level eight zero climbing flight level one two zero, estimating DUNLI four seven, HOLMA next",
        ),
        (
            "call.arrival",
            "Tarnmoor Approach, Whimbrel two one four, descending flight level seven zero, information Lima",
        ),
        ("call.established", "Whimbrel two one four, established ILS runway zero niner"),
        ("call.established", "Skerrow Tower, Whimbrel two one four, established ILS runway zero niner"),
        ("call.going-around", "Whimbrel two one four, going around"),
        ("call.radio-check", "Skerrow Tower, Whimbrel two one four, radio check one one eight decimal seven"),
        ("call.deviation", "Whimbrel two one four, request two zero degrees left due weather"),
        ("call.deviation", "Whimbrel two one four, request two zero miles right of route due weather"),
        ("call.emergency-descent", "Whimbrel two one four, emergency descent to one zero thousand feet"),
        (
            "call.blind",
            "Whimbrel two one four, transmitting blind due to receiver failure, MERLO two five, flight level three five zero, estimating DUNLI four seven, next transmission at three zero",
        ),
        ("call.mayday-fuel", "Mayday, Mayday, Mayday, fuel, Skerrow Approach, Whimbrel two one four"),
        ("call.tcas-ra", "Unable, TCAS RA, Whimbrel two one four"),
        (
            "call.clear-of-conflict",
            "Whimbrel two one four, clear of conflict, TARNO one Alfa departure resumed",
        ),
        (
            "call.mayday",
            "Mayday, Mayday, Mayday, Skerrow Approach, Whimbrel two one four, engine fire, returning to Skerrow, one zero miles south, passing flight level eight zero, heading three six zero",
        ),
        (
            "call.pan",
            "Pan pan, pan pan, pan pan, Tarnmoor Control, Whimbrel two one four, passenger seriously ill, request diversion to Brackwater, three zero miles west of MERLO, flight level three five zero, heading two six zero",
        ),
    ];
    let us: &[(&str, &str)] = &[
        ("call.taxi", "Skerrow Ground, Whimbrel two fourteen, gate one two, ready to taxi, information Kilo"),
        (
            "call.departure",
            "Skerrow Departure, Whimbrel two fourteen, leaving two thousand five hundred, climbing to one zero thousand",
        ),
        (
            "call.departure-via",
            "Skerrow Departure, Whimbrel two fourteen, leaving two thousand five hundred, climbing via the TARNO one departure",
        ),
        ("call.checkin", "Tarnmoor Center, Whimbrel two fourteen, level flight level three five zero"),
        ("call.minimum-fuel", "Skerrow Approach, Whimbrel two fourteen, minimum fuel"),
        (
            "call.mayday",
            "Mayday, Mayday, Mayday, Skerrow Approach, Whimbrel two fourteen, engine fire, I-M-C, request vectors runway two seven left, one zero miles south of Skerrow, heading three six zero, eight thousand, one two zero minutes fuel, two eight four persons on board",
        ),
    ];
    let uk: &[(&str, &str)] = &[
        (
            "call.departure",
            "Skerrow Departure, Whimbrel two one four, TARNO one Alfa, passing altitude two thousand five hundred feet, climbing flight level eight zero",
        ),
        (
            "call.departure",
            "Skerrow Departure, Whimbrel two one four, TARNO one Alfa departure, passing altitude two thousand five hundred feet, climbing flight level eight zero",
        ),
    ];
    let mut failed = Vec::new();
    let sets = [(Standard::Icao, icao), (Standard::Eu, icao), (Standard::Uk, uk), (Standard::Us, us)];
    for (standard, calls) in sets {
        let rules = RuleSet::builtin(standard);
        for (call, reply) in calls {
            let judged = judge_call(&rules, &me(), call, &[], reply);
            if judged.verdict != Verdict::Correct {
                failed.push(format!("{call} [{standard}] {reply}\n    {}", told(&judged)));
            }
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}

/// Values that the situation gives come out of the model in words, as the vocabulary says them.
#[test]
fn a_model_says_values_in_words() {
    let rules = RuleSet::builtin(Standard::Icao);
    for (call, element, value, words) in [
        ("call.deviation", Element::Deviation, "20 miles left", "two zero miles left of track"),
        ("call.deviation", Element::Deviation, "15 degrees right", "one five degrees right"),
        ("call.deviation", Element::Information, "turbulence", "due turbulence"),
        ("call.pan", Element::Proposal, "divert to Brackwater", "diverting to Brackwater"),
        ("call.mayday", Element::Time, "90 minutes", "niner zero minutes fuel"),
        ("call.mayday", Element::Information, "162 on board", "one six two persons on board"),
        ("call.taxi", Element::Information, "K", "information Kilo"),
    ] {
        let said = model(&rules, call, &vec![(element, value.to_owned())]);
        assert!(said.contains(words), "{value}: {said}");
    }
}

/// The errors that the lists of calls warn of, each with just its fault.
#[test]
fn typical_errors_of_calls_are_named() {
    const LEVEL: Given = &[(Element::Level, "FL350")];
    const DEVIATION: Given = &[(Element::Deviation, "20 miles left")];
    let cases: &[(&str, Given, &str, &str)] = &[
        (
            "call.clearance",
            &[],
            "Skerrow Delivery, Whimbrel 214, stand 12, request clearance to Tarnmoor",
            "information missing",
        ),
        (
            "call.taxi",
            &[],
            "Whimbrel 214, Skerrow Ground, stand 12, request taxi, information Kilo",
            "unit misplaced",
        ),
        ("call.departure", &[], "Skerrow Departure, Whimbrel 214, passing 2500 feet", "level missing"),
        (
            "call.departure",
            &[],
            "Skerrow Departure, Whimbrel 214, climbing to flight level 80",
            "level missing",
        ),
        (
            "call.departure",
            &[(Element::Sid, "TARNO 1A")],
            "Skerrow Departure, Whimbrel 214, TARNO 1B, passing 2500 feet, climbing to flight level 80",
            "sid wrong",
        ),
        (
            "call.departure-via",
            &[],
            "Skerrow Departure, Whimbrel 214, passing 2500 feet, climbing via SID",
            "level missing",
        ),
        (
            "call.checkin",
            &[],
            "Tarnmoor Control, Whimbrel 214, with you, flight level 350",
            "word nonstandard",
        ),
        ("call.level", LEVEL, "Whimbrel 214, request climb to 350", "level_unit missing"),
        ("call.level", LEVEL, "Whimbrel 214, request flight level 370", "level wrong"),
        ("call.deviation", &[], "Whimbrel 214, request 20 miles left of track", "information missing"),
        ("call.deviation", &[], "Whimbrel 214, request 20 miles due weather", "deviation missing"),
        (
            "call.deviation",
            DEVIATION,
            "Whimbrel 214, request 20 miles right of track due weather",
            "deviation wrong",
        ),
        ("call.deviation", DEVIATION, "Whimbrel 214, request 20 degrees left due weather", "deviation wrong"),
        (
            "call.arrival",
            &[],
            "Tarnmoor Approach, Whimbrel 214, descending flight level 70",
            "information missing",
        ),
        ("call.radio-check", &[], "Skerrow Tower, Whimbrel 214, radio check", "frequency missing"),
        (
            "call.mayday",
            &[],
            "Mayday, Skerrow Approach, Whimbrel 214, engine fire, returning to Skerrow, flight level 80",
            "instruction nonstandard",
        ),
        (
            "call.mayday",
            &[],
            "Mayday, Mayday, Mayday, Whimbrel 214, engine fire, returning to Skerrow, flight level 80",
            "unit missing",
        ),
        (
            "call.mayday",
            &[],
            "Mayday, Mayday, Mayday, Skerrow Approach, Whimbrel 214, returning to Skerrow, flight level 80",
            "concern missing",
        ),
        (
            "call.mayday",
            &[],
            "Mayday, Mayday, Mayday, Skerrow Approach, Whimbrel 214, engine fire, flight level 80",
            "proposal missing",
        ),
        (
            "call.mayday",
            &[],
            "Mayday, Mayday, Mayday, Skerrow Approach, Whimbrel 214, engine fire, heading 180, flight level 80, returning to Skerrow",
            "order misplaced",
        ),
        (
            "call.mayday",
            &[],
            "Mayday, Mayday, Mayday, Skerrow Approach, Whimbrel 214, engine fire, 10 miles south of Skerrow, returning to Skerrow, flight level 80",
            "order misplaced",
        ),
        (
            "call.pan",
            &[],
            "Pan pan, pan pan, pan pan, Tarnmoor Control, passenger seriously ill, Whimbrel 214, request diversion to Brackwater, flight level 350",
            "order misplaced",
        ),
        (
            "call.pan",
            &[],
            "Pan pan, Tarnmoor Control, Whimbrel 214, passenger seriously ill, request diversion to Brackwater, flight level 350",
            "instruction nonstandard",
        ),
    ];
    let rules = RuleSet::builtin(Standard::Icao);
    let mut failed = Vec::new();
    for (call, given, reply, fault) in cases {
        let given: Values = given.iter().map(|(e, v)| (*e, (*v).to_owned())).collect();
        let judged = judge_call(&rules, &me(), call, &given, reply);
        if faults(&judged) != [*fault] {
            failed.push(format!("{call}, {fault}: {reply}\n    {}", told(&judged)));
        }
    }
    assert!(failed.is_empty(), "{} failures\n{}", failed.len(), failed.join("\n"));
}

/// What a call can say beside its parts: the elements of its patterns, and what the lists of calls add.
fn extras(rules: &RuleSet, call: &str) -> Vec<Element> {
    let phrase = rules.phrase(call).expect("a call");
    let slots = phrase.says.iter().flat_map(|says| says.split('<').skip(1));
    let mut out: Vec<Element> =
        slots.filter_map(|slot| Element::parse(slot.split([':', '>']).next().unwrap_or(slot))).collect();
    match call {
        "call.checkin" => out.extend([Element::Heading, Element::Speed]),
        "call.arrival" => out.extend([Element::Star, Element::Speed]),
        "call.mayday" | "call.pan" => out.push(Element::Heading),
        _ => {}
    }
    out.retain(|e| !phrase.parts.contains(e));
    out.sort();
    out.dedup();
    out
}

/// Whatever else the situation gives is said, and compared.
#[test]
fn what_is_given_beside_the_parts_is_compared_too() {
    let mut tried = 0;
    every_call(|rules, call, values| {
        let mut failed = Vec::new();
        for element in extras(rules, call) {
            let Some([one, other]) = samples(call, element) else { continue };
            tried += 1;
            let with = |value: &str| {
                let mut all = values.clone();
                all.push((element, value.to_owned()));
                all
            };
            let given = with(one);
            let (right, wrong) = (model(rules, call, &given), model(rules, call, &with(other)));
            let judged = judge_call(rules, &me(), call, &given, &right);
            if judged.verdict != Verdict::Correct {
                failed.push(format!("{element} {one}: {right}\n    {}", told(&judged)));
            }
            let judged = judge_call(rules, &me(), call, &given, &wrong);
            if faults(&judged) != [format!("{element} wrong")] {
                failed.push(format!("{element} {other} for {one}: {wrong}\n    {}", told(&judged)));
            }
            let fewer = model(rules, call, values);
            let judged = judge_call(rules, &me(), call, &given, &fewer);
            if faults(&judged) != [format!("{element} missing")] {
                failed.push(format!("without {element} {one}: {fewer}\n    {}", told(&judged)));
            }
        }
        failed
    });
    assert!(tried > 60, "{tried}");
}
