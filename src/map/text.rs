//! The plan of an airport in characters, for a terminal.

use super::canvas::{Canvas, Ink};
use super::place::{Board, Rect, Wanted};
use super::scene::towards;
use super::{Plan, Point, Strip, words};
use crate::airport::network::{Node, NodeKind};
use crate::diagnostic::clean;
use crate::wrap;
use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthStr;

/// How the plan is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Columns of the page.
    pub width: usize,
    /// ASCII only.
    pub plain: bool,
    /// Colours.
    pub styled: bool,
}

/// The least and the most columns of a plan.
pub const COLUMNS: std::ops::RangeInclusive<usize> = 40..=160;
/// The most rows of the drawing itself.
const ROWS: f64 = 56.0;
/// A row is as high as two columns are wide.
const TALL: f64 = 2.0;
/// Columns and rows left free around the drawing, for names.
const FREE: (f64, f64) = (4.0, 1.0);

impl Ink {
    fn style(self) -> Style {
        let style = Style::new();
        let colour = |colour: AnsiColor| style.fg_color(Some(colour.into()));
        match self {
            Self::None | Self::Taxiway | Self::Stand => style,
            Self::Lane => style.dimmed(),
            Self::Runway => style.bold(),
            Self::Closed | Self::Hold => colour(AnsiColor::Red),
            Self::Route => colour(AnsiColor::Cyan).bold(),
            Self::Arrow | Self::Exit => colour(AnsiColor::Green),
            Self::Name => colour(AnsiColor::Yellow).bold(),
            Self::Designator => style.bold(),
        }
    }
}

/// Signs of the drawing.
struct Signs {
    hold: char,
    stand: char,
    exit: char,
    route: char,
    closed: char,
    arrows: [char; 8],
}

const DRAWN: Signs = Signs {
    hold: '\u{25c6}',
    stand: '\u{25aa}',
    exit: '\u{25e6}',
    route: '\u{25cf}',
    closed: '\u{00d7}',
    arrows: ['\u{2192}', '\u{2197}', '\u{2191}', '\u{2196}', '\u{2190}', '\u{2199}', '\u{2193}', '\u{2198}'],
};
const PLAIN: Signs = Signs {
    hold: '!',
    stand: '"',
    exit: 'o',
    route: '*',
    closed: 'x',
    arrows: ['>', '>', '^', '<', '<', '<', 'v', '>'],
};

/// Metres to cells.
struct Scale {
    west: f64,
    north: f64,
    /// Metres of a column.
    metres: f64,
    columns: usize,
    rows: usize,
}

impl Scale {
    fn of(plan: &Plan<'_>, width: usize) -> Option<Self> {
        let (low, high) = plan.extent()?;
        let (w, h) = ((high.0 - low.0).max(100.0), (high.1 - low.1).max(100.0));
        let across = width as f64 - 2.0 * FREE.0;
        let metres = (w / across).max(h / TALL / ROWS).max(1.0);
        let rows = (h / metres / TALL + 2.0 * FREE.1).ceil() + 1.0;
        let columns = (w / metres + 2.0 * FREE.0).ceil();
        Some(Self {
            west: low.0 - FREE.0 * metres,
            north: high.1 + (FREE.1 + 0.5) * metres * TALL,
            metres,
            columns: (columns as usize).min(width),
            rows: rows as usize,
        })
    }

    fn at(&self, (x, y): Point) -> Point {
        ((x - self.west) / self.metres, (self.north - y) / self.metres / TALL)
    }
}

