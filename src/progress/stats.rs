//! Figures about shares and times: interval of a share, quantiles, a trend over weeks.

/// Standard normal quantile of 97.5 %, for intervals of 95 %.
pub const Z: f64 = 1.959_963_984_540_054;

/// The interval after Wilson (1927) for `right` of `all` at `z`; everything is possible of nothing.
///
/// ```
/// let (low, high) = hearback::progress::stats::wilson(10, 100, 1.96);
/// assert!((low - 0.0552).abs() < 1e-4 && (high - 0.1744).abs() < 1e-4);
/// ```
#[must_use]
pub fn wilson(right: usize, all: usize, z: f64) -> (f64, f64) {
    if all == 0 {
        return (0.0, 1.0);
    }
    let n = all as f64;
    let share = right.min(all) as f64 / n;
    let z2 = z * z;
    let middle = share + z2 / (2.0 * n);
    let spread = z * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z2 / n;
    // The ends are exact where rounding would leave a trace.
    let low = if right == 0 { 0.0 } else { (middle - spread) / scale };
    let high = if right >= all { 1.0 } else { (middle + spread) / scale };
    (low.max(0.0), high.min(1.0))
}

/// Median and middle half of some times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Times {
    /// How many.
    pub count: usize,
    /// A quarter is below it.
    pub lower: f64,
    /// Half are below it.
    pub median: f64,
    /// A quarter is above it.
    pub upper: f64,
}

impl Times {
    /// Of some values, in any order; none of none.
    #[must_use]
    pub fn of(values: &mut [u32]) -> Option<Self> {
        let [lower, median, upper] = [0.25, 0.5, 0.75].map(|q| quantile(values, q));
        Some(Self { count: values.len(), lower: lower?, median: median?, upper: upper? })
    }
}

/// The quantile of type 7 of Hyndman and Fan (1996), as R and NumPy have it; the order of the values changes.
#[must_use]
pub fn quantile(values: &mut [u32], q: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let place = (values.len() - 1) as f64 * q.clamp(0.0, 1.0);
    // In range: a place in the list, rounded down.
    let (whole, part) = (place.floor() as usize, place.fract());
    let (_, at, above) = values.select_nth_unstable(whole);
    let at = f64::from(*at);
    let next = above.iter().min().map_or(at, |next| f64::from(*next));
    Some(at + (next - at) * part)
}

/// Owed elements that a trend is made of: below it the normal distribution, which the error comes from, is no guide.
const ENOUGH: f64 = 20.0;

/// Where a share goes from week to week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trend {
    /// Fewer than three weeks, or too little in them.
    TooFew,
    /// Nothing but chance is needed to explain it.
    Steady,
    /// Up by so much a week.
    Rising(f64),
    /// Down by so much a week.
    Falling(f64),
}

impl Trend {
    /// The word for it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::TooFew => "too few",
            Self::Steady => "steady",
            Self::Rising(_) => "rising",
            Self::Falling(_) => "falling",
        }
    }

    /// Of weeks with what was right and owed in them: a line by least squares, each week weighted by what was owed; it
    /// rises or falls if its slope is more than [`Z`] standard errors from level, where the error is that of one
    /// share for all weeks.
    #[must_use]
    pub fn of(weeks: &[(i32, usize, usize)]) -> Self {
        let weeks: Vec<(f64, f64, f64)> = weeks
            .iter()
            .filter(|week| week.2 > 0)
            .map(|&(week, right, owed)| (f64::from(week), right as f64, owed as f64))
            .collect();
        let sum = |of: &dyn Fn(&(f64, f64, f64)) -> f64| weeks.iter().map(of).sum::<f64>();
        let owed = sum(&|w| w.2);
        if weeks.len() < 3 || owed < ENOUGH {
            return Self::TooFew;
        }
        let (middle, share) = (sum(&|w| w.0 * w.2) / owed, sum(&|w| w.1) / owed);
        let spread = sum(&|w| w.2 * (w.0 - middle).powi(2));
        let slope = sum(&|w| w.2 * (w.0 - middle) * (w.1 / w.2 - share)) / spread;
        let error = (share * (1.0 - share) / spread).sqrt();
        match slope {
            _ if slope.abs() <= Z * error || slope == 0.0 => Self::Steady,
            _ if slope > 0.0 => Self::Rising(slope),
            _ => Self::Falling(-slope),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trend_needs_weeks_and_more_than_chance() {
        assert_eq!(Trend::of(&[(1, 1, 10), (2, 10, 10)]), Trend::TooFew);
        assert_eq!(Trend::of(&[(1, 0, 6), (2, 3, 6), (3, 6, 6)]), Trend::TooFew);
        assert_eq!(Trend::of(&[(1, 5, 10), (2, 6, 10), (3, 5, 10)]), Trend::Steady);
        assert_eq!(Trend::of(&[(1, 10, 10), (2, 10, 10), (3, 10, 10)]), Trend::Steady);
        // Shares 0.2, 0.5, 0.8 lie on a line of 0.3 a week.
        let up = [(7, 4, 20), (8, 10, 20), (9, 16, 20)];
        assert!(matches!(Trend::of(&up), Trend::Rising(slope) if (slope - 0.3).abs() < 1e-12));
        let down = [(7, 16, 20), (8, 10, 20), (9, 4, 20)];
        assert!(matches!(Trend::of(&down), Trend::Falling(slope) if (slope - 0.3).abs() < 1e-12));
    }
}
