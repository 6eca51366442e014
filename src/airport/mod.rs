//! Airports: stations, runways, ways to taxi, departures and weather that flights are drawn from.

pub mod check;
pub mod load;
pub mod schema;
pub mod value;

use crate::element::Standard;
use std::ops::RangeInclusive;

/// Codes of problems in airport files, with what each means.
pub const CODES: &[(&str, &str)] = &[
    ("A001", "the file is empty or not UTF-8 text"),
    ("A002", "the file is not TOML, or has a key or a type that airports do not have"),
    ("A003", "the file is written for another version of the program"),
    ("A004", "a value that is not allowed"),
    ("A005", "the same name twice"),
    ("A006", "a name that nothing in the file defines"),
    ("A007", "a runway that aircraft depart from but cannot taxi to"),
    ("A008", "a list that must not be empty"),
];

/// An airport that was checked: every name in it leads somewhere, every value is canonical.
#[derive(Debug, Clone)]
pub struct Airport {
    /// The file name without its ending.
    pub id: String,
    /// Its name as it is spoken.
    pub name: String,
    /// Feet above mean sea level.
    pub elevation: i64,
    /// Feet.
    pub transition_altitude: i64,
    /// Its rule set.
    pub standard: Standard,
    /// Letters the ATIS broadcast can carry.
    pub information: Vec<String>,
    /// Who can be spoken to.
    pub stations: Vec<Station>,
    /// Stands by apron.
    pub aprons: Vec<Apron>,
    /// Ways from aprons to runways.
    pub taxi: Vec<Taxi>,
    /// Instrument departures.
    pub departures: Vec<Departure>,
    /// Hectopascals.
    pub qnh: RangeInclusive<i64>,
    /// Knots.
    pub wind: RangeInclusive<i64>,
    /// Degrees Celsius.
    pub temperature: RangeInclusive<i64>,
    /// Transponder codes that are given out.
    pub squawks: Vec<RangeInclusive<u16>>,
}

/// Who can be spoken to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Station {
    /// The name scenarios use.
    pub id: String,
    /// The name on the radio, for instance `Skerrow Tower`.
    pub name: String,
    /// Its function alone, for instance `Tower`.
    pub label: String,
    /// Megahertz with three decimals.
    pub frequency: String,
}

/// Stands that share their way out.
#[derive(Debug, Clone)]
pub struct Apron {
    /// The name the taxi routes use.
    pub id: String,
    /// The stands.
    pub stands: Vec<String>,
    /// Where the nose can point after the push-back.
    pub face: Vec<String>,
}

/// A way from an apron to a runway.
#[derive(Debug, Clone)]
pub struct Taxi {
    /// Id of the apron.
    pub apron: String,
    /// Designator of the runway.
    pub runway: String,
    /// Where it ends.
    pub holding_point: String,
    /// Taxiways in order.
    pub via: String,
    /// A runway that has to be crossed on the way.
    pub crosses: Option<String>,
}

/// An instrument departure.
#[derive(Debug, Clone)]
pub struct Departure {
    /// Name and version.
    pub name: String,
    /// Runways it begins at.
    pub runways: Vec<String>,
    /// Points in order, one at least.
    pub points: Vec<String>,
    /// The level it is first flown to.
    pub initial: String,
    /// Airports it leads to.
    pub destinations: Vec<String>,
}

impl Airport {
    /// The station of that id.
    #[must_use]
    pub fn station(&self, id: &str) -> Option<&Station> {
        self.stations.iter().find(|s| s.id == id)
    }
}
