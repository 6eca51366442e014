//! The shape of the tables from which an airport file is computed: network, limits, arrivals, holdings.
//!
//! ```toml
//! variation = 3.0                       # degrees, east positive
//! limits = { crosswind = 15, tailwind = 5 }
//! transition = { layer = 1000, step = 10 }
//!
//! [[runway]]
//! designator = '09'
//! bearing = 94.2                        # degrees true
//! length = 2500
//! threshold = { x = 0, y = 0 }          # metres east and north in a local plan
//!
//! [[node]]
//! id = 'A1'
//! x = 20
//! y = -90
//! kind = 'holding_point'
//! runways = ['09']
//!
//! [[taxiway]]
//! name = 'A'
//! nodes = ['A1', 'a', 'A4']
//! ```

use super::schema::{Number, Text};
use schemars::JsonSchema;
use serde::Deserialize;

/// What a runway may have of the wind before another is taken; gusts included.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `crosswind` and `tailwind`, in knots")]
pub struct LimitsEntry {
    /// Knots across.
    pub crosswind: Option<Number>,
    /// Knots from behind.
    pub tailwind: Option<Number>,
}

/// How the transition level is found.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `layer` and `step`, or with `fixed`")]
pub struct TransitionEntry {
    /// Feet between transition altitude and level at the least; 1,000 if left out.
    pub layer: Option<Number>,
    /// 5 or 10 flight levels; 10 if left out.
    pub step: Option<Number>,
    /// A level that holds at every pressure, for instance `'FL150'`.
    pub fixed: Option<Text>,
}

/// A place in the local plan, metres.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `x` and `y`")]
pub struct PointEntry {
    /// To the east.
    pub x: f64,
    /// To the north.
    pub y: f64,
}

/// A place of the taxiway network.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[node]]` with `id`, `x` and `y`")]
pub struct NodeEntry {
    /// Its name: of a stand, a holding point or an exit the one that is said.
    pub id: Text,
    /// Metres to the east in the local plan.
    pub x: f64,
    /// Metres to the north.
    pub y: f64,
    /// `junction`, `stand`, `holding_point`, `crossing` or `exit`; a junction if left out.
    pub kind: Option<Text>,
    /// Runways that depart from this holding point, or the one that is crossed here.
    #[serde(default)]
    pub runways: Vec<Text>,
    /// Runways that aircraft leave here after landing; a holding point can have them too.
    #[serde(default)]
    pub exits: Vec<Text>,
    /// Runways that are crossed beyond this holding point, if nobody departs from it.
    #[serde(default)]
    pub before: Vec<Text>,
    /// Nodes that a line without a name leads to, both ways: how stands are joined.
    #[serde(default)]
    pub joins: Vec<Text>,
    /// The largest aircraft a stand takes: code letter `A` to `F` of its span.
    pub code: Option<Text>,
}

/// A taxiway, or a part of one that differs from the rest.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[taxiway]]` with `name` and `nodes`")]
pub struct TaxiwayEntry {
    /// The name that is said: a letter, perhaps with a number.
    pub name: Text,
    /// Its nodes in order, two at least.
    pub nodes: Vec<Text>,
    /// True if aircraft taxi only in the order of the nodes.
    #[serde(default)]
    pub one_way: bool,
    /// The largest aircraft it takes: code letter `A` to `F` of its span.
    pub code: Option<Text>,
    /// True if nobody taxies on it.
    #[serde(default)]
    pub closed: bool,
}

/// A holding pattern.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[hold]]` with `fix`, `inbound`, `turn` and `levels`")]
pub struct HoldEntry {
    /// Where.
    pub fix: Text,
    /// Inbound course, degrees magnetic.
    pub inbound: Number,
    /// `left` or `right`; right if left out.
    pub turn: Option<Text>,
    /// The lowest and the highest level.
    pub levels: LevelsEntry,
}

/// Levels, both ends included.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `from` and `to`")]
pub struct LevelsEntry {
    /// The lowest, for instance `'4000ft'`.
    pub from: Text,
    /// The highest, for instance `'FL140'`.
    pub to: Text,
}

/// A standard arrival.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[arrival]]` with `name`, `runways` and `fixes`")]
pub struct ArrivalEntry {
    /// Name and version, for instance `'TARNO 1A'`.
    pub name: Text,
    /// Runways it leads to.
    pub runways: Vec<Text>,
    /// Points in order.
    pub fixes: Vec<Text>,
    /// Levels at its points.
    #[serde(default)]
    pub restrictions: Vec<RestrictionEntry>,
}

/// A level at a point of a departure or arrival.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "a table with `fix`, and `at`, or `or_above`, `or_below` or both of these"
)]
pub struct RestrictionEntry {
    /// The point.
    pub fix: Text,
    /// This level exactly.
    pub at: Option<Text>,
    /// This level or higher.
    pub or_above: Option<Text>,
    /// This level or lower.
    pub or_below: Option<Text>,
}
