//! Laws of the judge, tried on transmissions made from the grammar itself.
//!
//! `HEARBACK_CASES` sets how many transmissions each law is tried on for each instruction of each rule set.

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

/// Transmissions for each instruction: over a million judgements for all laws together.
const FULL: usize = 480;

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

    /// Fails if the law failed anywhere, and tells one failure of each combination of phrases.
    #[track_caller]
    fn settle(self, law: &str) {
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
const AIR: [&str; 12] = [
    "abnormal.",
    "approach.",
    "arrival.",
    "avoiding.",
    "departure.",
    "heading.",
    "hold.",
    "landing.",
    "level.",
    "route.",
    "speed.",
    "clearance.route",
];

/// What no station gives in one breath, by the beginnings of ids.
const APART: [(&[&str], &[&str]); 11] = [
    // Nobody taxies and climbs: "turn left" would be said of both.
    (&["taxi.", "runway.cancel-take-off", "runway.vacate"], &AIR),
    // Nobody departs and lands, or takes off and taxies, or lines up and holds short.
    (&["departure.", "startup."], &["landing.", "approach.", "arrival.", "runway.vacate"]),
    (&["runway.cancel-take-off", "runway.take-off"], &["taxi."]),
    (&["taxi.hold-short"], &["runway.line-up"]),
    // There is one limit and one heading; a point after "own navigation" goes by that phrase's duties,
    (&["hold.proceed"], &["clearance.limit", "route.own-navigation"]),
    (&["avoiding."], &["heading."]),
    // a verb without a value has none behind it, a bound behind a speed is the speed's,
    (
        &["level.climb-bare", "level.descend-bare", "heading.turn-bare"],
        &["departure.", "level.", "heading.", "clearance.route"],
    ),
    (&["speed."], &["level.never-beyond"]),
    (&["level.or-beyond"], &["abnormal.", "avoiding.", "heading."]),
    // and so do a condition before a change of frequency and "expedite" before "vacate".
    (&["level.condition"], &["comms."]),
    (&["taxi.expedite"], &["runway.vacate-now"]),
];

fn apart(a: &str, b: &str) -> bool {
    let begins = |id: &str, with: &[&str]| with.iter().any(|w| id.starts_with(w));
    APART.iter().any(|(one, other)| begins(a, one) && begins(b, other) || begins(b, one) && begins(a, other))
}

struct Made {
    say: String,
    clauses: Vec<Clause>,
    me: Situation,
}

/// Tries a law on `cases` transmissions for every instruction of every rule set.
fn each(law: &str, cases: usize, mut try_on: impl FnMut(&mut Generator, &RuleSet, usize, usize)) {
    for standard in Standard::ALL {
        let mut g = Generator::new(standard);
        let rules = g.rules.clone();
        for instruction in 0..g.instructions() {
            for n in 0..cases {
                g.begin(law, instruction, n);
                try_on(&mut g, &rules, instruction, n);
            }
        }
    }
}

/// A transmission of one to `most` clauses, one of them of the instruction. A clause that names a callsign
/// is left out: the callsign is what is tried elsewhere.
fn make(g: &mut Generator, instruction: usize, most: usize) -> Made {
    let callsign = g.callsign();
    let n = g.below(most) + 1;
    let mut clauses: Vec<Clause> = Vec::new();
    let mut next = instruction;
    while clauses.len() < n {
        let clause = g.clause(next);
        next = g.any();
        // Two instructions of one kind contradict each other.
        let root = |id: &str| id.split('.').next().unwrap_or("").to_owned();
        let names_one = clause.phrase.starts_with("comms.callsign");
        let fits = |c: &Clause| root(&c.phrase) != root(&clause.phrase) && !apart(&c.phrase, &clause.phrase);
        if !names_one && clauses.iter().all(fits) {
            clauses.push(clause);
        }
    }
    let first = g.below(n);
    clauses.swap(0, first);
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
    each("model", cases(), |g, rules, instruction, _| {
        let standard = g.standard;
        let made = make(g, instruction, 3);
        let model = judge(rules, &made.me, &made.say, "").model;
        let judged = judge(rules, &made.me, &made.say, &model);
        report.tried += 1;
        if judged.verdict != Verdict::Correct {
            report.fail(&made.clauses, told(&made.say, &model, standard, "correct", &judged));
        }
    });
    report.settle("the model read-back is right");
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
    each("same words", cases(), |g, rules, instruction, i| {
        let standard = g.standard;
        let made = make(g, instruction, 2);
        let mut reply = read_back(&made.clauses, i % 2 == 0, &made.me.callsign, standard);
        match i % 5 {
            1 => reply = reply.to_uppercase(),
            2 => reply = without_commas(&reply),
            3 => reply = format!("uh {reply}, good day"),
            4 => reply = format!("and {}", reply.replace(", ", " uh, ")),
            _ => {}
        }
        let judged = judge(rules, &made.me, &made.say, &reply);
        report.tried += 1;
        if judged.verdict > Verdict::Nonstandard {
            report
                .fail(&made.clauses, told(&made.say, &reply, standard, "nothing missing or wrong", &judged));
        }
    });
    report.settle("the same words back are right");
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

/// A transmission with a value that must be read back: number of its clause, its piece, its element.
fn make_with_value(g: &mut Generator, instruction: usize) -> Option<(Made, usize, usize, Element)> {
    let made = make(g, instruction, 2);
    let k = g.below(made.clauses.len());
    let slots = required(g, &made.clauses[k]);
    if slots.is_empty() {
        return None;
    }
    let (piece, element) = slots[g.below(slots.len())];
    Some((made, k, piece, element))
}

/// Elements and values that the engine reads in a text.
fn items(rules: &RuleSet, text: &str, speaker: Speaker) -> Vec<(Element, String)> {
    parse::read(rules, text, speaker).items.into_iter().map(|i| (i.element, i.value)).collect()
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
    each("changed", cases(), |g, rules, instruction, i| {
        let standard = g.standard;
        let Some((made, k, piece, element)) = make_with_value(g, instruction) else { return };
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
        let vague = matches!(element, Element::Unit | Element::Hold | Element::Traffic | Element::TaxiRoute);
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
            || !is_read(rules, &made.say, element, &old.canonical)
        {
            return;
        }
        *value = other.clone();
        if clauses[k].runs_on() {
            return;
        }
        let reply = read_back(&clauses, i % 2 == 0, &made.me.callsign, standard);
        let judged = judge(rules, &made.me, &made.say, &reply);
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
    });
    report.settle("a changed value is wrong");
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
    each("exchanged", 2 * cases(), |g, rules, instruction, i| {
        let standard = g.standard;
        let made = make(g, instruction, 2);
        let Some((x, y)) = exchangeable(g, &made.clauses) else { return };
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
        let read = |at| is_read(rules, &made.say, element, &value(at).canonical);
        if !read(x) || !read(y) || clauses.iter().any(Clause::runs_on) {
            return;
        }
        let reply = read_back(&clauses, i % 2 == 0, &made.me.callsign, standard);
        let judged = judge(rules, &made.me, &made.say, &reply);
        report.tried += 1;
        if judged.verdict != Verdict::Incorrect {
            let wanted = format!("{element} wrong twice");
            report.fail(&made.clauses, told(&made.say, &reply, standard, &wanted, &judged));
        }
    });
    report.settle("exchanged values are wrong");
}

#[test]
fn a_dropped_element_is_missing_and_nothing_is_wrong() {
    let mut report = Report::default();
    each("dropped", cases(), |g, rules, instruction, i| {
        let standard = g.standard;
        let Some((made, k, piece, element)) = make_with_value(g, instruction) else { return };
        // Twice the same element: the other one may answer for it.
        let Piece::Slot { value, slot: own_slot, .. } = &made.clauses[k].pieces[piece] else {
            unreachable!()
        };
        let kin = |e: Element| if e == Element::Star { Element::Sid } else { e };
        let like = |p: &&Piece| match p {
            Piece::Slot { element: Some(e), .. } if kin(*e) == kin(element) => true,
            Piece::Slot { value, .. } if element == Element::Runway => value.spoken.contains("runway"),
            Piece::Slot { slot, .. } => slot == own_slot,
            Piece::Word(_) => false,
        };
        let twin = made.clauses.iter().flat_map(|c| &c.pieces).filter(like).count() > 1;
        // A condition that is only "behind" comes again at the end; "at" is what a level is without a limit.
        let trailing = matches!(
            (element, value.canonical.as_str()),
            (Element::Condition, "behind") | (Element::Restriction, "at")
        );
        if twin
            || trailing
            || element == Element::Unit
            || !is_read(rules, &made.say, element, &value.canonical)
        {
            return;
        }
        let mut clauses = made.clauses.clone();
        clauses[k] = clauses[k].without(piece);
        let reply = read_back(&clauses, i % 2 == 0, &made.me.callsign, standard);
        let judged = judge(rules, &made.me, &made.say, &reply);
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
        // What is left may say something else of its own: "hold" of "hold short of holding point D3".
        let left = clauses[k].text(i % 2 == 0);
        let said = items(rules, &made.say, Speaker::Controller);
        let more = |text: &str, of: fn(Element) -> bool| {
            items(rules, text, Speaker::Pilot).iter().any(|item| of(item.0) && !said.contains(item))
        };
        let says_more = more(&left, |_| true) || more(&reply, |e| e == Element::Instruction);
        let bad = if element == Element::Condition || at {
            judged.verdict != Verdict::Incorrect
        } else {
            (!lost || wrong) && !says_more
        };
        if bad || judged.verdict < Verdict::Incomplete {
            report.fail(
                &made.clauses[k..=k],
                told(&made.say, &reply, standard, &format!("{element} missing"), &judged),
            );
        }
    });
    report.settle("a dropped element is missing");
}

#[test]
fn another_callsign_is_wrong() {
    let other = Callsign::parse("Dunlin 88").expect("a callsign");
    let mut report = Report::default();
    each("callsign", cases() / 4, |g, rules, instruction, _| {
        let standard = g.standard;
        let made = make(g, instruction, 2);
        let reply = read_back(&made.clauses, false, &other, standard);
        let judged = judge(rules, &made.me, &made.say, &reply);
        report.tried += 1;
        if judged.verdict != Verdict::Incorrect
            || !faults(&judged).contains(&(Element::Callsign, Fault::Wrong))
        {
            report.fail(&made.clauses, told(&made.say, &reply, standard, "callsign wrong", &judged));
        }
    });
    report.settle("another callsign is wrong");
}

#[test]
fn roger_alone_and_silence_never_read_back() {
    let mut report = Report::default();
    each("roger", cases() / 4, |g, rules, instruction, _| {
        let standard = g.standard;
        let made = make(g, instruction, 2);
        let owes = made.clauses.iter().any(|c| {
            let phrase = g.phrase(c);
            phrase.kind == PhraseKind::Instruction
                && (!required(g, c).is_empty() || phrase.duty(Element::Instruction) == Duty::ReadBack)
        });
        if !owes {
            return;
        }
        for word in ["roger", "wilco", ""] {
            let reply = if word.is_empty() {
                String::new()
            } else {
                format!("{word}, {}", made.me.callsign.spoken(standard))
            };
            let judged = judge(rules, &made.me, &made.say, &reply);
            report.tried += 1;
            if judged.verdict < Verdict::Incomplete {
                report.fail(&made.clauses, told(&made.say, &reply, standard, "incomplete", &judged));
            }
        }
    });
    report.settle("roger alone reads nothing back");
}
