//! The drawing of an airport as one SVG file: nothing from elsewhere, no script; names are escaped by the writer.

mod frame;

use super::Plan;
use super::place::Rect;
use super::request::MapError;
use super::scene::{Kind, Label, Scene, Stroke, towards};
use super::{Point, Strip, words};
use crate::diagnostic::clean;
use maud::{Markup, PreEscaped, html};

const STYLE: &str = include_str!("map.css");

/// The whole drawing.
///
/// # Errors
/// [`MapError::Nothing`] if the file has no place of anything.
pub fn drawing(plan: &Plan<'_>) -> Result<String, MapError> {
    let airport = plan.airport;
    let name = clean(&airport.name);
    let Some(scene) = Scene::of(plan) else {
        return Err(MapError::Nothing(name.into_owned(), plan.gaps().join(" ")));
    };
    let frame = frame::Frame::of(plan, &scene);
    let (width, height) = frame.size;
    let (x, y) = frame.map;
    let markup = html! {
        svg xmlns="http://www.w3.org/2000/svg" width=(n(width)) height=(n(height))
            viewBox=(format!("0 0 {} {}", n(width), n(height))) role="img" aria-labelledby="title desc" {
            title id="title" { (format!("{name}: airport plan")) }
            desc id="desc" { (description(plan)) }
            style { (PreEscaped(STYLE)) }
            rect.sheet x="0" y="0" width=(n(width)) height=(n(height)) {}
            (frame.head(plan))
            // An inner sheet of its own keeps the places of the map within the whole.
            svg.map x=(n(x)) y=(n(y)) width=(n(scene.size.0)) height=(n(scene.size.1))
                viewBox=(format!("0 0 {} {}", n(scene.size.0), n(scene.size.1))) {
                (map(plan, &scene))
            }
            (frame.foot(plan, &scene))
        }
    };
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    text.push_str(&markup.into_string().replace("><", ">\n<"));
    text.push('\n');
    Ok(text)
}

/// The drawing in words.
fn description(plan: &Plan<'_>) -> String {
    let count = |what: &str, number: usize| crate::diagnostic::count(number, what);
    let stands = plan.nodes().iter().filter(|node| node.kind == crate::airport::network::NodeKind::Stand);
    let runways: Vec<String> = plan.strips.iter().map(|strip| clean(&strip.title()).into_owned()).collect();
    let mut out = format!(
        "Plan of {} with north up: {} ({}), {}.",
        clean(&plan.airport.name),
        count("runway", runways.len()),
        runways.join(", "),
        count("stand", stands.count()),
    );
    if let Some(shown) = &plan.route {
        out.push_str(&format!(" Route from {}:", clean(&words::between(plan, shown))));
        for said in words::said(plan) {
            out.push_str(&format!(" {}.", clean(&said.written)));
        }
    }
    for gap in plan.gaps() {
        out.push_str(&format!(" {}", clean(&gap)));
    }
    out
}

/// A number with one decimal at the most.
fn n(number: f64) -> String {
    let rounded = (number * 10.0).round() / 10.0;
    if rounded == 0.0 { "0".to_owned() } else { rounded.to_string() }
}

fn path(strokes: &[Stroke]) -> String {
    let mut out = String::new();
    let mut last: Option<Point> = None;
    for Stroke { a, b } in strokes {
        if last.is_none_or(|(x, y)| (n(x), n(y)) != (n(a.0), n(a.1))) {
            out.push_str(&format!("M{} {}", n(a.0), n(a.1)));
        }
        out.push_str(&format!("L{} {}", n(b.0), n(b.1)));
        last = Some(*b);
    }
    out
}

/// A place so far along and beside a direction.
fn off((x, y): Point, (dx, dy): Point, ahead: f64, beside: f64) -> Point {
    (x + dx * ahead - dy * beside, y + dy * ahead + dx * beside)
}

fn polygon(points: &[Point]) -> String {
    points.iter().map(|(x, y)| format!("{},{}", n(*x), n(*y))).collect::<Vec<_>>().join(" ")
}

