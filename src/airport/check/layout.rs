//! Checks runways and the taxiway network of an airport file, and makes a layout of them.

use super::{Check, check_value, plain};
use crate::airport::bearing::{designator, off, reciprocal, to_magnetic, turned};
use crate::airport::layout::{AIRLINER, Layout, Routes, Runway, Transition};
use crate::airport::layout_schema::{NodeEntry, PointEntry, TransitionEntry};
use crate::airport::network::{Network, Node, NodeKind, Way};
use crate::airport::schema::{AirportFile, Number, RunwayEntry, Text};
use crate::airport::wind::Limits;
use crate::element::Element;
use crate::span::Spanned;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

/// What a runway can be used for.
const USES: [(&str, (bool, bool)); 3] =
    [("both", (true, true)), ("departures", (true, false)), ("arrivals", (false, true))];

/// Code letters of wing spans, the smallest first.
const CODES: [(&str, char); 6] = [("A", 'A'), ("B", 'B'), ("C", 'C'), ("D", 'D'), ("E", 'E'), ("F", 'F')];

/// What an airport stands on.
pub(super) struct Ground {
    pub(super) variation: Option<f64>,
    /// Runways whose bearing is known.
    pub(super) directions: Vec<Runway>,
    pub(super) layout: Option<Layout>,
}

/// Problems found before, variation, limits, transition and runways.
type Parts = (usize, Option<f64>, Limits, Transition, Vec<Runway>);

impl Check {
    /// Runways, and the layout if there is a network without problems.
    pub(super) fn ground(&mut self, file: &AirportFile, names: &[String]) -> Ground {
        let before = self.0.found.len();
        let own = file.variation.as_ref();
        let variation = own.and_then(|degrees| self.decimal(degrees, (-180.0, 180.0), "degrees"));
        let limits = self.limits(file);
        let transition = file.transition.as_ref().map(|entry| self.transition(entry)).unwrap_or_default();
        let directions = self.directions(file, variation);
        let layout = self.layout(file, names, (before, variation, limits, transition, directions.clone()));
        Ground { variation, directions, layout }
    }

    /// Runways and network; `None` without a network, or with problems in it.
    fn layout(
        &mut self,
        file: &AirportFile,
        names: &[String],
        (before, variation, limits, transition, runways): Parts,
    ) -> Option<Layout> {
        let visibility = match &file.weather.visibility {
            Some(range) => self.range(range, 50..=10_000, "metres"),
            None => Some(1500..=10_000),
        };
        if file.node.is_empty() {
            if let Some(taxiway) = file.taxiway.first() {
                let problem = self.0.problem("A020", taxiway.name.span(), "taxiways without a node");
                self.0.add(problem.help("add tables `[[node]]` for the places where they meet"));
            }
            return None;
        }
        self.complete(file);
        let network = self.network(file, names)?;
        if self.0.found.len() == before {
            self.entries(file, &runways, &network);
            self.reached(file, &runways, &network);
        }
        Some(Layout {
            variation: variation?,
            runways,
            limits,
            transition,
            network,
            visibility: visibility?,
            routes: Routes::default(),
        })
    }

    fn decimal(&mut self, value: &Spanned<f64>, (least, most): (f64, f64), unit: &str) -> Option<f64> {
        let number = *value.get_ref();
        let fine = (least..=most).contains(&number);
        if !fine {
            let problem = self.0.problem("A004", value.span(), format!("{number} is out of range"));
            self.0.add(problem.help(format!("write {unit} from {least} to {most}")));
        }
        fine.then_some(number)
    }

    fn limits(&mut self, file: &AirportFile) -> Limits {
        let mut out = Limits::default();
        let Some(entry) = &file.limits else { return out };
        let rows =
            [(&entry.crosswind, &mut out.crosswind, 5..=40), (&entry.tailwind, &mut out.tailwind, 0..=15)];
        for (number, limit, allowed) in rows {
            let Some(number) = number else { continue };
            if let Ok(knots) = i16::try_from(*number.get_ref())
                && allowed.contains(&knots)
            {
                *limit = f64::from(knots);
                continue;
            }
            let title = format!("a limit of {} knots", number.get_ref());
            let problem = self.0.problem("A016", number.span(), title);
            let (least, most) = (allowed.start(), allowed.end());
            self.0.add(problem.help(format!("write knots from {least} to {most}")));
        }
        out
    }

