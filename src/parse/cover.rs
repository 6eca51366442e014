//! The best cover of a transmission by phrases: dynamic programming over the automaton.
//!
//! From the last atom to the first, each place gets the cheapest way to the end of the text: a phrase
//! of the book, a callsign, a bare value that was expected, or a step over a word that says nothing.
//! Costs are small whole numbers, chosen by trial on the published examples and on invented speech.

pub(super) mod price;

use super::address::{self, Address, Addressed};
use super::automaton::{Accept, PhraseMask, SlotSet, element_bit, phrase_bit};
use super::lead::lead;
use super::slots::{Builtin, Match, View, form};
use crate::callsign::Callsign;
use crate::element::Element;
use crate::rules::{RuleSet, SlotRef};
use crate::text::token::{Atom, BREAK, FILLER, GLUED, Kind};
use crate::value::Value;
use price::{BARE, CUT, INSIDE_FILLER, OWN, PAUSE, SLIP, STUTTER};

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

impl Scratch {
    /// A copy of the result, without working memory.
    pub(crate) fn compact(&self) -> Self {
        Self {
            atoms: self.atoms.clone(),
            matches: self.matches.clone(),
            binds: self.binds.clone(),
            covers: self.covers.clone(),
            inner: self.inner.clone(),
            ..Self::default()
        }
    }
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
    phrases: (&[u16], usize),
) {
    crate::text::token::tokenize(&rules.lexicon, text, &mut scratch.atoms);
    scratch.atoms.truncate(MOST_ATOMS);
    crate::text::token::settle_oh(&mut scratch.atoms);
    scratch.matches.clear();
    scratch.binds.clear();
    scratch.covers.clear();
    scratch.inner.clear();
    work(rules, scratch, text, speaker, hints, phrases, |work| {
        let n = work.view.atoms.len();
        work.s.best.clear();
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
    });
}

/// Readings of a slot of the grammar at atom `i` of a text that stands in `scratch.atoms`.
pub(crate) fn readings(
    rules: &RuleSet,
    scratch: &mut Scratch,
    text: &str,
    slot: SlotRef,
    i: usize,
) -> Vec<Match> {
    work(rules, scratch, text, Speaker::Pilot, &[], (&[], 0), |work| {
        let (first, count) = work.slot(slot, i);
        work.s.matches[first as usize..first as usize + usize::from(count)].to_vec()
    })
}

/// Sets up the search over the atoms in `scratch` and runs `task` with it.
fn work<T>(
    rules: &RuleSet,
    scratch: &mut Scratch,
    text: &str,
    speaker: Speaker,
    hints: &[Hint<'_>],
    (phrases, exact): (&[u16], usize),
    task: impl FnOnce(&mut Work<'_>) -> T,
) -> T {
    let atoms = std::mem::take(&mut scratch.atoms);
    let slots = Builtin::ALL.len() + rules.slots.len();
    if scratch.memo.len() < slots * (atoms.len() + 1) {
        scratch.memo.resize(slots * (atoms.len() + 1), (0, 0, 0));
    }
    lead(rules, &atoms, hints, &mut scratch.begins, &mut scratch.leads);
    scratch.epoch = scratch.epoch.wrapping_add(1);
    if scratch.epoch == 0 {
        scratch.memo.fill((0, 0, 0));
        scratch.epoch = 1;
    }
    let out = task(&mut Work {
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
        exact,
        answered: phrases.iter().fold(0, |m, &p| m | phrase_bit(p)),
        owed: hints.iter().fold(0, |m, h| m | element_bit(Some(h.element))),
    });
    scratch.atoms = atoms;
    out
}

#[expect(clippy::cast_possible_truncation, reason = "at most MOST_ATOMS atoms")]
pub(super) fn short(i: usize) -> u16 {
    i as u16
}

pub(super) struct Work<'a> {
    pub(super) rules: &'a RuleSet,
    pub(super) text: &'a str,
    pub(super) view: View<'a>,
    pub(super) s: &'a mut Scratch,
    slots: usize,
    start: usize,
    found: Best,
    pilot: bool,
    hints: &'a [Hint<'a>],
    /// Phrases of the transmission that this text answers.
    phrases: &'a [u16],
    /// How many of them were transmitted; the others have the same instruction.
    exact: usize,
    /// The same as a mask.
    answered: PhraseMask,
    /// Elements that were transmitted, as bits.
    pub(super) owed: u64,
}

