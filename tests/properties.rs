//! Laws of the judge, tried on transmissions made from the grammar itself.
//!
//! `HEARBACK_CASES` sets how many transmissions each law is tried on in each rule set.

#[path = "properties/generate.rs"]
mod generate;

use generate::{Clause, Generator, Piece};
use hearback::callsign::Callsign;
use hearback::element::{Element, Fault, Severity, Standard, Verdict};
use hearback::judge::judgement::Judgement;
use hearback::judge::{Situation, judge};
use hearback::parse::{self, Speaker};
use hearback::rules::{Duty, PhraseKind, RuleSet};
use std::collections::BTreeMap;

/// Transmissions in each rule set: over a million judgements for all laws together.
const FULL: usize = 66_000;

fn cases() -> usize {
    std::env::var("HEARBACK_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(FULL)
}

/// Failures by phrase, with the first few told in full.
#[derive(Default)]
struct Report {
    tried: usize,
    by_phrase: BTreeMap<String, Vec<String>>,
}

impl Report {
    fn fail(&mut self, clauses: &[Clause], text: String) {
        let ids: Vec<_> = clauses.iter().map(|c| c.phrase.clone()).collect();
        self.by_phrase.entry(ids.join(" + ")).or_default().push(text);
    }

    /// Fails on every failure but the `known` ones, each with the most times it may occur: phrases that,
    /// drawn side by side, can be read in two ways. One that no longer fails must leave the list.
    #[track_caller]
    fn settle(mut self, law: &str, known: &[(&str, usize)]) {
        let full = cases() >= FULL;
        for (id, most) in known {
            let failures = self.by_phrase.remove(*id);
            assert!(
                failures.is_some() || !full,
                "{law}: `{id}` holds now and can leave the list of known failures"
            );
            if let Some(more) = failures.filter(|f| f.len() > *most) {
                self.by_phrase.insert((*id).to_owned(), more);
            }
        }
        let failed: usize = self.by_phrase.values().map(Vec::len).sum();
        let mut told: Vec<_> = self.by_phrase.iter().collect();
        told.sort_by_key(|t| std::cmp::Reverse(t.1.len()));
        let text: Vec<_> = told
            .iter()
            .take(200)
            .map(|(id, all)| format!("{id}: {} times, for instance\n{}", all.len(), all[0]))
            .collect();
        assert!(failed == 0, "{law}: {failed} of {} fail\n{}", self.tried, text.join("\n"));
        assert!(self.tried > 0);
    }
}

fn faults(judged: &Judgement) -> Vec<(Element, Fault)> {
    judged.findings.iter().filter(|f| f.severity > Severity::Advice).map(|f| (f.element, f.fault)).collect()
}

fn told(say: &str, reply: &str, standard: Standard, wanted: &str, judged: &Judgement) -> String {
    let found: Vec<_> = judged
        .findings
        .iter()
        .map(|f| format!("{} {} {:?}->{:?}", f.element, f.fault.name(), f.expected, f.given))
        .collect();
    format!(
        "  [{standard}] say   {say}\n         reply {reply}\n         want  {wanted}\n         got   {} {}",
        judged.verdict.name(),
        found.join("; ")
    )
}

/// Families of phrases for an aircraft in the air.
const AIR: [&str; 11] = [
    "abnormal",
    "approach",
    "arrival",
    "avoiding",
    "departure",
    "heading",
    "hold",
    "landing",
    "level",
    "route",
    "speed",
];

struct Made {
    say: String,
    clauses: Vec<Clause>,
    me: Situation,
}

/// A transmission of one to `most` clauses. A clause that names a callsign is left out where the
/// callsign is what is tried.
fn make(g: &mut Generator, most: usize) -> Made {
    g.forget();
    let callsign = g.callsign();
    let n = g.below(most) + 1;
    let mut clauses: Vec<Clause> = Vec::new();
    while clauses.len() < n {
        let clause = g.clause();
        // Two instructions of one kind contradict each other.
        let root = |id: &str| id.split('.').next().unwrap_or("").to_owned();
        let names_one = clause.phrase.starts_with("comms.callsign");
        // Nobody taxies and climbs in one breath: "turn left" would be said of both.
        let on_ground = |id: &str| id.starts_with("taxi.") || id == "runway.cancel-take-off";
        let in_air = |id: &str| AIR.contains(&root(id).as_str()) || id == "clearance.route";
        let apart = |a: &str, b: &str| on_ground(a) && in_air(b) || in_air(a) && on_ground(b);
        let fits = |c: &Clause| root(&c.phrase) != root(&clause.phrase) && !apart(&c.phrase, &clause.phrase);
        if !names_one && clauses.iter().all(fits) {
            clauses.push(clause);
        }
    }
    let text: Vec<_> = clauses.iter().map(|c| c.text(false)).collect();
    let say = format!("{}, {}", callsign.spoken(g.standard), text.join(", "));
    Made { say, clauses, me: Situation { callsign, shortened: false } }
}

fn read_back(clauses: &[Clause], typed: bool, callsign: &Callsign, standard: Standard) -> String {
    let text: Vec<_> = clauses.iter().map(|c| c.text(typed)).filter(|t| !t.is_empty()).collect();
    let own = if typed { callsign.written() } else { callsign.spoken(standard) };
    format!("{}, {own}", text.join(", "))
}

#[test]
fn the_model_read_back_is_right() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 1);
        let rules = g.rules.clone();
        for _ in 0..cases() {
            let made = make(&mut g, 3);
            let model = judge(&rules, &made.me, &made.say, "").model;
            let judged = judge(&rules, &made.me, &made.say, &model);
            report.tried += 1;
            if judged.verdict != Verdict::Correct {
                report.fail(&made.clauses, told(&made.say, &model, standard, "correct", &judged));
            }
        }
    }
    report.settle(
        "the model read-back is right",
        &[
            ("abnormal.deviation-approved + avoiding.turn-degrees + ssr.ident", 1),
            ("avoiding.turn-degrees + abnormal.deviation-approved", 1),
            ("avoiding.turn-degrees + abnormal.deviation-approved + comms.change-frequency", 1),
            ("runway.vacate + clearance.route + level.descend", 1),
        ],
    );
}

