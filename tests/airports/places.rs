//! The built-in airports with a network as places: their geometry, their ways, the approaches of their flights.

use super::drawn::{airport, loaded, value};
use hearback::airport::Airport;
use hearback::airport::approach::{VISUAL, kinds};
use hearback::airport::bearing::to_true;
use hearback::airport::layout::{AIRLINER, Layout, Runway};
use hearback::airport::load::builtin_ids;
use hearback::airport::network::{NodeKind, Prefer};
use hearback::airport::wind::Wind;
use hearback::element::Standard;
use hearback::parse::{Speaker, read};
use hearback::rules::RuleSet;
use hearback::scenario::Scenario;
use hearback::scenario::draw::draw_values;
use std::collections::BTreeSet;

/// The airports with a network, with the runways that aircraft take off from.
const PLACES: [(&str, &[&str]); 3] = [
    ("kelderwick", &["09R", "27L"]),
    ("harkendale", &["05", "16R", "23", "34L", "34R"]),
    ("valdrun", &["07", "25"]),
];

/// A scenario that draws everything and says nothing of it.
fn scenario_of(airport: &str, values: &str) -> Scenario {
    loaded(&format!(
        "format = 1\ntitle = 'Anywhere'\nbriefing = '{{airport}}'\nairport = '{airport}'\n\
         callsign = {{ telephony = 'Whimbrel', flight = '214' }}\n{values}\n\
         [[exchange]]\nfrom = 'tower'\nsays = '{{callsign}}, hold position'\n"
    ))
}

/// Every airport with a network.
fn networks() -> Vec<(Airport, Layout)> {
    let airports = builtin_ids().map(airport);
    airports.filter_map(|airport| airport.layout.clone().map(|layout| (airport, layout))).collect()
}

/// Metres along a runway and to the right of it.
fn beside(layout: &Layout, runway: &Runway, (x, y): (f64, f64)) -> (f64, f64) {
    let (from_x, from_y) = runway.threshold.expect("a threshold");
    let (east, north) = to_true(runway.bearing, layout.variation).to_radians().sin_cos();
    let (x, y) = (x - from_x, y - from_y);
    (x * east + y * north, x * north - y * east)
}

#[test]
fn taxiways_cross_runways_at_crossings_only_and_names_wait_clear_of_them() {
    for (airport, layout) in networks() {
        let id = &airport.id;
        let place = |name: &str| layout.network.node(name).expect("a node");
        for runway in &layout.runways {
            let on = |along: f64| (0.0..=f64::from(runway.length)).contains(&along);
            for pair in layout.network.ways().iter().flat_map(|way| way.nodes.windows(2)) {
                let ends = [place(&pair[0]), place(&pair[1])];
                let [a, b] = ends.map(|node| beside(&layout, runway, (node.x, node.y)));
                let across = a.1 * b.1 < 0.0 && on(a.0 + (b.0 - a.0) * a.1 / (a.1 - b.1));
                let crossing = ends.iter().any(|node| node.kind == NodeKind::Crossing);
                assert!(!across || crossing, "{id}: {pair:?} crosses {}", runway.designator);
            }
            for node in layout.network.nodes() {
                let (along, right) = beside(&layout, runway, (node.x, node.y));
                match node.kind {
                    NodeKind::Crossing => {}
                    _ => assert!(!on(along) || right.abs() >= 60.0, "{id}: {} on the runway", node.id),
                }
            }
        }
        let stands: Vec<_> = layout.network.nodes().iter().filter(|n| n.kind == NodeKind::Stand).collect();
        for (n, stand) in stands.iter().enumerate() {
            for other in &stands[n + 1..] {
                let apart = (stand.x - other.x).hypot(stand.y - other.y);
                assert!(
                    apart >= 29.0,
                    "{id}: stands {} and {} are {apart:.0} metres apart",
                    stand.id,
                    other.id
                );
            }
        }
    }
}

#[test]
fn every_stand_has_a_way_to_every_runway_and_back() {
    for (id, _) in PLACES {
        let airport = airport(id);
        let layout = airport.layout.as_ref().expect("a network");
        for stand in airport.aprons.iter().flat_map(|apron| &apron.stands) {
            let code = layout.network.node(stand).and_then(|node| node.code);
            let way =
                |code, from: &str, to: &str| layout.network.route(from, to, Prefer::Usual, code).is_ok();
            for runway in &layout.runways {
                let name = &runway.designator;
                // An airliner by all of them, the largest aircraft of the stand by one at least.
                let small = Some(AIRLINER);
                let out = layout.entries(name).all(|entry| way(small, stand, &entry.id));
                let back = layout.exits(name).all(|exit| way(small, &exit.id, stand));
                assert!(out && back, "{id}: stand {stand} and runway {name}");
                let out = !runway.departures || layout.entries(name).any(|entry| way(code, stand, &entry.id));
                let back = !runway.arrivals || layout.exits(name).any(|exit| way(code, &exit.id, stand));
                assert!(out && back, "{id}: stand {stand} and runway {name} for code {code:?}");
            }
        }
    }
}

