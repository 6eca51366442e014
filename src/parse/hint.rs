//! Expected values: what may come back without its words because it was just transmitted.

use super::cover::price::{EXPECTED, SLIP};
use super::cover::{Hint, Piece, Work, short};
use super::slots::{Match, form};
use crate::text::token::{BREAK, FILLER, GLUED, Kind};
use crate::value::Value;

impl Work<'_> {
    /// Bare forms of an expected value.
    pub(super) fn hint(&mut self, i: usize, number: u8, hint: &Hint<'_>) {
        let atom = &self.view.atoms[i];
        if atom.is(FILLER) || atom.kind == Kind::Digit && hint.digits & (1 << atom.value) == 0 {
            return;
        }
        let ready = match hint.value {
            Value::Name(_) | Value::Procedure(..) | Value::Unit(..) => {
                matches!(atom.kind, Kind::Letter)
                    || atom.kind == Kind::Word && (atom.word == 0 || matches!(hint.value, Value::Unit(0, _)))
            }
            Value::Mark(_) | Value::Route(..) | Value::Letter(_) => {
                matches!(atom.kind, Kind::Letter | Kind::Digit) || self.view.marks.taxiway == atom.word
            }
            Value::Form(..) | Value::Aircraft(_) => true,
            _ => matches!(atom.kind, Kind::Digit | Kind::Decimal),
        };
        if !ready {
            return;
        }
        let (first, count) = self.slot(hint.slot, i);
        for k in first..first + u32::from(count) {
            let found = self.s.matches[k as usize];
            if found.value == hint.value || same_loosely(&found, hint) && !self.is_cut_short(&found) {
                // What makes a number doubtful hardly counts here; a pause between words does.
                let words = matches!(found.value, Value::Form(..));
                let cost = EXPECTED + i32::from(if words { found.cost } else { found.cost.min(1) })
                    - if found.form & form::CLEAR != 0 { 1 } else { 0 };
                self.offer(cost, found.end as usize, Piece::Hint { hint: number, found: k }, false);
            }
        }
        if !hint.name.is_empty()
            && atom.kind == Kind::Word
            && let Some(found) = self.misspelt_name(i, hint)
        {
            let k = u32::try_from(self.s.matches.len()).unwrap_or(u32::MAX);
            self.s.matches.push(found);
            self.offer(EXPECTED + SLIP, found.end as usize, Piece::Hint { hint: number, found: k }, true);
        }
        self.digits_only(i, number, hint);
    }

    /// A frequency or level in so few digits that only the expectation makes it one.
    fn digits_only(&mut self, i: usize, number: u8, hint: &Hint<'_>) {
        let Value::Frequency(kilohertz) = hint.value else { return };
        let atoms = self.view.atoms;
        if atoms[i].kind != Kind::Digit || atoms[i].is(GLUED) && i > 0 && atoms[i - 1].kind == Kind::Digit {
            return;
        }
        // The channel without its leading 1, with or without its trailing zeros, decimal or not.
        let mut want = [0u8; 6];
        let mut rest = kilohertz;
        for digit in want.iter_mut().rev() {
            *digit = u8::try_from(rest % 10).unwrap_or(0);
            rest /= 10;
        }
        for lead in [0, 1] {
            let (mut at, mut k) = (i, lead);
            while k < 6 {
                match atoms.get(at) {
                    Some(a) if a.kind == Kind::Decimal && k == 3 => at += 1,
                    Some(a) if a.kind == Kind::Digit && a.value == want[k] && (at == i || !a.is(BREAK)) => {
                        at += 1;
                        k += 1;
                    }
                    _ => break,
                }
            }
            let zeros =
                want[k..].iter().all(|&d| d == 0) || (k == 5 && matches!((want[4], want[5]), (2 | 7, 5)));
            let whole = !atoms.get(at).is_some_and(|a| a.kind == Kind::Digit && a.is(GLUED));
            if k >= 4 && zeros && whole {
                let dropped = if lead == 1 { form::NO_LEAD } else { 0 };
                let decimal = atoms[i..at].iter().find(|a| a.kind == Kind::Decimal).map_or(0, |a| {
                    form::DECIMAL | if a.is(crate::text::token::POINT) { form::POINT } else { 0 }
                });
                let found = Match {
                    slot: hint.slot,
                    start: short(i),
                    end: short(at),
                    from: short(i),
                    to: short(at),
                    value: hint.value,
                    form: dropped | decimal,
                    cost: 0,
                    inner: (0, 0),
                };
                let index = u32::try_from(self.s.matches.len()).unwrap_or(u32::MAX);
                self.s.matches.push(found);
                self.offer(
                    EXPECTED + i32::from(lead == 1),
                    at,
                    Piece::Hint { hint: number, found: index },
                    false,
                );
            }
        }
    }

    /// A name of five and more letters with one slip, where that name was expected.
    fn misspelt_name(&self, i: usize, hint: &Hint<'_>) -> Option<Match> {
        let atom = &self.view.atoms[i];
        let said = atom.span.of(self.text);
        let (n, want) = (said.len(), hint.name.len());
        if atom.word != 0 || want < 5 || n + 1 < want || n > want + 1 || n > 30 || !said.is_ascii() {
            return None;
        }
        let same_start = said.as_bytes()[0].eq_ignore_ascii_case(&hint.name.as_bytes()[0]);
        let near = same_start
            && !said.eq_ignore_ascii_case(hint.name)
            && strsim::osa_distance(&said.to_ascii_lowercase(), &hint.name.to_ascii_lowercase()) == 1;
        near.then(|| Match {
            slot: hint.slot,
            start: short(i),
            end: short(i + 1),
            from: short(i),
            to: short(i + 1),
            value: hint.value,
            form: 0,
            cost: 0,
            inner: (0, 0),
        })
    }
}

/// Values that mean the same although they were read differently, where one of them was expected.
pub(super) fn same_loosely(found: &Match, hint: &Hint<'_>) -> bool {
    match (found.value, hint.value) {
        (Value::Unit(place, function), Value::Unit(place0, function0)) => {
            (place == 0 || place == place0)
                && (function == 0 || function == function0)
                && (place, function) != (0, 0)
        }
        (Value::Procedure(name, number, 0), Value::Procedure(name0, number0, 0)) => {
            name == name0 && number == number0
        }
        _ => false,
    }
}
