//! The best cover of a transmission by phrases: dynamic programming over the automaton.
//!
//! From the last atom to the first, each place gets the cheapest way to the end of the text: a phrase
//! of the book, a callsign, a bare value that was expected, or a step over a word that says nothing.
//! Costs are small whole numbers, chosen by trial on the published examples and on invented speech.

use super::address::{self, Address, Addressed};
use super::automaton::{Accept, SlotSet, Unit};
use super::slots::{Builtin, Match, View, form};
use crate::callsign::Callsign;
use crate::element::Element;
use crate::rules::{PhraseKind, RuleSet, SlotRef};
use crate::text::token::{Atom, BREAK, FILLER, GLUED, Kind};
use crate::value::Value;

/// A slot of a phrase and what it holds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bind {
    pub(crate) symbol: u16,
    pub(crate) found: u32,
}

/// A value that may come without its words because it was just transmitted.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hint<'t> {
    pub(crate) element: Element,
    pub(crate) slot: SlotRef,
    pub(crate) value: Value,
    /// The name as it was transmitted, if the value is a name of one word.
    pub(crate) name: &'t str,
    /// Digits that its bare form can begin with, as bits.
    pub(crate) digits: u16,
}

/// What a stretch of the text is.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Piece {
    /// Nothing known.
    Skip,
    /// A phrase of the book.
    Phrase {
        accept: Accept,
        binds: (u32, u8),
        /// No verb or noun of the pattern was said, only values.
        verbless: bool,
    },
    /// One's own callsign.
    Own(Addressed),
    /// Somebody's callsign.
    Other(u64),
    /// An expected value.
    Hint { hint: u8, found: u32 },
    /// Digits that nothing owns.
    Bare,
}

/// One piece of the cover: atoms `start..end`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cover {
    pub(crate) start: u16,
    pub(crate) end: u16,
    pub(crate) piece: Piece,
    /// A slip of the keyboard was forgiven in it.
    pub(crate) slip: bool,
}

const PHRASE: i32 = 4;
const FRAGMENT: i32 = 5;
const VARIANT: i32 = 1;
const BARE_SLOT: i32 = 3;
const INSIDE_FILLER: i32 = 1;
const STUTTER: i32 = 3;
const SLIP: i32 = 3;
const OWN: i32 = -12;
const SKIP_FILLER: i32 = 1;
const SKIP_UNKNOWN: i32 = 5;
const SKIP_WORD: i32 = 6;
const SKIP_LETTER: i32 = 7;
const SKIP_DIGIT: i32 = 11;
const EXPECTED: i32 = 4;
const BARE: i32 = 9;
const STRAY_NAME: i32 = 12;
/// Atoms beyond this are not read: no transmission is that long.
pub(crate) const MOST_ATOMS: usize = 1200;

#[derive(Debug, Clone, Copy)]
struct Best {
    cost: i32,
    end: u16,
    piece: Piece,
    slip: bool,
}

/// Working memory, used again for the next text.
#[derive(Debug, Default)]
pub(crate) struct Scratch {
    pub(crate) atoms: Vec<Atom>,
    pub(crate) matches: Vec<Match>,
    pub(crate) binds: Vec<Bind>,
    pub(crate) covers: Vec<Cover>,
    best: Vec<Best>,
    /// (epoch, first, count) for each slot and place.
    memo: Vec<(u32, u32, u16)>,
    epoch: u32,
    pool: Vec<Vec<Match>>,
    /// Slots that can begin at each atom.
    begins: Vec<SlotSet>,
    /// Slots that can begin a phrase at each atom: bare digits can't, unless they were expected.
    leads: Vec<SlotSet>,
    /// Inner readings of slots of the grammar: indices into `matches`.
    pub(crate) inner: Vec<u32>,
    inner_stack: Vec<u32>,
    /// One's own callsign at each atom, and whether the atom lies inside one that began before.
    own: Vec<Option<(Addressed, bool)>>,
    stack: Vec<Bind>,
    candidate: Vec<Bind>,
}

/// Who is speaking decides which book is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Speaker {
    /// A station.
    Controller,
    /// An aircraft.
    Pilot,
}

