//! What stands around the map: title, the route in words, scale and north, frequencies, runways, signs.

use super::super::scene::names::size;
use super::super::scene::{Kind, Scene};
use super::super::{Plan, Point, words};
use super::{bar, cross, n, off, path, polygon};
use crate::CAUTION;
use crate::airport::bearing::to_true;
use crate::airport::network::NodeKind;
use crate::diagnostic::clean;
use crate::map::scene::Stroke;
use crate::wrap;
use maud::{Markup, html};

/// Room at the edges of the sheet.
const EDGE: f64 = 36.0;
/// The least width of a sheet.
const LEAST: f64 = 1000.0;
/// From one line of a table to the next.
const LINE: f64 = 19.0;
/// From one line of the route in words to the next.
const SAID: f64 = 18.0;
/// The title's height.
const HEAD: f64 = 92.0;
/// The height of the strip with scale and north.
const STRIP: f64 = 62.0;

/// The sheet around a map.
pub(super) struct Frame {
    /// Of the whole.
    pub(super) size: (f64, f64),
    /// Upper left corner of the map.
    pub(super) map: Point,
    /// The route in words, wrapped; `true` for what is spoken.
    said: Vec<(bool, String)>,
    /// Sentences on what is not drawn, wrapped.
    notes: Vec<String>,
    /// Where the tables begin.
    tables: f64,
}

impl Frame {
    pub(super) fn of(plan: &Plan<'_>, scene: &Scene) -> Self {
        let width = scene.size.0.max(LEAST) + 2.0 * EDGE;
        let letters = ((width - 2.0 * EDGE - 40.0) / 6.4) as usize;
        let mut said = Vec::new();
        for (at, one) in words::said(plan).iter().enumerate() {
            let written = format!("{}.  {}", at + 1, clean(&one.written));
            said.extend(wrap::lines(&written, letters).into_iter().map(|line| (false, line)));
            let spoken = format!("\u{201c}{}\u{201d}", clean(&one.spoken));
            said.extend(wrap::lines(&spoken, letters).into_iter().map(|line| (true, line)));
        }
        let panel = if said.is_empty() { 0.0 } else { SAID * said.len() as f64 + 58.0 };
        let notes: Vec<String> =
            plan.gaps().iter().flat_map(|gap| wrap::lines(&clean(gap), letters)).collect();
        let top = HEAD + panel;
        let tables = top + scene.size.1 + STRIP + 16.0 * notes.len() as f64;
        let rows = plan.airport.stations.len().max(plan.airport.designators.len()).max(4) as f64;
        Self {
            size: (width, tables + 34.0 + rows * LINE + 44.0),
            map: ((width - scene.size.0) / 2.0, top),
            said,
            notes,
            tables,
        }
    }

    pub(super) fn head(&self, plan: &Plan<'_>) -> Markup {
        let airport = plan.airport;
        let mut facts = vec![
            format!("Elevation {} ft", words::feet(airport.elevation)),
            format!("transition altitude {} ft", words::feet(airport.transition_altitude)),
        ];
        facts.extend(airport.variation.map(|degrees| format!("variation {}", variation(degrees))));
        facts.push(format!("rule set {}", airport.standard.name()));
        html! {
            text.name.left x=(n(EDGE)) y="50" { (clean(&airport.name)) }
            text.facts.left x=(n(EDGE)) y="73" { (facts.join("  \u{b7}  ")) }
            text.small.right x=(n(self.size.0 - EDGE)) y="50" { "Airport plan, north up" }
            text.small.right x=(n(self.size.0 - EDGE)) y="66" { "invented, for training on the ground" }
            @if let Some(shown) = &plan.route {
                @let height = self.map.1 - HEAD - 14.0;
                rect.panel x=(n(EDGE)) y=(n(HEAD)) width=(n(self.size.0 - 2.0 * EDGE)) height=(n(height)) {}
                rect.panel-mark x=(n(EDGE)) y=(n(HEAD)) width="5" height=(n(height)) {}
                text.panel-title.left x=(n(EDGE + 18.0)) y=(n(HEAD + 23.0)) {
                    (clean(&upper(&words::between(plan, shown))))
                }
                text.facts.right x=(n(self.size.0 - EDGE - 14.0)) y=(n(HEAD + 23.0)) {
                    (clean(&words::facts(plan, shown)))
                }
                @for (at, (spoken, line)) in self.said.iter().enumerate() {
                    text class=(if *spoken { "panel-said spoken left" } else { "panel-said left" })
                        x=(n(EDGE + if *spoken { 36.0 } else { 18.0 }))
                        y=(n(HEAD + 45.0 + SAID * at as f64)) { (line) }
                }
            }
        }
    }

