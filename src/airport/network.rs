//! The taxiways of an airport as a graph, and the ways through it.
//!
//! A state of the graph is a taxiway segment in one direction, so that a turn is a step from state to state; a way is
//! the cheapest path over states. All costs are whole numbers: ties fall alike on every machine.

use petgraph::algo::astar;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::{EdgeRef, NodeFiltered};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use thiserror::Error;

/// What a node is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NodeKind {
    /// Where taxiways meet or bend.
    Junction,
    /// Where aircraft park; nobody taxies through it.
    Stand,
    /// Where aircraft wait before a runway.
    HoldingPoint,
    /// Where a taxiway crosses a runway.
    Crossing,
    /// Where aircraft leave a runway after landing.
    Exit,
}

impl NodeKind {
    /// Every kind with its name in files.
    pub const ALL: [(&'static str, NodeKind); 5] = [
        ("junction", Self::Junction),
        ("stand", Self::Stand),
        ("holding_point", Self::HoldingPoint),
        ("crossing", Self::Crossing),
        ("exit", Self::Exit),
    ];
}

/// A place of the network.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Its name: of a stand, a holding point or an exit the one that is said.
    pub id: String,
    /// Metres to the east in a local plan.
    pub x: f64,
    /// Metres to the north.
    pub y: f64,
    /// What it is.
    pub kind: NodeKind,
    /// Runways that depart from a holding point, or that are crossed.
    pub runways: Vec<String>,
    /// Runways that aircraft leave here after landing.
    pub exits: Vec<String>,
    /// The largest aircraft a stand takes, by the code letter of its span; any if `None`.
    pub code: Option<char>,
}

/// A taxiway, or a part of one.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Its name; `None` for a line that no controller names.
    pub name: Option<String>,
    /// Ids of its nodes in order.
    pub nodes: Vec<String>,
    /// Only in the order of the nodes.
    pub one_way: bool,
    /// The largest aircraft it takes, by the code letter of its span; any if `None`.
    pub code: Option<char>,
    /// Nobody taxies on it.
    pub closed: bool,
}

/// A node index.
type At = usize;

/// One taxiway segment in one direction.
#[derive(Debug, Clone, Copy)]
struct Segment {
    from: At,
    to: At,
    /// Place of the way.
    way: usize,
    /// Decimetres, rounded up.
    length: u64,
}

/// A state: about to leave a node, or at the end of a segment.
#[derive(Debug, Clone, Copy)]
enum State {
    Start,
    On(Segment),
}

/// A taxiway network that routes can be asked of.
#[derive(Debug, Clone)]
pub struct Network {
    nodes: Vec<Node>,
    ways: Vec<Way>,
    by_id: FxHashMap<String, At>,
    /// Weight: true if the step is a turn.
    states: DiGraph<State, bool>,
}

/// Why a network cannot be made.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NetworkError {
    /// Two nodes of one id.
    #[error("two nodes are named `{0}`")]
    Twice(String),
    /// A way over a node that is not there.
    #[error("no node is named `{0}`")]
    Unknown(String),
}

/// What a route is to be short in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Prefer {
    /// Distance alone.
    Distance,
    /// Turns of more than 60 degrees; among equals distance.
    Turns,
    /// As a controller would: a turn counts as 150 metres, a runway to cross as 600. Values of this program's own.
    Usual,
}

/// Why there is no route.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RouteError {
    /// A node that is not there.
    #[error("no node is named `{0}`")]
    Unknown(String),
    /// The same place twice.
    #[error("a route from `{0}` to itself")]
    Same(String),
    /// Nothing leads there.
    #[error("no taxiway leads from `{0}` to `{1}`")]
    NoWay(String, String),
}

/// A runway that a route crosses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crossing {
    /// Its designator, as the network names it.
    pub runway: String,
    /// The node on it.
    pub node: String,
    /// The holding point before it, if the route passes one.
    pub holding_point: Option<String>,
    /// How many of the route's taxiways are said before it.
    pub after: usize,
}

/// A way through the network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Route {
    /// Ids of all nodes, from the first to the last.
    pub nodes: Vec<String>,
    /// Names of the taxiways in the order they are met, each change once.
    pub taxiways: Vec<String>,
    /// Runways that are crossed, in order.
    pub crossings: Vec<Crossing>,
    /// Decimetres.
    pub length: u64,
    /// Turns of more than 60 degrees.
    pub turns: u32,
}

impl Route {
    /// The taxiways a controller names: not the last one, if it bears the name of where the route ends. Source:
    /// common practice.
    #[must_use]
    pub fn said(&self) -> &[String] {
        match self.taxiways.split_last() {
            Some((last, rest)) if !rest.is_empty() && Some(last) == self.nodes.last() => rest,
            _ => &self.taxiways,
        }
    }

    /// The taxiways a controller names up to a crossing, when the aircraft is to hold short of it.
    #[must_use]
    pub fn said_before(&self, crossing: &Crossing) -> &[String] {
        let before = self.taxiways.get(..crossing.after).unwrap_or_default();
        match before.split_last() {
            Some((last, rest)) if !rest.is_empty() && Some(last) == crossing.holding_point.as_ref() => rest,
            _ => before,
        }
    }
}

