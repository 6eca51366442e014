//! What an airport with a network computes: runways in use, routes, transition level.

use super::altimetry::transition_level;
use super::approach::{Approach, VISUAL};
use super::network::{Network, Node, NodeKind, Prefer, Route};
use super::wind::{Candidate, InUse, Limits, Wind, in_use};
use crate::airport::bearing::{reciprocal, to_true};
use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::sync::{Arc, RwLock};

/// Runways and taxiways of an airport that were checked.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Degrees from true to magnetic north, positive to the east.
    pub variation: f64,
    /// Both directions of every runway, in the order of the file.
    pub runways: Vec<Runway>,
    /// When another runway is taken.
    pub limits: Limits,
    /// How the transition level is found.
    pub transition: Transition,
    /// The taxiways.
    pub network: Network,
    /// Metres.
    pub visibility: RangeInclusive<i64>,
    /// What [`Layout::route`] has found.
    pub(super) routes: Routes,
}

/// One direction of a runway.
#[derive(Debug, Clone, PartialEq)]
pub struct Runway {
    /// Its designator.
    pub designator: String,
    /// Degrees magnetic, exact.
    pub bearing: f64,
    /// Metres; 0 if it is not known.
    pub length: u32,
    /// Metres; 0 if it is not known.
    pub width: u32,
    /// Where it begins, metres east and north.
    pub threshold: Option<(f64, f64)>,
    /// Aircraft take off from it.
    pub departures: bool,
    /// Aircraft land on it.
    pub arrivals: bool,
    /// Kinds of approach to it.
    pub approaches: Vec<String>,
    /// Runways whose approaches lead here too, by circling.
    pub circling_from: Vec<String>,
    /// Taken in a calm, and as long as the wind keeps the limits.
    pub preferred: bool,
    /// Nothing moves on it.
    pub closed: bool,
}

/// How the transition level is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Transition {
    /// Feet between transition altitude and level at the least.
    pub layer: u32,
    /// 5 or 10 flight levels.
    pub step: u16,
    /// The level at every pressure, if it is fixed.
    pub fixed: Option<u16>,
}

impl Default for Transition {
    /// A layer of 1,000 feet in steps of FL 10, as on the tables of several States.
    fn default() -> Self {
        Self { layer: 1000, step: 10, fixed: None }
    }
}

impl Transition {
    /// The transition level above an altitude in feet at a QNH in hectopascals; `None` where neither is believable.
    #[must_use]
    pub fn level(&self, altitude: i64, qnh: i64) -> Option<u16> {
        if self.fixed.is_some() {
            return self.fixed;
        }
        let qnh = u16::try_from(qnh).ok()?;
        transition_level(u32::try_from(altitude).ok()?, f64::from(qnh), self.layer, self.step).ok()
    }
}

/// Routes by where they begin and end.
type Known = HashMap<(String, String), Option<Arc<Route>>>;

/// Routes that were asked for before.
#[derive(Debug, Clone, Default)]
pub(super) struct Routes(Arc<RwLock<Known>>);

/// The aircraft that scenarios fly: span of 24 to 36 metres. Source: Annex 14 Volume I, table 1-1 \[memory\].
pub const AIRLINER: char = 'C';

impl Layout {
    /// The runway of that designator.
    #[must_use]
    pub fn runway(&self, designator: &str) -> Option<&Runway> {
        self.runways.iter().find(|runway| runway.designator == designator)
    }

    /// Where aircraft land and take off in a wind.
    #[must_use]
    pub fn in_use(&self, wind: Wind) -> Option<(&Runway, &Runway)> {
        let candidates: Vec<Candidate> = self.runways.iter().map(candidate).collect();
        let InUse { arrivals, departures } = in_use(&candidates, wind, &self.limits)?;
        Some((self.runways.get(arrivals)?, self.runways.get(departures)?))
    }

    /// Holding points from which aircraft depart on that runway.
    pub fn entries<'a>(&'a self, runway: &'a str) -> impl Iterator<Item = &'a Node> {
        let here = move |node: &&Node| {
            node.kind == NodeKind::HoldingPoint && node.runways.iter().any(|name| name == runway)
        };
        self.network.nodes().iter().filter(here)
    }

    /// Nodes where aircraft that landed on that runway leave it.
    pub fn exits<'a>(&'a self, runway: &'a str) -> impl Iterator<Item = &'a Node> {
        self.network.nodes().iter().filter(move |node| node.exits.iter().any(|name| name == runway))
    }

