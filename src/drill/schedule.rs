//! What is due on a day, and what is learned next: computed from the reviews alone.

use super::history::Review;
use super::skill::Skill;
use super::spacing::{Fsrs, Memory, Spacing};
use jiff::ZonedDateTime;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Where a skill stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Which.
    pub skill: Skill,
    /// The day it was first tried.
    pub introduced: Date,
    /// The day it was last tried.
    pub last: Date,
    /// The day it is to come again.
    pub due: Date,
    /// Its last try was a slip that could have hurt someone.
    pub dangerous: bool,
    /// What is thought to be left of it.
    pub memory: Memory,
    /// How likely it would be recalled today.
    pub recall: f64,
    /// Tries, and those of them that were not right.
    pub tries: (usize, usize),
}

/// How much is wanted of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Want {
    /// Items at most.
    pub count: usize,
    /// New skills a day at most.
    pub new: usize,
    /// Fill up with what is due next, before its time.
    pub ahead: bool,
}

impl Default for Want {
    fn default() -> Self {
        Self { count: 12, new: 10, ahead: false }
    }
}

/// What a session is made of, each part in its order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Plan {
    /// Due today, what is most likely forgotten first.
    pub due: Vec<Skill>,
    /// New, in the order in which skills are learned.
    pub new: Vec<Skill>,
    /// Before its time, what is most likely forgotten first.
    pub ahead: Vec<Skill>,
}

impl Plan {
    /// All of it, one after the other.
    #[must_use]
    pub fn skills(&self) -> Vec<Skill> {
        [&self.due, &self.new, &self.ahead].into_iter().flatten().cloned().collect()
    }
}

/// Where all skills stand on a day.
#[derive(Debug, Clone)]
pub struct Schedule {
    /// The day.
    pub today: Date,
    standings: BTreeMap<Skill, Standing>,
}

impl Schedule {
    /// The schedule that follows from the reviews made so far, spaced by FSRS. Days are those of the time zone of
    /// `now`; reviews of a later time count as made now.
    #[must_use]
    pub fn of(reviews: &[Review], now: &ZonedDateTime) -> Self {
        Self::spaced(&Fsrs::default(), reviews, now)
    }

    /// The same with another way of spacing.
    #[must_use]
    pub fn spaced(spacing: &dyn Spacing, reviews: &[Review], now: &ZonedDateTime) -> Self {
        let today = now.date();
        let mut order: Vec<&Review> = reviews.iter().collect();
        order.sort_by_key(|review| review.at);
        let mut schedule = Self { today, standings: BTreeMap::new() };
        for review in order {
            let day = review.at.to_zoned_datetime(now.time_zone().clone()).date().min(today);
            schedule.take(spacing, review, day);
        }
        for standing in schedule.standings.values_mut() {
            standing.recall = spacing.recall(standing.memory, days(standing.last, today));
        }
        schedule
    }

    fn take(&mut self, spacing: &dyn Spacing, review: &Review, day: Date) {
        let grade = review.grade();
        let before = self.standings.get(&review.skill);
        let memory = match before {
            None => spacing.first(grade),
            Some(before) => spacing.next(before.memory, days(before.last, day), grade),
        };
        let (tries, slips) = before.map_or((0, 0), |before| before.tries);
        let dangerous = review.is_critical_slip();
        // What could have hurt someone is not left until tomorrow.
        let interval = if dangerous { 0 } else { i64::from(spacing.interval(memory)) };
        let due = day.checked_add(jiff::Span::new().days(interval)).unwrap_or(Date::MAX);
        let introduced = before.map_or(day, |before| before.introduced);
        let tries = (tries + 1, slips + usize::from(!review.right));
        let skill = review.skill.clone();
        let standing = Standing { skill, introduced, last: day, due, dangerous, memory, recall: 1.0, tries };
        self.standings.insert(review.skill.clone(), standing);
    }

    /// Where a skill stands; none if it was never tried.
    #[must_use]
    pub fn standing(&self, skill: &Skill) -> Option<&Standing> {
        self.standings.get(skill)
    }

    /// Skills that were first tried today.
    #[must_use]
    pub fn introduced_today(&self) -> usize {
        self.standings.values().filter(|standing| standing.introduced == self.today).count()
    }

    /// Those of the skills that are due today, what is most likely forgotten first.
    #[must_use]
    pub fn due(&self, of: &[Skill]) -> Vec<&Standing> {
        self.by_recall(of, |standing| standing.due <= self.today)
    }

    /// How many of the skills are due on each day after today.
    #[must_use]
    pub fn later(&self, of: &[Skill]) -> BTreeMap<Date, usize> {
        let mut out = BTreeMap::new();
        for standing in self.by_recall(of, |standing| standing.due > self.today) {
            *out.entry(standing.due).or_default() += 1;
        }
        out
    }

    /// What comes today of the skills, which stand in the order in which they are learned.
    #[must_use]
    pub fn plan(&self, of: &[Skill], want: Want) -> Plan {
        let first = |list: Vec<&Standing>, n: usize| -> Vec<Skill> {
            list.into_iter().take(n).map(|standing| standing.skill.clone()).collect()
        };
        let due = first(self.due(of), want.count);
        let left = want.count - due.len();
        let allowed = want.new.saturating_sub(self.introduced_today()).min(left);
        let mut seen = BTreeSet::new();
        let unknown = of.iter().filter(|skill| !self.standings.contains_key(skill) && seen.insert(*skill));
        let new: Vec<Skill> = unknown.take(allowed).cloned().collect();
        let left = left - new.len();
        let early = self.by_recall(of, |standing| standing.due > self.today && standing.last < self.today);
        let ahead = first(early, if want.ahead { left } else { 0 });
        Plan { due, new, ahead }
    }

    fn by_recall(&self, of: &[Skill], fits: impl Fn(&Standing) -> bool) -> Vec<&Standing> {
        let mut seen = BTreeSet::new();
        let known = of.iter().filter(|skill| seen.insert(*skill));
        let mut out: Vec<&Standing> =
            known.filter_map(|skill| self.standings.get(skill)).filter(|standing| fits(standing)).collect();
        out.sort_by(|a, b| {
            let first = |standing: &Standing| (!standing.dangerous, standing.recall);
            let ((a_first, a_recall), (b_first, b_recall)) = (first(a), first(b));
            a_first.cmp(&b_first).then(a_recall.total_cmp(&b_recall)).then_with(|| a.skill.cmp(&b.skill))
        });
        out
    }
}

/// Whole days from one to another, none backwards.
fn days(from: Date, to: Date) -> u32 {
    let days = from.until(to).map_or(0, |span| span.get_days());
    u32::try_from(days).unwrap_or(0)
}