/// Drops commas, except where they keep numbers and letters apart.
fn without_commas(text: &str) -> String {
    let parts: Vec<&str> = text.split(", ").collect();
    let mut out = parts[0].to_owned();
    for part in &parts[1..] {
        let next = part.split(' ').next().unwrap_or("");
        let number = generate::is_number(next) || generate::ends_in_number(&out);
        let letter = next.starts_with(|c: char| c.is_ascii_uppercase());
        out.push_str(if number || letter { ", " } else { " " });
        out.push_str(part);
    }
    out
}

#[test]
fn the_same_words_back_are_right_spoken_and_typed() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 2);
        let rules = g.rules.clone();
        for i in 0..cases() {
            let made = make(&mut g, 2);
            let mut reply = read_back(&made.clauses, i % 2 == 0, &made.me.callsign, standard);
            match i % 5 {
                1 => reply = reply.to_uppercase(),
                2 => reply = without_commas(&reply),
                3 => reply = format!("uh {reply}, good day"),
                4 => reply = format!("and {}", reply.replace(", ", " uh, ")),
                _ => {}
            }
            let judged = judge(&rules, &made.me, &made.say, &reply);
            report.tried += 1;
            if judged.verdict > Verdict::Nonstandard {
                report.fail(
                    &made.clauses,
                    told(&made.say, &reply, standard, "nothing missing or wrong", &judged),
                );
            }
        }
    }
    report.settle(
        "the same words back are right",
        &[
            ("runway.vacate-now + taxi.expedite", 4),
            ("runway.cancel-take-off + startup.delay", 2),
            ("runway.stop + startup.delay", 1),
            ("speed.limit + comms.monitor", 1),
        ],
    );
}

/// Slots of a clause that must be read back: piece, element.
fn required(g: &Generator, clause: &Clause) -> Vec<(usize, Element)> {
    let phrase = g.phrase(clause);
    let slots = clause.pieces.iter().enumerate().filter_map(|(i, p)| match p {
        Piece::Slot { element: Some(element), .. } if phrase.duty(*element) == Duty::ReadBack => {
            Some((i, *element))
        }
        _ => None,
    });
    slots.collect()
}

/// True if the engine reads this element in the transmission: some patterns of different phrases can
/// be read in two ways, and only one of them was meant.
fn is_read(rules: &RuleSet, say: &str, element: Element, canonical: &str) -> bool {
    parse::read(rules, say, Speaker::Controller)
        .items
        .iter()
        .any(|i| i.element == element && i.value.eq_ignore_ascii_case(canonical))
}

