//! Airports: stations, runways, ways to taxi, departures and weather that flights are drawn from.

pub mod altimetry;
pub mod approach;
pub mod atis;
pub mod bearing;
pub mod channel;
pub mod check;
pub mod layout;
pub mod layout_schema;
pub mod load;
pub mod network;
pub mod range;
pub mod schema;
pub mod value;
pub mod vectors;
pub mod wind;

use crate::element::Standard;
use layout::{Layout, Runway};
use std::ops::RangeInclusive;
use vectors::Side;

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
    ("A009", "a channel that does not exist, or that no station may have"),
    ("A010", "two stations on one channel without saying so"),
    ("A011", "a runway whose designator does not fit its bearing"),
    ("A012", "two ends of a runway that do not fit each other"),
    ("A013", "a node that the network does not have"),
    ("A014", "a taxiway that is joined to nothing"),
    ("A015", "a stand that aircraft cannot leave or reach"),
    ("A016", "a limit that is out of range"),
    ("A017", "a runway at a node that the airport does not have"),
    ("A018", "a node without what its kind needs"),
    ("A019", "levels with nothing between them"),
    ("A020", "something missing that a network needs"),
    ("A021", "a transponder code that is never given out"),
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
    /// Standard arrivals.
    pub arrivals: Vec<Arrival>,
    /// Holding patterns.
    pub holds: Vec<Hold>,
    /// The lowest altitude a controller may lead a flight to, feet.
    pub minimum_vectoring: Option<i64>,
    /// The highest minimum sector altitude, feet.
    pub minimum_sector: Option<i64>,
    /// How much else moves.
    pub traffic: Traffic,
    /// Degrees from true to magnetic north, positive to the east, if the file says it.
    pub variation: Option<f64>,
    /// Designators of all its runways, in the order of the file.
    pub designators: Vec<String>,
    /// Those of them whose bearing the file says.
    pub runways: Vec<Runway>,
    /// Runways and taxiways to compute with, if the file has them.
    pub layout: Option<Layout>,
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
    /// Levels at its points.
    pub restrictions: Vec<Restriction>,
}

/// A standard arrival.
#[derive(Debug, Clone)]
pub struct Arrival {
    /// Name and version.
    pub name: String,
    /// Runways it leads to.
    pub runways: Vec<String>,
    /// Points in order, one at least.
    pub fixes: Vec<String>,
    /// Levels at them.
    pub restrictions: Vec<Restriction>,
}

/// A level at a point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restriction {
    /// The point.
    pub fix: String,
    /// Canonical level that is not to be gone below.
    pub or_above: Option<String>,
    /// Canonical level that is not to be gone above; the same as the other for one level exactly.
    pub or_below: Option<String>,
}

/// A holding pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// Where.
    pub fix: String,
    /// Inbound course, three digits, degrees magnetic.
    pub inbound: String,
    /// Which way it turns.
    pub turn: Side,
    /// Lowest and highest level, canonical.
    pub levels: (String, String),
}

/// How much else moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Traffic {
    /// A movement now and then.
    Light,
    /// Always somebody else on the frequency.
    #[default]
    Moderate,
    /// Never a pause.
    Heavy,
}

impl Traffic {
    /// Every density with its name in files.
    pub const ALL: [(&'static str, Traffic); 3] =
        [("light", Self::Light), ("moderate", Self::Moderate), ("heavy", Self::Heavy)];
}

impl Airport {
    /// The station of that id.
    #[must_use]
    pub fn station(&self, id: &str) -> Option<&Station> {
        self.stations.iter().find(|s| s.id == id)
    }
}
