//! The automaton: all patterns of a rule set as one deterministic graph over words and slots.

mod build;

use super::marks::Marks;
use super::slots::Builtin;
use crate::element::Element;
use crate::rules::{SlotRef, Symbol};
use crate::text::lexicon::WordId;
use crate::text::token::{Atom, Kind};
pub(crate) use build::{Builder, Raw};

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
    /// A form that only answers the phrase.
    pub(crate) reply: bool,
}

/// A set of slots: the matcher's own first, then those of the grammar.
pub(crate) type SlotSet = u128;

/// A set of phrases, folded to 64: a phrase that is in it has its bit, and so may another.
pub(crate) type PhraseMask = u64;

/// The bit of a phrase.
pub(crate) fn phrase_bit(phrase: u16) -> PhraseMask {
    1 << (phrase % 64)
}

/// One state: where its words, slots and ends lie in the shared lists.
#[derive(Debug, Clone, Copy, Default)]
struct Node {
    /// Slots that leave it.
    leaving: SlotSet,
    /// Phrases that end in it or behind it.
    reach: PhraseMask,
    /// Words that leave it, folded to 64.
    firsts: u64,
    /// Elements of the slots that leave it.
    elements: u64,
    /// First word in `words`, or first cell of a table in `tables` if `many`.
    words: u32,
    edges: u32,
    ranges: u32,
    accepts: u32,
    word_count: u16,
    edge_count: u16,
    accept_count: u16,
    many: bool,
}

/// A step over a slot.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Edge {
    pub(crate) symbol: u16,
    pub(crate) element: Option<Element>,
    pub(crate) next: u32,
}

/// The edges of one slot that leave a state.
#[derive(Debug, Clone, Copy)]
struct Range {
    bit: u32,
    first: u16,
    count: u16,
}

/// A set of elements, as bits.
pub(crate) fn element_bit(element: Option<Element>) -> u64 {
    element.map_or(0, |e| 1 << (e as u64))
}

/// The bit of a word in a set of words that is folded to 64.
fn word_bit(word: WordId) -> u64 {
    1 << (word % 64)
}

/// A state with more words than this has a table of all words.
const MANY: usize = 24;

/// The deterministic graph, laid out so that a step touches little memory.
#[derive(Debug, Default)]
pub(crate) struct Automaton {
    nodes: Vec<Node>,
    words: Vec<(WordId, u32)>,
    tables: Vec<u32>,
    edges: Vec<Edge>,
    /// For each state, its slots in the order of the bits of `leaving`.
    ranges: Vec<Range>,
    accepts: Vec<Accept>,
    pub(crate) controller: u32,
    pub(crate) pilot: u32,
    slot_roots: Vec<u32>,
    /// Slots that can begin with a word.
    by_word: Vec<SlotSet>,
    /// Slots that can begin with an atom of a kind: digit, letter, name, decimal.
    by_kind: [SlotSet; 7],
    /// Slots that can begin with digits before a unit.
    by_unit: [SlotSet; UNITS],
}

/// Phrases that end in each state or behind it. Patterns have no loops, so every state is left for good.
fn reach(raw: &Raw, by_state: &[Vec<(WordId, u32)>]) -> Vec<PhraseMask> {
    let mut out: Vec<PhraseMask> =
        raw.accepts.iter().map(|a| a.iter().fold(0, |m, a| m | phrase_bit(a.phrase))).collect();
    let mut changed = true;
    while changed {
        changed = false;
        for state in (0..out.len()).rev() {
            let slots = raw.slots[state].iter().map(|e| e.1);
            let words = by_state[state].iter().map(|e| e.1);
            let mask = slots.chain(words).fold(out[state], |m, next| m | out[next as usize]);
            changed |= mask != out[state];
            out[state] = mask;
        }
    }
    out
}

