//! Reviews that were made, and where they are kept.

use super::skill::Skill;
use super::spacing::Grade;
use crate::element::Severity;
use crate::error::Result;
use jiff::Timestamp;

/// One try at a skill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Review {
    /// Which.
    pub skill: Skill,
    /// When.
    pub at: Timestamp,
    /// It came back as it was said.
    pub right: bool,
    /// The worst that was found in it; none if nothing was.
    pub severity: Option<Severity>,
}

impl Review {
    /// How it went, as spacing counts it.
    #[must_use]
    pub fn grade(&self) -> Grade {
        match (self.right, self.severity) {
            (false, _) => Grade::Again,
            (true, None) => Grade::Good,
            (true, Some(_)) => Grade::Hard,
        }
    }

    /// True if someone could have been hurt.
    #[must_use]
    pub fn is_critical_slip(&self) -> bool {
        !self.right && self.severity == Some(Severity::Critical)
    }
}

/// Where reviews are kept.
pub trait History {
    /// All of them, in any order.
    ///
    /// # Errors
    /// If they cannot be read.
    fn reviews(&self) -> Result<Vec<Review>>;

    /// Keeps one more.
    ///
    /// # Errors
    /// If it cannot be written.
    fn keep(&mut self, review: Review) -> Result<()>;
}

/// Reviews that last as long as the program runs.
#[derive(Debug, Clone, Default)]
pub struct InMemory(pub Vec<Review>);

impl History for InMemory {
    fn reviews(&self) -> Result<Vec<Review>> {
        Ok(self.0.clone())
    }

    fn keep(&mut self, review: Review) -> Result<()> {
        self.0.push(review);
        Ok(())
    }
}
