//! Moments as the record keeps them: UTC, RFC 3339, milliseconds; and the clock of the program.

use jiff::Timestamp;
use serde::{Deserialize, Deserializer, Serializer, de::Error};
use std::borrow::Cow;

/// The last moment that a record takes, in milliseconds: all have four figures for the year, so that text sorts.
const LAST: i64 = 253_402_300_799_999;

/// The moment in whole milliseconds, as far as a record takes it.
#[must_use]
pub fn whole(moment: Timestamp) -> Timestamp {
    Timestamp::from_millisecond(moment.as_millisecond().clamp(0, LAST)).unwrap_or(Timestamp::UNIX_EPOCH)
}

/// As it is written: `2026-03-14T09:26:53.589Z`.
///
/// ```
/// use hearback::record::moment::{parse, text};
/// assert_eq!(text(parse("2026-03-14T10:26:53.589+01:00").unwrap()), "2026-03-14T09:26:53.589Z");
/// ```
#[must_use]
pub fn text(moment: Timestamp) -> String {
    format!("{:.3}", whole(moment))
}

/// The moment that a text tells.
///
/// # Errors
/// What is allowed.
pub fn parse(text: &str) -> Result<Timestamp, String> {
    match text.parse::<Timestamp>() {
        Ok(moment) if (0..=LAST).contains(&moment.as_millisecond()) => Ok(whole(moment)),
        _ => Err(format!(
            "`{}` is no moment: 2026-03-14T09:26:53.589Z is one",
            text.chars().take(40).collect::<String>().escape_debug()
        )),
    }
}

/// The beginning of a day, UTC: `2026-03-14`; or a moment.
///
/// # Errors
/// What is allowed.
pub fn parse_date(text: &str) -> Result<Timestamp, String> {
    if text.len() == 10
        && let Ok(moment) = parse(&format!("{text}T00:00:00Z"))
    {
        return Ok(moment);
    }
    parse(text).map_err(|_| "a date is wanted, for instance 2026-03-14".to_owned())
}

/// The time now; in tests that of `HEARBACK_NOW`.
#[must_use]
pub fn now() -> Timestamp {
    let fixed = std::env::var("HEARBACK_NOW").ok().and_then(|text| parse(text.split('[').next()?).ok());
    fixed.unwrap_or_else(|| whole(Timestamp::now()))
}

pub(crate) fn serialize<S: Serializer>(moment: &Timestamp, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&text(*moment))
}

pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Timestamp, D::Error> {
    parse(&Cow::<str>::deserialize(from)?).map_err(D::Error::custom)
}
