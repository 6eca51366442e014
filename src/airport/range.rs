//! The error of a computation that was given a number it cannot take.

use thiserror::Error;

/// A number that a computation cannot take.
///
/// ```
/// use hearback::airport::altimetry::transition_level;
/// let error = transition_level(5000, 700.0, 1000, 5).unwrap_err();
/// assert_eq!(error.to_string(), "QNH 700 is out of range: 850 to 1100 hectopascals");
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{what} {value} is out of range: {allowed}")]
pub struct OutOfRange {
    /// What the number is.
    pub what: &'static str,
    /// The number.
    pub value: f64,
    /// What is allowed, with its unit.
    pub allowed: &'static str,
}

/// The number, if it lies between `least` and `most`, both included; never if it is not a number.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    (least, most): (f64, f64),
    allowed: &'static str,
) -> Result<f64, OutOfRange> {
    if (least..=most).contains(&value) { Ok(value) } else { Err(OutOfRange { what, value, allowed }) }
}
