//! Taxi routes on random networks: the shortest by independent searches, and laws that hold for every one.

#[path = "big.rs"]
mod big;

use hearback::airport::load::load_airport;
use hearback::airport::network::{Network, NetworkError, Node, NodeKind, Prefer, Route, RouteError, Way};
use petgraph::algo::bellman_ford;
use petgraph::graph::DiGraph;
use proptest::prelude::*;
use std::collections::BTreeMap;

fn node(id: &str, x: i32, y: i32, kind: NodeKind) -> Node {
    let runways = if kind == NodeKind::Crossing { vec!["15".to_owned()] } else { Vec::new() };
    Node { id: id.into(), x: f64::from(x), y: f64::from(y), kind, runways, exits: Vec::new(), code: None }
}

fn way(name: &str, nodes: &[&str]) -> Way {
    let nodes = nodes.iter().map(|id| (*id).to_owned()).collect();
    Way { name: Some(name.into()), nodes, one_way: false, code: None, closed: false }
}

/// Nodes on a coarse grid, and taxiways over a few of them each.
fn networks(one_ways: bool) -> impl Strategy<Value = Network> {
    let kinds = prop_oneof![
        6 => Just(NodeKind::Junction),
        1 => Just(NodeKind::Stand),
        1 => Just(NodeKind::HoldingPoint),
        2 => Just(NodeKind::Crossing),
    ];
    let nodes = prop::collection::btree_map((0..12_i32, 0..12_i32), kinds, 4..20);
    nodes.prop_flat_map(move |nodes| {
        let count = nodes.len();
        let codes = prop::option::of(prop::sample::select(vec!['B', 'C', 'D']));
        let ways = prop::collection::vec(
            (prop::collection::vec(0..count, 2..6), any::<bool>(), codes, prop::bool::weighted(0.15)),
            3..16,
        );
        ways.prop_map(move |ways| {
            let list = nodes.iter().enumerate();
            let list = list.map(|(n, ((x, y), kind))| node(&format!("n{n}"), x * 70, y * 90, *kind));
            let ways = ways.into_iter().enumerate().map(|(n, (ids, one_way, code, closed))| Way {
                name: (n % 5 != 4).then(|| format!("W{}", n % 7)),
                nodes: ids.into_iter().map(|id| format!("n{id}")).collect(),
                one_way: one_ways && one_way,
                code,
                closed,
            });
            Network::new(list.collect(), ways.collect()).expect("all nodes are there")
        })
    })
}

/// Segments that an aircraft of that code may use: from, to, decimetres; nothing goes on from a stand but `start`.
fn segments(network: &Network, code: Option<char>, start: usize) -> Vec<(usize, usize, u64)> {
    let at = |id: &String| network.nodes().iter().position(|node| node.id == *id).expect("it is there");
    let mut out = Vec::new();
    for way in network.ways() {
        if way.closed || way.code.zip(code).is_some_and(|(most, own)| own > most) {
            continue;
        }
        for pair in way.nodes.windows(2) {
            let (a, b) = (at(&pair[0]), at(&pair[1]));
            let length = |a: &Node, b: &Node| ((a.x - b.x).hypot(a.y - b.y) * 10.0 - 1e-6).ceil() as u64;
            let length = length(&network.nodes()[a], &network.nodes()[b]);
            if a != b {
                out.push((a, b, length));
                if !way.one_way {
                    out.push((b, a, length));
                }
            }
        }
    }
    let leaves = |a: usize| a == start || network.nodes()[a].kind != NodeKind::Stand;
    out.retain(|(a, ..)| leaves(*a));
    out
}