fn map(plan: &Plan<'_>, scene: &Scene) -> Markup {
    let wide = scene.wide();
    let paved: Vec<Stroke> =
        scene.taxiways.iter().chain(&scene.leads).chain(&scene.closed).copied().collect();
    html! {
        rect.ground x="0" y="0" width=(n(scene.size.0)) height=(n(scene.size.1)) {}
        path.ramp d=(path(&scene.aprons)) stroke-width=(n(scene.roomy())) {}
        path.edge d=(path(&paved)) stroke-width=(n(wide + 2.0)) {}
        path.pavement d=(path(&paved)) stroke-width=(n(wide)) {}
        @for strip in &plan.strips { (runway(strip, scene)) }
        path.lead d=(path(&scene.leads)) {}
        path.lane d=(path(&scene.lanes)) {}
        path.centre d=(path(&scene.taxiways)) {}
        @if !scene.closed.is_empty() { (closed(scene, wide)) }
        @for (place, direction) in &scene.arrows {
            polyline.arrow points=(polygon(&[
                off(*place, *direction, -2.6, -3.4),
                off(*place, *direction, 2.6, 0.0),
                off(*place, *direction, -2.6, 3.4),
            ])) {}
        }
        (route(scene))
        @for (place, direction) in &scene.bars { (bar(*place, *direction, wide)) }
        @if let (Some(first), Some(last)) = (scene.course.first(), scene.course.last()) {
            circle.start cx=(n(first.0)) cy=(n(first.1)) r="7" {}
            circle.goal cx=(n(last.0)) cy=(n(last.1)) r="6.5" {}
        }
        @for (place, direction) in &scene.exits {
            polygon.way-out points=(polygon(&[
                off(*place, *direction, -4.5, -3.8),
                off(*place, *direction, 6.5, 0.0),
                off(*place, *direction, -4.5, 3.8),
            ])) {}
        }
        @for (x, y) in &scene.stands { circle.parking cx=(n(*x)) cy=(n(*y)) r="3" {} }
        @for label in &scene.labels { (leader(label)) }
        @for label in &scene.labels { (self::label(label)) }
    }
}

/// Two lines before a runway: the whole one on the side where aircraft wait.
fn bar(place: Point, direction: Point, wide: f64) -> Markup {
    let half = wide / 2.0 + 3.0;
    let stroke = |ahead: f64| {
        let (a, b) = (off(place, direction, ahead, -half), off(place, direction, ahead, half));
        path(&[Stroke { a, b }])
    };
    html! {
        path.bar d=(stroke(0.0)) {}
        path.bar.dashed d=(stroke(3.6)) {}
    }
}

fn runway(strip: &Strip, scene: &Scene) -> Markup {
    let [a, b] = strip.ends.map(|end| scene.at(end));
    let (length, ahead) = towards(a, b);
    let back = (-ahead.0, -ahead.1);
    let width = strip.width * scene.scale;
    let half = width / 2.0;
    let corners = [
        off(a, ahead, 0.0, -half),
        off(b, ahead, 0.0, -half),
        off(b, ahead, 0.0, half),
        off(a, ahead, 0.0, half),
    ];
    let painted = width >= 8.0 && length > 150.0;
    let room = if painted { (width * 2.6).min(length / 4.0) } else { 6.0 };
    let middle = [Stroke { a: off(a, ahead, room, 0.0), b: off(b, back, room, 0.0) }];
    html! {
        g.runway {
            title { "Runway " (clean(&strip.title())) @if strip.closed { ", closed" } }
            polygon points=(polygon(&corners)) {}
            @if strip.closed {
                @for t in [0.2, 0.5, 0.8] { (cross(off(a, ahead, length * t, 0.0), half * 0.8)) }
            } @else {
                path.dashes d=(path(&middle)) stroke-dasharray=(format!("{} {}", n(width * 0.75), n(width * 0.5))) {}
                @if painted {
                    (keys(a, ahead, width))
                    (keys(b, back, width))
                    (painted_name(&strip.names[0], a, ahead, width))
                    (painted_name(&strip.names[1], b, back, width))
                }
            }
        }
    }
}

/// Stripes at the threshold.
fn keys(end: Point, ahead: Point, width: f64) -> Markup {
    let count = 6;
    let strokes: Vec<Stroke> = (0..count)
        .map(|k| {
            let beside = (f64::from(k) - f64::from(count - 1) / 2.0) * width * 0.145;
            Stroke { a: off(end, ahead, width * 0.12, beside), b: off(end, ahead, width * 0.62, beside) }
        })
        .collect();
    html! { path.keys d=(path(&strokes)) stroke-width=(n(width * 0.075)) {} }
}

