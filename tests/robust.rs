//! Any text in: no panic, spans inside the text, bounded work.

use hearback::callsign::Callsign;
use hearback::element::Standard;
use hearback::judge::{Situation, judge};
use hearback::parse::{Speaker, read};
use hearback::rules::RuleSet;
use proptest::prelude::*;

fn me() -> Situation {
    Situation { callsign: Callsign::parse("Whimbrel 214").expect("a callsign"), shortened: false }
}

const SAY: &str = "Whimbrel two one four, turn left heading two one zero, descend flight level eight zero, QNH one zero one three";

fn spans_hold(text: &str) {
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        let judged = judge(&rules, &me(), SAY, text);
        let spans = judged.findings.iter().filter_map(|f| f.span).chain(judged.heard.iter().map(|h| h.span));
        for span in spans {
            assert!(text.get(span.start as usize..span.end as usize).is_some(), "{span:?} in {text:?}");
        }
        for speaker in [Speaker::Controller, Speaker::Pilot] {
            for span in read(&rules, text, speaker).unparsed {
                assert!(text.get(span.start as usize..span.end as usize).is_some(), "{span:?} in {text:?}");
            }
        }
        let _ = judge(&rules, &me(), text, text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_string(text in ".{0,200}") {
        spans_hold(&text);
    }

    #[test]
    fn any_mixture_of_radio_words(words in proptest::collection::vec(
        prop_oneof!["runway|flight|level|heading|left|right|climb|descend|hold|short|of|via|cleared|to|land|take|off",
                    "[0-9]{1,6}[LRC]?", "one|two|niner|hundred|thousand|decimal|fifty|fourteen|oh|double",
                    "alfa|bravo|[A-Z]{1,5}", "correction|disregard|say|again|i|negative|break", "[,.;!-]", "wibble|é|\u{1b}\\[31m"], 0..40)) {
        spans_hold(&words.join(" "));
    }
}

#[test]
fn a_hundred_thousand_characters_are_judged_at_once() {
    for text in [
        "one ".repeat(25_000),
        "x".repeat(100_000),
        "runway two seven left heading ".repeat(3_400),
        "é".repeat(50_000),
    ] {
        spans_hold(&text);
    }
}

#[test]
fn control_characters_are_only_separators() {
    let rules = RuleSet::builtin(Standard::Icao);
    let judged =
        judge(&rules, &me(), "Whimbrel two one four, squawk 4421", "squawk \u{1b}[2J4421\u{7}, Whimbrel 214");
    assert_eq!(
        judged.findings.len(),
        judged.findings.iter().filter(|f| f.given.is_some() || f.expected.is_some()).count()
    );
}

#[test]
fn hundreds_and_thousands_in_a_callsign_are_not_cut_in_two() {
    for flight in ["1", "10", "30", "100", "300", "1000", "2200", "3000", "10A", "1K"] {
        let own = Situation {
            callsign: Callsign::parse(&format!("Fernway {flight}")).expect("a callsign"),
            shortened: false,
        };
        for said in [
            "one hundred",
            "one thousand",
            "three hundred",
            "three thousand",
            "one zero hundred",
            "twenty two hundred",
            "two hundred",
            "one thousand two hundred",
        ] {
            for standard in Standard::ALL {
                let rules = RuleSet::builtin(standard);
                for text in [
                    format!("Fernway {said}"),
                    format!("Fernway {said} climb {said}"),
                    format!("climb {said} Fernway {said}"),
                ] {
                    let _ = judge(&rules, &own, &text, &text);
                    let _ =
                        judge(&rules, &own, "Fernway three thousand, climb to three thousand feet", &text);
                }
            }
        }
    }
}
