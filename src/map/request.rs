//! What a route is asked for by: names of stands, holding points, exits and runways, and which taxiways are closed.

use super::{Plan, Shown};
use crate::airport::Airport;
use crate::airport::bearing::to_true;
use crate::airport::layout::{AIRLINER, Runway};
use crate::airport::network::{Network, Node, NodeKind, Prefer, Route, RouteError};
use crate::diagnostic::{clean, nearest};
use std::collections::BTreeSet;
use thiserror::Error;

/// What a route is to be short in, with its name on the command line.
pub const PREFERENCES: [(&str, Prefer); 3] =
    [("usual", Prefer::Usual), ("distance", Prefer::Distance), ("turns", Prefer::Turns)];

/// Why a drawing cannot be made as asked.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MapError {
    /// A name that the airport does not have.
    #[error("no {what} `{name}` at {airport}{help}")]
    Unknown {
        /// `taxiway` or `place`.
        what: &'static str,
        /// What was asked for.
        name: String,
        /// Name of the airport.
        airport: String,
        /// Begins with `;` if there is something to say.
        help: String,
    },
    /// The airport's ways are listed, not computed.
    #[error("{0} has no taxiway network (`[[node]]` and `[[taxiway]]`), so no route can be computed{1}")]
    NoNetwork(String, String),
    /// Nothing has a place.
    #[error("nothing of {0} can be drawn. {1}")]
    Nothing(String, String),
    /// Nothing leads there.
    #[error("{0}{1}")]
    NoWay(String, String),
}

/// A route that is asked for.
#[derive(Debug, Clone)]
pub struct Request<'a> {
    /// Where it begins.
    pub from: &'a str,
    /// Where it ends.
    pub to: &'a str,
    /// What it is to be short in.
    pub prefer: Prefer,
    /// Code letter of the aircraft's span; that of an airliner, or of a smaller stand, if left out.
    pub code: Option<char>,
}

/// Taxiways by their names.
///
/// # Errors
/// A name that no taxiway has.
pub fn taxiways(airport: &Airport, names: &[String]) -> Result<BTreeSet<String>, MapError> {
    let ways = airport.layout.as_ref().map_or(&[][..], |layout| layout.network.ways());
    let known: BTreeSet<&str> = ways.iter().filter_map(|way| way.name.as_deref()).collect();
    let mut out = BTreeSet::new();
    for name in names.iter().flat_map(|names| names.split([',', ' '])).filter(|name| !name.is_empty()) {
        let found = known.iter().find(|known| known.eq_ignore_ascii_case(name));
        let Some(found) = found else {
            return Err(unknown("taxiway", name, airport, known.into_iter().collect()));
        };
        out.insert((*found).to_owned());
    }
    Ok(out)
}

fn unknown(what: &'static str, name: &str, airport: &Airport, mut known: Vec<&str>) -> MapError {
    known.dedup();
    // Every other letter is near to a single one.
    let near = nearest(name, known.iter().copied()).filter(|_| name.chars().count() > 1);
    let help = match near {
        Some(near) => format!("; did you mean `{near}`?"),
        None if known.is_empty() => "; it has none".to_owned(),
        None => {
            let shown: Vec<&str> = known.iter().take(24).copied().collect();
            let more = known.len() - shown.len();
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            format!("; known here: {}{more}", shown.join(", "))
        }
    };
    MapError::Unknown {
        what,
        name: clean(name).into_owned(),
        airport: clean(&airport.name).into_owned(),
        help,
    }
}