/// The least cost by relaxing every step between segments until nothing changes.
fn relaxed(
    network: &Network,
    code: Option<char>,
    (start, goal): (usize, usize),
    prefer: Prefer,
) -> Option<u64> {
    let all = segments(network, code, start);
    let nodes = network.nodes();
    let own = |n: usize| {
        let (_, to, length) = all[n];
        let crossing = prefer == Prefer::Usual && nodes[to].kind == NodeKind::Crossing;
        length + if crossing { 6000 } else { 0 }
    };
    let turn = |a: usize, b: usize| {
        let course = |n: usize| {
            let (from, to, _) = all[n];
            (nodes[to].x - nodes[from].x, nodes[to].y - nodes[from].y)
        };
        let ((ax, ay), (bx, by)) = (course(a), course(b));
        let cosine = (ax * bx + ay * by) / (ax.hypot(ay) * bx.hypot(by));
        match prefer {
            _ if cosine > 0.5 - 1e-9 => 0,
            Prefer::Distance => 0,
            Prefer::Turns => 1 << 40,
            Prefer::Usual => 1500,
        }
    };
    let mut cost: Vec<Option<u64>> = (0..all.len()).map(|n| (all[n].0 == start).then(|| own(n))).collect();
    loop {
        let mut changed = false;
        for a in 0..all.len() {
            let Some(before) = cost[a] else { continue };
            for b in 0..all.len() {
                if all[a].1 == all[b].0 && all[b].1 != all[a].0 && nodes[all[a].1].kind != NodeKind::Stand {
                    let next = before + turn(a, b) + own(b);
                    if cost[b].is_none_or(|known| next < known) {
                        cost[b] = Some(next);
                        changed = true;
                    }
                }
            }
        }
        if !changed {
            return (0..all.len()).filter(|n| all[*n].1 == goal).filter_map(|n| cost[n]).min();
        }
    }
}

fn cost(network: &Network, route: &Route, prefer: Prefer) -> u64 {
    let crossings = route
        .nodes
        .iter()
        .skip(1)
        .filter(|id| network.node(id).is_some_and(|n| n.kind == NodeKind::Crossing));
    match prefer {
        Prefer::Distance => route.length,
        Prefer::Turns => route.length + (u64::from(route.turns) << 40),
        Prefer::Usual => route.length + 1500 * u64::from(route.turns) + 6000 * crossings.count() as u64,
    }
}

fn ends(network: &Network, pick: (usize, usize)) -> Option<(usize, usize)> {
    let count = network.nodes().len();
    Some((pick.0 % count, pick.1 % count)).filter(|(a, b)| a != b)
}