/// Covers `text`; the result stands in `scratch.covers`, from first to last.
pub(crate) fn cover(
    rules: &RuleSet,
    scratch: &mut Scratch,
    text: &str,
    speaker: Speaker,
    own: Option<&Callsign>,
    hints: &[Hint<'_>],
    phrases: &[u16],
) {
    crate::text::token::tokenize(&rules.lexicon, text, &mut scratch.atoms);
    scratch.atoms.truncate(MOST_ATOMS);
    crate::text::token::settle_oh(&mut scratch.atoms);
    scratch.matches.clear();
    scratch.binds.clear();
    scratch.covers.clear();
    scratch.best.clear();
    let atoms = std::mem::take(&mut scratch.atoms);
    let n = atoms.len();
    let slots = Builtin::ALL.len() + rules.slots.len();
    if scratch.memo.len() < slots * (n + 1) {
        scratch.memo.resize(slots * (n + 1), (0, 0, 0));
    }
    scratch.inner.clear();
    lead(rules, &atoms, hints, &mut scratch.begins, &mut scratch.leads);
    scratch.epoch = scratch.epoch.wrapping_add(1);
    if scratch.epoch == 0 {
        scratch.memo.fill((0, 0, 0));
        scratch.epoch = 1;
    }
    let mut work = Work {
        rules,
        text,
        view: View::new(&atoms, &rules.marks),
        s: scratch,
        slots,
        start: 0,
        found: Best { cost: 0, end: 0, piece: Piece::Skip, slip: false },
        pilot: speaker == Speaker::Pilot,
        hints,
        phrases,
    };
    work.s.best.resize(n + 1, Best { cost: 0, end: 0, piece: Piece::Skip, slip: false });
    let root = if speaker == Speaker::Pilot { rules.automaton.pilot } else { rules.automaton.controller };
    work.mark_own(own);
    for i in (0..n).rev() {
        work.place(i, root, hints);
    }
    let mut at = 0;
    while at < n {
        let best = work.s.best[at];
        work.s.covers.push(Cover { start: short(at), end: best.end, piece: best.piece, slip: best.slip });
        at = best.end as usize;
    }
    scratch.atoms = atoms;
}

/// Fills `begins`, the slots that can begin at each atom, and `leads`: at a digit a phrase begins with
/// a slot only where a unit behind the digits allows it, or where an expected value begins with that digit.
fn lead(rules: &RuleSet, atoms: &[Atom], hints: &[Hint<'_>], begins: &mut Vec<SlotSet>, leads: &mut Vec<SlotSet>) {
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
    leads.clear();
    leads.resize(atoms.len(), 0);
    begins.clear();
    begins.resize(atoms.len(), 0);
    let mut unit = None;
    let mut word = 0;
    for i in (0..atoms.len()).rev() {
        let atom = &atoms[i];
        if atom.kind == Kind::Digit {
            let next = atoms.get(i + 1).filter(|a| !a.is(BREAK));
            if next.is_none_or(|a| a.kind != Kind::Digit) {
                unit = next.and_then(|a| Unit::of(a, marks));
                word = next.map_or(0, |a| if a.word != 0 { a.word } else { a.slip });
            }
            begins[i] = rules.automaton.begins(atom, word, marks);
            let by_unit = unit.map_or(0, |u| rules.automaton.before(u));
            leads[i] = begins[i] & (by_unit | expected[usize::from(atom.value)]);
        } else {
            begins[i] = rules.automaton.begins(atom, 0, marks);
            leads[i] = begins[i];
        }
    }
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
        Value::Heading(n) => padded(u32::from(n), 100),
        Value::Degrees(n) | Value::Knots(n) => head(u32::from(n)),
        Value::Mach(n) => padded(u32::from(n), 100),
        Value::Rate(n) | Value::Number(n) => head(n) | 1,
        Value::Frequency(n) => head(n) | head(n % 100_000) | 1 << 1,
        Value::Squawk(n) => padded(u32::from(n), 1000),
        Value::Hectopascals(n) => padded(u32::from(n), 1000),
        Value::Inches(n) => head(u32::from(n)),
        Value::Time(h, m) => padded(u32::from(m), 10) | if h < 24 { padded(u32::from(h), 10) } else { 0 },
        Value::Wind(d, ..) => padded(u32::from(d), 100),
        Value::Mark(packed) => packed.to_be_bytes().iter().find(|b| **b != 0).filter(|b| b.is_ascii_digit()).map_or(0, |b| 1 << (b - b'0')),
        Value::Form(..) | Value::Aircraft(_) => 0x3ff,
        Value::Letter(_) | Value::Route(..) | Value::Name(_) | Value::Procedure(..) | Value::Unit(..) | Value::Callsign(_) => 0,
    }
}

#[expect(clippy::cast_possible_truncation, reason = "at most MOST_ATOMS atoms")]
fn short(i: usize) -> u16 {
    i as u16
}

struct Work<'a> {
    rules: &'a RuleSet,
    text: &'a str,
    view: View<'a>,
    s: &'a mut Scratch,
    slots: usize,
    start: usize,
    found: Best,
    pilot: bool,
    hints: &'a [Hint<'a>],
    /// Phrases of the transmission that this text answers.
    phrases: &'a [u16],
}

