//! The shape of airport files, as an author writes them.

use crate::span::Spanned;
use schemars::JsonSchema;
use serde::Deserialize;

/// A text with its place in the file.
pub type Text = Spanned<String>;
/// A whole number with its place in the file.
pub type Number = Spanned<i64>;

/// One airport: everything a flight can draw from.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AirportFile {
    /// Version of the file format; 1.
    pub format: Number,
    /// Its name as it is spoken, for instance `Skerrow`.
    pub name: Text,
    /// Feet above mean sea level.
    pub elevation: Number,
    /// Feet.
    pub transition_altitude: Number,
    /// Rule set: `icao`, `eu`, `uk` or `us`.
    pub standard: Text,
    /// Letters the ATIS broadcast can carry, for instance `'ABCDEFG'`.
    pub information: Text,
    /// Who can be spoken to.
    pub station: Vec<StationEntry>,
    /// Runways with their holding points, both directions of each.
    pub runway: Vec<RunwayEntry>,
    /// Stands that share their way out.
    pub apron: Vec<ApronEntry>,
    /// One way from an apron to a runway each.
    pub taxi: Vec<TaxiEntry>,
    /// Instrument departures.
    pub departure: Vec<DepartureEntry>,
    /// What the weather can be.
    pub weather: Weather,
    /// Transponder codes that are given out.
    pub squawk: Vec<SquawkEntry>,
}

/// Who can be spoken to.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[station]]` with `id`, `name` and `frequency`")]
pub struct StationEntry {
    /// The name scenarios use, for instance `tower`.
    pub id: Text,
    /// The name on the radio, for instance `Skerrow Tower`.
    pub name: Text,
    /// Megahertz with three decimals, for instance `'118.705'`.
    pub frequency: Text,
}

/// One direction of a runway.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[runway]]` with `designator`")]
pub struct RunwayEntry {
    /// Two digits and perhaps `L`, `C` or `R`.
    pub designator: Text,
    /// Where aircraft wait before it; may be empty if nobody departs from it.
    #[serde(default)]
    pub holding_points: Vec<Text>,
}

/// Stands that share their way out.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[apron]]` with `id`, `stands` and `face`")]
pub struct ApronEntry {
    /// The name the taxi routes use.
    pub id: Text,
    /// The stands.
    pub stands: Vec<Text>,
    /// Where the nose can point after the push-back, for instance `['north', 'south']`.
    pub face: Vec<Text>,
}

/// A way from an apron to a runway.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "tables `[[taxi]]` with `apron`, `runway`, `holding_point` and `via`"
)]
pub struct TaxiEntry {
    /// Id of the apron.
    pub apron: Text,
    /// Designator of the runway.
    pub runway: Text,
    /// Where it ends.
    pub holding_point: Text,
    /// Taxiways in order, for instance `'A B'`.
    pub via: Text,
    /// A runway that has to be crossed on the way.
    pub crosses: Option<Text>,
}

/// An instrument departure.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "tables `[[departure]]` with `name`, `runways`, `points`, `initial` and `destinations`"
)]
pub struct DepartureEntry {
    /// Name and version, for instance `'BIRLA 1A'`.
    pub name: Text,
    /// Runways it begins at.
    pub runways: Vec<Text>,
    /// Points in order, one at least.
    pub points: Vec<Text>,
    /// The level it is first flown to: `'5000ft'` or `'FL070'`.
    pub initial: Text,
    /// Airports it leads to.
    pub destinations: Vec<Text>,
}

/// What the weather can be.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `qnh`, `wind` and `temperature`")]
pub struct Weather {
    /// Hectopascals.
    pub qnh: Range,
    /// Knots.
    pub wind: Range,
    /// Degrees Celsius.
    pub temperature: Range,
}

/// Both ends are included.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `from` and `to`")]
pub struct Range {
    /// The least.
    pub from: Number,
    /// The most.
    pub to: Number,
}

/// Codes that are given out, both ends included.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[squawk]]` with `from` and `to`")]
pub struct SquawkEntry {
    /// Four octal digits.
    pub from: Text,
    /// Four octal digits.
    pub to: Text,
}