fn ask(network: &Network, (from, to): (usize, usize), prefer: Prefer, code: Option<char>) -> Option<Route> {
    let name = |n: usize| network.nodes()[n].id.as_str();
    match network.route(name(from), name(to), prefer, code) {
        Ok(route) => Some(route),
        Err(RouteError::NoWay(..)) => None,
        Err(other) => panic!("{other}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_shortest_way_is_that_of_bellman_and_ford(
        network in networks(true), pick in (0..20_usize, 0..20_usize), code in prop::option::of(prop::sample::select(vec!['A', 'C', 'E'])),
    ) {
        let Some((from, to)) = ends(&network, pick) else { return Ok(()) };
        let mut graph = DiGraph::<(), f64>::new();
        let at: Vec<_> = network.nodes().iter().map(|_| graph.add_node(())).collect();
        for (a, b, length) in segments(&network, code, from) {
            graph.add_edge(at[a], at[b], length as f64);
        }
        let found = bellman_ford(&graph, at[from]).expect("no negative cost").distances[to];
        let expected = found.is_finite().then_some(found as u64);
        let route = ask(&network, (from, to), Prefer::Distance, code);
        prop_assert_eq!(route.map(|r| r.length), expected);
    }

    #[test]
    fn turns_and_crossings_cost_what_an_exhaustive_search_says(
        network in networks(true), pick in (0..20_usize, 0..20_usize), code in prop::option::of(Just('C')),
    ) {
        let Some(ends) = ends(&network, pick) else { return Ok(()) };
        for prefer in [Prefer::Distance, Prefer::Turns, Prefer::Usual] {
            let route = ask(&network, ends, prefer, code);
            prop_assert_eq!(route.map(|r| cost(&network, &r, prefer)), relaxed(&network, code, ends, prefer), "{:?}", prefer);
        }
    }

    #[test]
    fn without_one_ways_there_and_back_are_the_same(network in networks(false), pick in (0..20_usize, 0..20_usize)) {
        let Some((from, to)) = ends(&network, pick) else { return Ok(()) };
        for prefer in [Prefer::Distance, Prefer::Turns] {
            let there = ask(&network, (from, to), prefer, Some('C')).map(|r| cost(&network, &r, prefer));
            let back = ask(&network, (to, from), prefer, Some('C')).map(|r| cost(&network, &r, prefer));
            prop_assert_eq!(there, back);
        }
    }

    #[test]
    fn a_route_keeps_to_open_ways_and_names_what_it_crosses(
        network in networks(true), pick in (0..20_usize, 0..20_usize), prefer in prop::sample::select(vec![Prefer::Distance, Prefer::Turns, Prefer::Usual]),
    ) {
        let Some(pair) = ends(&network, pick) else { return Ok(()) };
        let Some(route) = ask(&network, pair, prefer, Some('C')) else { return Ok(()) };
        prop_assert_eq!(route.nodes.first(), Some(&network.nodes()[pair.0].id));
        prop_assert_eq!(route.nodes.last(), Some(&network.nodes()[pair.1].id));
        for step in route.nodes.windows(2) {
            let open = network.ways().iter().any(|way| {
                !way.closed && way.code.is_none_or(|most| most >= 'C') && way.nodes.windows(2).any(|pair| {
                    pair == step || !way.one_way && pair[0] == step[1] && pair[1] == step[0]
                }) && way.name.as_ref().is_none_or(|name| route.taxiways.contains(name))
            });
            prop_assert!(open, "{:?}", step);
        }
        prop_assert!(route.taxiways.windows(2).all(|pair| pair[0] != pair[1]));
        let inside = &route.nodes[1..route.nodes.len() - 1];
        let kind = |id: &String| network.node(id).map(|node| node.kind);
        prop_assert!(inside.iter().all(|id| kind(id) != Some(NodeKind::Stand)));
        // In order, each on the route; on along the runway is named once.
        let crossed: Vec<&String> = route.nodes.windows(2).take(inside.len())
            .filter(|pair| kind(&pair[1]) == Some(NodeKind::Crossing) && kind(&pair[0]) != Some(NodeKind::Crossing))
            .map(|pair| &pair[1])
            .collect();
        prop_assert_eq!(route.crossings.iter().map(|c| &c.node).collect::<Vec<_>>(), crossed);
        prop_assert!(route.crossings.iter().all(|c| c.after <= route.taxiways.len()));
    }

    #[test]
    fn what_can_be_reached_is_what_has_a_route(network in networks(true), goal in 0..20_usize) {
        let goal = goal % network.nodes().len();
        let id = network.nodes()[goal].id.clone();
        let reaching = network.reaching(&[&id], Some('C'));
        let reached = network.reached(&[&id], Some('C'));
        for (n, node) in network.nodes().iter().enumerate().filter(|(n, _)| *n != goal) {
            prop_assert_eq!(reaching.contains(node.id.as_str()), ask(&network, (n, goal), Prefer::Usual, Some('C')).is_some());
            prop_assert_eq!(reached.contains(node.id.as_str()), ask(&network, (goal, n), Prefer::Usual, Some('C')).is_some());
        }
    }
}

/// Two ways from a stand to a holding point: the short one bends and crosses a runway, the long one does neither.
fn two_ways() -> Network {
    let nodes = vec![
        node("4", 0, 0, NodeKind::Stand),
        node("a", 0, 100, NodeKind::Junction),
        node("C1", 40, 100, NodeKind::HoldingPoint),
        node("x", 100, 100, NodeKind::Crossing),
        node("b", 200, 100, NodeKind::Junction),
        node("D1", 200, 300, NodeKind::HoldingPoint),
        node("e", 0, 700, NodeKind::Junction),
        node("f", 200, 700, NodeKind::Junction),
    ];
    let ways = vec![
        way("A", &["4", "a", "e"]),
        way("C", &["a", "C1", "x"]),
        way("E", &["x", "b"]),
        way("D1", &["b", "D1"]),
        way("F", &["e", "f", "D1"]),
    ];
    Network::new(nodes, ways).expect("all nodes are there")
}

#[test]
fn a_controller_names_taxiways_and_runways_in_the_order_they_are_met() {
    let network = two_ways();
    let route = network.route("4", "D1", Prefer::Distance, None).expect("a way");
    assert_eq!(route.taxiways, ["A", "C", "E", "D1"]);
    // The last one is in the name of the holding point.
    assert_eq!(route.said(), ["A", "C", "E"]);
    let [crossing] = &*route.crossings else { panic!("{:?}", route.crossings) };
    assert_eq!(
        (crossing.runway.as_str(), crossing.holding_point.as_deref(), crossing.after),
        ("15", Some("C1"), 2)
    );
    assert_eq!(route.said_before(crossing), ["A", "C"]);
    assert_eq!((route.length, route.turns), (5000, 2));
    let around = network.route("4", "D1", Prefer::Usual, None).expect("a way");
    assert_eq!((around.taxiways.join(" ").as_str(), around.crossings.len()), ("A C E D1", 1));
    let back = network.route("D1", "4", Prefer::Distance, None).expect("a way");
    assert_eq!(back.taxiways, ["D1", "E", "C", "A"]);
    assert_eq!(back.crossings[0].holding_point, None);
}

#[test]
fn closed_and_narrow_ways_and_wrong_directions_are_not_taken() {
    let network = two_ways();
    let change = |name: &str, change: &dyn Fn(&mut Way)| {
        let mut ways = network.ways().to_vec();
        ways.iter_mut().filter(|way| way.name.as_deref() == Some(name)).for_each(change);
        Network::new(network.nodes().to_vec(), ways).expect("all nodes are there")
    };
    let around = ["A", "F"];
    let told = |network: &Network, code| network.route("4", "D1", Prefer::Distance, code).map(|r| r.taxiways);
    assert_eq!(told(&change("C", &|way| way.closed = true), None).expect("a way"), around);
    let narrow = change("E", &|way| way.code = Some('B'));
    assert_eq!(told(&narrow, Some('C')).expect("a way"), around);
    assert_eq!(told(&narrow, Some('B')).expect("a way").len(), 4);
    let against = change("E", &|way| {
        way.one_way = true;
        way.nodes.reverse();
    });
    assert_eq!(told(&against, None).expect("a way"), around);
    let none = change("A", &|way| way.closed = true);
    let error = none.route("4", "D1", Prefer::Usual, None).expect_err("no way");
    assert_eq!(error.to_string(), "no taxiway leads from `4` to `D1`");
    assert_eq!(network.route("4", "4", Prefer::Usual, None), Err(RouteError::Same("4".into())));
    assert_eq!(network.route("4", "9", Prefer::Usual, None), Err(RouteError::Unknown("9".into())));
    let lost = Network::new(network.nodes().to_vec(), vec![way("A", &["4", "q"])]);
    assert_eq!(lost.err(), Some(NetworkError::Unknown("q".into())));
}

#[test]
fn an_airport_of_5000_nodes_loads_and_routes() {
    let airport = load_airport("big.toml", big::airport().as_bytes());
    let airport =
        airport.unwrap_or_else(|problems| panic!("{}", hearback::diagnostic::render(&problems, false)));
    let layout = airport.layout.expect("a network");
    assert_eq!(layout.network.nodes().len(), 5000);
    let by = |prefer| layout.network.route("496", "A1", prefer, Some('C')).expect("a way");
    let (short, straight) = (by(Prefer::Distance), by(Prefer::Turns));
    assert!(straight.turns <= short.turns && short.length <= straight.length);
    let names: BTreeMap<&String, usize> = straight.taxiways.iter().map(|name| (name, 1)).collect();
    assert_eq!(names.len(), straight.taxiways.len(), "each taxiway is named once");
}
