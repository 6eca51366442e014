//! The automaton: all patterns of a rule set as one deterministic graph over words and slots.

use super::marks::Marks;
use super::slots::Builtin;
use crate::rules::{Resolved, SlotRef, Symbol};
use crate::text::lexicon::WordId;
use crate::text::token::{Atom, Kind};
use rustc_hash::FxHashMap;

/// Which book a pattern belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Goal {
    /// What a station says.
    Controller,
    /// What a pilot says.
    Pilot,
    /// A slot of the grammar.
    Slot(u16),
}

/// A pattern that ends in a state: phrase (or form of a slot) and variant (0 is the regular form).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Accept {
    pub(crate) phrase: u16,
    pub(crate) variant: u16,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Step {
    Word(WordId),
    Slot(u16),
}

#[derive(Debug, Default)]
struct State {
    steps: Vec<(Step, u32)>,
    skips: Vec<u32>,
    accept: Option<Accept>,
}

/// Collects patterns as a graph with empty steps, then makes it deterministic.
#[derive(Debug, Default)]
pub(crate) struct Builder {
    states: Vec<State>,
    roots: Vec<(Goal, u32)>,
}

impl Builder {
    pub(crate) fn new() -> Self {
        Self::default()
    }

    fn state(&mut self) -> u32 {
        self.states.push(State::default());
        u32::try_from(self.states.len() - 1).unwrap_or(u32::MAX)
    }

    fn root(&mut self, goal: Goal) -> u32 {
        if let Some(&(_, root)) = self.roots.iter().find(|r| r.0 == goal) {
            return root;
        }
        let root = self.state();
        self.roots.push((goal, root));
        root
    }

    pub(crate) fn add(&mut self, goal: Goal, pattern: &Resolved, phrase: u16, variant: u16) {
        let root = self.root(goal);
        let end = self.walk(pattern, root);
        let last = self.state();
        self.states[last as usize].accept = Some(Accept { phrase, variant });
        self.states[end as usize].skips.push(last);
    }

    fn walk(&mut self, pattern: &Resolved, from: u32) -> u32 {
        match pattern {
            Resolved::Sequence(items) => items.iter().fold(from, |at, item| self.walk(item, at)),
            Resolved::Either(items) => {
                let end = self.state();
                for item in items {
                    let start = self.state();
                    self.states[from as usize].skips.push(start);
                    let at = self.walk(item, start);
                    self.states[at as usize].skips.push(end);
                }
                end
            }
            Resolved::Optional(item) => {
                let start = self.state();
                self.states[from as usize].skips.push(start);
                let at = self.walk(item, start);
                let end = self.state();
                self.states[at as usize].skips.push(end);
                self.states[from as usize].skips.push(end);
                end
            }
            Resolved::Word(word) => self.step(from, Step::Word(*word)),
            Resolved::Slot(symbol) => self.step(from, Step::Slot(*symbol)),
        }
    }

    fn step(&mut self, from: u32, step: Step) -> u32 {
        let to = self.state();
        self.states[from as usize].steps.push((step, to));
        to
    }

    /// Adds what is reached without a step. `seen` holds the number of the last set for each state.
    fn closure(&self, set: &mut Vec<u32>, seen: &mut [u32], mark: u32) {
        for &state in set.iter() {
            seen[state as usize] = mark;
        }
        let mut i = 0;
        while i < set.len() {
            for &next in &self.states[set[i] as usize].skips {
                if seen[next as usize] != mark {
                    seen[next as usize] = mark;
                    set.push(next);
                }
            }
            i += 1;
        }
        // Only states with a way out or an end matter.
        set.retain(|&s| {
            let state = &self.states[s as usize];
            !state.steps.is_empty() || state.accept.is_some()
        });
        set.sort_unstable();
    }

    pub(crate) fn build(self) -> Automaton {
        let mut out = Automaton::default();
        let mut known: FxHashMap<Vec<u32>, u32> = FxHashMap::default();
        let mut work: Vec<Vec<u32>> = Vec::new();
        let mut intern = |set: Vec<u32>, out: &mut Automaton, work: &mut Vec<Vec<u32>>| -> u32 {
            *known.entry(set).or_insert_with_key(|set| {
                work.push(set.clone());
                out.slots.push(Vec::new());
                out.accepts.push(Vec::new());
                u32::try_from(out.slots.len() - 1).unwrap_or(u32::MAX)
            })
        };
        let mut seen = vec![0u32; self.states.len()];
        let mut mark = 0u32;
        for &(goal, root) in &self.roots {
            let mut set = vec![root];
            mark += 1;
            self.closure(&mut set, &mut seen, mark);
            let state = intern(set, &mut out, &mut work);
            match goal {
                Goal::Controller => out.controller = state,
                Goal::Pilot => out.pilot = state,
                Goal::Slot(slot) => {
                    let slot = slot as usize;
                    if out.slot_roots.len() <= slot {
                        out.slot_roots.resize(slot + 1, u32::MAX);
                    }
                    out.slot_roots[slot] = state;
                }
            }
        }
        let mut done = 0;
        while done < work.len() {
            let set = work[done].clone();
            let state = u32::try_from(done).unwrap_or(u32::MAX);
            let mut steps: Vec<(Step, u32)> = Vec::new();
            for &s in &set {
                steps.extend(&self.states[s as usize].steps);
                out.accepts[done].extend(self.states[s as usize].accept);
            }
            out.accepts[done].sort_unstable();
            out.accepts[done].dedup();
            steps.sort_unstable();
            let mut i = 0;
            while i < steps.len() {
                let step = steps[i].0;
                let mut next: Vec<u32> = Vec::new();
                while i < steps.len() && steps[i].0 == step {
                    next.push(steps[i].1);
                    i += 1;
                }
                next.dedup();
                mark += 1;
                self.closure(&mut next, &mut seen, mark);
                let target = intern(next, &mut out, &mut work);
                match step {
                    Step::Word(word) => {
                        out.words.insert(u64::from(state) << 16 | u64::from(word), target);
                    }
                    Step::Slot(symbol) => out.slots[done].push((symbol, target)),
                }
            }
            done += 1;
        }
        out
    }
}