impl Work<'_> {
    fn skip_cost(&self, i: usize) -> i32 {
        let atom = &self.view.atoms[i];
        match atom.kind {
            _ if atom.is(FILLER) => SKIP_FILLER,
            Kind::Word if atom.word == 0 => SKIP_UNKNOWN,
            Kind::Word => SKIP_WORD,
            Kind::Letter | Kind::Decimal => SKIP_LETTER,
            Kind::Digit | Kind::Hundred | Kind::Thousand => SKIP_DIGIT,
        }
    }

    /// Finds one's own callsign everywhere: what lies inside it is nothing else.
    fn mark_own(&mut self, own: Option<&Callsign>) {
        self.s.own.clear();
        self.s.own.resize(self.view.atoms.len(), None);
        let Some(own) = own else { return };
        let mut i = 0;
        while i < self.view.atoms.len() {
            let found = address::own(own, self.view.marks, self.text, self.view.atoms, i);
            self.s.own[i] = found.map(|f| (f, false));
            i += 1;
            if let Some(found) = found
                && found.what == Address::Full
                && !found.slip
                && !own.words.is_empty()
            {
                for inside in &mut self.s.own[i..found.end] {
                    *inside = Some((found, true));
                }
                i = found.end;
            }
        }
    }

    fn place(&mut self, i: usize, root: u32, hints: &[Hint<'_>]) {
        let atoms = self.view.atoms;
        self.start = i;
        let own = self.s.own[i];
        if let Some((found, inside)) = own
            && (inside || found.what == Address::Full && !found.slip && atoms[i].kind == Kind::Word)
        {
            // Whole callsigns are taken whole.
            let cost = if inside { self.skip_cost(i) + self.s.best[i + 1].cost } else { OWN + self.s.best[found.end].cost };
            let (end, piece) = if inside { (i + 1, Piece::Skip) } else { (found.end, Piece::Own(found)) };
            self.s.best[i] = Best { cost, end: short(end), piece, slip: false };
            return;
        }
        self.found = Best {
            cost: self.skip_cost(i) + self.s.best[i + 1].cost,
            end: short(i + 1),
            piece: Piece::Skip,
            slip: false,
        };
        self.s.stack.clear();
        self.walk(root, i, 0, Path::default());
        if let Piece::Phrase { accept, verbless, .. } = self.found.piece {
            let first = u32::try_from(self.s.binds.len()).unwrap_or(0);
            let count = u8::try_from(self.s.candidate.len()).unwrap_or(u8::MAX);
            self.s.binds.extend_from_slice(&self.s.candidate);
            self.found.piece = Piece::Phrase { accept, binds: (first, count), verbless };
        }
        if let Some((found, _)) = own {
            let cost = match found.what {
                Address::Full => OWN,
                Address::Short => OWN + 6,
                Address::Cut => {
                    let characters = found.end - i;
                    if characters >= 3 { 2 } else { 6 }
                }
                Address::Telephony => 4,
                Address::Other => 0,
            } + if found.slip { SLIP } else { 0 };
            self.offer(cost, found.end, Piece::Own(found), found.slip);
        }
        let hard = matches!(atoms[i].kind, Kind::Word if atoms[i].word == 0) || atoms[i].kind == Kind::Letter;
        if hard && !(i > 0 && atoms[i].is(GLUED) && atoms[i - 1].kind == Kind::Digit)
            && let Some((digest, end)) = address::shape(atoms, i)
        {
            let edge = i == 0 || atoms[i].is(BREAK) || end == atoms.len() || atoms[..i].iter().all(|a| a.is(FILLER));
            let cost = if edge { 5 } else { 8 };
            let wake = atoms.get(end).is_some_and(|a| a.word != 0 && a.word == self.view.marks.heavy);
            self.offer(cost, end + usize::from(wake), Piece::Other(digest), false);
        }
        for (h, hint) in hints.iter().enumerate() {
            self.hint(i, u8::try_from(h).unwrap_or(u8::MAX), hint);
        }
        if self.pilot && atoms[i].kind == Kind::Digit && (i == 0 || atoms[i - 1].kind != Kind::Digit || atoms[i].is(BREAK) || !hints.is_empty() && !atoms[i].is(GLUED)) {
            let mut end = i + 1;
            while end < atoms.len()
                && end - i < 8
                && matches!(atoms[end].kind, Kind::Digit | Kind::Decimal)
                && !atoms[end].is(BREAK)
            {
                end += 1;
            }
            self.offer(BARE, end, Piece::Bare, false);
        }
        self.s.best[i] = self.found;
    }

    fn offer(&mut self, cost: i32, end: usize, piece: Piece, slip: bool) {
        let total = cost + self.s.best[end].cost;
        if total < self.found.cost || (total == self.found.cost && end > self.found.end as usize) {
            self.found = Best { cost: total, end: short(end), piece, slip };
        }
    }

    /// Bare forms of an expected value.
    fn hint(&mut self, i: usize, number: u8, hint: &Hint<'_>) {
        let atom = &self.view.atoms[i];
        if atom.is(FILLER) || atom.kind == Kind::Digit && hint.digits & (1 << atom.value) == 0 {
            return;
        }
        let ready = match hint.value {
            Value::Name(_) | Value::Procedure(..) | Value::Unit(..) => {
                matches!(atom.kind, Kind::Letter) || atom.kind == Kind::Word && (atom.word == 0 || matches!(hint.value, Value::Unit(0, _)))
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
            if found.value == hint.value || same_loosely(&found, hint) {
                let cost = EXPECTED + i32::from(found.cost.min(1)) - if found.form & form::CLEAR != 0 { 1 } else { 0 };
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
            let zeros = want[k..].iter().all(|&d| d == 0) || (k == 5 && matches!((want[4], want[5]), (2 | 7, 5)));
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
                self.offer(EXPECTED + i32::from(lead == 1), at, Piece::Hint { hint: number, found: index }, false);
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
        near.then(|| Match { slot: hint.slot, start: short(i), end: short(i + 1), from: short(i), to: short(i + 1), value: hint.value, form: 0, cost: 0, inner: (0, 0) })
    }

    /// Readings of a slot at a place: first index into `matches` and how many.
    fn slot(&mut self, slot: SlotRef, i: usize) -> (u32, u16) {
        if self.s.begins[i] & (1 << slot.bit()) == 0 {
            return (0, 0);
        }
        let key = i * self.slots + slot.bit() as usize;
        let (epoch, first, count) = self.s.memo[key];
        if epoch == self.s.epoch {
            return (first, count);
        }
        let SlotRef::Data(data) = slot else {
            let SlotRef::Builtin(builtin) = slot else { return (0, 0) };
            let first = self.s.matches.len();
            self.view.read(builtin, i, &mut self.s.matches);
            let count = u16::try_from(self.s.matches.len() - first).unwrap_or(u16::MAX);
            let first = u32::try_from(first).unwrap_or(u32::MAX);
            self.s.memo[key] = (self.s.epoch, first, count);
            return (first, count);
        };
        // Set before the walk: a slot that contains itself finds nothing, and ends.
        self.s.memo[key] = (self.s.epoch, 0, 0);
        let mut found = self.s.pool.pop().unwrap_or_default();
        found.clear();
        let depth = self.s.inner_stack.len();
        if let Some(root) = self.rules.automaton.slot_root(data) {
            self.walk_slot(data, root, i, i, 0, 0, 0, depth, &mut found);
        }
        let first = u32::try_from(self.s.matches.len()).unwrap_or(u32::MAX);
        let count = u16::try_from(found.len()).unwrap_or(u16::MAX);
        self.s.matches.extend_from_slice(&found);
        self.s.pool.push(found);
        self.s.memo[key] = (self.s.epoch, first, count);
        (first, count)
    }

    #[expect(clippy::too_many_arguments, reason = "the state of a recursive walk")]
    fn walk_slot(&mut self, data: u16, state: u32, start: usize, at: usize, digest: u64, form: u32, cost: u8, depth: usize, out: &mut Vec<Match>) {
        for accept in self.rules.automaton.accepts(state) {
            if at > start {
                let first = u32::try_from(self.s.inner.len()).unwrap_or(u32::MAX);
                let inner = &self.s.inner_stack[depth..];
                let count = u8::try_from(inner.len()).unwrap_or(u8::MAX);
                self.s.inner.extend_from_slice(inner);
                out.push(Match {
                    slot: SlotRef::Data(data),
                    start: short(start),
                    end: short(at),
                    from: short(start),
                    to: short(at),
                    value: Value::Form(data, accept.phrase, digest),
                    form: form | form::CLEAR,
                    cost,
                    inner: (first, count),
                });
            }
        }
        let atoms = self.view.atoms;
        let Some(atom) = atoms.get(at) else { return };
        if atom.word != 0 && let Some(next) = self.rules.automaton.word(state, atom.word) {
            self.walk_slot(data, next, start, at + 1, digest, form, cost, depth, out);
        } else if atom.slip != 0 && let Some(next) = self.rules.automaton.word(state, atom.slip) {
            self.walk_slot(data, next, start, at + 1, digest, form, cost.saturating_add(3), depth, out);
        } else if atom.is(FILLER) && at > start {
            self.walk_slot(data, state, start, at + 1, digest, form, cost.saturating_add(1), depth, out);
        }
        let rules = self.rules;
        let mut open = rules.automaton.leaving(state) & self.s.begins[at];
        while open != 0 {
            let bit = open.trailing_zeros();
            open &= open - 1;
            let edges = rules.automaton.edges(state, bit);
            let (first, count) = self.slot(rules.symbols[edges[0].0 as usize].slot, at);
            for (m, &(_, next)) in (first..first + u32::from(count)).flat_map(|m| edges.iter().map(move |e| (m, e))) {
                let found = self.s.matches[m as usize];
                let digest = digest.rotate_left(11) ^ found.value.digest();
                let form = form | found.form & !form::CLEAR;
                self.s.inner_stack.push(m);
                self.walk_slot(data, next, start, found.end as usize, digest, form, cost.saturating_add(found.cost), depth, out);
                self.s.inner_stack.pop();
            }
        }
    }

    fn walk(&mut self, state: u32, at: usize, cost: i32, path: Path) {
        if at > self.start {
            for &accept in self.rules.automaton.accepts(state) {
                self.accept(accept, at, cost, path);
            }
        }
        let atoms = self.view.atoms;
        let Some(atom) = atoms.get(at) else { return };
        let pause = i32::from(at > self.start && atom.is(BREAK));
        let mut stepped = false;
        let telling = |word| path.telling || !self.view.marks.is_small(word);
        if atom.word != 0 && let Some(next) = self.rules.automaton.word(state, atom.word) {
            stepped = true;
            self.walk(next, at + 1, cost + pause, Path { telling: telling(atom.word), ..path });
        } else if atom.slip != 0 && let Some(next) = self.rules.automaton.word(state, atom.slip) {
            stepped = true;
            self.walk(next, at + 1, cost + pause + SLIP, Path { telling: telling(atom.slip), slip: true, ..path });
        }
        let rules = self.rules;
        let open = if at == self.start { self.s.leads[at] } else { self.s.begins[at] };
        let mut open = rules.automaton.leaving(state) & open;
        while open != 0 {
            let bit = open.trailing_zeros();
            open &= open - 1;
            let edges = rules.automaton.edges(state, bit);
            let (first, count) = self.slot(rules.symbols[edges[0].0 as usize].slot, at);
            for (m, &(symbol, next)) in (first..first + u32::from(count)).flat_map(|m| edges.iter().map(move |e| (m, e))) {
                let found = self.s.matches[m as usize];
                let clear = found.form & form::CLEAR != 0;
                let bare = if clear || !self.needs_mark(symbol) { 0 } else { BARE_SLOT };
                let awaited = self.awaited(symbol, &found);
                let mut price = if awaited { -1 } else { i32::from(found.cost) + bare };
                // A pilot's station without its function is any word, unless it was just named.
                if self.pilot && matches!(found.value, Value::Unit(_, 0)) && !self.hints.iter().any(|h| same_loosely(&found, h)) {
                    price += STRAY_NAME;
                }
                self.s.stack.push(Bind { symbol, found: m });
                self.walk(next, found.end as usize, cost + pause + price, path);
                self.s.stack.pop();
            }
        }
        if !stepped && at > self.start && path.skipped < 3 {
            let path = Path { skipped: path.skipped + 1, ..path };
            if atom.is(FILLER) {
                self.walk(state, at + 1, cost + INSIDE_FILLER, path);
            } else {
                let last = &self.view.atoms[at - 1];
                if atom.kind == Kind::Word && atom.word != 0 && last.word == atom.word && last.span != atom.span {
                    self.walk(state, at + 1, cost + STUTTER, path);
                }
            }
        }
    }

    /// True if just this value was transmitted.
    fn awaited(&self, symbol: u16, found: &Match) -> bool {
        let element = self.rules.symbols[symbol as usize].element;
        self.hints.iter().any(|h| Some(h.element) == element && h.value == found.value)
    }

    /// Slots whose value is hardly told from another without its marker.
    fn needs_mark(&self, symbol: u16) -> bool {
        matches!(
            self.rules.symbols[symbol as usize].slot,
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

    fn accept(&mut self, accept: Accept, end: usize, cost: i32, path: Path) {
        let kind = self.rules.kinds[accept.phrase as usize];
        // A phrase that is all slots, or begins with one, needs the marker word there.
        for (k, bind) in self.s.stack.iter().enumerate() {
            let found = &self.s.matches[bind.found as usize];
            let builtin = matches!(self.rules.symbols[bind.symbol as usize].slot, SlotRef::Builtin(_));
            let fragment = kind == PhraseKind::Fragment;
            let leading = k == 0 && found_starts_at(found, self.start);
            let bare = found.form & form::CLEAR == 0 && (found.form & form::DECIMAL == 0);
            if builtin
                && bare
                && (self.needs_mark(bind.symbol) && (fragment || leading) || leading && (fragment || is_numeric(&found.value)))
                && !self.awaited(bind.symbol, found)
            {
                return;
            }
        }
        let asked = self.phrases.contains(&accept.phrase);
        let base = match kind {
            PhraseKind::Fragment => FRAGMENT,
            // A pilot hardly repeats a question or news, and reads back before he reports.
            PhraseKind::Question if self.pilot => PHRASE + 2,
            PhraseKind::Information if self.pilot => PHRASE + 1,
            PhraseKind::Call if self.pilot && !asked => PHRASE + 2,
            _ => PHRASE,
        };
        let variant = if accept.variant > 0 { VARIANT } else { 0 };
        let asked = if asked { -1 } else { 0 };
        let total = base + cost + variant + asked + self.s.best[end].cost;
        if total < self.found.cost || (total == self.found.cost && end > self.found.end as usize) {
            self.found =
                Best { cost: total, end: short(end), piece: Piece::Phrase { accept, binds: (0, 0), verbless: !path.telling }, slip: path.slip };
            self.s.candidate.clear();
            self.s.candidate.extend_from_slice(&self.s.stack);
        }
    }
}

/// What a walk through the automaton has seen.
#[derive(Debug, Clone, Copy, Default)]
struct Path {
    slip: bool,
    skipped: u8,
    /// A word that says something was read, not only *to*, *at*, *the*.
    telling: bool,
}

/// A number that could be many things.
fn is_numeric(value: &Value) -> bool {
    !matches!(value, Value::Name(_) | Value::Procedure(..) | Value::Unit(..) | Value::Form(..) | Value::Aircraft(_) | Value::Callsign(_) | Value::Route(..) | Value::Mark(_) | Value::Letter(_))
}

fn found_starts_at(found: &Match, start: usize) -> bool {
    found.from as usize == start
}

/// Values that mean the same although they were read differently, where one of them was expected.
fn same_loosely(found: &Match, hint: &Hint<'_>) -> bool {
    match (found.value, hint.value) {
        (Value::Unit(place, function), Value::Unit(place0, function0)) => {
            (place == 0 || place == place0) && (function == 0 || function == function0) && (place, function) != (0, 0)
        }
        (Value::Procedure(name, number, 0), Value::Procedure(name0, number0, 0)) => name == name0 && number == number0,
        _ => false,
    }
}

