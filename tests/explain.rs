//! `explain`: what a name is taken for, and what is offered if it is unknown.

use hearback::commands::explain::run;
use hearback::crew::CrewBook;
use hearback::element::Standard;
use hearback::rules::RuleSet;

fn book() -> std::sync::Arc<CrewBook> {
    CrewBook::builtin().expect("the book is in order")
}

/// The first line of the page.
#[track_caller]
fn title(what: &str) -> String {
    let mut out = Vec::new();
    match run(what, &RuleSet::builtin(Standard::Icao), &book(), false, &mut out) {
        Ok(_) => String::from_utf8(out).expect("text").lines().next().expect("a title").to_owned(),
        Err(error) => panic!("{what}: {error}"),
    }
}

#[track_caller]
fn unknown(what: &str) -> String {
    let mut out = Vec::new();
    let error = run(what, &RuleSet::builtin(Standard::Icao), &book(), false, &mut out).expect_err(what);
    assert!(out.is_empty());
    error.to_string()
}

#[test]
fn an_id_comes_first_then_an_element_or_a_procedure_word_then_words_inside() {
    for (what, first) in [
        ("runway.line-up", "runway.line-up   [icao]"),
        ("order.kept", "rule order.kept"),
        ("level", "element level"),
        ("Level Unit", "element level_unit"),
        ("wilco", "moves.wilco   [icao]"),
        ("WILCO", "moves.wilco   [icao]"),
        ("say  again", "moves.say-again   [icao]"),
        ("affirm", "moves.affirm   [icao]"),
        ("line up", "runway.line-up   [icao]"),
        ("hold short", "runway.hold-short   [icao]"),
        ("climb", "level.climb   [icao]"),
        ("to-v1", "to-v1   [call]"),
        ("positive climb", "ef-pos   [call]"),
        ("before-takeoff", "before-takeoff   [checklist]"),
        ("nits.time", "nits   [briefing]"),
    ] {
        assert_eq!(title(what), first, "{what}");
    }
}

#[test]
fn a_finding_is_explained_by_its_element() {
    for (what, first) in [
        ("word nonstandard", "element word"),
        ("runway wrong", "element runway"),
        ("level unit missing", "element level_unit"),
        ("holding_point Misplaced", "element holding_point"),
    ] {
        assert_eq!(title(what), first, "{what}");
    }
}

#[test]
fn a_near_miss_names_the_nearest() {
    for (what, near) in [
        ("affrim", "affirm"),
        ("negatvie", "negative"),
        ("sqwauk", "squawk"),
        ("levl", "level"),
        ("order.kpet", "order.kept"),
    ] {
        let said = unknown(what);
        assert!(said.ends_with(&format!("; did you mean `{near}`?")), "{said}");
        title(near);
    }
    assert!(unknown("qqqqqq").contains("; try an element"));
}
