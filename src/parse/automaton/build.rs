//! Patterns as a graph with empty steps, made deterministic.

use super::{Accept, Goal};
use crate::rules::Resolved;
use crate::text::lexicon::WordId;
use rustc_hash::FxHashMap;
use std::rc::Rc;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Step {
    Word(WordId),
    Slot(u16),
}

/// The end of a chain.
const NONE: u32 = u32::MAX;

/// A state of the graph: where the chains of its steps and of its empty steps begin.
#[derive(Debug)]
struct State {
    step: u32,
    skip: u32,
    accept: Option<Accept>,
}

/// Collects patterns as a graph with empty steps, then makes it deterministic.
#[derive(Debug, Default)]
pub(crate) struct Builder {
    states: Vec<State>,
    /// Step, where it leads, and the next of the same state.
    steps: Vec<(Step, u32, u32)>,
    /// Where an empty step leads, and the next of the same state.
    skips: Vec<(u32, u32)>,
    roots: Vec<(Goal, u32)>,
}

impl Builder {
    pub(crate) fn new() -> Self {
        Self::default()
    }

    fn state(&mut self) -> u32 {
        self.states.push(State { step: NONE, skip: NONE, accept: None });
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

    pub(crate) fn add(&mut self, goal: Goal, pattern: &Resolved, accept: Accept) {
        let root = self.root(goal);
        let end = self.walk(pattern, root);
        let last = self.state();
        self.states[last as usize].accept = Some(accept);
        self.skip(end, last);
    }

    fn skip(&mut self, from: u32, to: u32) {
        let head = &mut self.states[from as usize].skip;
        self.skips.push((to, *head));
        *head = u32::try_from(self.skips.len() - 1).unwrap_or(NONE);
    }

    fn walk(&mut self, pattern: &Resolved, from: u32) -> u32 {
        match pattern {
            Resolved::Sequence(items) => items.iter().fold(from, |at, item| self.walk(item, at)),
            Resolved::Either(items) => {
                let end = self.state();
                for item in items {
                    let at = self.walk(item, from);
                    self.skip(at, end);
                }
                end
            }
            Resolved::Optional(item) => {
                let at = self.walk(item, from);
                let end = self.state();
                self.skip(at, end);
                self.skip(from, end);
                end
            }
            Resolved::Word(word) => self.step(from, Step::Word(*word)),
            Resolved::Slot(symbol) => self.step(from, Step::Slot(*symbol)),
        }
    }

    fn step(&mut self, from: u32, step: Step) -> u32 {
        let to = self.state();
        let head = &mut self.states[from as usize].step;
        self.steps.push((step, to, *head));
        *head = u32::try_from(self.steps.len() - 1).unwrap_or(NONE);
        to
    }

    /// Adds what is reached without a step. `seen` holds the number of the last set for each state.
    fn closure(&self, set: &mut Vec<u32>, seen: &mut [u32], mark: u32) {
        for &state in set.iter() {
            seen[state as usize] = mark;
        }
        let mut i = 0;
        while i < set.len() {
            let mut chain = self.states[set[i] as usize].skip;
            while chain != NONE {
                let (next, rest) = self.skips[chain as usize];
                chain = rest;
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
            state.step != NONE || state.accept.is_some()
        });
        set.sort_unstable();
    }

    pub(crate) fn build(self) -> Raw {
        let mut out = Raw::default();
        let mut known: FxHashMap<Rc<[u32]>, u32> = FxHashMap::default();
        let mut work: Vec<Rc<[u32]>> = Vec::new();
        let mut intern = |set: &[u32], out: &mut Raw, work: &mut Vec<Rc<[u32]>>| -> u32 {
            if let Some(&state) = known.get(set) {
                return state;
            }
            let set: Rc<[u32]> = set.into();
            work.push(Rc::clone(&set));
            out.slots.push(Vec::new());
            out.accepts.push(Vec::new());
            let state = u32::try_from(out.slots.len() - 1).unwrap_or(u32::MAX);
            known.insert(set, state);
            state
        };
        let mut seen = vec![0u32; self.states.len()];
        let mut mark = 0u32;
        for &(goal, root) in &self.roots {
            let mut set = vec![root];
            mark += 1;
            self.closure(&mut set, &mut seen, mark);
            let state = intern(&set, &mut out, &mut work);
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
        let mut steps: Vec<(Step, u32)> = Vec::new();
        let mut next: Vec<u32> = Vec::new();
        while done < work.len() {
            let set = Rc::clone(&work[done]);
            let state = u32::try_from(done).unwrap_or(u32::MAX);
            steps.clear();
            for &s in &*set {
                let mut chain = self.states[s as usize].step;
                while chain != NONE {
                    let (step, to, rest) = self.steps[chain as usize];
                    steps.push((step, to));
                    chain = rest;
                }
                out.accepts[done].extend(self.states[s as usize].accept);
            }
            out.accepts[done].sort_unstable();
            out.accepts[done].dedup();
            steps.sort_unstable();
            let mut i = 0;
            while i < steps.len() {
                let step = steps[i].0;
                next.clear();
                while i < steps.len() && steps[i].0 == step {
                    next.push(steps[i].1);
                    i += 1;
                }
                next.dedup();
                mark += 1;
                self.closure(&mut next, &mut seen, mark);
                let target = intern(&next, &mut out, &mut work);
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

/// The deterministic graph as it is built: states are numbers.
#[derive(Debug, Default)]
pub(crate) struct Raw {
    pub(super) words: FxHashMap<u64, u32>,
    pub(super) slots: Vec<Vec<(u16, u32)>>,
    pub(super) accepts: Vec<Vec<Accept>>,
    pub(super) controller: u32,
    pub(super) pilot: u32,
    pub(super) slot_roots: Vec<u32>,
}
