//! Names on the sheet of an SVG drawing: what each may stand beside, and where it does.

use super::super::place::{Board, Rect, Wanted, ring};
use super::super::{Plan, Point, Strip};
use super::{Kind, Label, Scene, towards};
use crate::airport::network::{Node, NodeKind};
use crate::diagnostic::clean;

/// A name that has no place yet.
struct Draft {
    kind: Kind,
    text: String,
    title: String,
    anchor: Point,
    /// Centres it may have, with prices.
    places: Vec<(Point, f64)>,
}

impl Scene {
    /// Gives every name its place.
    pub(super) fn name(&mut self, plan: &Plan<'_>) {
        let mut board = Board { gap: (2.0, 1.5), ..Board::default() };
        board.sheet = Some(Rect { x: 2.0, y: 2.0, w: self.size.0 - 4.0, h: self.size.1 - 4.0 });
        self.obstacles(plan, &mut board);
        let mut labels: Vec<Draft> = Vec::new();
        for strip in &plan.strips {
            self.designators(strip, &mut labels);
        }
        let mut nodes: Vec<&Node> = plan.named().collect();
        nodes.sort_by_key(|node| match node.kind {
            NodeKind::HoldingPoint => 0,
            NodeKind::Exit => 1,
            _ => 2,
        });
        let first_stand = nodes.iter().position(|node| node.kind == NodeKind::Stand).unwrap_or(nodes.len());
        for node in &nodes[..first_stand] {
            labels.push(self.node(plan, node));
        }
        self.on_taxiways(plan, &mut labels);
        for node in &nodes[first_stand..] {
            labels.push(self.node(plan, node));
        }
        let needed = labels.len();
        self.on_aprons(plan, &mut labels);
        let wanted: Vec<Wanted> = labels
            .iter()
            .map(|draft| {
                let (w, h) = size(draft.kind, &draft.text);
                Wanted { w, h, places: draft.places.clone() }
            })
            .collect();
        let found = board.settle(&wanted);
        for (n, (draft, (rect, clear))) in labels.into_iter().zip(found).enumerate() {
            let placed = rect.w > 0.0;
            // Names of aprons help; they may be left out.
            if n < needed || clear && placed {
                let Draft { kind, text, title, anchor, .. } = draft;
                let (w, h) = size(kind, &text);
                let rect = if placed { rect } else { Rect::around(anchor, w, h) };
                self.labels.push(Label { kind, text, title, rect, anchor });
            }
        }
    }

    /// What names keep clear of.
    fn obstacles(&self, plan: &Plan<'_>, board: &mut Board) {
        for strip in &plan.strips {
            let [a, b] = strip.ends.map(|end| self.at(end));
            let (_, (dx, dy)) = towards(a, b);
            let half = strip.width * self.scale / 2.0;
            for side in [-half, -half / 2.0, 0.0, half / 2.0, half] {
                let shift = |p: Point| (p.0 - dy * side, p.1 + dx * side);
                board.lines.push((shift(a), shift(b), 1.2));
            }
        }
        for stroke in self.taxiways.iter().chain(&self.closed) {
            board.lines.push((stroke.a, stroke.b, 0.7));
        }
        for stroke in self.lanes.iter().chain(&self.leads) {
            board.lines.push((stroke.a, stroke.b, 0.35));
        }
        for place in &self.stands {
            board.taken.push((Rect::around(*place, 8.0, 8.0), 4.0));
        }
        for (place, _) in self.bars.iter().chain(&self.exits) {
            board.taken.push((Rect::around(*place, 15.0, 15.0), 5.0));
        }
        for (place, _) in &self.arrows {
            board.taken.push((Rect::around(*place, 11.0, 11.0), 1.5));
        }
        // The marks at both ends of a route are larger than what they lie on.
        for place in self.course.first().into_iter().chain(self.course.last()) {
            board.taken.push((Rect::around(*place, 17.0, 17.0), 4.0));
        }
        for place in &self.crossed {
            board.taken.push((Rect::around(*place, 24.0, 24.0), 1.0));
        }
        for pair in plan.course().windows(2) {
            board.lines.push((self.at(pair[0]), self.at(pair[1]), 1.5));
        }
    }

    fn designators(&self, strip: &Strip, labels: &mut Vec<Draft>) {
        let ends = strip.ends.map(|end| self.at(end));
        for (name, from, to) in [(&strip.names[0], ends[0], ends[1]), (&strip.names[1], ends[1], ends[0])] {
            if name.is_empty() {
                continue;
            }
            let (_, (dx, dy)) = towards(to, from);
            let (w, h) = size(Kind::Designator, name);
            let mut places = Vec::new();
            for gap in [6.0, 12.0, 20.0] {
                for side in [0.0, -14.0, 14.0, -28.0, 28.0] {
                    let reach = (w / 2.0 * dx.abs()).hypot(h / 2.0 * dy.abs()) + gap;
                    let place = (from.0 + dx * reach - dy * side, from.1 + dy * reach + dx * side);
                    places.push((place, gap + f64::abs(side)));
                }
            }
            let text = clean(name).into_owned();
            let title = format!("Runway {text}");
            labels.push(Draft { kind: Kind::Designator, text, title, anchor: from, places });
        }
    }

