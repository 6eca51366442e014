//! The sheet of an SVG drawing: metres become pixels, and every name gets its place.

pub(super) mod names;

use super::place::Rect;
use super::{Plan, Point};
use crate::airport::network::{Node, NodeKind};

/// What a label names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Designator,
    Hold,
    Taxiway,
    Exit,
    Stand,
    Apron,
}

impl Kind {
    /// Its class in the drawing, the size of its letters, room beside and above them, and how wide a letter is.
    pub(super) fn look(self) -> (&'static str, f64, (f64, f64), f64) {
        match self {
            Self::Designator => ("designator", 18.0, (3.0, 1.0), 0.68),
            Self::Hold => ("hold", 10.0, (3.5, 2.0), 0.68),
            Self::Taxiway => ("taxiway", 10.0, (3.5, 2.0), 0.70),
            Self::Exit => ("exit", 9.5, (1.5, 0.5), 0.66),
            Self::Stand => ("stand", 9.0, (1.0, 0.0), 0.58),
            Self::Apron => ("apron", 10.0, (4.0, 1.0), 0.72),
        }
    }
}

/// A name on the sheet.
#[derive(Debug, Clone)]
pub(super) struct Label {
    pub(super) kind: Kind,
    pub(super) text: String,
    /// What is said of it to those who point at it or cannot see it.
    pub(super) title: String,
    pub(super) rect: Rect,
    /// What it names.
    pub(super) anchor: Point,
}

/// A piece of pavement.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stroke {
    pub(super) a: Point,
    pub(super) b: Point,
}

/// The sheet.
#[derive(Debug)]
pub(super) struct Scene {
    pub(super) size: (f64, f64),
    /// Pixels of a metre.
    pub(super) scale: f64,
    low: Point,
    high: Point,
    /// Open taxiways, lanes to stands, and ways on to a runway that the file only implies.
    pub(super) taxiways: Vec<Stroke>,
    pub(super) lanes: Vec<Stroke>,
    pub(super) leads: Vec<Stroke>,
    pub(super) closed: Vec<Stroke>,
    pub(super) aprons: Vec<Stroke>,
    /// Where taxiways are one way only, and which way: a place and a direction of length 1.
    pub(super) arrows: Vec<(Point, Point)>,
    /// Lines before a runway: a place and the direction to the runway.
    pub(super) bars: Vec<(Point, Point)>,
    /// Exits: a place and the direction away from the runway.
    pub(super) exits: Vec<(Point, Point)>,
    pub(super) stands: Vec<Point>,
    pub(super) course: Vec<Point>,
    pub(super) crossed: Vec<Point>,
    pub(super) labels: Vec<Label>,
}

/// Room around the outermost place, for names.
const MARGIN: f64 = 64.0;
/// The sheet is so large, unless stands lie so close that their names need more.
const SHEET: (f64, f64) = (1240.0, 860.0);
/// How much larger it may be.
const MORE: f64 = 1.8;
/// Pixels between stands that their names need.
const STAND: f64 = 17.0;

impl Scene {
    /// Lays a plan out; `None` if nothing is to be drawn.
    pub(super) fn of(plan: &Plan<'_>) -> Option<Self> {
        let (low, high) = plan.extent()?;
        let (w, h) = ((high.0 - low.0).max(200.0), (high.1 - low.1).max(60.0));
        let fits = ((SHEET.0 - 2.0 * MARGIN) / w).min((SHEET.1 - 2.0 * MARGIN) / h).min(2.0);
        let scale = fits.max((STAND / closest(plan)).min(fits * MORE));
        let mut scene = Scene {
            size: ((w * scale + 2.0 * MARGIN).round(), (h * scale + 2.0 * MARGIN).round()),
            scale,
            low,
            high,
            taxiways: Vec::new(),
            lanes: Vec::new(),
            leads: Vec::new(),
            closed: Vec::new(),
            aprons: Vec::new(),
            arrows: Vec::new(),
            bars: Vec::new(),
            exits: Vec::new(),
            stands: Vec::new(),
            course: Vec::new(),
            crossed: Vec::new(),
            labels: Vec::new(),
        };
        scene.pavement(plan);
        scene.signs(plan);
        scene.course = plan.course().into_iter().map(|place| scene.at(place)).collect();
        let crossings = plan.route.iter().flat_map(|shown| &shown.route.crossings);
        let on = crossings.filter_map(|crossing| plan.network.as_ref()?.node(&crossing.node));
        scene.crossed = on.map(|node| scene.at((node.x, node.y))).collect();
        scene.name(plan);
        Some(scene)
    }

