//! How well slips are told from what is right: hits and false alarms, sensitivity and bias.

use statrs::distribution::{ContinuousCDF, Normal};

/// Counts of a watch over another voice.
///
/// ```
/// use hearback::crew::Tally;
/// let tally = Tally { hits: 18, misses: 2, false_alarms: 5, correct_silences: 15 };
/// let (sensitivity, bias) = tally.measure().unwrap();
/// assert!((sensitivity - 1.817).abs() < 0.001 && (bias + 0.271).abs() < 0.001);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Slips that were challenged.
    pub hits: u32,
    /// Slips that went by.
    pub misses: u32,
    /// Challenges of what was right.
    pub false_alarms: u32,
    /// What was right, left alone.
    pub correct_silences: u32,
}

impl Tally {
    /// Sensitivity d′ and criterion c; none unless there were both slips and right words to be told apart.
    ///
    /// Half an event is added to each count and one to each sum (log-linear correction), so that a perfect
    /// score has a finite measure. d′ is 0 for guessing and grows with skill; c is above 0 for one who
    /// rather stays silent, below 0 for one who rather challenges.
    #[must_use]
    pub fn measure(&self) -> Option<(f64, f64)> {
        let (slips, rights) = (self.hits + self.misses, self.false_alarms + self.correct_silences);
        if slips == 0 || rights == 0 {
            return None;
        }
        let corrected = |hits: u32, of: u32| (f64::from(hits) + 0.5) / (f64::from(of) + 1.0);
        Some(sensitivity_and_bias(corrected(self.hits, slips), corrected(self.false_alarms, rights)))
    }
}

/// Sensitivity d′ = z(H) − z(F) and criterion c = −(z(H) + z(F)) / 2 of two rates between 0 and 1.
#[must_use]
pub fn sensitivity_and_bias(hit_rate: f64, false_alarm_rate: f64) -> (f64, f64) {
    let normal = Normal::standard();
    let (hit, alarm) = (normal.inverse_cdf(hit_rate), normal.inverse_cdf(false_alarm_rate));
    (hit - alarm, -(hit + alarm) / 2.0)
}
