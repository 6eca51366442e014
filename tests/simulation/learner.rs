//! Learners that forget. The model and all of its numbers are this project's own, made to be unlike the scheduler's:
//! they are no measurement of people.
//!
//! A skill that was tried has a half-life `h` in days. After `d` days it is remembered with probability `2^(-d/h)`.
//! What is not remembered comes back right by luck with probability `floor`, for the words are on the screen. (The
//! scheduler assumes a power law with an exponent of one half, no luck, and other rules for what a review does.)
//!
//! - The first try sets `h` to `first · ease`. Each skill has an ease of its own, `e^z` with `z` even between -0.9
//!   and 0.9, so that some fade six times as fast as others.
//! - Remembering it after at least one night multiplies `h` by `1 + gain · ease · (0.8 + faded)`, where `faded` is the
//!   share of the memory that was gone. For a usual skill in good time that is 2.35: the factor with which simple
//!   schedules on cards begin is 2.5.
//! - If it was not remembered, `h` is multiplied by `keep`, but is never less than at first: the right reply that is
//!   then shown makes it fresh. Luck teaches no more than that.
//! - Every further try on the same day multiplies `h` by 1.3.
//! - The careless learner slips on one element besides, however well he remembers.

use hearback::drill::skill::Skill;
use hearback::drill::values::Values;
use hearback::element::{Element, Standard};
use std::collections::BTreeMap;

/// A kind of learner.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    /// Recall of what was never tried, or is forgotten.
    pub(crate) floor: f64,
    /// Half-life after the first try, in days, for a skill of ease 1.
    pub(crate) first: f64,
    /// How much a right reply prolongs it.
    pub(crate) gain: f64,
    /// What is left of it when it was not remembered.
    pub(crate) keep: f64,
    /// An element on which he slips besides, and how often.
    pub(crate) careless: Option<(Element, f64)>,
    /// Does nothing on two days of seven.
    pub(crate) weekends_off: bool,
}

const USUAL: Kind =
    Kind { name: "", floor: 0.3, first: 2.5, gain: 1.5, keep: 0.3, careless: None, weekends_off: false };

/// What a further try on the same day multiplies the half-life by.
const SAME_DAY: f64 = 1.3;

/// The learners of the simulation.
pub(crate) const KINDS: [Kind; 5] = [
    Kind { name: "fast", first: 4.0, gain: 2.2, ..USUAL },
    Kind { name: "slow", gain: 0.8, ..USUAL },
    Kind { name: "forgetful", first: 1.5, keep: 0.1, ..USUAL },
    Kind { name: "careless on runways", careless: Some((Element::Runway, 0.3)), ..USUAL },
    Kind { name: "absent on weekends", weekends_off: true, ..USUAL },
];

#[derive(Debug, Clone, Copy)]
struct Trace {
    half_life: f64,
    last: u32,
}

/// One learner.
pub(crate) struct Learner {
    kind: Kind,
    ease: BTreeMap<Skill, f64>,
    traces: BTreeMap<Skill, Trace>,
    chance: Values,
}

impl Learner {
    /// A learner of that kind; the seed gives his eases and his luck.
    pub(crate) fn new(kind: Kind, skills: &[Skill], seed: u64) -> Self {
        let mut chance = Values::seeded(Standard::Icao, seed);
        let mut unit = || chance.below(1 << 20) as f64 / f64::from(1 << 20);
        let ease = skills.iter().map(|skill| (skill.clone(), (1.8 * unit() - 0.9).exp())).collect();
        Self { kind, ease, traces: BTreeMap::new(), chance }
    }

    pub(crate) fn is_present(&self, day: u32) -> bool {
        !(self.kind.weekends_off && day % 7 >= 5)
    }

    /// Memory without carelessness: from 0 to 1, above the floor.
    fn memory(&self, skill: &Skill, day: u32) -> f64 {
        let trace = self.traces.get(skill);
        trace.map_or(0.0, |trace| 0.5f64.powf(f64::from(day - trace.last) / trace.half_life))
    }

    /// How likely he has the skill right on a day.
    pub(crate) fn recall(&self, skill: &Skill, day: u32) -> f64 {
        let memory = self.memory(skill, day);
        let known = self.kind.floor + (1.0 - self.kind.floor) * memory;
        match self.kind.careless {
            Some((element, often)) if element == skill.element => known * (1.0 - often),
            _ => known,
        }
    }

    /// True if he has tried the skill.
    pub(crate) fn knows(&self, skill: &Skill) -> bool {
        self.traces.contains_key(skill)
    }

    fn happens(&mut self, probability: f64) -> bool {
        (self.chance.below(1 << 20) as f64) < probability * f64::from(1 << 20)
    }

    /// Tries the skill; true if it was right.
    pub(crate) fn try_skill(&mut self, skill: &Skill, day: u32) -> bool {
        let memory = self.memory(skill, day);
        let remembered = self.happens(memory);
        let lucky = self.happens(self.kind.floor);
        let careless = match self.kind.careless {
            Some((element, often)) => self.happens(often) && element == skill.element,
            None => false,
        };
        let ease = self.ease[skill];
        let first = self.kind.first * ease;
        let half_life = match self.traces.get(skill) {
            None => first,
            Some(trace) if trace.last == day => trace.half_life * SAME_DAY,
            Some(trace) if remembered => {
                trace.half_life * (1.0 + self.kind.gain * ease * (0.8 + 1.0 - memory))
            }
            Some(trace) => (trace.half_life * self.kind.keep).max(first),
        };
        self.traces.insert(skill.clone(), Trace { half_life, last: day });
        (remembered || lucky) && !careless
    }
}
