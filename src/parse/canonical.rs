//! Typed values → the canonical forms of the machine contract: `09`, `FL080`, `118.700`.

use super::slots::{Builtin, Match};
use super::{Heard, Parsed};
use crate::callsign::Callsign;
use crate::element::Element;
use crate::rules::{RuleSet, SlotRef};
use crate::text::token::{Atom, Kind};
use crate::value::{Value, unpack_taxiway};

/// Canonical value of an element found in `text`.
pub(crate) fn value(rules: &RuleSet, parsed: &Parsed, text: &str, heard: &Heard) -> String {
    match heard.slot {
        None => heard.phrase.and_then(|p| rules.phrases[p as usize].instruction.clone()).unwrap_or_default(),
        Some((slot, found)) => of_match(rules, parsed, text, heard.element, slot, &found),
    }
}

pub(crate) fn of_match(
    rules: &RuleSet,
    parsed: &Parsed,
    text: &str,
    element: Element,
    slot: SlotRef,
    found: &Match,
) -> String {
    let here = &parsed.s.atoms[found.from as usize..found.to as usize];
    match found.value {
        Value::Runway(n, side) => {
            let side = if side == 0 { String::new() } else { char::from(side).to_string() };
            format!("{n:02}{side}")
        }
        Value::FlightLevel(n) => format!("FL{n:03}"),
        Value::Feet(n) => format!("{n}ft"),
        Value::Heading(n) | Value::Bearing(n) => format!("{n:03}"),
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
        Value::Number(n) if slot == SlotRef::Builtin(Builtin::Temperature) && n >= 100 => {
            format!("-{}", n - 100)
        }
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
        Value::Unit(..) => here
            .iter()
            .filter(|a| !a.is(crate::text::token::SAME_WORD))
            .map(|a| title(a.span.of(text)))
            .collect::<Vec<_>>()
            .join(" "),
        Value::Wind(0, 0, 0) => "calm".to_owned(),
        Value::Wind(d, s, 0) => format!("{d:03}/{s:02}"),
        Value::Wind(d, s, g) => format!("{d:03}/{s:02}G{g:02}"),
        Value::Aircraft(_) => aircraft(here, text),
        Value::Callsign(_) => Callsign::from_atoms(here, text).map_or(String::new(), |c| c.written()),
        Value::Form(data, form, _) => {
            let slot = &rules.slots[data as usize];
            let mut out = String::new();
            let mut rest = slot.values[form as usize].as_str();
            let mut taken = 0u32;
            while let Some((before, tail)) = rest.split_once('{') {
                out.push_str(before);
                let (holder, tail) = tail.split_once('}').unwrap_or((tail, ""));
                rest = tail;
                // The first inner reading of that slot that has not been used.
                let inner = inner(parsed, found)
                    .enumerate()
                    .find(|(k, m)| taken & (1 << k) == 0 && slot_name(rules, m.1) == holder);
                if let Some((k, (m, inner_slot))) = inner {
                    taken |= 1 << k;
                    let as_element = Element::parse(holder).unwrap_or(Element::Point);
                    out.push_str(&of_match(rules, parsed, text, as_element, inner_slot, &m));
                }
            }
            out.push_str(rest);
            out.split_whitespace().collect::<Vec<_>>().join(" ")
        }
    }
}

/// The readings inside a slot of the grammar.
pub(crate) fn inner<'p>(parsed: &'p Parsed, found: &Match) -> impl Iterator<Item = (Match, SlotRef)> + 'p {
    let (first, count) = found.inner;
    let range = first as usize..first as usize + count as usize;
    parsed.s.inner.get(range).unwrap_or(&[]).iter().map(|&m| {
        let m = parsed.s.matches[m as usize];
        (m, m.slot)
    })
}

pub(crate) fn slot_name(rules: &RuleSet, slot: SlotRef) -> &str {
    match slot {
        SlotRef::Builtin(b) => b.name(),
        SlotRef::Data(d) => &rules.slots[d as usize].name,
    }
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
    // Spelt, or with digits: "PR905".
    if atoms.first().is_some_and(|a| a.kind == Kind::Letter) || atoms.iter().any(|a| a.kind == Kind::Digit) {
        return atoms
            .iter()
            .map(|a| match a.kind {
                Kind::Letter => char::from(a.value).to_string(),
                Kind::Digit => a.value.to_string(),
                _ => a.span.of(text).to_uppercase(),
            })
            .collect();
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
    let digits: String =
        atoms.iter().filter(|a| a.kind == Kind::Digit).map(|a| char::from(b'0' + a.value)).collect();
    let letter = atoms
        .iter()
        .find(|a| a.kind == Kind::Letter)
        .map_or(String::new(), |a| char::from(a.value).to_string());
    let maker = atoms.iter().find(|a| a.kind == Kind::Word).map_or(String::new(), |a| title(a.span.of(text)));
    match (maker.is_empty(), digits.is_empty()) {
        (false, false) => format!("{maker} {letter}{digits}"),
        (false, true) => maker,
        _ => letter + &digits,
    }
}