/// A set of slots: the matcher's own first, then those of the grammar.
pub(crate) type SlotSet = u128;

/// The deterministic graph. States are numbers.
#[derive(Debug, Default)]
pub(crate) struct Automaton {
    words: FxHashMap<u64, u32>,
    slots: Vec<Vec<(u16, u32)>>,
    accepts: Vec<Vec<Accept>>,
    pub(crate) controller: u32,
    pub(crate) pilot: u32,
    slot_roots: Vec<u32>,
    /// Slots that leave each state.
    leaving: Vec<SlotSet>,
    /// For each state, where the edges of its slots begin, in the order of the bits of `leaving`.
    ranges: Vec<Vec<(u16, u16)>>,
    /// Slots that can begin with a word.
    by_word: Vec<SlotSet>,
    /// Slots that can begin with an atom of a kind: digit, letter, name, decimal.
    by_kind: [SlotSet; 7],
    /// Slots that can begin with digits before a unit.
    by_unit: [SlotSet; UNITS],
}

/// How many units tell values apart.
pub(crate) const UNITS: usize = 11;

/// A word or mark behind digits that says what they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    Knots,
    Feet,
    Degrees,
    Mile,
    Oclock,
    Hectopascals,
    Minute,
    Side,
    Thousand,
    Hundred,
    Decimal,
}

impl Unit {
    /// The unit that an atom is, if any.
    pub(crate) fn of(atom: &Atom, marks: &Marks) -> Option<Self> {
        match atom.kind {
            Kind::Thousand => return Some(Self::Thousand),
            Kind::Hundred => return Some(Self::Hundred),
            Kind::Decimal => return Some(Self::Decimal),
            _ => {}
        }
        let word = if atom.word != 0 { atom.word } else { atom.slip };
        Some(match word {
            0 => return None,
            w if w == marks.knots => Self::Knots,
            w if w == marks.feet => Self::Feet,
            w if w == marks.degrees => Self::Degrees,
            w if w == marks.mile => Self::Mile,
            w if w == marks.oclock => Self::Oclock,
            w if w == marks.hectopascals => Self::Hectopascals,
            w if w == marks.minute => Self::Minute,
            w if w == marks.left || w == marks.right || w == marks.centre => Self::Side,
            _ => return None,
        })
    }

    /// The matcher's own slots that such digits can be.
    fn builtins(self) -> &'static [Builtin] {
        use Builtin as B;
        match self {
            Self::Knots => &[B::Speed],
            Self::Feet => &[B::Level, B::Rate],
            Self::Degrees => &[B::Degrees, B::Heading, B::Wind, B::Temperature],
            Self::Mile => &[B::Distance, B::Number],
            Self::Oclock => &[B::Clock],
            Self::Hectopascals => &[B::Altimeter],
            Self::Minute => &[B::Minutes, B::Number],
            Self::Side => &[B::Runway],
            Self::Thousand => &[B::Level, B::Rate, B::Squawk, B::Altimeter],
            Self::Hundred => &[B::Level, B::Rate, B::Speed],
            Self::Decimal => &[B::Frequency, B::Altimeter],
        }
    }

    const ALL: [Self; UNITS] = [
        Self::Knots,
        Self::Feet,
        Self::Degrees,
        Self::Mile,
        Self::Oclock,
        Self::Hectopascals,
        Self::Minute,
        Self::Side,
        Self::Thousand,
        Self::Hundred,
        Self::Decimal,
    ];
}

/// Kinds of atoms that can begin a slot.
#[derive(Debug, Clone, Copy)]
pub(crate) enum First {
    Digit,
    Letter,
    Name,
    Decimal,
    /// Digits with *degrees* behind them.
    BeforeDegrees,
    BeforeMile,
    BeforeOclock,
}

impl Automaton {
    #[inline]
    pub(crate) fn word(&self, state: u32, word: WordId) -> Option<u32> {
        self.words.get(&(u64::from(state) << 16 | u64::from(word))).copied()
    }