#[test]
fn a_changed_value_is_wrong_and_nothing_else_is() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 3);
        let rules = g.rules.clone();
        for i in 0..cases() {
            let made = make(&mut g, 2);
            let k = g.below(made.clauses.len());
            let slots = required(&g, &made.clauses[k]);
            if slots.is_empty() {
                continue;
            }
            let (piece, element) = slots[g.below(slots.len())];
            let mut clauses = made.clauses.clone();
            let Piece::Slot { slot, value, .. } = &mut clauses[k].pieces[piece] else { unreachable!() };
            let old = value.clone();
            let mut other = g.value(slot, 0);
            for _ in 0..20 {
                if other.canonical != old.canonical {
                    break;
                }
                other = g.value(slot, 0);
            }
            // Another station is no error of value; a shorter route is a missing part; a level in other
            // units can be the same number.
            let vague =
                matches!(element, Element::Unit | Element::Hold | Element::Traffic | Element::TaxiRoute);
            let repeated = made
                .clauses
                .iter()
                .flat_map(|c| &c.pieces)
                .filter(|p| matches!(p, Piece::Slot { value, .. } if value.canonical == old.canonical))
                .count()
                > 1;
            if other.canonical == old.canonical
                || vague
                || repeated
                || !is_read(&rules, &made.say, element, &old.canonical)
            {
                continue;
            }
            *value = other.clone();
            if clauses[k].runs_on() {
                continue;
            }
            let reply = read_back(&clauses, i % 2 == 0, &made.me.callsign, standard);
            let judged = judge(&rules, &made.me, &made.say, &reply);
            report.tried += 1;
            // A departure and an arrival are told apart by their place only.
            let kin = |e: Element| if e == Element::Star { Element::Sid } else { e };
            let hit = faults(&judged).iter().any(|f| (kin(f.0), f.1) == (kin(element), Fault::Wrong));
            let only =
                faults(&judged).iter().filter(|f| f.1 == Fault::Wrong || f.1 == Fault::Missing).count() == 1;
            if !hit || judged.verdict != Verdict::Incorrect || !only {
                let wanted = format!("just {element} wrong, {} for {}", other.canonical, old.canonical);
                report.fail(&made.clauses[k..=k], told(&made.say, &reply, standard, &wanted, &judged));
            }
        }
    }
    report.settle(
        "a changed value is wrong",
        &[("route.bearing", 4), ("clearance.recleared", 1), ("level.rate", 1)],
    );
}

/// Two values of one element, of different instructions, each of which must be read back.
fn exchangeable(g: &Generator, clauses: &[Clause]) -> Option<((usize, usize), (usize, usize))> {
    let [a, b] = clauses else { return None };
    let (first, second) = (required(g, a), required(g, b));
    let slot = |c: &Clause, i: usize| match &c.pieces[i] {
        Piece::Slot { slot, value, .. } => (slot.clone(), value.canonical.clone()),
        _ => unreachable!(),
    };
    let pairs = first.iter().flat_map(|x| second.iter().map(move |y| (x, y)));
    let mut pairs = pairs.filter(|(x, y)| {
        let (p, q) = (slot(a, x.0), slot(b, y.0));
        x.1 == y.1 && p.0 == q.0 && p.1 != q.1 && x.1 != Element::Unit
    });
    pairs.next().map(|(x, y)| ((0, x.0), (1, y.0)))
}

#[test]
fn values_exchanged_between_two_instructions_are_wrong() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 7);
        let rules = g.rules.clone();
        for i in 0..2 * cases() {
            let made = make(&mut g, 2);
            let Some((x, y)) = exchangeable(&g, &made.clauses) else { continue };
            let mut clauses = made.clauses.clone();
            let piece = |at: (usize, usize)| made.clauses[at.0].pieces[at.1].clone();
            let value = |at| match piece(at) {
                Piece::Slot { value, .. } => value,
                _ => unreachable!(),
            };
            for (at, from) in [(x, y), (y, x)] {
                let Piece::Slot { value: v, .. } = &mut clauses[at.0].pieces[at.1] else { unreachable!() };
                *v = value(from);
            }
            let Piece::Slot { element: Some(element), .. } = piece(x) else { unreachable!() };
            let read = |at| is_read(&rules, &made.say, element, &value(at).canonical);
            if !read(x) || !read(y) || clauses.iter().any(Clause::runs_on) {
                continue;
            }
            let reply = read_back(&clauses, i % 2 == 0, &made.me.callsign, standard);
            let judged = judge(&rules, &made.me, &made.say, &reply);
            report.tried += 1;
            if judged.verdict != Verdict::Incorrect {
                let wanted = format!("{element} wrong twice");
                report.fail(&made.clauses, told(&made.say, &reply, standard, &wanted, &judged));
            }
        }
    }
    report.settle("exchanged values are wrong", &[("hold.proceed + clearance.limit", 3)]);
}