    pub(super) fn foot(&self, plan: &Plan<'_>, scene: &Scene) -> Markup {
        let right = self.size.0 - EDGE;
        let wide = right - EDGE;
        let rows = self.tables + 22.0;
        html! {
            (scale(scene, (EDGE + 4.0, self.map.1 + scene.size.1 + 30.0)))
            (north((right - 22.0, self.map.1 + scene.size.1 + 32.0)))
            @for (at, note) in self.notes.iter().enumerate() {
                text.small.left x=(n(EDGE)) y=(n(self.tables - 12.0 - 16.0 * (self.notes.len() - 1 - at) as f64)) {
                    (note)
                }
            }
            path.rule d=(format!("M{} {y}L{} {y}", n(EDGE), n(right), y = n(self.tables))) {}
            (frequencies(plan, (EDGE, rows)))
            (runways(plan, (EDGE + wide * 0.27, rows), wide * 0.36))
            (signs(plan, (EDGE + wide * 0.71, rows), wide * 0.29))
            text.small.left x=(n(EDGE)) y=(n(self.size.1 - 18.0)) { (CAUTION) }
        }
    }
}

fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn variation(degrees: f64) -> String {
    let side = match degrees {
        0.0 => "",
        west if west < 0.0 => " W",
        _ => " E",
    };
    format!("{}\u{b0}{side}", n(degrees.abs()))
}

/// A bar of round length.
fn scale(scene: &Scene, (x, y): Point) -> Markup {
    let lengths = [50.0, 100.0, 200.0, 500.0, 1000.0];
    let metres = lengths.into_iter().rev().find(|m| m * scene.scale <= 260.0).unwrap_or(50.0);
    let long = metres * scene.scale;
    let line = |a: Point, b: Point| path(&[Stroke { a, b }]);
    html! {
        g {
            title { "Scale" }
            rect.north x=(n(x)) y=(n(y - 3.0)) width=(n(long / 2.0)) height="5" {}
            path.scale d=(line((x, y - 3.0), (x + long, y - 3.0))) {}
            path.scale d=(line((x, y + 2.0), (x + long, y + 2.0))) {}
            @for t in [0.0, 0.5, 1.0] {
                path.scale d=(line((x + long * t, y - 6.0), (x + long * t, y + 2.0))) {}
                text.small x=(n(x + long * t)) y=(n(y + 16.0)) { (n(metres * t)) @if t == 1.0 { " m" } }
            }
        }
    }
}

/// An arrow to true north.
fn north((x, y): Point) -> Markup {
    let tip = (x, y - 20.0);
    let down = (0.0, 1.0);
    let corners = [tip, off(tip, down, 34.0, -7.0), off(tip, down, 28.0, 0.0), off(tip, down, 34.0, 7.0)];
    html! {
        g {
            title { "North" }
            polygon.north points=(polygon(&corners)) {}
            text.heading.right x=(n(x - 13.0)) y=(n(y + 4.0)) { "TRUE NORTH" }
        }
    }
}

fn frequencies(plan: &Plan<'_>, (x, y): Point) -> Markup {
    html! {
        text.heading.left x=(n(x)) y=(n(y)) { "FREQUENCIES, MHz" }
        @for (at, station) in plan.airport.stations.iter().enumerate() {
            @let y = y + LINE * (at + 1) as f64 + 2.0;
            text.row.left x=(n(x)) y=(n(y)) { (clean(&station.frequency)) }
            text.row.left x=(n(x + 62.0)) y=(n(y)) { (clean(&station.name)) }
        }
    }
}