/// The whole page: title, drawing, what the signs mean, what is not drawn, the route in words.
#[must_use]
pub fn page(plan: &Plan<'_>, look: Look) -> String {
    let mut out = String::new();
    let mut put = |line: &str| {
        out.push_str(line.trim_end());
        out.push('\n');
    };
    let airport = plan.airport;
    let bold = |text: &str| paint(look, Style::new().bold(), text);
    for line in wrap::lines(&clean(&airport.name), look.width) {
        put(&bold(&line));
    }
    for line in wrap::lines(&facts(plan), look.width) {
        put(&line);
    }
    let mut hidden = Vec::new();
    if let Some(scale) = Scale::of(plan, look.width) {
        put("");
        let signs = if look.plain { &PLAIN } else { &DRAWN };
        let (canvas, left_out) = draw(plan, &scale, signs);
        hidden = left_out;
        let rows = canvas.rows(look.plain);
        let empty = |row: &&Vec<(Ink, String)>| row.is_empty();
        let above = rows.iter().take_while(empty).count();
        let below = rows.iter().rev().take_while(empty).count();
        for row in &rows[above..rows.len() - below.min(rows.len() - above)] {
            put(&row.iter().map(|(ink, text)| paint(look, ink.style(), text)).collect::<String>());
        }
        put("");
        for line in wrap::lines(&legend(plan, &scale, signs), look.width) {
            put(&line);
        }
    }
    let mut notes = plan.gaps();
    if !hidden.is_empty() {
        notes.push(format!("No room for the names of {}; a wider window has more.", hidden.join(", ")));
    }
    if plan.network.is_none() {
        notes.extend(listed(plan));
    }
    for note in notes {
        put("");
        for line in wrap::lines(&clean(&note), look.width) {
            put(&line);
        }
    }
    if let Some(shown) = &plan.route {
        put("");
        for line in wrap::lines(&clean(&format!("Route: {}", words::between(plan, shown))), look.width) {
            put(&bold(&line));
        }
        let said = words::said(plan);
        let hanging = |put: &mut dyn FnMut(&str), lead: &str, text: &str| {
            let indent = lead.width();
            for (n, line) in wrap::lines(&clean(text), look.width - indent).iter().enumerate() {
                let lead = if n == 0 { lead } else { "" };
                put(&format!("{lead:indent$}{line}"));
            }
        };
        for (n, said) in said.iter().enumerate() {
            hanging(&mut put, &format!("  {}. ", n + 1), &said.written);
            hanging(&mut put, "     ", &format!("\"{}\"", said.spoken));
        }
        hanging(&mut put, "  ", &words::facts(plan, shown));
    }
    out
}

fn paint(look: Look, style: Style, text: &str) -> String {
    if look.styled && style != Style::new() { format!("{style}{text}{style:#}") } else { text.to_owned() }
}

/// Elevation and runways in one line.
fn facts(plan: &Plan<'_>) -> String {
    let airport = plan.airport;
    let mut parts = vec![format!("elevation {} ft", words::feet(airport.elevation))];
    for strip in &plan.strips {
        let [a, b] = strip.ends;
        let length = words::thousands((b.0 - a.0).hypot(b.1 - a.1).round() as u64);
        let closed = if strip.closed { ", closed" } else { "" };
        parts.push(format!("runway {} {length} m{closed}", strip.title()));
    }
    parts.join("; ")
}

fn legend(plan: &Plan<'_>, scale: &Scale, signs: &Signs) -> String {
    let has = |kind| plan.nodes().iter().any(|node| node.kind == kind);
    let mut parts = Vec::new();
    let rows = [
        (has(NodeKind::HoldingPoint), signs.hold, "holding point"),
        (has(NodeKind::Exit), signs.exit, "exit"),
        (has(NodeKind::Stand), signs.stand, "stand"),
        (plan.pieces().iter().any(|piece| piece.way.closed), signs.closed, "closed"),
        (plan.route.is_some(), signs.route, "route"),
    ];
    for (_, sign, meaning) in rows.into_iter().filter(|(there, ..)| *there) {
        parts.push(format!("{sign} {meaning}"));
    }
    let metres = scale.metres.round();
    parts.push(format!("north is up, a column {metres} m"));
    parts.join("; ")
}

/// What a file without a network tells all the same.
fn listed(plan: &Plan<'_>) -> Vec<String> {
    let airport = plan.airport;
    let mut out: Vec<String> = Vec::new();
    for apron in &airport.aprons {
        out.push(format!("Apron {}: stands {}.", apron.id, apron.stands.join(", ")));
    }
    let ways = super::request::listed(airport);
    if !ways.is_empty() {
        out.push(format!("Ways: {ways}."));
    }
    out
}