    fn transition(&mut self, entry: &TransitionEntry) -> Transition {
        let mut out = Transition::default();
        if let Some(layer) = &entry.layer {
            self.number(layer, 0..=2000, "feet");
            out.layer = u32::try_from(*layer.get_ref()).unwrap_or(0);
        }
        if let Some(step) = &entry.step {
            let allowed = [5, 10].contains(step.get_ref());
            if !allowed {
                let title = format!("levels do not go up by {}", step.get_ref());
                let problem = self.0.problem("A004", step.span(), title);
                self.0.add(problem.help("write `step = 5` or `step = 10`"));
            }
            out.step = if *step.get_ref() == 5 { 5 } else { 10 };
        }
        if let Some(fixed) = &entry.fixed {
            let level = check_value(&mut self.0, "A004", Element::Level, fixed);
            out.fixed = level.and_then(|level| level.strip_prefix("FL")?.parse().ok());
            if out.fixed.is_none() {
                let problem = self.0.problem("A004", fixed.span(), "a transition level is a flight level");
                self.0.add(problem.help("write it like `'FL150'`"));
            }
        }
        out
    }

    /// Every direction that has a bearing.
    fn directions(&mut self, file: &AirportFile, variation: Option<f64>) -> Vec<Runway> {
        let mut out = Vec::new();
        for entry in &file.runway {
            let (departures, arrivals) =
                self.one_of("use", entry.used_for.as_ref(), &USES).unwrap_or((true, true));
            if let Some(length) = &entry.length {
                self.number(length, 300..=6000, "metres");
            }
            if let Some(width) = &entry.width {
                self.number(width, 10..=100, "metres");
            }
            self.approaches(file, entry);
            let Some(bearing) = &entry.bearing else { continue };
            let Some(degrees) = self.decimal(bearing, (0.0, 360.0), "degrees") else { continue };
            let Some(variation) = variation else {
                if file.variation.is_none() {
                    let problem = self.0.problem("A020", bearing.span(), "a bearing, but no variation");
                    self.0.add(
                        problem
                            .help("write `variation = …` above the first table, in degrees, east positive"),
                    );
                }
                continue;
            };
            let magnetic = to_magnetic(degrees, variation);
            self.fits(file, entry, magnetic);
            self.other_end(file, entry, degrees);
            let metres = |number: &Option<Number>| {
                number.as_ref().and_then(|n| u32::try_from(*n.get_ref()).ok()).unwrap_or(0)
            };
            out.push(Runway {
                designator: entry.designator.get_ref().clone(),
                bearing: magnetic,
                length: metres(&entry.length),
                width: metres(&entry.width),
                threshold: entry.threshold.as_ref().map(|place| (place.get_ref().x, place.get_ref().y)),
                departures,
                arrivals,
                approaches: plain(&entry.approaches),
                circling_from: plain(&entry.circling_from),
                preferred: entry.preferred,
                closed: entry.closed,
            });
        }
        out
    }

    /// A designator within five degrees of its bearing; of three parallels or more within fifteen.
    fn fits(&mut self, file: &AirportFile, entry: &RunwayEntry, magnetic: f64) {
        let name = entry.designator.get_ref();
        let beside = |other: &&RunwayEntry| {
            other.bearing.as_ref().zip(entry.bearing.as_ref()).is_some_and(|(a, b)| {
                let apart = turned(a.get_ref() - b.get_ref());
                apart.min(360.0 - apart) < 5.0
            })
        };
        let allowed = if file.runway.iter().filter(beside).count() > 2 { 15.0 } else { 5.0 };
        if let Some(off) = off(name, magnetic).filter(|off| *off > allowed + 1e-6) {
            let title = format!("runway {name} points {off:.0} degrees away from its number");
            let label = format!("{magnetic:.1} degrees magnetic");
            let problem = self.0.problem("A011", entry.designator.span(), title).label(label);
            let side = name.trim_start_matches(|c: char| c.is_ascii_digit());
            let right = format!("{}{side}", designator(magnetic));
            self.0.add(problem.help(format!("write `{right}`, or look at `bearing` and `variation`")));
        }
    }