/// A change of direction by more degrees is a turn.
const TURN: f64 = 60.0;

impl Network {
    /// Joins nodes and ways.
    ///
    /// # Errors
    /// Two nodes of one id, or a way over a node that is not there.
    ///
    /// ```
    /// use hearback::airport::network::{Network, Node, NodeKind, Prefer, Way};
    /// let node = |id: &str, x: f64, y: f64, kind| Node {
    ///     id: id.into(), x, y, kind, runways: vec![], exits: vec![], code: None,
    /// };
    /// let way = |name: &str, nodes: &[&str]| Way {
    ///     name: Some(name.into()), nodes: nodes.iter().map(|n| (*n).into()).collect(),
    ///     one_way: false, code: None, closed: false,
    /// };
    /// let network = Network::new(
    ///     vec![node("4", 0., 0., NodeKind::Stand), node("b", 0., 80., NodeKind::Junction),
    ///          node("A1", 400., 80., NodeKind::HoldingPoint)],
    ///     vec![way("B", &["4", "b"]), way("A", &["b", "A1"])],
    /// ).unwrap();
    /// let route = network.route("4", "A1", Prefer::Distance, None).unwrap();
    /// assert_eq!((route.taxiways.join(" ").as_str(), route.length, route.turns), ("B A", 4800, 1));
    /// ```
    pub fn new(nodes: Vec<Node>, ways: Vec<Way>) -> Result<Self, NetworkError> {
        let mut by_id = FxHashMap::default();
        for (at, node) in nodes.iter().enumerate() {
            if by_id.insert(node.id.clone(), at).is_some() {
                return Err(NetworkError::Twice(node.id.clone()));
            }
        }
        let mut segments = Vec::new();
        for (way, entry) in ways.iter().enumerate() {
            let ids = entry
                .nodes
                .iter()
                .map(|id| by_id.get(id).copied().ok_or_else(|| NetworkError::Unknown(id.clone())));
            let ids: Vec<At> = ids.collect::<Result<_, _>>()?;
            for pair in ids.windows(2).filter(|pair| !entry.closed && pair[0] != pair[1]) {
                let length = (decimetres(&nodes[pair[0]], &nodes[pair[1]]) - 1e-6).ceil() as u64;
                segments.push(Segment { from: pair[0], to: pair[1], way, length });
                if !entry.one_way {
                    segments.push(Segment { from: pair[1], to: pair[0], way, length });
                }
            }
        }
        let states = states(&nodes, &segments);
        Ok(Self { nodes, ways, by_id, states })
    }

    /// Every node.
    #[must_use]
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// Every way.
    #[must_use]
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    /// The node of that id.
    #[must_use]
    pub fn node(&self, id: &str) -> Option<&Node> {
        self.by_id.get(id).and_then(|at| self.nodes.get(*at))
    }

    /// The best way from one node to another for an aircraft of that code letter; without one, for the smallest.
    /// Closed ways, ways that are too narrow and one-way ways against their direction are not taken; nothing leads
    /// through a stand.
    ///
    /// # Errors
    /// A node that is not there, the same node twice, or no way.
    pub fn route(
        &self,
        from: &str,
        to: &str,
        prefer: Prefer,
        code: Option<char>,
    ) -> Result<Route, RouteError> {
        let find = |id: &str| self.by_id.get(id).copied().ok_or_else(|| RouteError::Unknown(id.to_owned()));
        let (start, goal) = (find(from)?, find(to)?);
        if start == goal {
            return Err(RouteError::Same(from.to_owned()));
        }
        let wide = self.wide(code);
        let open = NodeFiltered::from_fn(&self.states, |state: NodeIndex| match self.states[state] {
            State::Start => state.index() == start,
            State::On(segment) => wide[segment.way],
        });
        let end = &self.nodes[goal];
        let found = astar(
            &open,
            NodeIndex::new(start),
            |state| matches!(self.states[state], State::On(segment) if segment.to == goal),
            |step| self.cost(step.target(), *step.weight(), prefer),
            |state| match self.states[state] {
                State::Start => (decimetres(&self.nodes[start], end) - 0.01).floor() as u64,
                State::On(segment) => (decimetres(&self.nodes[segment.to], end) - 0.01).floor() as u64,
            },
        );
        let (_, path) = found.ok_or_else(|| RouteError::NoWay(from.to_owned(), to.to_owned()))?;
        Ok(self.read(start, &path))
    }

    /// Which ways an aircraft of that code letter fits on.
    fn wide(&self, code: Option<char>) -> Vec<bool> {
        let fits = |way: &Way| way.code.zip(code).is_none_or(|(most, own)| own <= most);
        self.ways.iter().map(fits).collect()
    }

    fn cost(&self, target: NodeIndex, turn: bool, prefer: Prefer) -> u64 {
        let State::On(segment) = self.states[target] else { return 0 };
        let turn = u64::from(turn);
        match prefer {
            Prefer::Distance => segment.length,
            Prefer::Turns => segment.length + (turn << 40),
            Prefer::Usual => {
                let crossing = u64::from(self.nodes[segment.to].kind == NodeKind::Crossing);
                segment.length + 1500 * turn + 6000 * crossing
            }
        }
    }