#[test]
fn departures_lead_to_airports_that_are_there() {
    let names: BTreeSet<String> = builtin_ids().map(|id| airport(id).name).collect();
    for (id, _) in PLACES {
        for departure in airport(id).departures {
            for destination in departure.destinations {
                // Two of the places lie only behind another airport.
                let there =
                    names.contains(&destination) || ["Tarnmoor", "Hollowmere"].contains(&&*destination);
                assert!(
                    there && destination != airport(id).name,
                    "{id}: {} to {destination}",
                    departure.name
                );
            }
        }
    }
}

#[test]
fn an_approach_leads_to_the_runway_that_is_landed_on() {
    for (id, runways) in PLACES {
        let airport = airport(id);
        let layout = airport.layout.as_ref().expect("a network");
        let scenario = scenario_of(id, "");
        let (mut departed, mut flown) = (BTreeSet::new(), BTreeSet::new());
        for seed in 1..=1500 {
            let values = draw_values(&scenario, scenario.standard, seed).expect("a flight");
            let get = |slot: &str| value(&values, slot);
            let landing = layout.runway(get("landing_runway")).expect("a runway");
            let circles = values.has("circling");
            departed.insert(get("runway").to_owned());
            flown.insert((get("approach_type").to_owned(), landing.designator.clone(), circles));
            assert_eq!(circles, get("approach_runway") != landing.designator, "{id} {seed}");
            assert!(
                layout.approaches(landing).any(|approach| approach.kind == get("approach_type")
                    && approach.to.designator == get("approach_runway")),
                "{id} {seed}"
            );
            let atis = get("atis");
            assert!(atis.contains(&values.spoken("approach_type").expect("words")), "{id} {seed}: {atis}");
            if circles {
                assert_eq!(get("circling"), landing.designator);
                assert!(atis.contains("circling to"), "{id} {seed}: {atis}");
            }
            if circles || get("approach_type") == VISUAL {
                assert!(!atis.contains("fog") && !atis.contains("mist"), "{id} {seed}: {atis}");
            }
            // The holding lies on the arrival, and nobody crosses a runway that he need not cross.
            let arrival = airport.arrivals.iter().find(|arrival| arrival.name == get("star"));
            assert!(arrival.is_some_and(|a| a.fixes.iter().any(|fix| fix == get("hold_fix"))), "{id} {seed}");
            let crossed = |entry: &str| layout.route(get("stand"), entry).map(|route| route.crossings.len());
            let fewest = layout.entries(get("runway")).filter_map(|entry| crossed(&entry.id)).min();
            assert_eq!(crossed(get("holding_point")), fewest, "{id} {seed}");
            // The final approach course is that of the runway the approach leads to.
            let to = layout.runway(get("approach_runway")).expect("a runway");
            let downwind: f64 = get("vector_downwind").parse().expect("degrees");
            let apart = (downwind - to.bearing - 180.0).rem_euclid(360.0);
            assert!(apart.min(360.0 - apart) <= 2.5, "{id} {seed}: {downwind} to {}", to.bearing);
            assert!(Wind::parse(get("wind")).is_some());
        }
        let expected: BTreeSet<String> = runways.iter().map(|name| (*name).to_owned()).collect();
        assert_eq!(departed, expected, "{id}: runways that are departed from");
        for landing in flown.iter().map(|(_, landing, _)| landing.clone()).collect::<BTreeSet<_>>() {
            let runway = layout.runway(&landing).expect("a runway");
            let listed = layout.approaches(runway).count();
            let met = flown.iter().filter(|(_, name, _)| *name == landing).count();
            assert_eq!(met, listed, "{id}: every approach to {landing} is flown");
        }
    }
}

#[test]
fn to_land_at_the_head_of_a_valley_one_circles_or_comes_by_sight() {
    let scenario = scenario_of("valdrun", "[value.approach_type]\none_of = ['RNP Z', 'visual']\n");
    let mut met = BTreeSet::new();
    for seed in 1..=200 {
        let values = draw_values(&scenario, scenario.standard, seed).expect("a flight");
        let slots = ["approach_type", "approach_runway", "landing_runway"];
        met.insert(slots.map(|slot| value(&values, slot).to_owned()).join(" "));
    }
    let expected = ["RNP Z 07 07", "RNP Z 07 25", "visual 25 25"];
    assert_eq!(met, expected.map(str::to_owned).into());
}

#[test]
fn every_kind_of_approach_is_understood_as_it_is_said() {
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        assert!(kinds(standard).len() > 20 && kinds(standard).iter().all(|kind| kind.name != "circling"));
        for kind in kinds(standard) {
            let text = format!("cleared {} approach runway two seven", kind.said);
            let heard = read(&rules, &text, Speaker::Controller);
            let found = heard.items.iter().any(|item| item.value == kind.name);
            assert!(found, "{standard}: {text}");
        }
    }
}

#[test]
fn an_airliner_fits_where_airliners_park() {
    for (airport, layout) in networks() {
        let fits = layout.network.nodes().iter().filter(|node| node.kind == NodeKind::Stand);
        assert!(
            fits.filter(|node| node.code.is_none_or(|code| code >= AIRLINER)).count() >= 4,
            "{}",
            airport.id
        );
    }
}
