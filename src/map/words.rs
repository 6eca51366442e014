//! What a controller says for a route: the taxiways in order, where to hold short, what is crossed.

use super::{Plan, Shown};
use crate::airport::layout::{Layout, Runway};
use crate::airport::network::{NodeKind, Route};
use crate::diagnostic::count;
use crate::element::{Element, Standard};
use crate::text::speak::spoken;

/// One thing a controller says, without the callsign.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// As it is written in a clearance.
    pub written: String,
    /// As it is spoken in the airport's rule set.
    pub spoken: String,
}

/// Writes and speaks at the same time.
struct Pen {
    standard: Standard,
    said: Said,
}

impl Pen {
    fn new(standard: Standard) -> Self {
        Self { standard, said: Said { written: String::new(), spoken: String::new() } }
    }

    fn words(&mut self, words: &str) -> &mut Self {
        self.said.written.push_str(words);
        self.said.spoken.push_str(words);
        self
    }

    fn value(&mut self, element: Element, value: &str) -> &mut Self {
        let lead = match element {
            Element::Runway => "runway ",
            Element::Stand if self.standard == Standard::Us => "gate ",
            Element::Stand => "stand ",
            Element::HoldingPoint if self.standard != Standard::Us => "holding point ",
            _ => "",
        };
        let shown = if element == Element::TaxiRoute { value.replace(' ', ", ") } else { value.to_owned() };
        self.said.written.push_str(lead);
        self.said.written.push_str(&shown);
        self.said.spoken.push_str(&spoken(self.standard, element, value));
        self
    }

    fn route(&mut self, names: &[String]) -> &mut Self {
        if !names.is_empty() {
            self.words(" via ").value(Element::TaxiRoute, &names.join(" "));
        }
        self
    }

    fn done(mut self) -> Said {
        for text in [&mut self.said.written, &mut self.said.spoken] {
            if let Some(first) = text.get(..1).map(str::to_uppercase) {
                text.replace_range(..1, &first);
            }
        }
        self.said
    }
}

/// What is said for the route of a plan, one transmission after the other; empty without a route.
#[must_use]
pub fn said(plan: &Plan<'_>) -> Vec<Said> {
    let Some(shown) = &plan.route else { return Vec::new() };
    let route = &shown.route;
    let standard = plan.airport.standard;
    let mut out = Vec::new();
    // The exit has been named when the runway was left.
    let first = route.nodes.first();
    let named = usize::from(
        route.taxiways.len() > 1
            && route.taxiways.first() == first
            && first.and_then(|id| kind(plan, id)) != Some(NodeKind::Stand),
    );
    let mut from = named;
    for (n, crossing) in route.crossings.iter().enumerate() {
        let mut pen = Pen::new(standard);
        let names = part(route.said_before(crossing), from);
        if n > 0 {
            pen.words("cross ").value(Element::Runway, &route.crossings[n - 1].runway).words(", ");
        }
        pen.words("taxi").route(names);
        if names.is_empty() {
            pen.words(" straight ahead");
        }
        pen.words(", hold short of ").value(Element::Runway, &crossing.runway);
        if let Some(point) = &crossing.holding_point {
            pen.words(" at ").bare(point);
        }
        out.push(pen.done());
        from = crossing.after.saturating_sub(usize::from(continues(plan, route, &crossing.node)));
    }
    let mut pen = Pen::new(standard);
    // In America the runway that one taxies for comes first.
    let ends = route.nodes.last().and_then(|id| kind(plan, id));
    let runway_first =
        standard == Standard::Us && ends == Some(NodeKind::HoldingPoint) && shown.to_runway.is_some();
    let last = route.crossings.last().map(|crossing| crossing.runway.as_str());
    if let Some(runway) = last.filter(|_| !runway_first) {
        pen.words("cross ").value(Element::Runway, runway).words(", ");
    }
    goal(&mut pen, plan, shown, part(route.said(), from));
    if let Some(runway) = last.filter(|_| runway_first) {
        pen.words(", cross ").value(Element::Runway, runway);
    }
    out.push(pen.done());
    out
}

/// True if the taxiway that leads to a crossing goes on behind it, so that it is said again.
fn continues(plan: &Plan<'_>, route: &Route, crossing: &str) -> bool {
    let Some(at) = route.nodes.iter().position(|id| id == crossing) else { return false };
    let (Some(before), Some(after)) = (at.checked_sub(1), route.nodes.get(at + 1)) else { return false };
    let named = |a: &str, b: &str| -> Vec<&str> {
        let ways = plan.network.iter().flat_map(|network| network.ways());
        let here = ways.filter(|way| way.nodes.windows(2).any(|p| p == [a, b] || p == [b, a]));
        here.filter_map(|way| way.name.as_deref()).collect()
    };
    let to = named(&route.nodes[before], crossing);
    named(crossing, after).iter().any(|name| to.contains(name))
}

