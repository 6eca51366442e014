//! The items of a session in order; what could have hurt someone comes back in it.

use super::skill::Skill;
use std::collections::{BTreeMap, VecDeque};

/// Items between a dangerous slip and its return, if there are so many.
const BETWEEN: usize = 2;

/// How often a skill comes back in one session: more would be drilling a line, not a skill.
const RETURNS: usize = 2;

/// What is still to come.
#[derive(Debug, Clone, Default)]
pub struct Queue {
    waiting: VecDeque<Skill>,
    returned: BTreeMap<Skill, usize>,
}

impl Queue {
    /// The queue of a session.
    #[must_use]
    pub fn of(skills: impl IntoIterator<Item = Skill>) -> Self {
        Self { waiting: skills.into_iter().collect(), returned: BTreeMap::new() }
    }

    /// How many items are still to come.
    #[must_use]
    pub fn len(&self) -> usize {
        self.waiting.len()
    }

    /// True if nothing is to come.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.waiting.is_empty()
    }

    /// True if the skill has been brought back.
    #[must_use]
    pub fn has_returned(&self, skill: &Skill) -> bool {
        self.returned.get(skill).is_some_and(|times| *times > 0)
    }

    /// The next item.
    pub fn next_skill(&mut self) -> Option<Skill> {
        self.waiting.pop_front()
    }

    /// True if the skill comes back soon in any case.
    #[must_use]
    pub fn is_next(&self, skill: &Skill) -> bool {
        self.waiting.iter().take(BETWEEN + 1).any(|waiting| waiting == skill)
    }

    /// Lets a skill come back after a slip; false if it waits already or has come back often enough.
    pub fn bring_back(&mut self, skill: &Skill) -> bool {
        if self.is_next(skill) {
            return false;
        }
        let returned = self.returned.entry(skill.clone()).or_default();
        if *returned >= RETURNS {
            return false;
        }
        *returned += 1;
        self.waiting.retain(|waiting| waiting != skill);
        let place = BETWEEN.min(self.waiting.len());
        self.waiting.insert(place, skill.clone());
        true
    }
}