#[test]
fn a_dropped_element_is_missing_and_nothing_is_wrong() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 4);
        let rules = g.rules.clone();
        for i in 0..cases() {
            let made = make(&mut g, 2);
            let k = g.below(made.clauses.len());
            let slots = required(&g, &made.clauses[k]);
            if slots.is_empty() {
                continue;
            }
            let (piece, element) = slots[g.below(slots.len())];
            // Twice the same element: the other one may answer for it.
            let twin = made
                .clauses
                .iter()
                .flat_map(|c| &c.pieces)
                .filter(|p| matches!(p, Piece::Slot { element: Some(e), .. } if *e == element))
                .count()
                > 1;
            let Piece::Slot { value, .. } = &made.clauses[k].pieces[piece] else { unreachable!() };
            // A condition that is only "behind" comes again at the end; "at" is what a level is without a limit.
            let trailing = matches!(
                (element, value.canonical.as_str()),
                (Element::Condition, "behind") | (Element::Restriction, "at")
            );
            if twin
                || trailing
                || element == Element::Unit
                || !is_read(&rules, &made.say, element, &value.canonical)
            {
                continue;
            }
            let mut clauses = made.clauses.clone();
            clauses[k] = clauses[k].without(piece);
            let reply = read_back(&clauses, i % 2 == 0, &made.me.callsign, standard);
            let judged = judge(&rules, &made.me, &made.say, &reply);
            report.tried += 1;
            let found = faults(&judged);
            let lost = found.iter().any(|f| f.1 == Fault::Missing && !f.0.is_form());
            let wrong = found.iter().any(|f| f.1 == Fault::Wrong);
            // What is left of a condition ("behind") is another condition, and "at" is another limit than
            // "at … or above".
            let before = made.clauses[k].pieces[..piece].iter().rev();
            let at = element == Element::Restriction
                && matches!(
                    before.take(2).collect::<Vec<_>>()[..],
                    [Piece::Slot { element: Some(Element::Level), .. }, Piece::Word(w)] if w == "at"
                );
            let bad = if element == Element::Condition || at {
                judged.verdict != Verdict::Incorrect
            } else {
                !lost || wrong
            };
            if bad || judged.verdict < Verdict::Incomplete {
                report.fail(
                    &made.clauses[k..=k],
                    told(&made.say, &reply, standard, &format!("{element} missing"), &judged),
                );
            }
        }
    }
    report.settle(
        "a dropped element is missing",
        &[
            ("approach.intercept", 18),
            ("service.type", 4),
            ("landing.land", 3),
            ("taxi.hold-short", 3),
            ("runway.cross-conditional", 2),
            ("comms.contact", 1),
            ("departure.turn-out", 1),
            ("taxi.turn", 1),
        ],
    );
}

#[test]
fn another_callsign_is_wrong() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 5);
        let rules = g.rules.clone();
        let other = Callsign::parse("Dunlin 88").expect("a callsign");
        for _ in 0..cases() / 4 {
            let made = make(&mut g, 2);
            let reply = read_back(&made.clauses, false, &other, standard);
            let judged = judge(&rules, &made.me, &made.say, &reply);
            report.tried += 1;
            if judged.verdict != Verdict::Incorrect
                || !faults(&judged).contains(&(Element::Callsign, Fault::Wrong))
            {
                report.fail(&made.clauses, told(&made.say, &reply, standard, "callsign wrong", &judged));
            }
        }
    }
    report.settle("another callsign is wrong", &[]);
}

#[test]
fn roger_alone_and_silence_never_read_back() {
    let mut report = Report::default();
    for standard in Standard::ALL {
        let mut g = Generator::new(standard, 6);
        let rules = g.rules.clone();
        for _ in 0..cases() / 4 {
            let made = make(&mut g, 2);
            let owes = made.clauses.iter().any(|c| {
                let phrase = g.phrase(c);
                phrase.kind == PhraseKind::Instruction
                    && (!required(&g, c).is_empty() || phrase.duty(Element::Instruction) == Duty::ReadBack)
            });
            if !owes {
                continue;
            }
            for word in ["roger", "wilco", ""] {
                let reply = if word.is_empty() {
                    String::new()
                } else {
                    format!("{word}, {}", made.me.callsign.spoken(standard))
                };
                let judged = judge(&rules, &made.me, &made.say, &reply);
                report.tried += 1;
                if judged.verdict < Verdict::Incomplete {
                    report.fail(&made.clauses, told(&made.say, &reply, standard, "incomplete", &judged));
                }
            }
        }
    }
    report.settle(
        "roger alone reads nothing back",
        &[
            ("taxi.after-traffic", 6),
            ("route.bearing + clearance.route", 4),
            ("runway.vacate", 2),
            ("traffic.report + taxi.straight-ahead", 2),
        ],
    );
}
