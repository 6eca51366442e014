//! Typed values → the canonical forms of the machine contract: `09`, `FL080`, `118.700`.

use super::Heard;
use super::slots::{Builtin, Match, View};
use crate::callsign::Callsign;
use crate::element::Element;
use crate::rules::{RuleSet, SlotRef};
use crate::text::token::{Atom, Kind};
use crate::value::{Value, unpack_taxiway};

/// Canonical value of an element found in `text`.
pub(crate) fn value(rules: &RuleSet, atoms: &[Atom], text: &str, heard: &Heard) -> String {
    match heard.slot {
        None => heard
            .phrase
            .and_then(|p| rules.phrases[p as usize].instruction.clone())
            .unwrap_or_default(),
        Some((slot, found)) => of_match(rules, atoms, text, heard.element, slot, &found),
    }
}

pub(crate) fn of_match(rules: &RuleSet, atoms: &[Atom], text: &str, element: Element, slot: SlotRef, found: &Match) -> String {
    let here = &atoms[found.from as usize..found.to as usize];
    match found.value {
        Value::Runway(n, side) => {
            let side = if side == 0 { String::new() } else { char::from(side).to_string() };
            format!("{n:02}{side}")
        }
        Value::FlightLevel(n) => format!("FL{n:03}"),
        Value::Feet(n) => format!("{n}ft"),
        Value::Heading(n) => format!("{n:03}"),
        Value::Degrees(n) => n.to_string(),
        Value::Knots(n) => format!("{n}kt"),
        Value::Mach(n) => format!("M{}.{:02}", n / 100, n % 100),
        Value::Rate(n) => format!("{n}fpm"),
        Value::Frequency(n) => format!("{}.{:03}", n / 1000, n % 1000),
        Value::Squawk(n) => format!("{n:04}"),
        Value::Hectopascals(n) => format!("{n}hPa"),
        Value::Inches(n) => format!("{}.{:02}inHg", n / 100, n % 100),
        Value::Time(255, m) => format!("{m:02}"),
        Value::Time(h, m) => format!("{h:02}{m:02}"),
        Value::Number(n) if slot == SlotRef::Builtin(Builtin::Temperature) && n >= 100 => format!("-{}", n - 100),
        Value::Number(n) => n.to_string(),
        Value::Letter(c) => char::from(c).to_string(),
        Value::Mark(packed) => unpack(packed),
        Value::Route(items, n) => {
            items[..usize::from(n)].iter().map(|&t| unpack_taxiway(t)).collect::<Vec<_>>().join(" ")
        }
        Value::Name(_) => name(here, text, element),
        Value::Procedure(_, number, letter) => {
            let words = here.iter().position(|a| a.kind == Kind::Digit).unwrap_or(1);
            let letter = if letter == 0 { String::new() } else { char::from(letter).to_string() };
            format!("{} {number}{letter}", name(&here[..words], text, Element::Point))
        }
        Value::Unit(..) => here.iter().filter(|a| !a.is(crate::text::token::SAME_WORD)).map(|a| title(a.span.of(text))).collect::<Vec<_>>().join(" "),
        Value::Wind(0, 0, 0) => "calm".to_owned(),
        Value::Wind(d, s, 0) => format!("{d:03}/{s:02}"),
        Value::Wind(d, s, g) => format!("{d:03}/{s:02}G{g:02}"),
        Value::Aircraft(_) => aircraft(here, text),
        Value::Callsign(_) => Callsign::from_atoms(here, text).map_or(String::new(), |c| c.written()),
        Value::Form(data, form, _) => {
            let mut inner = Vec::new();
            let view = View { atoms, marks: &rules.marks };
            let Some(root) = rules.automaton.slot_root(data) else { return String::new() };
            let start = found.from as usize;
            inside(rules, &view, root, form, start, start, found.to as usize, &mut inner);
            let mut out = rules.slots[data as usize].values[form as usize].clone();
            for (slot, at) in inner {
                let name = match slot {
                    SlotRef::Builtin(b) => b.name(),
                    SlotRef::Data(d) => &rules.slots[d as usize].name,
                };
                let holder = format!("{{{name}}}");
                if out.contains(&holder) {
                    let as_element = Element::parse(name).unwrap_or(Element::Point);
                    let said = of_match(rules, atoms, text, as_element, slot, &at);
                    out = out.replacen(&holder, &said, 1);
                }
            }
            // Inner slots that were not said.
            while let (Some(open), Some(close)) = (out.find('{'), out.find('}')) {
                if close < open {
                    break;
                }
                out.replace_range(open..=close, "");
            }
            out.split_whitespace().collect::<Vec<_>>().join(" ")
        }
    }
}