    /// What a path over states says.
    fn read(&self, start: At, path: &[NodeIndex]) -> Route {
        let first = self.nodes[start].id.clone();
        let mut route =
            Route { nodes: vec![first], taxiways: Vec::new(), crossings: Vec::new(), length: 0, turns: 0 };
        let mut wait: Option<&str> = None;
        for (n, state) in path.iter().enumerate() {
            let State::On(segment) = self.states[*state] else { continue };
            let before = &self.nodes[segment.from];
            let here = &self.nodes[segment.to];
            if let Some(name) = &self.ways[segment.way].name
                && route.taxiways.last() != Some(name)
            {
                route.taxiways.push(name.clone());
            }
            let step = n.checked_sub(1).and_then(|n| self.states.find_edge(path[n], *state));
            route.turns += u32::from(step.is_some_and(|edge| self.states[edge]));
            route.length += segment.length;
            route.nodes.push(here.id.clone());
            // On along the runway is one crossing, not two.
            let along = before.kind == NodeKind::Crossing
                && before.runways.iter().any(|runway| here.runways.contains(runway));
            match here.kind {
                NodeKind::HoldingPoint => wait = Some(&here.id),
                NodeKind::Crossing if n + 1 < path.len() && !along => {
                    route.crossings.extend(here.runways.first().map(|runway| Crossing {
                        runway: runway.clone(),
                        node: here.id.clone(),
                        holding_point: wait.map(str::to_owned),
                        after: route.taxiways.len(),
                    }));
                    wait = None;
                }
                _ => {}
            }
        }
        route
    }

    /// Ids of the nodes from which an aircraft of that code letter reaches one of `goals`, the goals among them.
    #[must_use]
    pub fn reaching(&self, goals: &[&str], code: Option<char>) -> BTreeSet<&str> {
        self.spread(goals, code, |segment| (segment.to, segment.from))
    }

    /// Ids of the nodes that an aircraft of that code letter reaches from one of `starts`, the starts among them.
    #[must_use]
    pub fn reached(&self, starts: &[&str], code: Option<char>) -> BTreeSet<&str> {
        self.spread(starts, code, |segment| (segment.from, segment.to))
    }

    fn spread(
        &self,
        first: &[&str],
        code: Option<char>,
        step: impl Fn(&Segment) -> (At, At),
    ) -> BTreeSet<&str> {
        let wide = self.wide(code);
        let mut next: Vec<Vec<At>> = vec![Vec::new(); self.nodes.len()];
        for state in self.states.node_weights() {
            if let State::On(segment) = state
                && wide[segment.way]
            {
                let (from, to) = step(segment);
                next[from].push(to);
            }
        }
        let mut left: Vec<At> = first.iter().filter_map(|id| self.by_id.get(*id).copied()).collect();
        let mut seen = vec![false; self.nodes.len()];
        left.iter().for_each(|at| seen[*at] = true);
        let starts = seen.clone();
        let mut out = BTreeSet::new();
        while let Some(at) = left.pop() {
            out.insert(self.nodes[at].id.as_str());
            // Nothing leads through a stand.
            if self.nodes[at].kind == NodeKind::Stand && !starts[at] {
                continue;
            }
            for to in &next[at] {
                if !std::mem::replace(&mut seen[*to], true) {
                    left.push(*to);
                }
            }
        }
        out
    }
}

fn decimetres(a: &Node, b: &Node) -> f64 {
    (a.x - b.x).hypot(a.y - b.y) * 10.0
}

/// One state for each node to start at, then one for each segment; steps wherever one goes on from the other.
fn states(nodes: &[Node], segments: &[Segment]) -> DiGraph<State, bool> {
    let mut graph = DiGraph::with_capacity(nodes.len() + segments.len(), segments.len() * 4);
    for _ in nodes {
        graph.add_node(State::Start);
    }
    let mut out: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
    for (n, segment) in segments.iter().enumerate() {
        graph.add_node(State::On(*segment));
        out[segment.from].push(n);
    }
    let state = |n: usize| NodeIndex::new(nodes.len() + n);
    for (at, leaving) in out.iter().enumerate() {
        for &n in leaving {
            graph.add_edge(NodeIndex::new(at), state(n), false);
        }
    }
    let course = |s: &Segment| {
        let (a, b) = (&nodes[s.from], &nodes[s.to]);
        (b.x - a.x).atan2(b.y - a.y).to_degrees()
    };
    let courses: Vec<f64> = segments.iter().map(course).collect();
    for (n, segment) in segments.iter().enumerate() {
        if nodes[segment.to].kind == NodeKind::Stand {
            continue;
        }
        for &next in &out[segment.to] {
            // Nobody turns round on a taxiway.
            if segments[next].to != segment.from {
                let bend = (courses[next] - courses[n] + 540.0).rem_euclid(360.0) - 180.0;
                graph.add_edge(state(n), state(next), bend.abs() > TURN + 1e-6);
            }
        }
    }
    graph
}