    /// The other end must be there, point the other way, be as long, and lie where the bearing says.
    fn other_end(&mut self, file: &AirportFile, entry: &RunwayEntry, degrees: f64) {
        let name = entry.designator.get_ref();
        let Some(other_name) = reciprocal(name) else { return };
        let Some(other) = file.runway.iter().find(|r| *r.designator.get_ref() == other_name) else {
            let title = format!("runway {name} has no other end");
            let problem = self.0.problem("A012", entry.designator.span(), title);
            self.0.add(problem.help(format!("add a table `[[runway]]` with `designator = '{other_name}'`")));
            return;
        };
        // What both ends have is told once.
        let Some(back) = other.bearing.as_ref().filter(|_| *name < other_name) else { return };
        let apart = turned(back.get_ref() - degrees - 180.0);
        if apart.min(360.0 - apart) > 0.5 {
            let title = format!("runways {name} and {other_name} do not point opposite ways");
            let problem = self.0.problem("A012", back.span(), title);
            let right = turned(degrees + 180.0);
            self.0.add(problem.help(format!("the other end of {degrees} degrees is {right}")));
        }
        if let (Some(own), Some(length)) = (&entry.length, &other.length)
            && own.get_ref() != length.get_ref()
        {
            let title = format!("runway {other_name} is not as long as {name}");
            let problem = self.0.problem("A012", length.span(), title);
            self.0.add(problem.help(format!("both are {} metres, or look at their names", own.get_ref())));
        }
        if let (Some(from), Some(to)) = (&entry.threshold, &other.threshold) {
            self.lies(entry, (from, to.get_ref()), degrees);
        }
    }

    fn lies(&mut self, entry: &RunwayEntry, (from, to): (&Spanned<PointEntry>, &PointEntry), degrees: f64) {
        let (east, north) = (to.x - from.get_ref().x, to.y - from.get_ref().y);
        let (course, distance) = (turned(east.atan2(north).to_degrees()), east.hypot(north));
        let apart = turned(course - degrees);
        let length = entry.length.as_ref().map_or(f64::MAX, |length| *length.get_ref() as f64);
        let title = if apart.min(360.0 - apart) > 1.0 {
            format!("the thresholds lie on {course:.1} degrees, not on {degrees}")
        } else if distance > length + 1.0 {
            format!("the thresholds lie {distance:.0} metres apart on a runway of {length}")
        } else {
            return;
        };
        let problem = self.0.problem("A012", from.span(), title);
        self.0.add(problem.help("look at `threshold` of both ends, at `bearing` and at `length`"));
    }

    /// What runways must have for a network.
    fn complete(&mut self, file: &AirportFile) {
        let help = "a network needs the true bearing of every runway: the wind chooses between them";
        for entry in file.runway.iter().filter(|entry| entry.bearing.is_none()) {
            let title = format!("runway {} has no `bearing`", entry.designator.get_ref());
            let problem = self.0.problem("A020", entry.designator.span(), title);
            self.0.add(problem.help(help));
        }
        if let Some(taxi) = file.taxi.first() {
            let problem = self.0.problem("A020", taxi.via.span(), "a listed way beside a network");
            self.0.add(problem.help("take out the tables `[[taxi]]`, or the tables `[[node]]`"));
        }
    }

    fn network(&mut self, file: &AirportFile, runways: &[String]) -> Option<Network> {
        let before = self.0.found.len();
        let stands: BTreeSet<&str> =
            file.apron.iter().flat_map(|apron| &apron.stands).map(|stand| stand.get_ref().as_str()).collect();
        let mut seen = BTreeSet::new();
        let mut nodes = Vec::with_capacity(file.node.len());
        for entry in &file.node {
            if !seen.insert(entry.id.get_ref().as_str()) {
                self.once(&mut vec![entry.id.get_ref().clone()], &entry.id);
            }
            nodes.push(self.node(entry, runways, &stands));
        }
        let mut met: FxHashMap<&str, usize> = FxHashMap::default();
        let mut ways = Vec::with_capacity(file.taxiway.len());
        let joins = file.node.iter().flat_map(|node| node.joins.iter().map(move |to| (&node.id, to)));
        let joins: Vec<(&Text, &Text)> = joins.collect();
        for (from, to) in &joins {
            self.place(to, &seen);
            for end in [from, to] {
                *met.entry(end.get_ref()).or_default() += 1;
            }
            let nodes = vec![from.get_ref().clone(), to.get_ref().clone()];
            ways.push(Way { name: None, nodes, one_way: false, code: None, closed: false });
        }
        for entry in &file.taxiway {
            self.taxiway_name(&entry.name);
            let once: BTreeSet<&str> = entry.nodes.iter().map(|id| id.get_ref().as_str()).collect();
            for id in &entry.nodes {
                self.place(id, &seen);
            }
            for id in once {
                *met.entry(id).or_default() += 1;
            }
            ways.push(Way {
                name: Some(entry.name.get_ref().clone()),
                nodes: plain(&entry.nodes),
                one_way: entry.one_way,
                code: self.one_of("code letter", entry.code.as_ref(), &CODES),
                closed: entry.closed,
            });
        }
        for entry in &file.taxiway {
            let short = entry.nodes.len() < 2;
            let joined = entry.nodes.iter().any(|id| met.get(id.get_ref().as_str()).is_some_and(|n| *n > 1));
            if short || !joined {
                let title = format!("taxiway {} is joined to nothing", entry.name.get_ref());
                let problem = self.0.problem("A014", entry.name.span(), title);
                let help = if short {
                    "name two nodes at least"
                } else {
                    "let it share a node with another taxiway"
                };
                self.0.add(problem.help(help));
            }
        }
        if self.0.found.len() > before {
            return None;
        }
        Network::new(nodes, ways).ok()
    }