/// The drawing, and names that have no room in it.
fn draw(plan: &Plan<'_>, scale: &Scale, signs: &Signs) -> (Canvas, Vec<String>) {
    let mut canvas = Canvas::new(scale.columns, scale.rows);
    runways(plan, scale, &mut canvas);
    let mut board = Board { gap: (1.0, 0.0), ..Board::default() };
    board.sheet = Some(Rect { x: 0.0, y: 0.0, w: scale.columns as f64, h: scale.rows as f64 });
    for strip in &plan.strips {
        board.lines.extend(lines(strip, scale).map(|(a, b)| (a, b, 6.0)));
    }
    for piece in plan.pieces() {
        let [a, b] = piece.ends.map(|node| scale.at((node.x, node.y)));
        let ink = if piece.way.name.is_some() { Ink::Taxiway } else { Ink::Lane };
        if piece.way.closed {
            canvas.letters(a, b, signs.closed, Ink::Closed);
        } else {
            canvas.line(a, b, ink);
        }
        board.lines.push((a, b, 1.0));
        if piece.way.one_way && !piece.way.closed {
            let (x, y) = ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
            let turn = (a.1 - b.1).atan2((b.0 - a.0) / TALL).to_degrees();
            let arrow = signs.arrows[((turn / 45.0).round() as i64).rem_euclid(8) as usize];
            canvas.put(x, y, arrow, Ink::Arrow);
        }
    }
    let faces = plan.nodes().iter().filter_map(|node| Some((node, plan.faces(node)?)));
    for (node, (on, joined)) in faces {
        if !joined {
            canvas.line(scale.at((node.x, node.y)), scale.at(on), Ink::Lane);
        }
    }
    let course: Vec<Point> = plan.course().into_iter().map(|place| scale.at(place)).collect();
    for pair in course.windows(2) {
        canvas.letters(pair[0], pair[1], signs.route, Ink::Route);
        board.lines.push((pair[0], pair[1], 1.2));
    }
    let hidden = names(plan, scale, signs, &mut canvas, board);
    (canvas, hidden)
}

/// Runways as bands of dots.
fn runways(plan: &Plan<'_>, scale: &Scale, canvas: &mut Canvas) {
    for strip in &plan.strips {
        let [a, b] = strip.ends;
        let (_, (east, north)) = towards(a, b);
        // Three dots wide at the least: a runway is told from a taxiway.
        let half = (strip.width / 2.0).max(scale.metres * 0.62);
        let step = scale.metres / 4.0;
        let mut side = -half;
        while side <= half {
            let shift = |(x, y): Point| scale.at((x - north * side, y + east * side));
            canvas.line(shift(a), shift(b), Ink::Runway);
            side += step;
        }
    }
}

/// A name on the plan.
struct Label {
    text: String,
    ink: Ink,
    /// The cell of its sign.
    sign: Option<(Point, char)>,
    wanted: Wanted,
}

/// Cells beside, above and below a point that a text can take, as centres with prices: so near that one sees what it
/// names.
fn around((x, y): Point, length: usize) -> Vec<(Point, f64)> {
    let (column, row) = (x.floor(), y.floor());
    let length = length as f64;
    let mut out = Vec::new();
    let mut put = |left: f64, down: f64, price: f64| {
        out.push(((column + left + length / 2.0, row + down + 0.5), price));
    };
    for gap in [0.0, 1.0] {
        put(1.0 + gap, 0.0, gap * 2.0);
        put(-length - gap, 0.0, gap * 2.0);
    }
    for down in [-1.0, 1.0] {
        let mut left = -length;
        while left <= 1.0 {
            let off = (left + length / 2.0 - 0.5).abs();
            put(left, down, 2.0 + off * 0.4);
            left += 1.0;
        }
    }
    out
}

/// Edges and centre line of a runway in cells.
fn lines(strip: &Strip, scale: &Scale) -> [(Point, Point); 3] {
    let [a, b] = strip.ends;
    let half = strip.width.max(scale.metres * TALL) / 2.0;
    let (_, (east, north)) = towards(a, b);
    [-half, 0.0, half].map(|side| {
        let shift = |(x, y): Point| scale.at((x - north * side, y + east * side));
        (shift(a), shift(b))
    })
}