fn runways(plan: &Plan<'_>, (x, y): Point, wide: f64) -> Markup {
    let airport = plan.airport;
    let row = |name: &str| -> [String; 4] {
        let known = airport.runways.iter().find(|runway| runway.designator == name);
        let course = known.zip(airport.variation).map_or(String::new(), |(runway, variation)| {
            let whole = |degrees: f64| format!("{:03}", (degrees.round() as i64 + 359) % 360 + 1);
            format!("{}\u{b0} / {}\u{b0}", whole(to_true(runway.bearing, variation)), whole(runway.bearing))
        });
        let size = known.map_or(String::new(), |runway| match (runway.length, runway.width) {
            (0, _) => String::new(),
            (length, 0) => format!("{} m", words::thousands(length.into())),
            (length, width) => format!("{} \u{d7} {width} m", words::thousands(length.into())),
        });
        let used = known.map_or("", |runway| match (runway.closed, runway.departures, runway.arrivals) {
            (true, ..) => "closed",
            (_, true, false) => "departures only",
            (_, false, true) => "arrivals only",
            _ if runway.preferred => "preferred",
            _ => "",
        });
        [clean(name).into_owned(), course, size, used.to_owned()]
    };
    let columns = [0.0, 0.20, 0.57, 0.85].map(|part| x + wide * part);
    html! {
        @for (column, title) in columns.iter().zip(["RUNWAY", "TRUE / MAGNETIC", "SIZE", ""]) {
            text.heading.left x=(n(*column)) y=(n(y)) { (title) }
        }
        @for (at, name) in airport.designators.iter().enumerate() {
            @for (column, text) in columns.iter().zip(row(name)) {
                text.row.left x=(n(*column)) y=(n(y + LINE * (at + 1) as f64 + 2.0)) { (text) }
            }
        }
    }
}

fn signs(plan: &Plan<'_>, (x, y): Point, wide: f64) -> Markup {
    let has = |kind| plan.nodes().iter().any(|node| node.kind == kind);
    let pieces = plan.pieces();
    let pill = |class: &str, kind: Kind, text: &str, (x, y): Point| {
        let (w, h) = size(kind, text);
        html! {
            g class=(format!("label {class}")) {
                rect x=(n(x - w / 2.0)) y=(n(y - h / 2.0)) width=(n(w)) height=(n(h)) rx="2.5" {}
                text x=(n(x)) y=(n(y + 3.6)) font-size="10" { (text) }
            }
        }
    };
    let mut rows: Vec<(Markup, &str)> = Vec::new();
    let column = |at: usize| -> Point {
        (x + wide * 0.52 * (at % 2) as f64 + 14.0, y + LINE * (at / 2 + 1) as f64 - 2.0)
    };
    let mut add = |there: bool, sign: &dyn Fn(Point) -> Markup, meaning: &'static str| {
        if there {
            rows.push((sign(column(rows.len())), meaning));
        }
    };
    let line = |class: &str, (x, y): Point| {
        html! { path class=(class) d=(path(&[Stroke { a: (x - 11.0, y), b: (x + 11.0, y) }])) {} }
    };
    let up = (0.0, -1.0);
    add(plan.network.is_some(), &|at| pill("taxiway", Kind::Taxiway, "A", at), "taxiway");
    add(has(NodeKind::HoldingPoint), &|at| pill("hold", Kind::Hold, "A1", at), "holding point");
    add(has(NodeKind::HoldingPoint), &|at| bar((at.0, at.1 + 1.5), up, 12.0), "hold line");
    let out = |at: Point| {
        html! { polygon.way-out points=(polygon(&[off(at, up, -4.5, -3.8), off(at, up, 6.5, 0.0), off(at, up, -4.5, 3.8)])) {} }
    };
    add(has(NodeKind::Exit), &out, "runway exit");
    let one = |at: Point| {
        let right = (1.0, 0.0);
        html! { polyline.arrow points=(polygon(&[off(at, right, -2.6, -3.4), off(at, right, 2.6, 0.0), off(at, right, -2.6, 3.4)])) {} }
    };
    add(pieces.iter().any(|piece| piece.way.one_way), &one, "one way");
    let stand = |at: Point| html! { circle.parking cx=(n(at.0)) cy=(n(at.1)) r="3" {} };
    add(has(NodeKind::Stand), &stand, "stand");
    add(pieces.iter().any(|piece| piece.way.closed), &|at| cross(at, 4.0), "closed");
    add(plan.route.is_some(), &|at| line("way", at), "route");
    let ring = |at: Point| html! { circle.crossed cx=(n(at.0)) cy=(n(at.1)) r="6" {} };
    add(plan.route.as_ref().is_some_and(|shown| !shown.route.crossings.is_empty()), &ring, "runway crossed");
    html! {
        text.heading.left x=(n(x)) y=(n(y)) { "SIGNS" }
        @for (at, (sign, meaning)) in rows.iter().enumerate() {
            @let (x, y) = column(at);
            (sign)
            text.row.left x=(n(x + 20.0)) y=(n(y + 4.3)) { (meaning) }
        }
    }
}
