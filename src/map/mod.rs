//! Drawings of an airport: what is where in its local plan, and how a route is put on it.

pub mod canvas;
pub mod place;
pub mod request;
mod scene;
pub mod svg;
pub mod text;
pub mod words;

use crate::airport::Airport;
use crate::airport::bearing::{reciprocal, to_true};
use crate::airport::layout::{Layout, Runway};
use crate::airport::network::{Network, Node, NodeKind, Route, Way};
use std::collections::BTreeSet;

/// A place in the local plan, metres east and north.
pub type Point = (f64, f64);

/// Metres of a runway whose width is not known.
const WIDTH: u32 = 45;
/// Metres from a holding point or an exit to its runway at the most.
const NEAR: f64 = 350.0;

/// A runway with both of its directions.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Designators: of the direction that begins at the first end, and of the other; empty if the file has it not.
    pub names: [String; 2],
    /// Where the two directions begin.
    pub ends: [Point; 2],
    /// Metres across.
    pub width: f64,
    /// True if the file says how wide it is.
    pub measured: bool,
    /// Nothing moves on it.
    pub closed: bool,
}

impl Strip {
    /// The point of its centre line that is nearest, and how far it is.
    #[must_use]
    pub fn foot(&self, (x, y): Point) -> (Point, f64) {
        let [(ax, ay), (bx, by)] = self.ends;
        let (dx, dy) = (bx - ax, by - ay);
        let square = (dx * dx + dy * dy).max(1e-9);
        let t = (((x - ax) * dx + (y - ay) * dy) / square).clamp(0.0, 1.0);
        let foot = (ax + t * dx, ay + t * dy);
        (foot, (x - foot.0).hypot(y - foot.1))
    }

    /// Where the line from `from` through `to` meets the centre line beyond `to`.
    fn meets(&self, from: Point, to: Point) -> Option<(Point, f64)> {
        let [(ax, ay), (bx, by)] = self.ends;
        let (ux, uy) = (to.0 - from.0, to.1 - from.1);
        let (vx, vy) = (bx - ax, by - ay);
        let cross = ux * vy - uy * vx;
        if cross.abs() < 1e-6 {
            return None;
        }
        let t = ((ax - to.0) * vy - (ay - to.1) * vx) / cross;
        let along = ((ax - to.0) * uy - (ay - to.1) * ux) / cross;
        let place = (to.0 + t * ux, to.1 + t * uy);
        (t > 0.0 && (-0.02..=1.02).contains(&along)).then_some((place, t * ux.hypot(uy)))
    }
}

/// A piece of a taxiway.
#[derive(Debug, Clone, Copy)]
pub struct Piece<'a> {
    /// Where it begins and ends.
    pub ends: [&'a Node; 2],
    /// The taxiway it belongs to.
    pub way: &'a Way,
}

/// Everything that a drawing of an airport shows.
#[derive(Debug, Clone)]
pub struct Plan<'a> {
    /// The airport.
    pub airport: &'a Airport,
    /// Its taxiways, those that were closed for the drawing among them; `None` if the file has none.
    pub network: Option<Network>,
    /// Runways that can be drawn.
    pub strips: Vec<Strip>,
    /// Designators of runways that cannot: the file does not say where they begin.
    pub nowhere: Vec<String>,
    /// The route to show.
    pub route: Option<Shown>,
}

/// A route with what was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The way.
    pub route: Route,
    /// The runway that it begins at, if one was named or is left there.
    pub from_runway: Option<String>,
    /// The runway that it leads to.
    pub to_runway: Option<String>,
}

impl<'a> Plan<'a> {
    /// The plan of an airport, with taxiways of these names closed.
    #[must_use]
    pub fn new(airport: &'a Airport, closed: &BTreeSet<String>) -> Self {
        let network = airport.layout.as_ref().and_then(|layout| closing(layout, closed));
        let mut strips = Vec::<Strip>::new();
        for runway in &airport.runways {
            if !strips.iter().any(|strip| strip.names.contains(&runway.designator)) {
                strips.extend(strip(airport, runway));
            }
        }
        let placed = |name: &&String| strips.iter().any(|strip| strip.names.contains(name));
        let nowhere = airport.designators.iter().filter(|name| !placed(name)).cloned().collect();
        Self { airport, network, strips, nowhere, route: None }
    }

    /// Nodes of the network.
    #[must_use]
    pub fn nodes(&self) -> &[Node] {
        self.network.as_ref().map_or(&[], Network::nodes)
    }

    /// Nodes whose name is said: stands, holding points, exits.
    pub fn named(&self) -> impl Iterator<Item = &Node> {
        let said = |kind| matches!(kind, NodeKind::Stand | NodeKind::HoldingPoint | NodeKind::Exit);
        self.nodes().iter().filter(move |node| said(node.kind))
    }

