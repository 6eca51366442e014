//! The shape of airport files, as an author writes them.

use super::layout_schema::{
    ArrivalEntry, HoldEntry, LimitsEntry, NodeEntry, PointEntry, RestrictionEntry, TaxiwayEntry,
    TransitionEntry,
};
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
    /// One way from an apron to a runway each; none if there is a network.
    #[serde(default)]
    pub taxi: Vec<TaxiEntry>,
    /// Instrument departures.
    pub departure: Vec<DepartureEntry>,
    /// What the weather can be.
    pub weather: Weather,
    /// Transponder codes that are given out.
    pub squawk: Vec<SquawkEntry>,
    /// Degrees from true to magnetic north, positive to the east; needed with a `bearing`.
    pub variation: Option<Spanned<f64>>,
    /// What a runway may have of the wind before another is taken; 15 across and 5 from behind if left out.
    pub limits: Option<LimitsEntry>,
    /// How the transition level is found: a layer of 1,000 feet in steps of FL 10 if left out.
    pub transition: Option<TransitionEntry>,
    /// Places of the taxiway network. With the first of them ways are computed, and the wind chooses the runway.
    #[serde(default)]
    pub node: Vec<NodeEntry>,
    /// Taxiways of the network.
    #[serde(default)]
    pub taxiway: Vec<TaxiwayEntry>,
    /// Holding patterns.
    #[serde(default)]
    pub hold: Vec<HoldEntry>,
    /// Standard arrivals.
    #[serde(default)]
    pub arrival: Vec<ArrivalEntry>,
    /// The lowest altitude a controller may lead a flight to, feet.
    pub minimum_vectoring_altitude: Option<Number>,
    /// The highest minimum sector altitude, feet.
    pub minimum_sector_altitude: Option<Number>,
    /// How much else moves: `light`, `moderate` or `heavy`; moderate if left out.
    pub traffic: Option<Text>,
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
    /// True if another station is on the same channel on purpose.
    #[serde(default)]
    pub shared: bool,
}

/// One direction of a runway.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[runway]]` with `designator`")]
pub struct RunwayEntry {
    /// Two digits and perhaps `L`, `C` or `R`.
    pub designator: Text,
    /// Where aircraft wait before it; may be empty if nobody departs from it, or if the network says it.
    #[serde(default)]
    pub holding_points: Vec<Text>,
    /// Degrees true of the direction aircraft move in, decimals allowed.
    pub bearing: Option<Spanned<f64>>,
    /// Metres.
    pub length: Option<Number>,
    /// Metres.
    pub width: Option<Number>,
    /// Where it begins in the local plan.
    pub threshold: Option<Spanned<PointEntry>>,
    /// `departures`, `arrivals` or `both`; both if left out.
    #[serde(rename = "use")]
    pub used_for: Option<Text>,
    /// Kinds of approach to it, for instance `['ILS', 'RNP Z', 'visual']`; with a network one is drawn.
    #[serde(default)]
    pub approaches: Vec<Text>,
    /// Runways whose approaches lead here too: the aircraft breaks off in sight of the airport and circles.
    #[serde(default)]
    pub circling_from: Vec<Text>,
    /// True if it is taken in a calm, and as long as the wind keeps the limits.
    #[serde(default)]
    pub preferred: bool,
    /// True if nothing moves on it.
    #[serde(default)]
    pub closed: bool,
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
    /// Levels at its points.
    #[serde(default)]
    pub restrictions: Vec<RestrictionEntry>,
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
    /// Metres, 10,000 for ten kilometres or more; 1,500 to 10,000 if left out. Only drawn with a network.
    pub visibility: Option<Range>,
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
