//! Where a slot can begin: bare digits begin a phrase only where something says what they are.

use super::automaton::{SlotSet, Unit};
use super::cover::Hint;
use super::slots::Builtin;
use crate::rules::{RuleSet, SlotRef};
use crate::text::token::{Atom, BREAK, Kind};
use crate::value::{Value, channel};

/// Fills `begins`, the slots that can begin at each atom, and `leads`: at a digit a phrase begins with
/// a slot only where a unit behind the digits allows it, or where an expected value begins with that digit.
pub(super) fn lead(
    rules: &RuleSet,
    atoms: &[Atom],
    hints: &[Hint<'_>],
    begins: &mut Vec<SlotSet>,
    leads: &mut Vec<SlotSet>,
) {
    let marks = &rules.marks;
    let mut expected = [0 as SlotSet; 10];
    for hint in hints {
        let digits = hint.digits;
        for (d, set) in expected.iter_mut().enumerate() {
            if digits & (1 << d) != 0 {
                *set |= 1 << hint.slot.bit();
            }
        }
    }
    let frequency = 1 << SlotRef::Builtin(Builtin::Frequency).bit();
    leads.clear();
    leads.resize(atoms.len(), 0);
    begins.clear();
    begins.resize(atoms.len(), 0);
    let mut unit = None;
    let mut word = 0;
    // Digits from here on without a pause.
    let mut count = 0;
    for i in (0..atoms.len()).rev() {
        let atom = &atoms[i];
        if atom.kind == Kind::Digit {
            let next = atoms.get(i + 1).filter(|a| !a.is(BREAK));
            count = if next.is_some_and(|a| a.kind == Kind::Digit) { count + 1 } else { 1 };
            if next.is_none_or(|a| a.kind != Kind::Digit) {
                unit = next.and_then(|a| Unit::of(a, marks));
                word = next.map_or(0, |a| if a.word != 0 { a.word } else { a.slip });
            }
            begins[i] = rules.automaton.begins(atom, word, marks);
            let by_unit = unit.map_or(0, |u| rules.automaton.before(u));
            let first = i == 0 || atoms[i - 1].kind != Kind::Digit || atom.is(BREAK);
            let channel = if first && count == 6 && is_channel(&atoms[i..i + 6]) { frequency } else { 0 };
            leads[i] = begins[i] & (by_unit | channel | expected[usize::from(atom.value)]);
        } else {
            begins[i] = rules.automaton.begins(atom, 0, marks);
            leads[i] = begins[i];
        }
    }
}

/// True for six digits that name a channel of the aeronautical band.
fn is_channel(digits: &[Atom]) -> bool {
    let values: [u8; 6] = std::array::from_fn(|i| digits[i].value);
    let megahertz = values[..3].iter().fold(0, |n, &d| n * 10 + u32::from(d));
    (118..=136).contains(&megahertz) && channel(megahertz, &values[3..]).is_some()
}

/// The digits with which a value can begin, as bits.
pub(crate) fn first_digits(value: &Value) -> u16 {
    let head = |mut n: u32| {
        while n >= 10 {
            n /= 10;
        }
        1u16 << n
    };
    let padded = |n: u32, least: u32| if n < least { head(n) | 1 } else { head(n) };
    match *value {
        Value::Runway(n, _) => padded(u32::from(n), 10),
        Value::FlightLevel(n) => padded(u32::from(n), 100),
        Value::Feet(n) => head(n),
        Value::Heading(n) | Value::Bearing(n) => padded(u32::from(n), 100),
        Value::Degrees(n) | Value::Knots(n) => head(u32::from(n)),
        Value::Mach(n) => padded(u32::from(n), 100),
        Value::Rate(n) | Value::Number(n) => head(n) | 1,
        Value::Frequency(n) => head(n) | head(n % 100_000) | 1 << 1,
        Value::Squawk(n) => padded(u32::from(n), 1000),
        Value::Hectopascals(n) => padded(u32::from(n), 1000),
        Value::Inches(n) => head(u32::from(n)),
        Value::Time(h, m) => padded(u32::from(m), 10) | if h < 24 { padded(u32::from(h), 10) } else { 0 },
        Value::Wind(d, ..) => padded(u32::from(d), 100),
        Value::Mark(packed) => packed
            .to_be_bytes()
            .iter()
            .find(|b| **b != 0)
            .filter(|b| b.is_ascii_digit())
            .map_or(0, |b| 1 << (b - b'0')),
        Value::Form(..) | Value::Aircraft(_) => 0x3ff,
        Value::Letter(_)
        | Value::Route(..)
        | Value::Name(_)
        | Value::Procedure(..)
        | Value::Unit(..)
        | Value::Callsign(_) => 0,
    }
}
