//! Names, letters, stands, taxiways, stations, aircraft types and callsigns.

use super::form::*;
use super::{Match, View};
use crate::parse::address;
use crate::text::token::{Atom, BREAK, CAPITAL, FILLER, GLUED, Kind, TYPED};
use crate::value::{Value, pack_taxiway};

impl View<'_> {
    pub(super) fn information(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.word(i) == self.marks.information;
        let from = if marked { self.fillers(i + 1) } else { i };
        if let Some(atom) = self.at(from)
            && atom.kind == Kind::Letter
        {
            let form = if marked { MARK | CLEAR } else { 0 };
            self.found(out, [i, from, from + 1, from + 1], Value::Letter(atom.value), form, 0);
        }
    }

    /// Letters and digits such as `B12`, `12`, `C1`: packed, end.
    pub(super) fn mark_at(&self, i: usize, most_digits: usize, letter_after: bool) -> Option<(u64, usize)> {
        let mut packed = 0u64;
        let mut at = i;
        let mut push = |byte: u8| packed = packed << 8 | u64::from(byte);
        for _ in 0..2 {
            match self.at(at) {
                Some(a) if a.kind == Kind::Letter && (at == i || !a.is(BREAK) && a.is(GLUED)) => {
                    push(a.value);
                    at += 1;
                }
                _ => break,
            }
        }
        let run = self.run(at);
        let joined = at == i || self.at(at).is_some_and(|a| !a.is(BREAK));
        if joined && run.len > 0 {
            let len = run.len.min(most_digits);
            if !self.cut(at + len) {
                return None;
            }
            for &digit in &run.digits[..len] {
                push(b'0' + digit);
            }
            at += len;
            if letter_after
                && let Some(a) = self.at(at)
                && a.kind == Kind::Letter
                && !a.is(BREAK)
            {
                push(a.value);
                at += 1;
            }
        }
        (at > i).then_some((packed, at))
    }

    pub(super) fn stand(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.marks.is_stand(self.word(i));
        let from = i + usize::from(marked);
        if !marked && !self.is_digit(from) || marked && self.at(from).is_some_and(|a| a.is(BREAK)) {
            return;
        }
        if !self.starts(from) {
            return;
        }
        for letter_after in [true, false] {
            if let Some((packed, to)) = self.mark_at(from, 3, letter_after)
                && self.kind(to) != Some(Kind::Decimal)
            {
                let form = if marked { MARK | CLEAR } else { 0 };
                let cost = u8::from(!letter_after);
                self.found(out, [i, from, to, to], Value::Mark(packed), form, cost);
            }
        }
    }

    pub(super) fn holding_point(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut from = i;
        if self.word(i) == marks.hold
            && [marks.point, marks.position].contains(&self.word(i + 1))
            && self.word(i + 1) != 0
        {
            from = i + 2;
        } else if self.word(i) == marks.intersection {
            from = i + 1;
        }
        let marked = from > i;
        let Some(first) = self.at(from) else { return };
        if first.kind != Kind::Letter || (!marked && lone_article(self.atoms, from)) {
            return;
        }
        let form = if marked { MARK | CLEAR } else { 0 };
        for digits in [2, 1, 0] {
            let run = self.run(from + 1).len;
            if (digits == 0 && run > 0 && self.at(from + 1).is_some_and(|a| !a.is(BREAK) && a.is(GLUED)))
                || (digits > 0 && run < digits)
            {
                continue;
            }
            if digits == 0 {
                let value = Value::Mark(u64::from(first.value));
                let cost = if run > 0 && self.at(from + 1).is_some_and(|a| !a.is(BREAK)) { 2 } else { 0 };
                self.found(out, [i, from, from + 1, from + 1], value, form, cost);
            } else if let Some((packed, to)) = self.mark_at(from, digits, false) {
                let cost = if run > digits { 3 } else { 0 };
                self.found(out, [i, from, to, to], Value::Mark(packed), form, cost);
            }
        }
    }

    pub(super) fn taxi_route(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut items = [0u16; 10];
        let mut len = 0usize;
        let mut at = i;
        let mut ends = [(0usize, 0u8); 10];
        while len < items.len() {
            let mut next = if len > 0 { self.fillers(at) } else { at };
            if len > 0 {
                while [marks.and, marks.then, marks.via, marks.taxiway].contains(&self.word(next))
                    && self.word(next) != 0
                {
                    next += 1;
                }
            } else if self.word(next) == marks.taxiway && marks.taxiway != 0 {
                next += 1;
                if self.at(next).is_some_and(|a| a.is(BREAK)) {
                    break;
                }
            }
            let Some(a) = self.at(next) else { break };
            if a.kind != Kind::Letter || (a.is(FILLER) && !a.is(CAPITAL) && len > 0 && next == at) {
                break;
            }
            let run = self.run(next + 1);
            let joined = self.at(next + 1).is_some_and(|b| b.kind == Kind::Digit && !b.is(BREAK));
            let mut digits = if joined { run.len.min(2) } else { 0 };
            if run.len > 2 && joined {
                digits = if self.at(next + 1).is_some_and(|b| b.is(GLUED)) { break } else { 0 };
            }
            if self.word(next + 1 + digits) == marks.mile && digits > 0 {
                digits = 0;
            }
            let number = u8::try_from(run.number(0, digits)).unwrap_or(0);
            items[len] = pack_taxiway(a.value, 0, number);
            at = next + 1 + digits;
            ends[len] = (at, 0);
            len += 1;
        }
        for n in (1..=len).rev() {
            let mut cut = [0u16; 10];
            cut[..n].copy_from_slice(&items[..n]);
            let end = ends[n - 1].0;
            let value = Value::Route(cut, u8::try_from(n).unwrap_or(10));
            let cost = u8::try_from(len - n).unwrap_or(9);
            self.found(out, [i, i, end, end], value, 0, cost);
        }
    }

    /// A word that can be a name: outside the vocabulary.
    pub(super) fn is_name(&self, i: usize) -> bool {
        self.at(i).is_some_and(|a| a.kind == Kind::Word && a.word == 0)
    }

    /// Two to five letters of the alphabet, or typed capitals: folded, end.
    pub(super) fn spelt(&self, i: usize) -> Option<(u64, usize)> {
        let mut hash = crate::text::FOLD_START;
        let mut at = i;
        while at - i < 5 {
            match self.at(at) {
                Some(a) if a.kind == Kind::Letter && (at == i || !a.is(BREAK)) && !a.is(FILLER) => {
                    hash = crate::text::fold_byte(hash, a.value.to_ascii_lowercase());
                    at += 1;
                }
                _ => break,
            }
        }
        (at >= i + 2).then_some((hash, at))
    }

    /// A point that is two letters and three digits, as on area navigation procedures: "Papa Romeo nine zero
    /// five", or typed "PR905".
    fn numbered(&self, i: usize, out: &mut Vec<Match>) {
        let two_letters = |a: &Atom| self.is_name(i) && a.span.end - a.span.start == 2;
        let (hash, end) = match self.at(i) {
            Some(a) if two_letters(a) => (a.hash, i + 1),
            _ => match self.spelt(i) {
                Some((hash, end)) if end == i + 2 => (hash, end),
                _ => return,
            },
        };
        let run = self.run(end);
        let joined = self.at(end).is_some_and(|a| a.kind == Kind::Digit && !a.is(BREAK));
        if joined && run.len == 3 && self.cut(end + 3) {
            let whole = run.digits[..3].iter().fold(hash, |h, d| crate::text::fold_byte(h, b'0' + d));
            self.found(out, [i, i, end + 3, end + 3], Value::Name(whole), 0, 1);
        }
    }

    pub(super) fn name(&self, i: usize, most: usize, out: &mut Vec<Match>) {
        if most == 1 {
            self.numbered(i, out);
        }
        if self.is_name(i) {
            let hash = self.atoms[i].hash;
            let two = most > 1 && self.is_name(i + 1) && !self.atoms[i + 1].is(BREAK);
            if two {
                let both = hash.rotate_left(7) ^ self.atoms[i + 1].hash;
                self.found(out, [i, i, i + 2, i + 2], Value::Name(both), 0, 0);
            }
            // A name with digits behind it is a callsign.
            let called =
                self.at(i + 1).is_some_and(|a| a.kind == Kind::Digit && !a.is(BREAK) && !a.is(GLUED));
            let cost = if two { 2 } else { 0 } + if called && most == 1 { 3 } else { 0 };
            self.found(out, [i, i, i + 1, i + 1], Value::Name(hash), 0, cost);
        } else if let Some((hash, end)) = self.spelt(i) {
            self.found(out, [i, i, end, end], Value::Name(hash), 0, 1);
        }
    }

    pub(super) fn procedure(&self, i: usize, out: &mut Vec<Match>) {
        let (name, at) = if self.is_name(i) {
            (self.atoms[i].hash, i + 1)
        } else {
            // Two letters and a digit are an airway.
            match self.spelt(i) {
                Some(spelt) if spelt.1 - i > 2 => spelt,
                _ => return,
            }
        };
        let run = self.run(at);
        if run.len != 1 || self.at(at).is_some_and(|a| a.is(BREAK)) {
            return;
        }
        let number = run.digits[0];
        let letter =
            self.at(at + 1).filter(|a| a.kind == Kind::Letter && !a.is(BREAK)).map_or(0, |a| a.value);
        let end = at + 1 + usize::from(letter != 0);
        self.found(out, [i, i, end, end], Value::Procedure(name, number, letter), 0, 0);
    }

    pub(super) fn airway(&self, i: usize, out: &mut Vec<Match>) {
        let prefix = match self.word(i) {
            0 => 0,
            w if w == self.marks.upper => b'U',
            w if w == self.marks.kopter => b'K',
            _ => 0,
        };
        let mut at = i + usize::from(prefix != 0);
        let mut packed = u64::from(prefix);
        let start = at;
        while at - start < 2
            && self.kind(at) == Some(Kind::Letter)
            && self.at(at).is_some_and(|a| !a.is(FILLER))
        {
            packed = packed << 8 | u64::from(self.atoms[at].value);
            at += 1;
        }
        let run = self.run(at);
        if at == start || !(1..=3).contains(&run.len) || self.at(at).is_none_or(|a| a.is(BREAK)) {
            return;
        }
        for &digit in &run.digits[..run.len] {
            packed = packed << 8 | u64::from(b'0' + digit);
        }
        let end = at + run.len;
        self.found(out, [i, i, end, end], Value::Mark(packed), 0, 0);
    }

    pub(super) fn unit(&self, i: usize, out: &mut Vec<Match>) {
        let mut place = 0u64;
        let mut at = i;
        while at - i < 2 && self.is_name(at) && (at == i || !self.atoms[at].is(BREAK)) {
            let hash = self.atoms[at].hash;
            place = if at == i { hash } else { place.rotate_left(7) ^ hash };
            at += 1;
            let function = self.word(at);
            if self.marks.is_function(function) {
                let more = self.marks.is_function(self.word(at + 1))
                    && self.at(at + 1).is_some_and(|a| !a.is(BREAK));
                // "Area Control", but "Radar, radar contact" as well.
                for end in [at + 2, at + 1].into_iter().skip(usize::from(!more)) {
                    self.found(out, [i, i, end, end], Value::Unit(place, function), CLEAR, 0);
                }
                self.found(out, [i, i, at, at], Value::Unit(place, 0), 0, 3);
                return;
            }
        }
        if at > i {
            let first = self.atoms[i].hash;
            self.found(out, [i, i, i + 1, i + 1], Value::Unit(first, 0), 0, 3);
            if at > i + 1 {
                self.found(out, [i, i, at, at], Value::Unit(place, 0), 0, 4);
            }
        } else if self.marks.is_function(self.word(i)) {
            self.found(out, [i, i, i + 1, i + 1], Value::Unit(0, self.word(i)), CLEAR, 0);
        }
    }

    /// *A three two zero*, *Airbus*, *seven three seven*, *vehicle*: the type decides, the maker does not.
    pub(super) fn aircraft(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut at = i;
        let maker = marks.is_maker(self.word(at)).then(|| self.word(at));
        if maker.is_some() {
            at += 1;
        }
        let mut digest = 0u64;
        let letter = self.at(at).filter(|a| a.kind == Kind::Letter && self.is_digit(at + 1));
        let digits_at = at + usize::from(letter.is_some());
        let run = self.run(digits_at);
        let enough = if letter.is_some() || maker.is_some() { 1..=3 } else { 3..=3 };
        if enough.contains(&run.len) && self.starts(digits_at) {
            let to = digits_at + run.len;
            let next = self.word(to);
            let other = next != 0
                && [marks.feet, marks.knots, marks.degrees, marks.mile, marks.oclock].contains(&next);
            if !other && !matches!(self.kind(to), Some(Kind::Decimal | Kind::Hundred | Kind::Thousand)) {
                for &digit in &run.digits[..run.len] {
                    digest = digest << 8 | u64::from(b'0' + digit);
                }
                // "an A three two zero": the letter is part of the type, not an article.
                let cut = letter.is_none()
                    && i > 0
                    && self.kind(i - 1) == Some(Kind::Letter)
                    && !self.atoms[i].is(BREAK);
                self.found(out, [i, i, to, to], Value::Aircraft(digest), CLEAR, u8::from(cut));
                return;
            }
        }
        if let Some(maker) = maker {
            self.found(out, [i, i, i + 1, i + 1], Value::Aircraft(u64::from(maker) << 40), CLEAR, 0);
        } else if marks.is_vehicle(self.word(i)) {
            self.found(out, [i, i, i + 1, i + 1], Value::Aircraft(u64::from(self.word(i)) << 40), CLEAR, 0);
        }
    }

    pub(super) fn callsign(&self, i: usize, out: &mut Vec<Match>) {
        if let Some((digest, end)) = address::shape(self.atoms, self.marks, i) {
            self.found(out, [i, i, end, end], Value::Callsign(digest), 0, 0);
        }
    }
}

/// *a* typed in small letters is the article unless a digit is glued to it.
fn lone_article(atoms: &[Atom], i: usize) -> bool {
    let atom = &atoms[i];
    atom.is(TYPED)
        && !atom.is(CAPITAL)
        && matches!(atom.value, b'A' | b'I' | b'M')
        && !atoms.get(i + 1).is_some_and(|a| a.kind == Kind::Digit && a.is(GLUED))
}