/// Writes all names; returns those that found no room.
fn names(
    plan: &Plan<'_>,
    scale: &Scale,
    signs: &Signs,
    canvas: &mut Canvas,
    mut board: Board,
) -> Vec<String> {
    let mut labels: Vec<Label> = Vec::new();
    let wanted = |text: &str, places| Wanted { w: text.width() as f64, h: 1.0, places };
    for strip in &plan.strips {
        let [a, b] = strip.ends.map(|end| scale.at(end));
        for (name, from, to) in [(&strip.names[0], a, b), (&strip.names[1], b, a)] {
            if name.is_empty() {
                continue;
            }
            // Beyond its beginning.
            let far = (from.0 - to.0).hypot(from.1 - to.1).max(0.1);
            let beyond = |cells: f64| {
                (from.0 + (from.0 - to.0) / far * cells * 1.5, from.1 + (from.1 - to.1) / far * cells)
            };
            let mut places = around(beyond(1.0), name.width());
            places.push((beyond(1.5), 0.0));
            let snapped = places.into_iter().map(|(place, price)| (snap(place, name.width()), price));
            let wanted = wanted(name, snapped.collect());
            labels.push(Label { text: name.clone(), ink: Ink::Designator, sign: None, wanted });
        }
    }
    let rank = |node: &&Node| {
        let ends = plan.route.as_ref().map(|shown| &shown.route.nodes);
        let on_route = ends.is_some_and(|nodes| nodes.contains(&node.id));
        let kind = match node.kind {
            NodeKind::HoldingPoint => 0,
            NodeKind::Stand => 1,
            _ => 2,
        };
        (!on_route, kind)
    };
    let mut nodes: Vec<&Node> = plan.named().collect();
    nodes.sort_by_key(rank);
    let mut cells: Vec<Rect> = Vec::new();
    for node in nodes {
        let (sign, ink) = match node.kind {
            NodeKind::HoldingPoint => (signs.hold, Ink::Hold),
            NodeKind::Stand => (signs.stand, Ink::Stand),
            _ => (signs.exit, Ink::Exit),
        };
        let at = scale.at((node.x, node.y));
        let text = clean(&node.id).into_owned();
        let cell = Rect { x: at.0.floor(), y: at.1.floor(), w: 1.0, h: 1.0 };
        cells.push(cell);
        // Beside the sign of another it could be taken for its name.
        board.taken.push((cell.grown(1.0, 0.0), 1.0));
        let wanted = wanted(&text, around(at, text.width()));
        labels.push(Label { text, ink, sign: Some((at, sign)), wanted });
    }
    for (name, places) in on_taxiways(plan, scale) {
        let wanted = wanted(&name, places);
        labels.push(Label { text: name, ink: Ink::Name, sign: None, wanted });
    }
    // Signs stay whole, and runways too.
    let strips: Vec<(Point, Point)> = plan.strips.iter().flat_map(|strip| lines(strip, scale)).collect();
    for Label { ink, wanted, .. } in &mut labels {
        let (w, h) = (wanted.w, wanted.h);
        if *ink == Ink::Name {
            // Next to a sign it would be taken for the name of that.
            for (centre, price) in &mut wanted.places {
                let beside = Rect::around(*centre, w, h).grown(2.0, 0.0);
                *price += 6.0 * f64::from(u8::from(cells.iter().any(|cell| beside.shared(cell) > 0.0)));
            }
        }
        wanted.places.retain(|(centre, _)| {
            let rect = Rect::around(*centre, w, h);
            let on_runway = strips.iter().any(|(a, b)| rect.crossed(*a, *b) > 0.0);
            cells.iter().all(|cell| rect.shared(cell) == 0.0) && (*ink == Ink::Designator || !on_runway)
        });
    }
    let found = board.settle(&labels.iter().map(|label| label.wanted.clone()).collect::<Vec<_>>());
    for (at, sign) in labels.iter().filter_map(|label| label.sign.map(|(at, sign)| (at, (sign, label.ink)))) {
        canvas.put(at.0, at.1, sign.0, sign.1);
    }
    let mut hidden = Vec::new();
    for (label, (rect, clear)) in labels.iter().zip(found) {
        if !clear || rect.w == 0.0 {
            hidden.push(label.text.clone());
            continue;
        }
        let (column, row) = (rect.x.round(), rect.y.round());
        if label.ink == Ink::Name {
            canvas.clear(column - 1.0, row);
            canvas.clear(column + rect.w, row);
        }
        canvas.text(column, row, &label.text, label.ink);
    }
    hidden
}

/// The centre of the cells that a text around that point takes.
fn snap((x, y): Point, length: usize) -> Point {
    let half = length as f64 / 2.0;
    ((x - half).round() + half, y.floor() + 0.5)
}

/// Names of taxiways with the cells on them; not those whose name a holding point or an exit on them bears.
fn on_taxiways(plan: &Plan<'_>, scale: &Scale) -> Vec<(String, Vec<(Point, f64)>)> {
    let mut out: Vec<(String, Vec<(Point, f64)>)> = Vec::new();
    for piece in plan.pieces() {
        let Some(name) = &piece.way.name else { continue };
        if piece.way.nodes.iter().any(|id| id == name) {
            continue;
        }
        let [a, b] = piece.ends.map(|node| scale.at((node.x, node.y)));
        let length = (b.0 - a.0).hypot((b.1 - a.1) * TALL);
        let places = [0.5, 0.35, 0.65, 0.2, 0.8].map(|t| {
            let place = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
            // Its own line costs as much as it covers; in a long piece there is more room.
            (snap(place, name.width()), (0.5 - t).abs() * 4.0 - length.min(12.0) * 0.3 + 4.0)
        });
        match out.iter_mut().find(|(known, _)| known == name) {
            Some((_, known)) => known.extend(places),
            None => out.push((name.clone(), places.to_vec())),
        }
    }
    out
}