    /// Every piece of every taxiway.
    #[must_use]
    pub fn pieces(&self) -> Vec<Piece<'_>> {
        let Some(network) = &self.network else { return Vec::new() };
        let mut out = Vec::new();
        for way in network.ways() {
            for pair in way.nodes.windows(2) {
                if let (Some(a), Some(b)) = (network.node(&pair[0]), network.node(&pair[1])) {
                    out.push(Piece { ends: [a, b], way });
                }
            }
        }
        out
    }

    /// Places of the route, in order.
    #[must_use]
    pub fn course(&self) -> Vec<Point> {
        let (Some(network), Some(shown)) = (&self.network, &self.route) else { return Vec::new() };
        shown.route.nodes.iter().filter_map(|id| network.node(id)).map(|node| (node.x, node.y)).collect()
    }

    /// The place on a runway that a holding point or an exit faces, and whether a taxiway of the file leads there.
    #[must_use]
    pub fn faces(&self, node: &Node) -> Option<(Point, bool)> {
        if !matches!(node.kind, NodeKind::HoldingPoint | NodeKind::Exit) {
            return None;
        }
        let mut near: Vec<&Node> = Vec::new();
        for piece in self.pieces() {
            let [a, b] = piece.ends;
            near.extend((a.id == node.id).then_some(b).into_iter().chain((b.id == node.id).then_some(a)));
        }
        if let Some(on) = near.iter().find(|other| other.kind == NodeKind::Crossing) {
            return Some(((on.x, on.y), true));
        }
        let here = (node.x, node.y);
        let own: Vec<&String> = node.runways.iter().chain(&node.exits).collect();
        let fits = |strip: &&Strip| own.is_empty() || own.iter().any(|name| strip.names.contains(name));
        let mut ways: Vec<(Point, f64)> = Vec::new();
        for strip in self.strips.iter().filter(fits) {
            let (foot, far) = strip.foot(here);
            let ahead = near.iter().filter_map(|other| strip.meets((other.x, other.y), here));
            // On along the taxiway, unless it would run beside the runway.
            ways.extend(ahead.filter(|(_, ahead)| *ahead < far * 2.5 + 1.0).chain([(foot, far)]).next());
        }
        let best = ways.into_iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        (best.1 < NEAR).then_some((best.0, false))
    }

    /// The least and the largest place of all that is drawn; `None` if nothing is.
    #[must_use]
    pub fn extent(&self) -> Option<(Point, Point)> {
        let mut places: Vec<Point> = self.nodes().iter().map(|node| (node.x, node.y)).collect();
        places.extend(self.strips.iter().flat_map(|strip| strip.ends));
        let first = *places.first()?;
        Some(places.iter().fold((first, first), |(low, high), (x, y)| {
            ((low.0.min(*x), low.1.min(*y)), (high.0.max(*x), high.1.max(*y)))
        }))
    }

    /// What the drawing leaves out, one sentence each; empty if it is whole.
    #[must_use]
    pub fn gaps(&self) -> Vec<String> {
        let mut out = Vec::new();
        let all = self.airport.designators.len();
        if !self.nowhere.is_empty() {
            let names = self.nowhere.join(", ");
            let which = if self.nowhere.len() == all { "of any runway" } else { "of these runways" };
            out.push(format!(
                "Runways {names} are not drawn: the file has no `threshold` {which}, so nobody knows where they lie."
            ));
        }
        if self.network.is_none() {
            out.push(
                "Taxiways, holding points and stands are not drawn: the file lists its ways in `[[taxi]]` and has no \
                 `[[node]]` with places."
                    .to_owned(),
            );
        }
        let guessed: Vec<String> =
            self.strips.iter().filter(|strip| !strip.measured).map(Strip::title).collect();
        if !guessed.is_empty() {
            out.push(format!("Drawn {WIDTH} m wide, as the file has no `width`: {}.", guessed.join(", ")));
        }
        out
    }

    /// Whether there is anything to draw.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.strips.is_empty() && self.network.is_none()
    }
}

impl Strip {
    /// Both designators, the lower number first: `04/22`.
    #[must_use]
    pub fn title(&self) -> String {
        let mut known: Vec<&str> =
            self.names.iter().map(String::as_str).filter(|name| !name.is_empty()).collect();
        known.sort_unstable();
        known.join("/")
    }
}

/// The network with more taxiways closed.
fn closing(layout: &Layout, closed: &BTreeSet<String>) -> Option<Network> {
    let mut ways = layout.network.ways().to_vec();
    for way in &mut ways {
        way.closed |= way.name.as_ref().is_some_and(|name| closed.contains(name));
    }
    Network::new(layout.network.nodes().to_vec(), ways).ok()
}

/// Where a runway lies; `None` if the file does not say it.
fn strip(airport: &Airport, runway: &Runway) -> Option<Strip> {
    let other = reciprocal(&runway.designator).unwrap_or_default();
    let back = airport.runways.iter().find(|end| end.designator == other);
    let length = f64::from(runway.length.max(back.map_or(0, |end| end.length)));
    let width = if runway.width > 0 { runway.width } else { back.map_or(0, |end| end.width) };
    let ahead = |from: &Runway| -> Option<Point> {
        let (x, y) = from.threshold?;
        let (east, north) = to_true(from.bearing, airport.variation?).to_radians().sin_cos();
        (length > 0.0).then_some((x + east * length, y + north * length))
    };
    let first = runway.threshold.or_else(|| ahead(back?))?;
    let second = back.and_then(|end| end.threshold).or_else(|| ahead(runway))?;
    Some(Strip {
        names: [runway.designator.clone(), back.map_or(String::new(), |end| end.designator.clone())],
        ends: [first, second],
        width: f64::from(if width > 0 { width } else { WIDTH }),
        measured: width > 0,
        closed: runway.closed && back.is_none_or(|end| end.closed),
    })
}