/// A designator on the runway, as it is read on the approach: the letter below the number.
fn painted_name(name: &str, end: Point, ahead: Point, width: f64) -> Markup {
    let digits: String = name.chars().filter(char::is_ascii_digit).collect();
    let side: String = name.chars().filter(char::is_ascii_alphabetic).collect();
    let letters = width * 0.62;
    let angle = ahead.0.atan2(-ahead.1).to_degrees();
    let write = |text: &str, at: f64| {
        let (x, y) = off(end, ahead, at, 0.0);
        let turn = format!("rotate({} {} {})", n(angle), n(x), n(y));
        html! {
            text.painted x=(n(x)) y=(n(y)) dy="0.35em" font-size=(n(letters)) transform=(turn) { (text) }
        }
    };
    html! {
        @if side.is_empty() {
            (write(&digits, width * 1.3))
        } @else {
            (write(&side, width * 1.1))
            (write(&digits, width * 1.85))
        }
    }
}

fn cross((x, y): Point, half: f64) -> Markup {
    let d = format!(
        "M{} {}L{} {}M{} {}L{} {}",
        n(x - half),
        n(y - half),
        n(x + half),
        n(y + half),
        n(x - half),
        n(y + half),
        n(x + half),
        n(y - half)
    );
    html! { path.cross d=(d) {} }
}

fn closed(scene: &Scene, wide: f64) -> Markup {
    let mut places = Vec::new();
    for Stroke { a, b } in &scene.closed {
        let (length, ahead) = towards(*a, *b);
        let count = (length / 44.0).round().max(1.0);
        for k in 0..count as usize {
            places.push(off(*a, ahead, (k as f64 + 0.5) / count * length, 0.0));
        }
    }
    html! {
        path.shut d=(path(&scene.closed)) stroke-width=(n(wide)) {}
        @for place in places { (cross(place, (wide * 0.42).max(3.0))) }
    }
}

fn route(scene: &Scene) -> Markup {
    if scene.course.is_empty() {
        return html! {};
    }
    let strokes: Vec<Stroke> =
        scene.course.windows(2).map(|pair| Stroke { a: pair[0], b: pair[1] }).collect();
    let mut arrows = Vec::new();
    let mut since = 0.0;
    for Stroke { a, b } in &strokes {
        let (length, ahead) = towards(*a, *b);
        let mut next = ROUTE_ARROW - since;
        while next < length {
            // Not in a bend, where it points nowhere.
            if next > 5.0 && next < length - 5.0 {
                arrows.push((off(*a, ahead, next, 0.0), ahead));
            }
            next += ROUTE_ARROW;
        }
        since = length - (next - ROUTE_ARROW);
    }
    html! {
        g.route {
            title { "Route" }
            path.casing d=(path(&strokes)) {}
            path.way d=(path(&strokes)) {}
            @for (place, ahead) in arrows {
                polyline.along points=(polygon(&[
                    off(place, ahead, -1.8, -1.9), off(place, ahead, 1.2, 0.0), off(place, ahead, -1.8, 1.9),
                ])) {}
            }
            @for (x, y) in &scene.crossed { circle.crossed cx=(n(*x)) cy=(n(*y)) r="11" {} }
        }
    }
}

/// Pixels between the arrows on a route.
const ROUTE_ARROW: f64 = 34.0;
/// A name further away than this is joined to its place by a line.
const FAR: f64 = 13.0;

fn leader(label: &Label) -> Markup {
    let (x, y) = label.anchor;
    let Rect { x: left, y: top, w, h } = label.rect;
    let near = (x.clamp(left, left + w), y.clamp(top, top + h));
    let named = matches!(label.kind, Kind::Hold | Kind::Exit | Kind::Stand);
    if !named || towards(label.anchor, near).0 < FAR {
        return html! {};
    }
    html! { path.leader d=(path(&[Stroke { a: label.anchor, b: near }])) {} }
}

fn label(label: &Label) -> Markup {
    let (class, letters, ..) = label.kind.look();
    let Rect { x, y, w, h } = label.rect;
    let (cx, cy) = label.rect.centre();
    html! {
        g class=(format!("label {class}")) data-name=(label.text) {
            title { (label.title) }
            rect x=(n(x)) y=(n(y)) width=(n(w)) height=(n(h)) rx="2.5" {}
            text x=(n(cx)) y=(n(cy + letters * 0.355)) font-size=(n(letters)) { (label.text) }
        }
    }
}