/// Walks a slot of the grammar again to see what its inner slots hold.
#[expect(clippy::too_many_arguments, reason = "the state of a recursive walk")]
pub(crate) fn inside(rules: &RuleSet, view: &View<'_>, state: u32, form: u16, start: usize, at: usize, end: usize, out: &mut Vec<(SlotRef, Match)>) -> bool {
    if at == end && rules.automaton.accepts(state).iter().any(|a| a.phrase == form) {
        return true;
    }
    if at >= end {
        return false;
    }
    let atom = &view.atoms[at];
    for word in [atom.word, atom.slip] {
        if word != 0
            && let Some(next) = rules.automaton.word(state, word)
            && inside(rules, view, next, form, start, at + 1, end, out)
        {
            return true;
        }
    }
    for &(symbol, next) in rules.automaton.slots(state) {
        let slot = rules.symbols[symbol as usize].slot;
        for found in readings(rules, view, slot, at) {
            out.push((slot, found));
            if inside(rules, view, next, form, start, found.end as usize, end, out) {
                return true;
            }
            out.pop();
        }
    }
    atom.is(crate::text::token::FILLER) && at > start && inside(rules, view, state, form, start, at + 1, end, out)
}

/// Readings of a slot without memory: for output, not for the search.
fn readings(rules: &RuleSet, view: &View<'_>, slot: SlotRef, at: usize) -> Vec<Match> {
    let mut found = Vec::new();
    match slot {
        SlotRef::Builtin(builtin) => view.read(builtin, at, &mut found),
        SlotRef::Data(data) => {
            let Some(root) = rules.automaton.slot_root(data) else { return found };
            for form in 0..rules.slots[data as usize].values.len() {
                let form = u16::try_from(form).unwrap_or(0);
                for end in (at + 1..=view.atoms.len().min(at + 24)).rev() {
                    let mut inner = Vec::new();
                    if inside(rules, view, root, form, at, at, end, &mut inner) {
                        let short = |i: usize| u16::try_from(i).unwrap_or(u16::MAX);
                        let value = Value::Form(data, form, 0);
                        found.push(Match { start: short(at), end: short(end), from: short(at), to: short(end), value, form: 0, cost: 0 });
                    }
                }
            }
        }
    }
    found
}

fn unpack(packed: u64) -> String {
    packed.to_be_bytes().iter().filter(|&&b| b != 0).map(|&b| char::from(b)).collect()
}

fn title(word: &str) -> String {
    let mut chars = word.chars();
    let first: String = chars.next().into_iter().flat_map(char::to_uppercase).collect();
    first + chars.as_str()
}

fn name(atoms: &[Atom], text: &str, element: Element) -> String {
    if atoms.first().is_some_and(|a| a.kind == Kind::Letter) {
        return atoms.iter().map(|a| char::from(a.value)).collect();
    }
    let words: Vec<String> = atoms
        .iter()
        .map(|a| {
            let word = a.span.of(text);
            let place = matches!(element, Element::ClearanceLimit | Element::Unit);
            if !place && word.len() == 5 && word.bytes().all(|b| b.is_ascii_lowercase()) {
                word.to_uppercase()
            } else {
                title(word)
            }
        })
        .collect();
    words.join(" ")
}

fn aircraft(atoms: &[Atom], text: &str) -> String {
    let digits: String = atoms.iter().filter(|a| a.kind == Kind::Digit).map(|a| char::from(b'0' + a.value)).collect();
    let letter = atoms.iter().find(|a| a.kind == Kind::Letter).map_or(String::new(), |a| char::from(a.value).to_string());
    let maker = atoms.iter().find(|a| a.kind == Kind::Word).map_or(String::new(), |a| title(a.span.of(text)));
    match (maker.is_empty(), digits.is_empty()) {
        (false, false) => format!("{maker} {letter}{digits}"),
        (false, true) => maker,
        _ => letter + &digits,
    }
}