/// What an end of a route can be.
#[derive(Debug, Clone, Copy)]
enum End<'a> {
    At(&'a Node),
    Runway(&'a Runway),
}

impl<'a> Plan<'a> {
    /// Puts a route on the plan. A runway stands for the holding points at its beginning, or, where a route begins at
    /// it, for the exits that a landed airliner can take. A name of both a runway and a stand is the runway, unless
    /// the other end is one; `stand 22` and `runway 22` say which.
    ///
    /// # Errors
    /// No network, a name that is not known, or nothing leads there.
    pub fn show(&mut self, request: &Request<'_>) -> Result<(), MapError> {
        let airport = self.airport;
        let Some(network) = &self.network else {
            let ways = listed(airport);
            let ways = if ways.is_empty() { ways } else { format!("; its file lists: {ways}") };
            return Err(MapError::NoNetwork(clean(&airport.name).into_owned(), ways));
        };
        let to_runway = matches!(find(airport, network, request.to, true)?, End::Runway(_));
        let from = find(airport, network, request.from, !to_runway)?;
        let to = find(airport, network, request.to, !matches!(from, End::Runway(_)))?;
        let starts = match from {
            End::At(node) => vec![node],
            End::Runway(runway) => self.left(network, runway),
        };
        let goals = match to {
            End::At(node) => vec![node],
            End::Runway(runway) => self.entered(network, runway),
        };
        let size = |node: &Node| node.code.filter(|_| node.kind == NodeKind::Stand).unwrap_or(AIRLINER);
        let mut best: Option<(Route, (u64, u64))> = None;
        let mut failed = None;
        for (start, goal) in starts.iter().flat_map(|start| goals.iter().map(move |goal| (start, goal))) {
            let code = request.code.unwrap_or(AIRLINER.min(size(start)).min(size(goal)));
            match network.route(&start.id, &goal.id, request.prefer, Some(code)) {
                Ok(route) => {
                    let price = price(&route, request.prefer);
                    if best.as_ref().is_none_or(|(_, least)| price < *least) {
                        best = Some((route, price));
                    }
                }
                Err(error) => failed = Some((error, code)),
            }
        }
        let Some((route, _)) = best else { return Err(no_way(network, request, failed)) };
        let runway = |end: End<'_>, own: &dyn Fn(&Node) -> Option<String>| match end {
            End::Runway(runway) => Some(runway.designator.clone()),
            End::At(node) => own(node),
        };
        let from_runway = runway(from, &|node| node.exits.first().cloned());
        let to_runway = runway(to, &|node| node.runways.first().filter(|_| node.runways.len() == 1).cloned());
        self.route = Some(Shown { route, from_runway, to_runway });
        Ok(())
    }

    /// Holding points at the beginning of a runway: the one that is nearest to it, and those beside that.
    fn entered<'n>(&self, network: &'n Network, runway: &Runway) -> Vec<&'n Node> {
        let here =
            |node: &&Node| node.kind == NodeKind::HoldingPoint && node.runways.contains(&runway.designator);
        let all: Vec<&Node> = network.nodes().iter().filter(here).collect();
        let along: Vec<f64> = all.iter().map(|node| self.along(runway, node).unwrap_or(0.0)).collect();
        let first = along.iter().copied().fold(f64::MAX, f64::min);
        all.into_iter().zip(along).filter(|(_, at)| *at <= first + BESIDE).map(|(node, _)| node).collect()
    }

    /// Exits that a landed airliner can take; every exit if none lies far enough along the runway.
    fn left<'n>(&self, network: &'n Network, runway: &Runway) -> Vec<&'n Node> {
        let all: Vec<&Node> =
            network.nodes().iter().filter(|node| node.exits.contains(&runway.designator)).collect();
        let far = |node: &&&Node| self.along(runway, node).is_none_or(|at| at >= ROLL);
        let out: Vec<&Node> = all.iter().filter(far).copied().collect();
        if out.is_empty() { all } else { out }
    }

    /// Metres from the threshold, measured along the runway.
    fn along(&self, runway: &Runway, node: &Node) -> Option<f64> {
        let (x, y) = runway.threshold?;
        let (east, north) = to_true(runway.bearing, self.airport.variation?).to_radians().sin_cos();
        Some((node.x - x) * east + (node.y - y) * north)
    }
}

/// Holding points that lie so many metres further on are beside the first.
const BESIDE: f64 = 100.0;
/// Metres that an airliner rolls before it can turn off; this program's own.
const ROLL: f64 = 1000.0;

