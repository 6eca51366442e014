//! What a reading costs: words skipped, values without their words, phrases nobody asked for.

use super::{Best, Path, Piece, Work, short};
use crate::element::Element;
use crate::parse::address;
use crate::parse::automaton::{Accept, Edge, element_bit, phrase_bit};
use crate::parse::hint::same_loosely;
use crate::parse::slots::{Builtin, Match, form};
use crate::rules::{PhraseKind, SlotRef, Symbol};
use crate::text::token::{BREAK, FILLER, GREETING, Kind};
use crate::value::Value;

pub(in crate::parse) const PHRASE: i32 = 4;
pub(in crate::parse) const FRAGMENT: i32 = 5;
pub(in crate::parse) const VARIANT: i32 = 1;
pub(in crate::parse) const BARE_SLOT: i32 = 3;
pub(in crate::parse) const INSIDE_FILLER: i32 = 1;
/// Punctuation inside a phrase.
pub(in crate::parse) const PAUSE: i32 = 3;
pub(in crate::parse) const STUTTER: i32 = 3;
pub(in crate::parse) const SLIP: i32 = 3;
pub(in crate::parse) const OWN: i32 = -12;
pub(in crate::parse) const SKIP_FILLER: i32 = 1;
pub(in crate::parse) const SKIP_UNKNOWN: i32 = 5;
pub(in crate::parse) const SKIP_WORD: i32 = 6;
pub(in crate::parse) const SKIP_LETTER: i32 = 7;
pub(in crate::parse) const SKIP_DIGIT: i32 = 11;
pub(in crate::parse) const EXPECTED: i32 = 4;
pub(in crate::parse) const BARE: i32 = 9;
/// A value left out of an instruction that was just given.
pub(in crate::parse) const CUT: i32 = 1;
/// A phrase that was just transmitted.
pub(in crate::parse) const ASKED: i32 = -2;
/// A form of answer with values gives way to a phrase that is said just so.
pub(in crate::parse) const REPLY_FORM: i32 = 1;
/// A form of answer to a phrase that was not transmitted.
pub(in crate::parse) const UNASKED: i32 = 4;
pub(in crate::parse) const STRAY_NAME: i32 = 12;
/// A part of a value that was transmitted whole, and stands whole in the answer.
pub(in crate::parse) const CUT_SHORT: i32 = 40;
/// A name that must be a station's.
pub(in crate::parse) const NAMED: i32 = 4;
/// A station that was not just named.
pub(in crate::parse) const UNNAMED_UNIT: i32 = 1;