    #[inline]
    pub(crate) fn slots(&self, state: u32) -> &[(u16, u32)] {
        &self.slots[state as usize]
    }

    #[inline]
    pub(crate) fn accepts(&self, state: u32) -> &[Accept] {
        &self.accepts[state as usize]
    }

    pub(crate) fn slot_root(&self, slot: u16) -> Option<u32> {
        self.slot_roots.get(slot as usize).copied().filter(|&s| s != u32::MAX)
    }

    /// Slots that leave a state.
    #[inline]
    pub(crate) fn leaving(&self, state: u32) -> SlotSet {
        self.leaving[state as usize]
    }

    /// Edges of the slot with bit `bit` that leave `state`: a range of `slots(state)`.
    #[inline]
    pub(crate) fn edges(&self, state: u32, bit: u32) -> std::ops::Range<usize> {
        let below = self.leaving[state as usize] & ((1u128 << bit) - 1);
        let (first, count) = self.ranges[state as usize][below.count_ones() as usize];
        first as usize..first as usize + count as usize
    }

    /// Slots that can begin with an atom; of a digit, `unit` is the word behind its run of digits.
    #[inline]
    pub(crate) fn begins(&self, atom: &Atom, unit: WordId, marks: &Marks) -> SlotSet {
        let word = |w: WordId| self.by_word.get(w as usize).copied().unwrap_or(0);
        let kind = match atom.kind {
            Kind::Digit => {
                let more = match unit {
                    0 => 0,
                    u if u == marks.degrees => self.by_kind[First::BeforeDegrees as usize],
                    u if u == marks.mile => self.by_kind[First::BeforeMile as usize],
                    u if u == marks.oclock => self.by_kind[First::BeforeOclock as usize],
                    _ => 0,
                };
                self.by_kind[First::Digit as usize] | more
            }
            Kind::Letter => self.by_kind[First::Letter as usize],
            Kind::Word if atom.word == 0 => self.by_kind[First::Name as usize],
            Kind::Decimal => self.by_kind[First::Decimal as usize],
            Kind::Word | Kind::Hundred | Kind::Thousand => 0,
        };
        kind | word(atom.word) | word(atom.slip)
    }

    /// Slots that can begin with digits before a unit.
    #[inline]
    pub(crate) fn before(&self, unit: Unit) -> SlotSet {
        self.by_unit[unit as usize]
    }

    /// Prepares the search: which slots can begin with what, and which edges belong to which slot.
    pub(crate) fn prepare(&mut self, symbols: &[Symbol], marks: &Marks, words: usize) {
        let bit = |symbol: u16| symbols[symbol as usize].slot.bit();
        self.by_word = vec![0; words];
        for &builtin in Builtin::ALL {
            let set = 1u128 << SlotRef::Builtin(builtin).bit();
            let (kinds, begin) = builtin.begins(marks);
            for &kind in kinds {
                self.by_kind[kind as usize] |= set;
            }
            for word in begin.into_iter().filter(|&w| w != 0) {
                self.by_word[word as usize] |= set;
            }
        }
        let mut first_words: FxHashMap<u32, Vec<WordId>> = FxHashMap::default();
        for &key in self.words.keys() {
            let state = u32::try_from(key >> 16).unwrap_or(u32::MAX);
            first_words.entry(state).or_default().push(WordId::try_from(key & 0xffff).unwrap_or(0));
        }
        for unit in Unit::ALL {
            self.by_unit[unit as usize] = unit.builtins().iter().fold(0, |set, &b| set | 1 << SlotRef::Builtin(b).bit());
        }
        // A slot of the grammar begins with its words and with whatever begins its inner slots.
        let mut changed = true;
        while changed {
            changed = false;
            for (slot, &root) in self.slot_roots.iter().enumerate() {
                if root == u32::MAX {
                    continue;
                }
                let set = 1u128 << (Builtin::ALL.len() + slot);
                for &word in first_words.get(&root).map_or(&[][..], Vec::as_slice) {
                    changed |= self.by_word[word as usize] & set == 0;
                    self.by_word[word as usize] |= set;
                }
                let inner = self.slots[root as usize].iter().fold(0u128, |all, e| all | 1 << bit(e.0));
                for have in self.by_word.iter_mut().chain(self.by_kind.iter_mut()).chain(self.by_unit.iter_mut()) {
                    if *have & inner != 0 && *have & set == 0 {
                        *have |= set;
                        changed = true;
                    }
                }
            }
        }
        for edges in &mut self.slots {
            edges.sort_by_key(|e| (bit(e.0), e.0));
            let mut ranges: Vec<(u16, u16)> = Vec::new();
            let mut set = 0u128;
            for (i, edge) in edges.iter().enumerate() {
                let this = 1u128 << bit(edge.0);
                if set & this == 0 {
                    ranges.push((u16::try_from(i).unwrap_or(u16::MAX), 0));
                    set |= this;
                }
                if let Some(last) = ranges.last_mut() {
                    last.1 += 1;
                }
            }
            self.leaving.push(set);
            self.ranges.push(ranges);
        }
    }
}
