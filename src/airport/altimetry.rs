//! Pressure: transition level, units, QFE.
//!
//! Sources: the standard atmosphere; Doc 7030 (a table for no layer, to which the layer is added); tables of AIP
//! Portugal and AIP Albania ENR 1.7, CAP 410, AIM 7-2-3, which the tests compare.

use super::range::{OutOfRange, within};

/// Sea level of the standard atmosphere, hectopascals.
pub const STANDARD: f64 = 1013.25;

/// Hectopascals of an inch of mercury.
pub const INCH: f64 = 33.863_886;

/// Feet to add to an altitude on `qnh` (hectopascals) for the pressure altitude.
///
/// ```
/// use hearback::airport::altimetry::pressure_difference;
/// assert_eq!(pressure_difference(995.1).round(), 499.0);
/// ```
#[must_use]
pub fn pressure_difference(qnh: f64) -> f64 {
    (1.0 - (qnh / STANDARD).powf(0.190_263)) / 6.875_585_6e-6
}

/// The lowest flight level that lies `layer` feet or more above the transition altitude (feet) at this QNH
/// (hectopascals), in steps of 5 or 10 flight levels.
///
/// # Errors
/// A pressure that no weather has, an altitude, layer or step that no State has.
///
/// ```
/// use hearback::airport::altimetry::transition_level;
/// assert_eq!(transition_level(5000, 1013.25, 1000, 5), Ok(60));
/// assert_eq!(transition_level(5000, 995.0, 1000, 10), Ok(70));
/// ```
pub fn transition_level(altitude: u32, qnh: f64, layer: u32, step: u16) -> Result<u16, OutOfRange> {
    let qnh = within("QNH", qnh, (850.0, 1100.0), "850 to 1100 hectopascals")?;
    let altitude =
        within("transition altitude", f64::from(altitude), (1000.0, 20_000.0), "1000 to 20000 feet")?;
    let layer = within("transition layer", f64::from(layer), (0.0, 2000.0), "0 to 2000 feet")?;
    if !matches!(step, 5 | 10) {
        let value = f64::from(step);
        return Err(OutOfRange { what: "step", value, allowed: "5 or 10 flight levels" });
    }
    let least = (altitude + pressure_difference(qnh) + layer) / 100.0 / f64::from(step);
    // A level that is met exactly is high enough.
    Ok((least - 1e-9).ceil() as u16 * step)
}

/// The lowest usable flight level above a transition altitude of 18,000 feet at this setting in inches of mercury;
/// `former` is the table with steps of 500 feet that the regulation still prints. Source: AIM 7-2-3; 14 CFR 91.121.
///
/// # Errors
/// A setting outside of the tables.
///
/// ```
/// use hearback::airport::altimetry::lowest_usable;
/// assert_eq!((lowest_usable(29.5, false), lowest_usable(29.5, true)), (Ok(190), Ok(185)));
/// ```
pub fn lowest_usable(inches: f64, former: bool) -> Result<u16, OutOfRange> {
    let (least, allowed) = if former { (26.92, "26.92 to 32") } else { (27.92, "27.92 to 32") };
    let inches = within("altimeter setting", inches, (least, 32.0), allowed)?;
    let below = ((29.92 - inches) * 100.0).round().max(0.0) as u16;
    Ok(180 + if former { below.div_ceil(50) * 5 } else { below.div_ceil(100) * 10 })
}

/// Inches of mercury.
///
/// ```
/// assert_eq!(format!("{:.2}", hearback::airport::altimetry::inches(1020.0)), "30.12");
/// ```
#[must_use]
pub fn inches(hectopascals: f64) -> f64 {
    hectopascals / INCH
}

/// Hectopascals.
#[must_use]
pub fn hectopascals(inches: f64) -> f64 {
    inches * INCH
}

/// A pressure as it is given: whole hectopascals, rounded down. Source: AIP Austria ENR 1.7.
///
/// ```
/// assert_eq!(hearback::airport::altimetry::reported(1012.9), 1012);
/// ```
#[must_use]
pub fn reported(hectopascals: f64) -> u16 {
    hectopascals.floor() as u16
}

/// QFE in whole hectopascals at an elevation in feet: 27 feet for each, rounded down; a rule of thumb.
///
/// ```
/// assert_eq!(hearback::airport::altimetry::qfe(1013, 540), 993);
/// ```
#[must_use]
pub fn qfe(qnh: u16, elevation: i32) -> u16 {
    reported(f64::from(qnh) - f64::from(elevation) / 27.0)
}