/// Which of several routes is the best: the same weights as within one.
fn price(route: &Route, prefer: Prefer) -> (u64, u64) {
    let turns = u64::from(route.turns);
    match prefer {
        Prefer::Distance => (route.length, turns),
        Prefer::Turns => (turns, route.length),
        Prefer::Usual => (route.length + 1500 * turns + 6000 * route.crossings.len() as u64, turns),
    }
}

fn no_way(network: &Network, request: &Request<'_>, failed: Option<(RouteError, char)>) -> MapError {
    let shut: BTreeSet<&str> =
        network.ways().iter().filter(|way| way.closed).filter_map(|way| way.name.as_deref()).collect();
    let shut: Vec<&str> = shut.into_iter().collect();
    let closed = if shut.is_empty() { String::new() } else { format!("; closed: {}", shut.join(", ")) };
    match failed {
        Some((RouteError::NoWay(..), code)) => {
            let (from, to) = (clean(request.from), clean(request.to));
            let text = format!("no taxiway leads from `{from}` to `{to}` for an aircraft of code {code}");
            MapError::NoWay(text, closed)
        }
        Some((error, _)) => MapError::NoWay(error.to_string(), closed),
        None => {
            let (from, to) = (clean(request.from), clean(request.to));
            let text = format!("no holding point or exit to go between `{from}` and `{to}`");
            MapError::NoWay(text, closed)
        }
    }
}

/// What a name stands for.
fn find<'n>(
    airport: &'n Airport,
    network: &'n Network,
    name: &str,
    runway_first: bool,
) -> Result<End<'n>, MapError> {
    let words: Vec<&str> = name.split_whitespace().collect();
    let last = words.last().copied().unwrap_or_default();
    let sort = words[..words.len().saturating_sub(1)].join(" ").to_lowercase();
    let runway = airport.runways.iter().find(|runway| runway.designator.eq_ignore_ascii_case(last));
    let wanted = |node: &&Node| match sort.as_str() {
        "stand" | "gate" => node.kind == NodeKind::Stand,
        "holding point" => node.kind == NodeKind::HoldingPoint,
        "exit" => !node.exits.is_empty(),
        _ => sort.is_empty() && node.kind != NodeKind::Junction,
    };
    let mut exact = network.nodes().iter().filter(|node| node.id == last).filter(wanted);
    let mut like = network.nodes().iter().filter(|node| node.id.eq_ignore_ascii_case(last)).filter(wanted);
    // A name that is said comes before one that only the file has.
    let silent = || network.node(last).filter(|_| sort.is_empty());
    let node = exact.next().or_else(|| like.next()).or_else(silent);
    match (runway, node) {
        (Some(runway), _) if sort == "runway" => Ok(End::Runway(runway)),
        (Some(runway), Some(_)) if sort.is_empty() && runway_first => Ok(End::Runway(runway)),
        (_, Some(node)) => Ok(End::At(node)),
        (Some(runway), None) if sort.is_empty() => Ok(End::Runway(runway)),
        _ => {
            let said = |node: &&Node| !matches!(node.kind, NodeKind::Junction | NodeKind::Crossing);
            let known = network.nodes().iter().filter(said).map(|node| node.id.as_str());
            let runways = airport.runways.iter().map(|runway| runway.designator.as_str());
            let what = "stand, holding point, exit or runway";
            Err(unknown(what, name.trim(), airport, runways.chain(known).collect()))
        }
    }
}

/// Ways that a file without a network lists, in words.
#[must_use]
pub fn listed(airport: &Airport) -> String {
    let one = |taxi: &crate::airport::Taxi| {
        let crosses =
            taxi.crosses.as_ref().map_or(String::new(), |runway| format!(", crossing runway {runway}"));
        format!(
            "from apron {} to runway {} at {} via {}{crosses}",
            clean(&taxi.apron),
            clean(&taxi.runway),
            clean(&taxi.holding_point),
            clean(&taxi.via)
        )
    };
    airport.taxi.iter().map(one).collect::<Vec<_>>().join("; ")
}