    fn place(&mut self, id: &Text, known: &BTreeSet<&str>) {
        if !known.contains(id.get_ref().as_str()) {
            let problem = self.0.problem("A013", id.span(), format!("no node is named `{}`", id.get_ref()));
            self.0.add(problem.suggest(id.get_ref(), known.iter().copied()));
        }
    }

    /// A letter, perhaps with a number, as it can be said and heard. I, O and X look like something else.
    fn taxiway_name(&mut self, name: &Text) {
        let text = name.get_ref();
        let mut rest = text.chars();
        let letter = rest.next().is_some_and(|c| c.is_ascii_uppercase() && !matches!(c, 'I' | 'O' | 'X'));
        let number = rest.as_str();
        let numbered = number.is_empty()
            || number.bytes().all(|b| b.is_ascii_digit())
                && number.parse().is_ok_and(|n: u8| (1..64).contains(&n));
        if !(letter && numbered) {
            let problem = self.0.problem("A004", name.span(), format!("`{text}` is no taxiway"));
            self.0.add(problem.help("write a letter but I, O and X, perhaps with a number from 1 to 63"));
        }
    }

    fn node(&mut self, entry: &NodeEntry, runways: &[String], stands: &BTreeSet<&str>) -> Node {
        let id = entry.id.get_ref();
        let kind = self.one_of("kind", entry.kind.as_ref(), &NodeKind::ALL).unwrap_or(NodeKind::Junction);
        for runway in entry.runways.iter().chain(&entry.exits).chain(&entry.before) {
            if !runways.contains(runway.get_ref()) {
                let title = format!("unknown runway `{}` at `{id}`", runway.get_ref());
                let problem = self.0.problem("A017", runway.span(), title);
                self.0.add(problem.suggest(runway.get_ref(), runways.iter().map(String::as_str)));
            }
        }
        let lacks = match kind {
            NodeKind::HoldingPoint
                if [&entry.runways, &entry.exits, &entry.before].iter().all(|l| l.is_empty()) =>
            {
                Some((
                    "a holding point before no runway",
                    "add `runways = ['…']` with those that depart from here, or `before` with one that is crossed",
                ))
            }
            NodeKind::Crossing if entry.runways.is_empty() => {
                Some(("a crossing of no runway", "add `runways = ['…']` with one direction of it"))
            }
            NodeKind::Exit if entry.exits.is_empty() => {
                Some(("an exit from no runway", "add `exits = ['…']` with those that are left here"))
            }
            NodeKind::Stand if !stands.contains(id.as_str()) => {
                Some(("a stand of no apron", "add it to the `stands` of a table `[[apron]]`"))
            }
            _ => None,
        };
        if let Some((title, help)) = lacks {
            let problem = self.0.problem("A018", entry.id.span(), title);
            self.0.add(problem.help(help));
        }
        match kind {
            NodeKind::HoldingPoint => {
                drop(check_value(&mut self.0, "A004", Element::HoldingPoint, &entry.id))
            }
            NodeKind::Exit => self.taxiway_name(&entry.id),
            _ => {}
        }
        Node {
            id: id.clone(),
            x: entry.x,
            y: entry.y,
            kind,
            runways: plain(&entry.runways),
            exits: plain(&entry.exits),
            code: self.one_of("code letter", entry.code.as_ref(), &CODES),
        }
    }

