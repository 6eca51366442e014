//! Vectors to final, the height of a glide path, and how a holding is entered.
//!
//! Sources: Doc 8168 Volume I, III-2-1-5 (30 degrees to a parallel approach); Doc 4444, 8.9.3.6 \[memory\] (45 degrees);
//! JO 7110.65, 5-9-1 (30 degrees); Doc 8168 Volume I \[memory\] (sectors of entry).

use super::bearing::turned;
use super::range::{OutOfRange, within};

/// A side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Turns to the left.
    Left,
    /// Turns to the right.
    Right,
}

impl Side {
    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// Headings that lead to the final approach, degrees magnetic, multiples of five.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Vectors {
    /// Against the landing direction.
    pub downwind: u16,
    /// Across it, towards the centre line.
    pub base: u16,
    /// Onto the final approach.
    pub intercept: u16,
}

/// Headings for a circuit to that side. `course` is the final approach in degrees magnetic; `closing` is the angle at
/// which it is intercepted, after rounding 45 degrees at the most.
///
/// # Errors
/// A closing angle below 15 degrees, which never closes in time, or above 42.
///
/// ```
/// use hearback::airport::vectors::{Side, vectors};
/// let left = vectors(271.0, 30.0, Side::Left).unwrap();
/// assert_eq!((left.downwind, left.base, left.intercept), (90, 360, 300));
/// ```
pub fn vectors(course: f64, closing: f64, side: Side) -> Result<Vectors, OutOfRange> {
    let closing = within("closing angle", closing, (15.0, 42.0), "15 to 42 degrees")?;
    // In a left-hand circuit the aircraft is left of the final approach and comes from there.
    let sign = match side {
        Side::Left => 1.0,
        Side::Right => -1.0,
    };
    let heading = |degrees: f64| turned((turned(degrees) / 5.0).round() * 5.0) as u16;
    Ok(Vectors {
        downwind: heading(course + 180.0),
        base: heading(course + sign * 90.0),
        intercept: heading(course + sign * closing),
    })
}

/// Height in feet above the threshold of a glide path at a distance in nautical miles.
///
/// ```
/// assert_eq!(hearback::airport::vectors::glide_height(3.0, 10.0).round(), 3184.0);
/// ```
#[must_use]
pub fn glide_height(angle: f64, miles: f64) -> f64 {
    angle.to_radians().tan() * miles * 6076.1155
}

/// Feet per minute on a glide path at a ground speed in knots.
#[must_use]
pub fn glide_rate(angle: f64, ground_speed: f64) -> f64 {
    glide_height(angle, ground_speed / 60.0)
}

/// The altitude in feet, in hundreds, at which a flight meets the final approach: 300 feet below a path of three
/// degrees at that distance or lower, never below the least that a controller may use; `None` if that leaves nothing.
/// The 300 feet are this program's own.
#[must_use]
pub fn closing_altitude(threshold_elevation: f64, miles: f64, least: f64) -> Option<u32> {
    let most = threshold_elevation + glide_height(3.0, miles) - 300.0;
    let rounded = (most / 100.0).floor() * 100.0;
    (rounded >= least && rounded > 0.0).then_some(rounded as u32)
}

/// How a holding is entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// Turn and follow it.
    Direct,
    /// Outbound beside the inbound track, then back across.
    Parallel,
    /// Outbound at 30 degrees to it.
    Offset,
}

/// The entry for a heading on reaching the fix; all in degrees magnetic.
///
/// ```
/// use hearback::airport::vectors::{Entry, Side, entry};
/// assert_eq!(entry(90.0, 230.0, Side::Right), Entry::Offset);
/// ```
#[must_use]
pub fn entry(inbound: f64, heading: f64, turns: Side) -> Entry {
    let apart = (heading - inbound).rem_euclid(360.0);
    let apart = if turns == Side::Left { (360.0 - apart).rem_euclid(360.0) } else { apart };
    match apart {
        a if a <= 110.0 || a >= 290.0 => Entry::Direct,
        a if a <= 180.0 => Entry::Offset,
        _ => Entry::Parallel,
    }
}
