//! The automaton: all patterns of a rule set as one deterministic graph over words and slots.

use crate::rules::Resolved;
use crate::text::lexicon::WordId;
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

    fn closure(&self, set: &mut Vec<u32>) {
        let mut i = 0;
        while i < set.len() {
            for &next in &self.states[set[i] as usize].skips {
                if !set.contains(&next) {
                    set.push(next);
                }
            }
            i += 1;
        }
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
        for &(goal, root) in &self.roots {
            let mut set = vec![root];
            self.closure(&mut set);
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
                    if !next.contains(&steps[i].1) {
                        next.push(steps[i].1);
                    }
                    i += 1;
                }
                self.closure(&mut next);
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

/// The deterministic graph. States are numbers.
#[derive(Debug, Default)]
pub(crate) struct Automaton {
    words: FxHashMap<u64, u32>,
    slots: Vec<Vec<(u16, u32)>>,
    accepts: Vec<Vec<Accept>>,
    pub(crate) controller: u32,
    pub(crate) pilot: u32,
    slot_roots: Vec<u32>,
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

    /// Number of states.
    pub(crate) fn len(&self) -> usize {
        self.slots.len()
    }
}
