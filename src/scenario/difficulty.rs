//! What a number of difficulty stands for: traffic, tuning, hearing once, more in one transmission.

/// How hard a flight is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difficulty {
    /// The share of a station's transmissions before which it talks with another aircraft.
    pub traffic: f64,
    /// True if the trainee has to tune.
    pub tuning: bool,
    /// Words in a minute at which a transmission goes by, if it is heard once.
    pub rate: Option<u16>,
    /// True if transmissions that follow each other come as one.
    pub joined: bool,
}

/// The number that the hardest flight has.
pub const HARDEST: u8 = 5;

impl Difficulty {
    /// What a number from 1 to [`HARDEST`] stands for.
    ///
    /// ```
    /// use hearback::scenario::difficulty::Difficulty;
    /// assert!(!Difficulty::of(2).tuning && Difficulty::of(3).tuning);
    /// ```
    #[must_use]
    pub fn of(number: u8) -> Self {
        Self {
            traffic: match number {
                0 | 1 => 0.0,
                2 => 0.2,
                3 => 0.3,
                4 => 0.35,
                _ => 0.5,
            },
            tuning: number >= 3,
            // Controllers are asked for at most 100 words in a minute (Annex 10 Vol II 5.2.1.5.3); busy ones are faster.
            rate: match number {
                0..=3 => None,
                4 => Some(100),
                _ => Some(150),
            },
            joined: number >= HARDEST,
        }
    }
}
