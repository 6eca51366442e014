//! A paper of four items, and three invented people who sat it: one without a fault, one who takes runways for one
//! another, one who leaves things out and makes no call; and a file that was altered.

use hearback::element::{Element, Fault, Severity, Standard, Verdict};
use hearback::paper::marked::{Marked, MarkedItem, Notice, Overruled, Weight};
use hearback::paper::report::{ItemInfo, PaperInfo};
use hearback::record::entry::{Found, Part};
use hearback::record::moment::parse;

struct Item {
    skill: &'static str,
    title: &'static str,
    asked: &'static str,
    model: &'static str,
    wrong: &'static str,
    owed: &'static [(Element, &'static str, Option<&'static str>)],
    /// Element, fault, severity, and what came back.
    fault: (Element, Fault, Severity, Option<&'static str>),
}

const ITEMS: [Item; 4] = [
    Item {
        skill: "icao/line-up/runway",
        title: "Line up: runway",
        asked: "Whimbrel two one four, line up and wait runway zero nine",
        model: "Line up and wait runway zero nine, Whimbrel two one four",
        wrong: "line up and wait runway 27, whimbrel 214",
        owed: &[
            (Element::Instruction, "line up and wait", Some("line-up")),
            (Element::Runway, "09", Some("line-up")),
            (Element::Callsign, "Whimbrel 214", Some("line-up")),
        ],
        fault: (Element::Runway, Fault::Wrong, Severity::Critical, Some("27")),
    },
    Item {
        skill: "icao/frequency-change/frequency",
        title: "Frequency change: frequency",
        asked: "Whimbrel two one four, contact Skerrow Approach one two one decimal eight zero five",
        model: "One two one decimal eight zero five, Whimbrel two one four",
        wrong: "contact approach, whimbrel 214",
        owed: &[
            (Element::Frequency, "121.805", Some("frequency-change")),
            (Element::Callsign, "Whimbrel 214", Some("frequency-change")),
        ],
        fault: (Element::Frequency, Fault::Missing, Severity::Major, None),
    },
    Item {
        skill: "icao/climb/level",
        title: "Climb: level",
        asked: "Whimbrel two one four, climb to flight level one two zero",
        model: "Climb to flight level one two zero, Whimbrel two one four",
        wrong: "climbing, whimbrel 214",
        owed: &[
            (Element::Instruction, "climb", Some("climb")),
            (Element::Level, "FL120", Some("climb")),
            (Element::Callsign, "Whimbrel 214", Some("climb")),
        ],
        fault: (Element::Level, Fault::Missing, Severity::Critical, None),
    },
    Item {
        skill: "call/to-v1",
        title: "Call at V1",
        asked: "(The speed passes V1.)",
        model: "V1",
        wrong: "rotate",
        owed: &[(Element::Call, "V1", Some("to-v1"))],
        fault: (Element::Call, Fault::Wrong, Severity::Major, Some("rotate")),
    },
];

/// The paper.
pub(crate) fn paper() -> PaperInfo {
    PaperInfo {
        title: "Line training, week 2".to_owned(),
        standard: Standard::Icao,
        pass_mark: 75.0,
        fingerprint: "5e1f0c".to_owned(),
        items: (1..)
            .zip(&ITEMS)
            .map(|(number, item)| ItemInfo {
                number,
                skill: item.skill.to_owned(),
                title: item.title.to_owned(),
            })
            .collect(),
    }
}

/// An answer to an item by its number, right or with the fault that belongs to it.
pub(crate) fn answer(number: u32, right: bool) -> MarkedItem {
    let item = &ITEMS[number as usize - 1];
    let (element, fault, severity, given) = item.fault;
    let part = |(owed, value, topic): &(Element, &str, Option<&str>)| Part {
        element: *owed,
        value: (*value).to_owned(),
        phrase: None,
        topic: topic.map(str::to_owned),
        right: right || *owed != element,
        severity: (!right && *owed == element).then_some(severity),
    };
    let expected = item.owed.iter().find(|owed| owed.0 == element).map(|owed| owed.1.to_owned());
    let found = Found {
        element,
        fault,
        severity,
        expected,
        given: given.map(str::to_owned),
        span: None,
        rule: String::new(),
    };
    let verdict = match (right, fault) {
        (true, _) => Verdict::Correct,
        (false, Fault::Missing) => Verdict::Incomplete,
        (false, _) => Verdict::Incorrect,
    };
    MarkedItem {
        corrected: false,
        hinted: false,
        number,
        skill: item.skill.to_owned(),
        title: item.title.to_owned(),
        asked: item.asked.to_owned(),
        model: item.model.to_owned(),
        reply: Some(if right { item.model } else { item.wrong }.to_owned()),
        verdict,
        score: match verdict {
            Verdict::Incorrect => 0,
            Verdict::Incomplete => 50,
            _ => 100,
        },
        findings: if right { Vec::new() } else { vec![found] },
        owed: item.owed.iter().map(part).collect(),
        ms: Some(4000 + 700 * number),
        again: 0,
        overruled: Vec::new(),
    }
}

/// Somebody with four answers.
pub(crate) fn person(name: &str, items: [MarkedItem; 4]) -> Marked {
    let mark = items.iter().map(|item| f64::from(item.score)).sum::<f64>() / 4.0;
    let critical = |f: &Found| f.severity == Severity::Critical && f.fault == Fault::Wrong;
    let outright: Vec<_> = items
        .iter()
        .flat_map(|item| {
            item.findings.iter().filter(|f| critical(f)).map(|f| (item.number, f.element, f.fault))
        })
        .collect();
    let first = name.split(' ').next().unwrap_or(name).to_lowercase();
    Marked {
        file: format!("{first}.toml"),
        name: name.to_owned(),
        sitting: 1,
        started: parse("2026-03-14T08:00:00Z").expect("a moment"),
        seconds: 60 + name.len() as u32,
        notices: Vec::new(),
        counts: true,
        passed: mark >= 75.0 && outright.is_empty(),
        mark,
        outright,
        items: items.into(),
    }
}

/// The three, and the altered file.
pub(crate) fn three() -> Vec<Marked> {
    let mut aino = person("Aino Vesk", [answer(1, true), answer(2, true), answer(3, true), answer(4, true)]);
    aino.items[1].owed[0].right = false;
    aino.items[1].owed[0].severity = Some(Severity::Major);
    aino.items[1].overruled.push(Overruled {
        element: Element::Frequency,
        fault: Fault::Missing,
        reason: "The sheet had a misprint.".to_owned(),
        by: "I. Quell".to_owned(),
        at: parse("2026-03-15T10:00:00Z").expect("a moment"),
    });
    aino.items[2].verdict = Verdict::Nonstandard;
    aino.items[2].score = 90;
    aino.mark = 97.5;
    let mut bram =
        person("Bram Tolleff", [answer(1, false), answer(2, true), answer(3, true), answer(4, false)]);
    bram.items[0].reply = Some("Line up and  wait RUNWAY 27, Whimbrel 214".to_owned());
    bram.items[0].again = 2;
    bram.notices
        .push(Notice { weight: Weight::Note, text: "Sat with another version of the program.".to_owned() });
    let mut cleo =
        person("Cleo Marrin", [answer(1, false), answer(2, false), answer(3, false), answer(4, false)]);
    cleo.items[3].reply = None;
    cleo.items[3].ms = None;
    cleo.items[3].verdict = Verdict::Incomplete;
    cleo.items[3].findings.clear();
    let mut dorit =
        person("Dorit Haune", [answer(1, true), answer(2, true), answer(3, true), answer(4, true)]);
    dorit.counts = false;
    dorit.notices.push(Notice {
        weight: Weight::Refused,
        text: "The file was altered after the paper was sat.".to_owned(),
    });
    vec![aino, bram, cleo, dorit]
}
