//! What the record says: right and owed by element, topic, rule set, channel, phase and week, and dangerous habits.

mod chart;
pub mod gather;
pub mod habit;
pub mod html;
pub mod json;
pub mod stats;
pub mod text;

use crate::diagnostic::count;
use crate::element::Verdict;
use habit::Habit;
use jiff::Timestamp;
use stats::{Times, Trend, Z, wilson};

/// The number of the form of the JSON object.
pub const FORMAT: u32 = 1;

/// All that is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Whose record.
    pub profile: String,
    /// Only what is not older.
    pub since: Option<Timestamp>,
    /// Judged replies.
    pub attempts: usize,
    /// First replies among them: all figures are of these.
    pub firsts: usize,
    /// First replies for which a right one had been shown: nothing in them counts as right.
    pub told: usize,
    /// The oldest and the newest attempt.
    pub span: Option<(Timestamp, Timestamp)>,
    /// First replies by verdict, from correct to incorrect.
    pub verdicts: [usize; 4],
    /// All that was owed.
    pub total: Line,
    /// Milliseconds from the first key to Enter.
    pub typing: Option<Times>,
    /// The same parted in several ways.
    pub groups: Vec<Group>,
    /// What to work on, the most dangerous first.
    pub habits: Vec<Habit>,
}

/// What was owed, parted in one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// By what.
    pub by: By,
    /// One line for each part.
    pub lines: Vec<Line>,
}

/// A way to part what was owed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Runway, level, heading …
    Element,
    /// Line-up, taxi, frequency change …
    Topic,
    /// icao, eu, uk, us.
    Standard,
    /// Radio, deck …
    Channel,
    /// Taxi, approach …
    Phase,
    /// Weeks of the calendar, UTC.
    Week,
}

impl By {
    /// Every way, in the order in which it is shown.
    pub const ALL: [Self; 6] =
        [Self::Element, Self::Topic, Self::Phase, Self::Channel, Self::Standard, Self::Week];

    /// Its name in JSON.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Element => "element",
            Self::Topic => "topic",
            Self::Standard => "standard",
            Self::Channel => "channel",
            Self::Phase => "phase",
            Self::Week => "week",
        }
    }

    /// As a heading.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Element => "By element",
            Self::Topic => "By topic",
            Self::Standard => "By rule set",
            Self::Channel => "By channel",
            Self::Phase => "By phase of flight",
            Self::Week => "By week",
        }
    }
}

/// What was owed somewhere, and what came back.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Where.
    pub name: String,
    /// Elements that came back right.
    pub right: usize,
    /// Elements that were owed.
    pub owed: usize,
    /// Milliseconds from the prompt to the first key.
    pub times: Option<Times>,
    /// Number of the week, what was right and what was owed in it.
    pub weeks: Vec<(i32, usize, usize)>,
    /// Where it goes from week to week.
    pub trend: Trend,
}

impl Line {
    /// The share that came back right.
    #[must_use]
    pub fn share(&self) -> f64 {
        if self.owed == 0 { 0.0 } else { self.right as f64 / self.owed as f64 }
    }

    /// Where the share lies, with 95 % confidence.
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        wilson(self.right, self.owed, Z)
    }
}

impl Report {
    /// The report of nothing.
    #[must_use]
    pub fn empty(profile: &str, since: Option<Timestamp>) -> Self {
        gather::Gathered::default().report(profile, since)
    }

    /// One sentence on what it is of.
    #[must_use]
    pub fn summary(&self) -> String {
        let since = self.since.map_or(String::new(), |since| format!(" since {}", day(since)));
        let Some((from, to)) = self.span else {
            return format!("Nothing is recorded{since} for profile {}.", self.profile);
        };
        let days = if day(from) == day(to) {
            format!("on {}", day(from))
        } else {
            format!("from {} to {}", day(from), day(to))
        };
        let replies = if self.firsts == 1 { "reply" } else { "replies" };
        format!("{}, {} first {replies}, {days}.", count(self.attempts, "attempt"), self.firsts)
    }

    /// First replies by verdict, in words.
    #[must_use]
    pub fn verdict_words(&self) -> String {
        let [right, form, incomplete, incorrect] = self.verdicts;
        let told = match self.told {
            0 => String::new(),
            1 => "; before 1 of them a right reply was shown: it counts as not known".to_owned(),
            n => format!("; before {n} of them a right reply was shown: they count as not known"),
        };
        format!(
            "{right} right, {form} with a fault of form, {incomplete} incomplete, {incorrect} incorrect{told}"
        )
    }
}

/// The place of a verdict in [`Report::verdicts`].
fn place(verdict: Verdict) -> usize {
    match verdict {
        Verdict::Correct => 0,
        Verdict::Nonstandard => 1,
        Verdict::Incomplete => 2,
        Verdict::Incorrect => 3,
    }
}

/// The day of a moment, UTC.
#[must_use]
pub fn day(moment: Timestamp) -> String {
    crate::record::moment::text(moment).get(..10).unwrap_or_default().to_owned()
}

/// A share in whole per cent; only all is 100, only nothing is 0.
#[must_use]
pub fn percent(share: f64) -> u8 {
    let whole = (share * 100.0).round().clamp(0.0, 100.0) as u8;
    match whole {
        0 if share > 0.0 => 1,
        100 if share < 1.0 => 99,
        whole => whole,
    }
}

/// Milliseconds as seconds with one decimal.
#[must_use]
pub fn seconds(ms: f64) -> String {
    format!("{:.1}", ms / 1000.0)
}