impl Work<'_> {
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
                && (!own.words.is_empty() || own.ident.len() >= 4)
            {
                for k in i - 1..found.end {
                    self.s.begins[k] = 0;
                    self.s.leads[k] = 0;
                }
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
            && (inside || found.what == Address::Full && !found.slip && self.s.begins[i] == 0)
        {
            // Whole callsigns are taken whole.
            let cost = if inside {
                self.skip_cost(i) + self.s.best[i + 1].cost
            } else {
                OWN + self.s.best[found.end].cost
            };
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
        let word = atoms[i].word;
        let hard = matches!(atoms[i].kind, Kind::Word if word == 0 || self.view.marks.is_telephony(word))
            || atoms[i].kind == Kind::Letter;
        if hard
            && !(i > 0 && atoms[i].is(GLUED) && atoms[i - 1].kind == Kind::Digit)
            && let Some((digest, end)) = address::shape(atoms, self.view.marks, i)
        {
            let edge =
                i == 0 || atoms[i].is(BREAK) || end == atoms.len() || atoms[..i].iter().all(|a| a.is(FILLER));
            // A name that may be a slip, or was just given as a point, and letters where a route was given, are a
            // callsign with more doubt.
            let given = hints.iter().any(|h| {
                let route = matches!(h.value, Value::Route(..)) && atoms[i].kind == Kind::Letter;
                route || h.value == Value::Name(atoms[i].hash)
            });
            let doubt = if address::may_be_slip(&atoms[i]) || given { 2 * SLIP } else { 0 };
            let cost = if edge { 4 } else { 8 } + doubt;
            let wake = atoms.get(end).is_some_and(|a| a.word != 0 && a.word == self.view.marks.heavy);
            self.offer(cost, end + usize::from(wake), Piece::Other(digest), false);
        }
        for (h, hint) in hints.iter().enumerate() {
            self.hint(i, u8::try_from(h).unwrap_or(u8::MAX), hint);
        }
        if self.pilot
            && atoms[i].kind == Kind::Digit
            && (i == 0
                || atoms[i - 1].kind != Kind::Digit
                || atoms[i].is(BREAK)
                || !hints.is_empty() && !atoms[i].is(GLUED))
        {
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

    pub(super) fn offer(&mut self, cost: i32, end: usize, piece: Piece, slip: bool) {
        let total = cost + self.s.best[end].cost;
        if total < self.found.cost || (total == self.found.cost && end > self.found.end as usize) {
            self.found = Best { cost: total, end: short(end), piece, slip };
        }
    }

    /// Readings of a slot at a place: first index into `matches` and how many.
    pub(super) fn slot(&mut self, slot: SlotRef, i: usize) -> (u32, u16) {
        if self.s.begins[i] & (1 << slot.bit()) == 0 {
            return (0, 0);
        }
        self.known(slot.bit(), i).unwrap_or_else(|| self.find(slot, i))
    }

    /// Readings of the slot with a bit, if they were looked for.
    #[inline]
    fn known(&self, bit: u32, i: usize) -> Option<(u32, u16)> {
        let (epoch, first, count) = self.s.memo[i * self.slots + bit as usize];
        (epoch == self.s.epoch).then_some((first, count))
    }

    /// Looks for readings of a slot that can begin at a place.
    fn find(&mut self, slot: SlotRef, i: usize) -> (u32, u16) {
        let key = i * self.slots + slot.bit() as usize;
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
            let within = Within { data, start: i, depth };
            self.walk_slot(within, root, i, 0, 0, &mut found);
        }
        // The longest first: of two ways at the same price the first counts.
        found.sort_by_key(|m| std::cmp::Reverse(m.end));
        let first = u32::try_from(self.s.matches.len()).unwrap_or(u32::MAX);
        let count = u16::try_from(found.len()).unwrap_or(u16::MAX);
        self.s.matches.extend_from_slice(&found);
        self.s.pool.push(found);
        self.s.memo[key] = (self.s.epoch, first, count);
        (first, count)
    }

    /// Walks a slot of the grammar from atom `at` and notes each form that ends.
    fn walk_slot(
        &mut self,
        within: Within,
        state: u32,
        at: usize,
        form: u32,
        cost: u8,
        out: &mut Vec<Match>,
    ) {
        let rules = self.rules;
        for accept in rules.automaton.accepts(state) {
            if at > within.start {
                let first = u32::try_from(self.s.inner.len()).unwrap_or(u32::MAX);
                let inner = &self.s.inner_stack[within.depth..];
                let count = u8::try_from(inner.len()).unwrap_or(u8::MAX);
                // What the value does not name is not compared, and the order does not matter.
                let counted = &rules.slots[within.data as usize].counted[accept.phrase as usize];
                let digest = inner.iter().map(|&m| &self.s.matches[m as usize]);
                let digest = digest.filter(|m| counted.contains(&m.slot));
                let digest = digest.fold(0u64, |sum, m| sum.wrapping_add(m.value.digest()));
                self.s.inner.extend_from_slice(inner);
                out.push(Match {
                    slot: SlotRef::Data(within.data),
                    start: short(within.start),
                    end: short(at),
                    from: short(within.start),
                    to: short(at),
                    value: Value::Form(within.data, accept.phrase, digest),
                    form: form | form::CLEAR,
                    cost,
                    inner: (first, count),
                });
            }
        }
        let atoms = self.view.atoms;
        let Some(atom) = atoms.get(at) else { return };
        let cost = cost.saturating_add(if at > within.start && atom.is(BREAK) { 6 } else { 0 });
        if atom.word != 0
            && let Some(next) = rules.automaton.word(state, atom.word)
        {
            self.walk_slot(within, next, at + 1, form, cost, out);
        } else if atom.slip != 0
            && let Some(next) = rules.automaton.word(state, atom.slip)
        {
            self.walk_slot(within, next, at + 1, form, cost.saturating_add(3), out);
        } else if atom.is(FILLER) && at > within.start {
            self.walk_slot(within, state, at + 1, form, cost.saturating_add(1), out);
        }
        for (bit, edges) in rules.automaton.slots(state, self.s.begins[at]) {
            let known = self.known(bit, at);
            let (first, count) =
                known.unwrap_or_else(|| self.find(rules.symbols[edges[0].symbol as usize].slot, at));
            for m in first..first + u32::from(count) {
                let found = &self.s.matches[m as usize];
                let (end, cost) = (found.end as usize, cost.saturating_add(found.cost));
                let form = form | found.form & !form::CLEAR;
                self.s.inner_stack.push(m);
                for edge in edges {
                    self.walk_slot(within, edge.next, end, form, cost, out);
                }
                self.s.inner_stack.pop();
            }
        }
    }

    fn walk(&mut self, state: u32, at: usize, cost: i32, path: Path) {
        if path.cut && !self.rules.automaton.reaches(state, self.answered) {
            return;
        }
        if at > self.start {
            for &accept in self.rules.automaton.accepts(state) {
                self.accept(accept, at, cost, path);
            }
        }
        // A value of an instruction that was just given may be missing in the answer.
        if !path.cut && at > self.start && !self.phrases.is_empty() {
            self.cut(state, at, cost, path);
        }
        let atoms = self.view.atoms;
        let Some(atom) = atoms.get(at) else { return };
        let pause = if at > self.start && atom.is(BREAK) { PAUSE } else { 0 };
        let mut stepped = false;
        let telling = |word| path.telling || !self.view.marks.is_small(word);
        if atom.word != 0
            && let Some(next) = self.rules.automaton.word(state, atom.word)
        {
            stepped = true;
            self.walk(next, at + 1, cost + pause, Path { telling: telling(atom.word), worded: true, ..path });
        } else if atom.slip != 0
            && let Some(next) = self.rules.automaton.word(state, atom.slip)
        {
            stepped = true;
            self.walk(
                next,
                at + 1,
                cost + pause + SLIP,
                Path { telling: telling(atom.slip), slip: true, worded: true, ..path },
            );
        }
        let rules = self.rules;
        let open = if at == self.start { self.s.leads[at] } else { self.s.begins[at] };
        for (bit, edges) in rules.automaton.slots(state, open) {
            let known = self.known(bit, at);
            let (first, count) =
                known.unwrap_or_else(|| self.find(rules.symbols[edges[0].symbol as usize].slot, at));
            for m in first..first + u32::from(count) {
                for edge in edges {
                    let found = &self.s.matches[m as usize];
                    let price = self.slot_price(edge, found, path);
                    let end = found.end as usize;
                    self.s.stack.push(Bind { symbol: edge.symbol, found: m });
                    self.walk(edge.next, end, cost + pause + price, path);
                    self.s.stack.pop();
                }
            }
        }
        if !stepped && at > self.start && path.skipped < 3 {
            let path = Path { skipped: path.skipped + 1, ..path };
            if atom.is(FILLER) {
                self.walk(state, at + 1, cost + INSIDE_FILLER, path);
            } else {
                let last = &self.view.atoms[at - 1];
                if atom.kind == Kind::Word
                    && atom.word != 0
                    && last.word == atom.word
                    && last.span != atom.span
                    && !atom.is(BREAK)
                {
                    self.walk(state, at + 1, cost + STUTTER, path);
                }
            }
        }
    }

    /// Goes on as if a slot had been said here, if that can lead to a phrase that is answered.
    fn cut(&mut self, state: u32, at: usize, cost: i32, path: Path) {
        let rules = self.rules;
        if !rules.automaton.reaches(state, self.answered) {
            return;
        }
        for edge in rules.automaton.edges(state, self.owed) {
            if element_bit(edge.element) & self.owed != 0 && rules.automaton.reaches(edge.next, self.answered)
            {
                self.walk(edge.next, at, cost + CUT, Path { cut: true, ..path });
            }
        }
    }
}

/// Which slot of the grammar is walked, from where, and where its inner readings begin.
#[derive(Debug, Clone, Copy)]
struct Within {
    data: u16,
    start: usize,
    depth: usize,
}

/// What a walk through the automaton has seen.
#[derive(Debug, Clone, Copy, Default)]
struct Path {
    slip: bool,
    skipped: u8,
    /// A word that says something was read, not only *to*, *at*, *the*.
    telling: bool,
    /// A word of the pattern was read.
    worded: bool,
    /// A slot was left out: only a phrase that was just transmitted can be cut so.
    cut: bool,
}
