//! How memory is taken to fade, and when a skill is to come again.

use rs_fsrs::{Parameters, Rating, Seed};

/// How a review went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// Not right.
    Again,
    /// Right, with a fault of form or with help.
    Hard,
    /// Right.
    Good,
}

/// What is thought to be left of a skill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Memory {
    /// Days until it is recalled nine times in ten.
    pub stability: f64,
    /// From 1, easy, to 10.
    pub difficulty: f64,
}

/// A way of spacing reviews. Everything is counted in whole days, so the hour of a drill does not matter.
pub trait Spacing {
    /// Memory after the first review.
    fn first(&self, grade: Grade) -> Memory;
    /// Memory after a review that many days after the one before.
    fn next(&self, memory: Memory, days: u32, grade: Grade) -> Memory;
    /// Days until the next review; at least 1.
    fn interval(&self, memory: Memory) -> u32;
    /// How likely it is recalled after so many days, from 0 to 1.
    fn recall(&self, memory: Memory, days: u32) -> f64;
}

/// How likely a skill is to be recalled when it comes again.
const RETENTION: f64 = 0.9;

/// No skill stays away longer than half a year: it must be there on the day it is needed.
const LONGEST: i32 = 180;

/// FSRS-5 with its published weights.
#[derive(Debug, Clone)]
pub struct Fsrs(Parameters);

impl Default for Fsrs {
    fn default() -> Self {
        Self(Parameters {
            request_retention: RETENTION,
            maximum_interval: LONGEST,
            enable_fuzz: false,
            // The default seed reads the clock; without fuzz nothing is drawn from it.
            seed: Seed::Empty,
            ..Parameters::default()
        })
    }
}

fn rating(grade: Grade) -> Rating {
    match grade {
        Grade::Again => Rating::Again,
        Grade::Hard => Rating::Hard,
        Grade::Good => Rating::Good,
    }
}

impl Spacing for Fsrs {
    fn first(&self, grade: Grade) -> Memory {
        let rating = rating(grade);
        Memory { stability: self.0.init_stability(rating), difficulty: self.0.init_difficulty(rating) }
    }

    fn next(&self, memory: Memory, days: u32, grade: Grade) -> Memory {
        let Memory { stability, difficulty } = memory;
        let recall = self.recall(memory, days);
        let after = match (days, grade) {
            // Twice on one day is one night less of forgetting: it counts little.
            (0, _) => self.0.short_term_stability(stability, rating(grade)),
            (_, Grade::Again) => self.0.next_forget_stability(difficulty, stability, recall).min(stability),
            (_, _) => self.0.next_recall_stability(difficulty, stability, recall, rating(grade)),
        };
        Memory {
            stability: after.clamp(0.1, f64::from(LONGEST)),
            difficulty: self.0.next_difficulty(difficulty, rating(grade)),
        }
    }

    fn interval(&self, memory: Memory) -> u32 {
        // A whole number from 1 to `LONGEST`.
        self.0.next_interval(memory.stability, 0) as u32
    }

    fn recall(&self, memory: Memory, days: u32) -> f64 {
        Parameters::forgetting_curve(f64::from(days), memory.stability)
    }
}