    /// The ways down to a runway: its own approaches, then those to other runways that are followed by circling.
    pub fn approaches<'a>(&'a self, landing: &'a Runway) -> impl Iterator<Item = Approach<'a>> {
        let circled = landing.circling_from.iter().filter_map(|name| self.runway(name));
        std::iter::once(landing).chain(circled).flat_map(move |to| {
            let own = to.designator == landing.designator;
            let fits = move |kind: &&String| own || *kind != VISUAL;
            to.approaches.iter().filter(fits).map(move |kind| Approach { kind, to, landing })
        })
    }

    /// The route a controller gives an airliner, if there is one; found once, and then known.
    #[must_use]
    pub fn route(&self, from: &str, to: &str) -> Option<Arc<Route>> {
        let key = (from.to_owned(), to.to_owned());
        if let Some(known) = self.routes.0.read().ok().and_then(|routes| routes.get(&key).cloned()) {
            return known;
        }
        let found = self.network.route(from, to, Prefer::Usual, Some(AIRLINER)).ok().map(Arc::new);
        if let Ok(mut routes) = self.routes.0.write() {
            routes.insert(key, found.clone());
        }
        found
    }

    /// The most runways that a way from a stand to a runway crosses, and a way back, if each takes no more of them
    /// than it must.
    #[must_use]
    pub fn most_crossings(&self) -> (usize, usize) {
        let mut most = (0, 0);
        let stands = || self.network.nodes().iter().filter(|node| node.kind == NodeKind::Stand);
        for runway in &self.runways {
            let designator = &runway.designator;
            for stand in stands() {
                let least = |routes: &mut dyn Iterator<Item = Option<Arc<Route>>>| {
                    routes.flatten().map(|route| route.crossings.len()).min().unwrap_or(0)
                };
                let out = least(&mut self.entries(designator).map(|entry| self.route(&stand.id, &entry.id)));
                let back = least(&mut self.exits(designator).map(|exit| self.route(&exit.id, &stand.id)));
                most = (most.0.max(out), most.1.max(back));
            }
        }
        most
    }

    /// The name by which a runway is crossed: that of its direction which is in use.
    #[must_use]
    pub fn crossed(&self, runway: &str, wind: Wind) -> String {
        let other = reciprocal(runway).unwrap_or_default();
        let ahead = |designator: &str| {
            let runway = self.runway(designator)?;
            Some(
                super::wind::components(runway.bearing, f64::from(wind.from), f64::from(wind.speed)).headwind,
            )
        };
        match (ahead(runway), ahead(&other)) {
            (Some(own), Some(opposite)) if opposite > own => other,
            _ => runway.to_owned(),
        }
    }

    /// True if aircraft that depart have to taxi along the runway to its beginning: every holding point of it lies
    /// more than 300 metres further on. Only known with a threshold.
    #[must_use]
    pub fn backtracks(&self, runway: &Runway) -> bool {
        let mut entries = self.entries(&runway.designator).peekable();
        entries.peek().is_some()
            && entries.all(|at| self.along(runway, at).is_some_and(|metres| metres > 300.0))
    }

    /// True if aircraft that landed have to turn round and taxi back along the runway: no exit lies far enough
    /// from its beginning. Only known with a threshold.
    #[must_use]
    pub fn turns_back(&self, runway: &Runway) -> bool {
        let mut exits = self.exits(&runway.designator).peekable();
        exits.peek().is_some() && exits.all(|at| self.along(runway, at).is_some_and(|metres| metres < ROLL))
    }

    /// Metres from the threshold to a node, measured along the runway.
    fn along(&self, runway: &Runway, node: &Node) -> Option<f64> {
        let (x, y) = runway.threshold?;
        let (east, north) = to_true(runway.bearing, self.variation).to_radians().sin_cos();
        Some((node.x - x) * east + (node.y - y) * north)
    }
}

/// Metres that an airliner rolls before it can turn off; this program's own.
const ROLL: f64 = 1000.0;

fn candidate(runway: &Runway) -> Candidate {
    Candidate {
        bearing: runway.bearing,
        departures: runway.departures,
        arrivals: runway.arrivals,
        preferred: runway.preferred,
        closed: runway.closed,
        length: runway.length,
    }
}