/// How many units tell values apart.
pub(crate) const UNITS: usize = 12;

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
    Persons,
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
            w if w == marks.persons => Self::Persons,
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
            Self::Persons => &[B::Number],
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
        Self::Persons,
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
        let node = &self.nodes[state as usize];
        if node.many {
            let next = self.tables[node.words as usize + word as usize];
            return (next != u32::MAX).then_some(next);
        }
        if node.firsts & word_bit(word) == 0 {
            return None;
        }
        let first = node.words as usize;
        self.words[first..first + node.word_count as usize].iter().find(|w| w.0 == word).map(|w| w.1)
    }

    #[inline]
    pub(crate) fn accepts(&self, state: u32) -> &[Accept] {
        let node = &self.nodes[state as usize];
        let first = node.accepts as usize;
        &self.accepts[first..first + node.accept_count as usize]
    }

    pub(crate) fn slot_root(&self, slot: u16) -> Option<u32> {
        self.slot_roots.get(slot as usize).copied().filter(|&s| s != u32::MAX)
    }

    /// True if one of the phrases may end in this state or behind it.
    #[inline]
    pub(crate) fn reaches(&self, state: u32, phrases: PhraseMask) -> bool {
        self.nodes[state as usize].reach & phrases != 0
    }

    /// Slots of `set` that leave a state: the bit of each, and its edges.
    #[inline]
    pub(crate) fn slots(&self, state: u32, set: SlotSet) -> impl Iterator<Item = (u32, &[Edge])> {
        let node = &self.nodes[state as usize];
        let mut open = node.leaving & set;
        let mut at = node.ranges as usize;
        std::iter::from_fn(move || {
            if open == 0 {
                return None;
            }
            let bit = open.trailing_zeros();
            open &= open - 1;
            while self.ranges[at].bit != bit {
                at += 1;
            }
            let first = node.edges as usize + self.ranges[at].first as usize;
            Some((bit, &self.edges[first..first + self.ranges[at].count as usize]))
        })
    }

    /// Edges that leave a state, unless none of them is of one of the `elements`.
    #[inline]
    pub(crate) fn edges(&self, state: u32, elements: u64) -> &[Edge] {
        let node = &self.nodes[state as usize];
        let count = if node.elements & elements == 0 { 0 } else { node.edge_count };
        &self.edges[node.edges as usize..node.edges as usize + count as usize]
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

    /// Lays out a graph and prepares the search: which slots can begin with what.
    pub(crate) fn new(raw: Raw, symbols: &[Symbol], marks: &Marks, words: usize) -> Self {
        let bit = |symbol: u16| symbols[symbol as usize].slot.bit();
        let mut by_state: Vec<Vec<(WordId, u32)>> = vec![Vec::new(); raw.slots.len()];
        for (&key, &next) in &raw.words {
            let state = usize::try_from(key >> 16).unwrap_or(0);
            by_state[state].push((WordId::try_from(key & 0xffff).unwrap_or(0), next));
        }
        let mut new = Self {
            controller: raw.controller,
            pilot: raw.pilot,
            slot_roots: raw.slot_roots.clone(),
            by_word: vec![0; words],
            ..Self::default()
        };
        new.begin(&raw, &by_state, marks, &bit);
        let reach = reach(&raw, &by_state);
        let place = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let small = |n: usize| u16::try_from(n).unwrap_or(u16::MAX);
        let lists = raw.slots.into_iter().zip(raw.accepts).zip(by_state).zip(reach);
        for (((mut edges, accepts), mut list), reach) in lists {
            let mut node = Node {
                reach,
                edges: place(new.edges.len()),
                ranges: place(new.ranges.len()),
                accepts: place(new.accepts.len()),
                accept_count: small(accepts.len()),
                word_count: small(list.len()),
                edge_count: small(edges.len()),
                many: list.len() > MANY,
                ..Node::default()
            };
            if node.many {
                node.words = place(new.tables.len());
                let first = new.tables.len();
                new.tables.resize(first + words, u32::MAX);
                for (word, next) in list {
                    new.tables[first + word as usize] = next;
                }
            } else {
                node.words = place(new.words.len());
                list.sort_unstable();
                node.firsts = list.iter().fold(0, |m, &(word, _)| m | word_bit(word));
                new.words.extend(list);
            }
            edges.sort_by_key(|e| (bit(e.0), e.0));
            for (i, edge) in edges.iter().enumerate() {
                let this = 1u128 << bit(edge.0);
                if node.leaving & this == 0 {
                    new.ranges.push(Range { bit: bit(edge.0), first: small(i), count: 0 });
                    node.leaving |= this;
                }
                if let Some(last) = new.ranges.last_mut() {
                    last.count += 1;
                }
            }
            let edges = edges.into_iter().map(|(symbol, next)| {
                let element = symbols[symbol as usize].element;
                Edge { symbol, element, next }
            });
            for edge in edges {
                node.elements |= element_bit(edge.element);
                new.edges.push(edge);
            }
            new.accepts.extend(accepts);
            new.nodes.push(node);
        }
        new
    }

    /// Finds what each slot can begin with.
    fn begin(&mut self, raw: &Raw, by_state: &[Vec<(WordId, u32)>], marks: &Marks, bit: &dyn Fn(u16) -> u32) {
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
        for unit in Unit::ALL {
            self.by_unit[unit as usize] =
                unit.builtins().iter().fold(0, |set, &b| set | 1 << SlotRef::Builtin(b).bit());
        }
        // A slot of the grammar begins with its words and with whatever begins its inner slots: first, for
        // each, all that it can begin with, at any depth.
        let mut starts: Vec<(SlotSet, SlotSet)> = Vec::new();
        for (slot, &root) in raw.slot_roots.iter().enumerate().filter(|(_, root)| **root != u32::MAX) {
            let set = 1u128 << (Builtin::ALL.len() + slot);
            for &(word, _) in &by_state[root as usize] {
                self.by_word[word as usize] |= set;
            }
            let inner = raw.slots[root as usize].iter().fold(0u128, |all, e| all | 1 << bit(e.0));
            starts.push((set, inner));
        }
        let mut changed = true;
        while changed {
            changed = false;
            for i in 0..starts.len() {
                let deep =
                    starts.iter().filter(|s| starts[i].1 & s.0 != 0).fold(starts[i].1, |all, s| all | s.1);
                changed |= deep != starts[i].1;
                starts[i].1 = deep;
            }
        }
        let all = self.by_word.iter_mut().chain(self.by_kind.iter_mut()).chain(self.by_unit.iter_mut());
        for have in all.filter(|have| **have != 0) {
            let more = starts.iter().filter(|s| *have & s.1 != 0).fold(0, |all, s| all | s.0);
            *have |= more;
        }
    }
}