    /// Metres to pixels; north is up.
    pub(super) fn at(&self, (x, y): Point) -> Point {
        ((x - self.low.0) * self.scale + MARGIN, (self.high.1 - y) * self.scale + MARGIN)
    }

    /// Pixels across a taxiway.
    pub(super) fn wide(&self) -> f64 {
        (20.0 * self.scale).clamp(4.5, 15.0)
    }

    /// Pixels across an apron.
    pub(super) fn roomy(&self) -> f64 {
        (62.0 * self.scale).clamp(18.0, 60.0)
    }

    fn pavement(&mut self, plan: &Plan<'_>) {
        let pieces = plan.pieces();
        let near_stand = |node: &Node| {
            pieces.iter().any(|piece| {
                let [a, b] = piece.ends;
                a.id == node.id && b.kind == NodeKind::Stand || b.id == node.id && a.kind == NodeKind::Stand
            })
        };
        for piece in &pieces {
            let [a, b] = piece.ends.map(|node| self.at((node.x, node.y)));
            let stroke = Stroke { a, b };
            let stand = piece.ends.iter().any(|node| node.kind == NodeKind::Stand);
            match (&piece.way.name, piece.way.closed) {
                (_, true) => self.closed.push(stroke),
                (Some(_), _) if !stand => self.taxiways.push(stroke),
                _ => self.lanes.push(stroke),
            }
            if stand || piece.ends.iter().all(|node| near_stand(node)) {
                self.aprons.push(stroke);
            }
            if piece.way.one_way && !piece.way.closed {
                let (far, direction) = towards(a, b);
                let count = (far / 70.0).round().max(1.0);
                for n in 0..count as usize {
                    let t = (n as f64 + 0.5) / count;
                    self.arrows.push(((a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t), direction));
                }
            }
        }
    }

    fn signs(&mut self, plan: &Plan<'_>) {
        for node in plan.named() {
            let here = self.at((node.x, node.y));
            if node.kind == NodeKind::Stand {
                self.stands.push(here);
                continue;
            }
            let Some((on, joined)) = plan.faces(node) else {
                self.bars.push((here, (0.0, -1.0)));
                continue;
            };
            let on = self.at(on);
            let (far, direction) = towards(here, on);
            if !joined && far > 1.0 {
                self.leads.push(Stroke { a: here, b: on });
            }
            match node.kind {
                NodeKind::HoldingPoint => self.bars.push((here, direction)),
                _ => self.exits.push((here, (-direction.0, -direction.1))),
            }
        }
    }
}

/// How far one place is from another, and the direction to it.
pub(super) fn towards(a: Point, b: Point) -> (f64, Point) {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let far = dx.hypot(dy);
    (far, if far > 0.0 { (dx / far, dy / far) } else { (0.0, -1.0) })
}

/// Metres between the stands that are closest to each other.
fn closest(plan: &Plan<'_>) -> f64 {
    let stands: Vec<Point> = plan
        .nodes()
        .iter()
        .filter(|node| node.kind == NodeKind::Stand)
        .map(|node| (node.x, node.y))
        .collect();
    let mut least = f64::MAX;
    for (n, a) in stands.iter().enumerate() {
        for b in &stands[..n] {
            least = least.min(towards(*a, *b).0);
        }
    }
    least.max(1.0)
}
