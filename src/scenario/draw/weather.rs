//! The weather of a flight at an airport without a network: the wind goes with the runway that was drawn.

use super::{Draw, Values};
use crate::airport::value::canonical;
use crate::element::{Element, Standard};

impl Draw<'_> {
    pub(super) fn weather(&self, values: &mut Values, runway: &str) -> Option<()> {
        let airport = &*self.scenario.airport;
        self.pressure(values)?;
        let mut put = |slot: &str, element: Option<Element>, value: String| {
            values.drawn.insert(slot.to_owned(), (element, value));
        };
        let along = runway.get(..2)?.parse::<i64>().ok()? * 10;
        let wind = (along + self.between("wind direction", &(-5..=5))? * 10 + 350) % 360 + 10;
        let speed = self.between("wind speed", &airport.wind)?;
        put("wind", Some(Element::Wind), format!("{wind:03}/{speed:02}"));
        let temperature = self.between("temperature", &airport.temperature)?;
        put("temperature", None, temperature.to_string());
        let turn = self.pick("turn", &[-1_i64, 1])?;
        let heading = (along + turn * 10 * self.between("heading", &(2..=7))? + 350) % 360 + 10;
        put("turn", Some(Element::Turn), if *turn < 0 { "left" } else { "right" }.to_owned());
        put("heading", Some(Element::Heading), canonical(Element::Heading, &heading.to_string()).ok()?);
        Some(())
    }
}

/// A pressure in hectopascals as the altimeter setting of a rule set, canonical.
pub(super) fn setting(standard: Standard, qnh: i64) -> String {
    // One hectopascal is 0.02953 inches of mercury.
    let inches = (qnh * 2953 + 500) / 1000;
    match standard {
        Standard::Us => format!("{}.{:02}inHg", inches / 100, inches % 100),
        Standard::Icao | Standard::Eu | Standard::Uk => format!("{qnh}hPa"),
    }
}

/// The pressure of a canonical setting, in whole hectopascals.
pub(super) fn hectopascals(setting: &str) -> Option<i64> {
    if let Some(inches) = setting.strip_suffix("inHg") {
        return Some((inches.parse::<f64>().ok()? * 1000.0 / 29.53).round() as i64);
    }
    setting.strip_suffix("hPa")?.parse().ok()
}