    /// Holding points and stands of the other tables are nodes, and every runway can be entered and left.
    fn entries(&mut self, file: &AirportFile, runways: &[Runway], network: &Network) {
        for entry in &file.runway {
            let name = entry.designator.get_ref();
            let here: Vec<String> = network
                .nodes()
                .iter()
                .filter(|node| node.kind == NodeKind::HoldingPoint && node.runways.contains(name))
                .map(|node| node.id.clone())
                .collect();
            for point in &entry.holding_points {
                self.known(&format!("holding point of runway {name}"), point, &here);
            }
            let Some(runway) = runways.iter().find(|runway| runway.designator == *name && !runway.closed)
            else {
                continue;
            };
            let exits = network.nodes().iter().any(|node| node.exits.contains(name));
            let rows = [
                (runway.departures && here.is_empty(), "holding point", "runways"),
                (runway.arrivals && !exits, "exit", "exits"),
            ];
            for (_, what, key) in rows.into_iter().filter(|(lacks, ..)| *lacks) {
                let title = format!("runway {name} has no {what}");
                let problem = self.0.problem("A020", entry.designator.span(), title);
                self.0.add(
                    problem.help(format!("add `{key} = ['{name}']` to a node, or `use` or `closed` here")),
                );
            }
        }
        let known: Vec<String> = network
            .nodes()
            .iter()
            .filter(|node| node.kind == NodeKind::Stand)
            .map(|node| node.id.clone())
            .collect();
        for stand in file.apron.iter().flat_map(|apron| &apron.stands) {
            if network.node(stand.get_ref()).is_none_or(|node| node.kind != NodeKind::Stand) {
                let title = format!("no node of kind `stand` is named `{}`", stand.get_ref());
                let problem = self.0.problem("A013", stand.span(), title);
                self.0.add(problem.suggest(stand.get_ref(), known.iter().map(String::as_str)));
            }
        }
    }

    /// Every stand leads to an entry of every runway, and can be reached from an exit of each, at its size.
    fn reached(&mut self, file: &AirportFile, runways: &[Runway], network: &Network) {
        // A stand without a letter takes what scenarios fly.
        let size = |node: &Node| node.code.or(Some(AIRLINER));
        let sizes: BTreeSet<Option<char>> =
            network.nodes().iter().filter(|node| node.kind == NodeKind::Stand).map(size).collect();
        let mut out: Vec<(&str, Option<char>, BTreeSet<&str>)> = Vec::new();
        let mut back: Vec<(&str, Option<char>, BTreeSet<&str>)> = Vec::new();
        let named = |pick: &dyn Fn(&Node) -> bool| -> Vec<&str> {
            network.nodes().iter().filter(|node| pick(node)).map(|node| node.id.as_str()).collect()
        };
        for runway in runways.iter().filter(|runway| !runway.closed) {
            let name = &runway.designator;
            let entries = named(&|node| node.kind == NodeKind::HoldingPoint && node.runways.contains(name));
            let exits = named(&|node| node.exits.contains(name));
            for of in &sizes {
                if runway.departures && !entries.is_empty() {
                    out.push((name, *of, network.reaching(&entries, *of)));
                }
                if runway.arrivals && !exits.is_empty() {
                    back.push((name, *of, network.reached(&exits, *of)));
                }
            }
        }
        for entry in &file.node {
            let Some(node) = network.node(entry.id.get_ref()).filter(|node| node.kind == NodeKind::Stand)
            else {
                continue;
            };
            let lost = |ways: &[(&str, Option<char>, BTreeSet<&str>)]| -> Vec<String> {
                let lost =
                    ways.iter().filter(|(_, of, from)| *of == size(node) && !from.contains(node.id.as_str()));
                lost.map(|(runway, ..)| (*runway).to_owned()).collect()
            };
            let size = size(node).map(|code| format!(" for code {code}")).unwrap_or_default();
            for (lost, title, label) in [
                (lost(&out), "no taxiway leads from stand", "aircraft cannot leave from here"),
                (lost(&back), "no taxiway leads to stand", "aircraft cannot come here"),
            ] {
                if lost.is_empty() {
                    continue;
                }
                let between = if title.contains("from") { "to" } else { "from" };
                let title = format!("{title} `{}` {between} runway {}{size}", node.id, lost.join(" or "));
                let problem = self.0.problem("A015", entry.id.span(), title).label(label);
                self.0.add(problem.help(
                    "join it to a taxiway by `joins`, or look at `closed`, `one_way` and `code` on the way",
                ));
            }
        }
    }
}