impl Work<'_> {
    pub(super) fn skip_cost(&self, i: usize) -> i32 {
        let atom = &self.view.atoms[i];
        match atom.kind {
            _ if atom.is(FILLER) => SKIP_FILLER,
            Kind::Word if atom.word == 0 => SKIP_UNKNOWN,
            Kind::Word => SKIP_WORD,
            Kind::Letter | Kind::Decimal => SKIP_LETTER,
            Kind::Digit | Kind::Hundred | Kind::Thousand => SKIP_DIGIT,
        }
    }

    /// What a value costs where it stands, beside the words around it.
    pub(super) fn slot_price(&self, edge: &Edge, found: &Match, path: Path) -> i32 {
        let clear = found.form & form::CLEAR != 0;
        let bare = if clear || !needs_mark(found.slot) { 0 } else { BARE_SLOT };
        let awaited = self.awaited(edge.element, found);
        // What makes a number doubtful does not count where just this number was expected.
        let mut price = match (awaited, found.slot) {
            // Two digits of a channel that has three leave the third to what follows.
            (true, SlotRef::Builtin(_)) if found.form & form::CUT_CHANNEL != 0 => i32::from(found.cost) - 1,
            (true, SlotRef::Builtin(_)) => -1,
            (true, SlotRef::Data(_)) => i32::from(found.cost) - 1,
            _ => i32::from(found.cost) + bare,
        };
        // What stands behind a value is its own where just the longer value was transmitted.
        if !awaited && self.is_cut_short(found) {
            price += CUT_SHORT;
        }
        // A station without its function is any word: unless it was just named, it takes a verb
        // before it, or a greeting behind it.
        if matches!(found.value, Value::Unit(_, 0))
            && (self.pilot || !path.telling)
            && !self.hints.iter().any(|h| same_loosely(found, h))
        {
            price += if self.opens_a_call(found) { -NAMED } else { STRAY_NAME };
        } else if self.is_half_a_station(found) && !path.telling && !awaited {
            price += STRAY_NAME;
        } else if self.pilot && matches!(found.value, Value::Unit(..)) && !awaited && !self.hints.is_empty() {
            price += UNNAMED_UNIT;
        }
        price
    }

    /// True for a part of a value that was transmitted whole, if the rest stands behind it.
    pub(in crate::parse) fn is_cut_short(&self, found: &Match) -> bool {
        self.loses_its_side(found) || self.loses_its_digits(found)
    }

    /// True for a runway without the side that stands behind it, if it was transmitted with one.
    fn loses_its_side(&self, found: &Match) -> bool {
        let Value::Runway(number, _) = found.value else { return false };
        let marks = self.view.marks;
        let beside = self.view.atoms.get(found.end as usize).filter(|a| a.word != 0 && !a.is(BREAK));
        beside.is_some_and(|a| [marks.left, marks.right, marks.centre].contains(&a.word))
            && self
                .hints
                .iter()
                .any(|h| matches!(h.value, Value::Runway(n, side) if n == number && side != 0))
    }

    /// True for a frequency that ends before a digit, if a frequency was transmitted that does not.
    fn loses_its_digits(&self, found: &Match) -> bool {
        let Value::Frequency(short) = found.value else { return false };
        let next = self.view.atoms.get(found.end as usize).filter(|a| a.kind == Kind::Digit && !a.is(BREAK));
        let longer = |whole: u32, digit: u32| {
            [(100, 10), (10, 1)]
                .iter()
                .any(|&(unit, place)| short % unit == 0 && whole / place == short / place + digit)
        };
        next.is_some_and(|a| {
            self.hints
                .iter()
                .any(|h| matches!(h.value, Value::Frequency(whole) if longer(whole, u32::from(a.value))))
        })
    }

    /// True for *information*, *departure* and the like where no name stands before them and the
    /// transmission does not begin with them: they are more often plain words.
    fn is_half_a_station(&self, found: &Match) -> bool {
        let marks = self.view.marks;
        let plain = [marks.information, marks.departure, marks.arrival, marks.clearance];
        matches!(found.value, Value::Unit(0, function) if plain.contains(&function))
            && !self.view.atoms[..found.start as usize].iter().all(|a| a.is(FILLER))
    }

    /// True for a word that can only be a station's name: of a pilot the first, with a greeting behind it;
    /// of a station the one behind the callsign that it begins with.
    fn opens_a_call(&self, found: &Match) -> bool {
        let atoms = self.view.atoms;
        let (start, end) = (found.start as usize, found.end as usize);
        if end != start + 1 {
            return false;
        }
        let behind = atoms.get(end);
        if self.pilot {
            // In an answer it is sooner a point that was just given.
            return self.hints.is_empty()
                && atoms[..start].iter().all(|a| a.is(FILLER))
                && behind.is_some_and(|a| a.is(GREETING));
        }
        let first = atoms.iter().position(|a| !a.is(FILLER)).unwrap_or(start);
        let called = address::shape(atoms, self.view.marks, first).is_some_and(|(_, end)| {
            atoms[end..start.max(end)].iter().all(|a| a.is(GREETING)) && end <= start
        });
        called && behind.is_none_or(|a| !matches!(a.kind, Kind::Digit | Kind::Letter))
    }

    /// True if just this value was transmitted.
    fn awaited(&self, element: Option<Element>, found: &Match) -> bool {
        self.owed & element_bit(element) != 0
            && self.hints.iter().any(|h| Some(h.element) == element && h.value == found.value)
    }

    /// True if the transmission had a value of that element, or of one that goes by the same names.
    fn is_owed(&self, element: Element) -> bool {
        let procedures = element_bit(Some(Element::Sid)) | element_bit(Some(Element::Star));
        let element = element_bit(Some(element));
        let kin = if element & procedures != 0 { procedures } else { element };
        self.owed & kin != 0
    }

    pub(super) fn accept(&mut self, accept: Accept, end: usize, cost: i32, path: Path) {
        let kind = self.rules.kinds[accept.phrase as usize];
        let place = match phrase_bit(accept.phrase) & self.answered {
            0 => None,
            _ => self.phrases.iter().position(|&p| p == accept.phrase),
        };
        let asked = place.is_some();
        if path.cut && !(asked && path.telling && kind == PhraseKind::Instruction) {
            return;
        }
        let base = match kind {
            PhraseKind::Fragment => FRAGMENT,
            // A pilot hardly repeats a question or news, and reads back before he reports.
            PhraseKind::Question if self.pilot => PHRASE + 2,
            PhraseKind::Information if self.pilot => PHRASE + 1,
            PhraseKind::Call if self.pilot && !asked => PHRASE + 2,
            _ => PHRASE,
        };
        let variant = if accept.variant > 0 { VARIANT } else { 0 };
        // What a pilot says on his own account is sooner a report than an instruction that nobody gave.
        let own = i32::from(
            self.pilot && self.phrases.is_empty() && self.rules.phrases[accept.phrase as usize].limits_only,
        );
        let reply = if accept.reply && !self.s.stack.is_empty() { REPLY_FORM } else { 0 };
        let unasked = accept.reply && !asked && !self.phrases.is_empty();
        let asked = match place {
            Some(place) if place < self.exact => ASKED,
            Some(_) => ASKED + 1,
            None if unasked => UNASKED,
            None => 0,
        };
        let total = base + own + cost + variant + reply + asked + self.s.best[end].cost;
        // At the same price a phrase is better than a word that says nothing.
        let better = end > self.found.end as usize || matches!(self.found.piece, Piece::Skip);
        if total > self.found.cost || total == self.found.cost && !better || !self.is_said(kind, path) {
            return;
        }
        self.found = Best {
            cost: total,
            end: short(end),
            piece: Piece::Phrase { accept, binds: (0, 0), verbless: !path.telling },
            slip: path.slip,
        };
        self.s.candidate.clear();
        self.s.candidate.extend_from_slice(&self.s.stack);
    }

    /// True if the values of a phrase can be what it wants: a phrase that is all slots, or begins with one,
    /// needs the marker word there.
    fn is_said(&self, kind: PhraseKind, path: Path) -> bool {
        let fragment = kind == PhraseKind::Fragment;
        self.s.stack.iter().enumerate().all(|(k, bind)| {
            let found = &self.s.matches[bind.found as usize];
            let Symbol { element, slot } = self.rules.symbols[bind.symbol as usize];
            // Letters and digits alone, or a name and digits, are sooner a callsign than a taxi route, a stand
            // or a procedure.
            if !path.worded && open(found) && !element.is_some_and(|e| self.is_owed(e)) {
                return false;
            }
            let builtin = matches!(slot, SlotRef::Builtin(_));
            let leading = k == 0 && found_starts_at(found, self.start);
            let bare = found.form & form::CLEAR == 0 && (found.form & form::DECIMAL == 0);
            !(builtin
                && bare
                && (needs_mark(slot) && (fragment || leading)
                    || leading && (fragment || is_numeric(&found.value)))
                && !self.awaited(element, found))
        })
    }
}

/// Slots whose value is hardly told from another without its marker.
fn needs_mark(slot: SlotRef) -> bool {
    matches!(
        slot,
        SlotRef::Builtin(
            Builtin::Runway
                | Builtin::Level
                | Builtin::Heading
                | Builtin::Speed
                | Builtin::Rate
                | Builtin::Altimeter
                | Builtin::Stand
                | Builtin::Information
        )
    )
}

/// A value of no fixed form, said without the word that tells what it is.
fn open(found: &Match) -> bool {
    let slot = matches!(
        found.slot,
        SlotRef::Builtin(Builtin::Procedure | Builtin::TaxiRoute | Builtin::Stand | Builtin::HoldingPoint)
    );
    slot && found.form & form::CLEAR == 0
}

/// A number that could be many things.
fn is_numeric(value: &Value) -> bool {
    !matches!(
        value,
        Value::Name(_)
            | Value::Procedure(..)
            | Value::Unit(..)
            | Value::Form(..)
            | Value::Aircraft(_)
            | Value::Callsign(_)
            | Value::Route(..)
            | Value::Mark(_)
            | Value::Letter(_)
    )
}

fn found_starts_at(found: &Match, start: usize) -> bool {
    found.from as usize == start
}