fn part(names: &[String], from: usize) -> &[String] {
    names.get(from..).unwrap_or_default()
}

fn kind(plan: &Plan<'_>, id: &str) -> Option<NodeKind> {
    plan.network.as_ref()?.node(id).map(|node| node.kind)
}

fn goal(pen: &mut Pen, plan: &Plan<'_>, shown: &Shown, names: &[String]) {
    let id = shown.route.nodes.last().map_or("", String::as_str);
    match (kind(plan, id), &shown.to_runway) {
        (Some(NodeKind::Stand), _) => {
            pen.words("taxi to ").value(Element::Stand, id).route(names);
        }
        (Some(NodeKind::HoldingPoint), Some(runway)) if pen.standard == Standard::Us => {
            pen.value(Element::Runway, runway).words(" at ").bare(id).words(", taxi").route(names);
        }
        (Some(NodeKind::HoldingPoint), runway) => {
            pen.words("taxi to ").value(Element::HoldingPoint, id);
            if let Some(runway) = runway {
                pen.words(", ").value(Element::Runway, runway).words(",");
            }
            pen.route(names);
        }
        _ => {
            pen.words("taxi").route(names).words(" to ").bare(id);
        }
    }
}

impl Pen {
    /// A name alone: `A1`.
    fn bare(&mut self, name: &str) -> &mut Self {
        self.said.written.push_str(name);
        self.said.spoken.push_str(&spoken(self.standard, Element::TaxiRoute, name));
        self
    }
}

/// Where a route begins and ends: `stand 24 to holding point B2 of runway 22`.
#[must_use]
pub fn between(plan: &Plan<'_>, shown: &Shown) -> String {
    let place = |id: Option<&String>, runway: Option<&String>| {
        let id = id.map_or("", String::as_str);
        let of = |word: &str| runway.map_or(String::new(), |runway| format!(" {word} runway {runway}"));
        match kind(plan, id) {
            Some(NodeKind::Stand) => format!("stand {id}"),
            Some(NodeKind::HoldingPoint) => format!("holding point {id}{}", of("of")),
            _ => id.to_owned(),
        }
    };
    let (first, last) = (shown.route.nodes.first(), shown.route.nodes.last());
    let from = match (first, &shown.from_runway) {
        (Some(id), Some(runway)) => format!("runway {runway} by exit {id}"),
        _ => place(first, None),
    };
    format!("{from} to {}", place(last, shown.to_runway.as_ref()))
}

/// Length, turns and crossings of a route in one line, and where one has to taxi back along the runway.
#[must_use]
pub fn facts(plan: &Plan<'_>, shown: &Shown) -> String {
    let route = &shown.route;
    let crossed: Vec<&str> = route.crossings.iter().map(|crossing| crossing.runway.as_str()).collect();
    let crossed = match crossed.as_slice() {
        [] => "no runway crossed".to_owned(),
        [one] => format!("runway {one} crossed"),
        all => format!("runways {} crossed", all.join(", ")),
    };
    let mut out = format!("{} m, {}, {crossed}", metres(route.length), count(route.turns as usize, "turn"));
    for runway in backtracked(plan, shown) {
        out.push_str(&format!(", backtrack on runway {runway}"));
    }
    out
}

/// Runways that one has to taxi back along, after landing or to the beginning of the take-off run.
#[must_use]
pub fn backtracked<'s>(plan: &Plan<'_>, shown: &'s Shown) -> Vec<&'s str> {
    let Some(layout) = &plan.airport.layout else { return Vec::new() };
    let is = |name: &str, check: fn(&Layout, &Runway) -> bool| {
        layout.runway(name).is_some_and(|runway| check(layout, runway))
    };
    let landed = shown.from_runway.as_deref().filter(|name| is(name, Layout::turns_back));
    let departs = shown.to_runway.as_deref().filter(|name| is(name, Layout::backtracks));
    landed.into_iter().chain(departs).collect()
}

/// Decimetres as metres, rounded, with a comma at the thousands.
#[must_use]
pub fn metres(decimetres: u64) -> String {
    thousands(decimetres.div_ceil(10))
}

/// A number with commas at the thousands.
#[must_use]
pub fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (n, c) in digits.chars().enumerate() {
        if n > 0 && (digits.len() - n).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    out
}

/// Feet with a comma at the thousands; below the sea with a sign.
#[must_use]
pub fn feet(number: i64) -> String {
    let sign = if number < 0 { "-" } else { "" };
    format!("{sign}{}", thousands(number.unsigned_abs()))
}