    fn node(&self, plan: &Plan<'_>, node: &Node) -> Draft {
        let here = self.at((node.x, node.y));
        let (kind, what) = match node.kind {
            NodeKind::HoldingPoint => (Kind::Hold, "Holding point"),
            NodeKind::Exit => (Kind::Exit, "Exit"),
            _ => (Kind::Stand, "Stand"),
        };
        let text = clean(&node.id).into_owned();
        let mut title = format!("{what} {text}");
        for (list, words) in [(&node.runways, "departs runway"), (&node.exits, "leaves runway")] {
            if !list.is_empty() {
                title.push_str(&format!(", {words} {}", clean(&list.join(", "))));
            }
        }
        if let Some(code) = node.code {
            title.push_str(&format!(", up to code {code}"));
        }
        let box_size = size(kind, &text);
        let (gaps, towards): (&[f64], _) = match node.kind {
            // Away from the line that leads to it.
            NodeKind::Stand => {
                let other = self.lanes.iter().find_map(|lane| {
                    let same = |p: Point| (p.0 - here.0).hypot(p.1 - here.1) < 0.01;
                    if same(lane.a) {
                        Some(lane.b)
                    } else if same(lane.b) {
                        Some(lane.a)
                    } else {
                        None
                    }
                });
                (
                    &[4.5, 6.5, 8.5, 11.0, 14.0, 19.0, 27.0],
                    other.map(|other| (here.0 - other.0, here.1 - other.1)),
                )
            }
            // Away from the runway.
            _ => {
                let on = plan.faces(node).map(|(on, _)| self.at(on));
                (
                    &[8.0, 11.0, 15.0, 21.0, 29.0, 40.0, 54.0, 72.0],
                    on.map(|on| ((here.0 - on.0) * 0.3, (here.1 - on.1) * 0.3)),
                )
            }
        };
        let strength = if node.kind == NodeKind::Stand { 1.0 } else { 0.3 };
        let mut places = ring(here, box_size, gaps, 24, towards);
        let flat = ring(here, box_size, gaps, 24, None);
        for (place, flat) in places.iter_mut().zip(flat) {
            place.1 = flat.1 + (place.1 - flat.1) * strength;
        }
        Draft { kind, text, title, anchor: here, places }
    }

    /// Names on taxiways: one, on long ones several.
    fn on_taxiways(&self, plan: &Plan<'_>, labels: &mut Vec<Draft>) {
        /// A name with its pieces on the sheet, and if a node on it bears it too.
        type Line = (String, Vec<(Point, Point)>, bool, bool);
        let mut lines: Vec<Line> = Vec::new();
        for piece in plan.pieces() {
            let Some(name) = &piece.way.name else { continue };
            let ends = piece.ends.map(|node| self.at((node.x, node.y)));
            let own = piece.way.nodes.contains(name);
            match lines.iter_mut().find(|(known, ..)| known == name) {
                Some((_, pieces, borne, closed)) => {
                    pieces.push((ends[0], ends[1]));
                    *borne |= own;
                    *closed |= piece.way.closed;
                }
                None => lines.push((name.clone(), vec![(ends[0], ends[1])], own, piece.way.closed)),
            }
        }
        for (name, pieces, borne, closed) in lines {
            let whole: f64 = pieces.iter().map(|(a, b)| towards(*a, *b).0).sum();
            if borne && whole < 240.0 {
                continue;
            }
            let count = (whole / 420.0).round().clamp(1.0, 5.0);
            for part in 0..count as usize {
                let mut places = Vec::new();
                for step in 1..16 {
                    let t = (part as f64 + f64::from(step) / 16.0) / count;
                    let place = along(&pieces, t * whole);
                    let price = (f64::from(step) / 16.0 - 0.5).abs() * 12.0;
                    places.push((place, price));
                    // Beside it, where it is too short for its name.
                    for (x, y) in [(0.0, -14.0), (0.0, 14.0), (-15.0, 0.0), (15.0, 0.0)] {
                        places.push(((place.0 + x, place.1 + y), price + 18.0));
                    }
                }
                let shut = if closed { ", closed" } else { "" };
                let text = clean(&name).into_owned();
                let title = format!("Taxiway {text}{shut}");
                let anchor = along(&pieces, (part as f64 + 0.5) / count * whole);
                labels.push(Draft { kind: Kind::Taxiway, text, title, anchor, places });
            }
        }
    }

    /// Names of aprons, near the middle of their stands.
    fn on_aprons(&self, plan: &Plan<'_>, labels: &mut Vec<Draft>) {
        for apron in &plan.airport.aprons {
            let nodes = plan.nodes().iter();
            let stands: Vec<Point> = nodes
                .filter(|node| node.kind == NodeKind::Stand && apron.stands.contains(&node.id))
                .map(|node| self.at((node.x, node.y)))
                .collect();
            if stands.is_empty() {
                continue;
            }
            let count = stands.len() as f64;
            let middle = stands.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / count, sum.1 + p.1 / count));
            let text = clean(&apron.id).to_uppercase();
            let title = format!("Apron {}", clean(&apron.id));
            let places = ring(middle, size(Kind::Apron, &text), &[14.0, 26.0, 40.0, 56.0, 74.0], 24, None);
            labels.push(Draft { kind: Kind::Apron, text, title, anchor: middle, places });
        }
    }
}

/// The box of a name.
pub(in crate::map) fn size(kind: Kind, text: &str) -> (f64, f64) {
    let (_, letters, (beside, above), wide) = kind.look();
    let count = unicode_width::UnicodeWidthStr::width(text).max(1) as f64;
    let width = (count * letters * wide).max(letters * 0.8);
    (((width + 2.0 * beside) * 10.0).round() / 10.0, letters + 2.0 * above)
}

/// The place so many pixels along some pieces.
fn along(pieces: &[(Point, Point)], mut far: f64) -> Point {
    for (a, b) in pieces {
        let length = towards(*a, *b).0;
        if far <= length && length > 0.0 {
            let t = far / length;
            return (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
        }
        far -= length;
    }
    pieces.last().map_or((0.0, 0.0), |(_, b)| *b)
}
