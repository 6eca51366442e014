//! Ninety days with one learner and one way of choosing what comes.

use crate::learner::{Kind, Learner};
use hearback::drill::history::Review;
use hearback::drill::queue::Queue;
use hearback::drill::schedule::{Schedule, Want};
use hearback::drill::skill::Skill;
use hearback::drill::values::Values;
use hearback::element::{Fault, Standard};
use jiff::{Span, ZonedDateTime};

/// Days of a course.
pub(crate) const DAYS: u32 = 90;

/// Items on each day that the learner is there, for every way of choosing.
pub(crate) const ITEMS: usize = 20;

/// How the items of a day are chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Scheduler,
    Random,
    Fixed,
}

impl Way {
    pub(crate) const ALL: [Self; 3] = [Self::Scheduler, Self::Random, Self::Fixed];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Scheduler => "scheduler",
            Self::Random => "by chance",
            Self::Fixed => "fixed order",
        }
    }
}

/// A course, day by day, as it is on the next morning.
#[derive(Debug, Clone, Default)]
pub(crate) struct Course {
    /// Mean recall over all skills.
    pub(crate) all: Vec<f64>,
    /// Mean recall over the skills that were tried so far.
    pub(crate) tried: Vec<f64>,
}

impl Course {
    /// Recall over all skills on the morning after the last day.
    pub(crate) fn end(&self) -> f64 {
        self.all.last().copied().unwrap_or(0.0)
    }

    /// Recall over all skills, averaged over the days.
    pub(crate) fn mean(&self) -> f64 {
        self.all.iter().sum::<f64>() / self.all.len() as f64
    }

    /// Recall over the skills tried so far, averaged over the days.
    pub(crate) fn mean_of_tried(&self) -> f64 {
        self.tried.iter().sum::<f64>() / self.tried.len() as f64
    }
}

/// Ninety days. The same seed gives each way the same learner.
pub(crate) fn course(kind: Kind, way: Way, skills: &[Skill], seed: u64) -> Course {
    let mut learner = Learner::new(kind, skills, seed);
    let mut chance = Values::seeded(Standard::Icao, seed ^ 0x5eed);
    let start: ZonedDateTime = "2026-01-05T08:00:00+00:00[UTC]".parse().expect("a time");
    let mut reviews: Vec<Review> = Vec::new();
    let mut place = 0;
    let mut course = Course::default();
    for day in 0..DAYS {
        if learner.is_present(day) {
            let now = start.checked_add(Span::new().days(day)).expect("a day of this century");
            match way {
                Way::Scheduler => scheduled(&mut learner, skills, &mut reviews, &now, day),
                Way::Random => {
                    let mut left: Vec<&Skill> = skills.iter().collect();
                    for _ in 0..ITEMS {
                        let skill = left.swap_remove(chance.below(left.len()));
                        learner.try_skill(skill, day);
                    }
                }
                Way::Fixed => {
                    for _ in 0..ITEMS {
                        learner.try_skill(&skills[place % skills.len()], day);
                        place += 1;
                    }
                }
            }
        }
        let mean = |of: Vec<&Skill>| {
            let recall: f64 = of.iter().map(|skill| learner.recall(skill, day + 1)).sum();
            recall / of.len().max(1) as f64
        };
        course.all.push(mean(skills.iter().collect()));
        course.tried.push(mean(skills.iter().filter(|skill| learner.knows(skill)).collect()));
    }
    course
}

/// A day by the scheduler: what is due, then what is new, then what is due next; dangerous slips come back, and all
/// that within the same number of items. New skills have no cap but that number, so that no day is shorter.
fn scheduled(
    learner: &mut Learner,
    skills: &[Skill],
    reviews: &mut Vec<Review>,
    now: &ZonedDateTime,
    day: u32,
) {
    let want = Want { count: ITEMS, new: ITEMS, ahead: true };
    let mut queue = Queue::of(Schedule::of(reviews, now).plan(skills, want).skills());
    for n in 0..ITEMS {
        let skill = queue.next_skill().expect("no day has fewer items than those of the other ways");
        let right = learner.try_skill(&skill, day);
        let at = now.timestamp().checked_add(Span::new().seconds(n as i64 * 30)).expect("the same day");
        let severity = (!right).then(|| skill.element.severity(Fault::Wrong));
        let review = Review { skill, at, right, severity };
        if review.is_critical_slip() {
            queue.bring_back(&review.skill);
        }
        reviews.push(review);
    }
}

/// The mean of several courses, day by day.
pub(crate) fn mean_course(courses: &[Course]) -> Course {
    let mean = |pick: fn(&Course) -> &Vec<f64>| -> Vec<f64> {
        let day = |day: usize| courses.iter().map(|course| pick(course)[day]).sum::<f64>();
        (0..DAYS as usize).map(|n| day(n) / courses.len() as f64).collect()
    };
    Course { all: mean(|course| &course.all), tried: mean(|course| &course.tried) }
}
