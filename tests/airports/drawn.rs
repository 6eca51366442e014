//! Flights drawn at an airport with a network: everything in them agrees with what is computed.

use hearback::airport::Airport;
use hearback::airport::altimetry::transition_level;
use hearback::airport::load::{builtin, load_airport};
use hearback::airport::network::Prefer;
use hearback::airport::wind::Wind;
use hearback::crew::CrewBook;
use hearback::diagnostic::render;
use hearback::element::Standard;
use hearback::rules::RuleSet;
use hearback::scenario::Scenario;
use hearback::scenario::draw::{Values, draw_values};
use hearback::scenario::load::Library;
use std::collections::BTreeSet;
use std::sync::Arc;

const NETWORKS: [&str; 2] = ["ostrand", "hvalby"];

fn rules(standard: Standard) -> Arc<RuleSet> {
    RuleSet::builtin(standard)
}

fn scenario(airport: &str, values: &str) -> Scenario {
    // Nobody crosses a runway where there is but one.
    let crossing = match airport {
        "ostrand" => "",
        _ => "[[exchange]]\nfrom = 'tower'\nwhen = 'crossing'\nsays = '{callsign}, cross {crossing}'\n",
    };
    let text = format!(
        "format = 1\ntitle = 'Both ways'\nbriefing = '{{airport}}, stand {{stand}}. {{atis}}'\nairport = '{airport}'\n\
         callsign = {{ telephony = 'Whimbrel', flight = '214' }}\n{values}\n\
         [[exchange]]\nfrom = 'tower'\n\
         says = '{{callsign}}, taxi to holding point {{holding_point}} via {{taxi_route}}, {{runway}}'\n\
         {crossing}\
         [[exchange]]\nfrom = 'approach'\nsays = '{{callsign}}, {{star}} arrival, hold at {{hold_fix}}'\n\
         [[exchange]]\nfrom = 'approach'\n\
         says = '{{callsign}}, turn {{vector_side}} {{vector_base}}, transition level {{transition_level}}'\n\
         [[exchange]]\nfrom = 'tower'\nsays = '{{callsign}}, vacate via {{exit}}, taxi to {{stand}} via {{taxi_in}}'\n"
    );
    loaded(&text)
}

/// A scenario from the text of its file.
pub(super) fn loaded(text: &str) -> Scenario {
    let library = Library::new(&rules, CrewBook::builtin().expect("the book is in order"));
    let found = library.scenario("both-ways.toml", text.as_bytes(), None);
    found.unwrap_or_else(|problems| panic!("{}", render(&problems, false)))
}

pub(super) fn airport(id: &str) -> Airport {
    let (path, text) = builtin(id).expect("built in");
    load_airport(path, text.as_bytes()).unwrap_or_else(|problems| panic!("{}", render(&problems, false)))
}

pub(super) fn value<'a>(values: &'a Values, slot: &str) -> &'a str {
    values.get(slot).unwrap_or_else(|| panic!("no {slot}")).1
}

#[test]
fn all_values_agree_with_the_wind_and_the_network() {
    for id in NETWORKS {
        let airport = airport(id);
        let layout = airport.layout.as_ref().expect("a network");
        let scenario = scenario(id, "");
        let mut met: BTreeSet<String> = BTreeSet::new();
        let mut clear = 0;
        for seed in 1..=500 {
            let values = draw_values(&scenario, scenario.standard, seed).expect("a flight");
            let get = |slot: &str| value(&values, slot);
            let wind = Wind::parse(get("wind")).expect("a wind");
            let (landing, departing) = layout.in_use(wind).expect("a runway");
            assert_eq!(
                (get("landing_runway"), get("runway")),
                (landing.designator.as_str(), departing.designator.as_str()),
                "{id} {seed}"
            );
            met.insert(departing.designator.clone());
            assert!(
                airport
                    .departures
                    .iter()
                    .any(|d| d.name == get("sid") && d.runways.contains(&departing.designator))
            );
            assert!(
                airport
                    .arrivals
                    .iter()
                    .any(|a| a.name == get("star") && a.runways.contains(&landing.designator))
            );
            let out = layout
                .network
                .route(get("stand"), get("holding_point"), Prefer::Usual, Some('C'))
                .expect("a way");
            assert_eq!(get("taxi_route"), out.said().join(" "), "{id} {seed}");
            assert_eq!(values.has("crossing"), !out.crossings.is_empty(), "{id} {seed}");
            for crossing in &out.crossings {
                let named =
                    [get("crossing"), &crossing.runway].map(|name| layout.runway(name).expect("a runway"));
                let apart = (named[0].bearing - named[1].bearing).abs();
                assert!(apart < 1.0 || (apart - 180.0).abs() < 1.0, "{id} {seed}: the same strip");
            }
            if let Some(first) = out.crossings.first() {
                assert_eq!(Some(get("crossing_point")), first.holding_point.as_deref(), "{id} {seed}");
                assert!(get("taxi_route").starts_with(get("crossing_route")), "{id} {seed}");
            }
            assert!(
                layout.network.node(get("exit")).is_some_and(|node| node.exits.contains(&landing.designator))
            );
            assert!(layout.route(get("exit"), get("stand")).is_some());
            let qnh: f64 = get("qnh").trim_end_matches("hPa").parse().expect("hectopascals");
            let level = transition_level(5000, qnh, layout.transition.layer, layout.transition.step);
            assert_eq!(Ok(get("transition_level")), level.map(|l| format!("FL{l:03}")).as_deref());
            let temperatures =
                ["temperature", "dew_point"].map(|slot| get(slot).parse::<i64>().expect("degrees"));
            assert!(temperatures[1] <= temperatures[0]);
            let atis = get("atis");
            for slot in ["information", "wind", "qnh"] {
                assert!(atis.contains(&values.spoken(slot).expect("words")), "{id} {seed}: {slot} in {atis}");
            }
            let cavok = atis.contains("CAVOK");
            clear += usize::from(cavok);
            assert!(cavok || atis.contains(&values.spoken("visibility").expect("words")), "{atis}");
        }
        assert!((10..250).contains(&clear), "{id}: {clear} of 500 broadcasts say CAVOK");
        let open: BTreeSet<String> = layout.runways.iter().map(|runway| runway.designator.clone()).collect();
        assert_eq!(met, open, "{id}: the wind makes every runway the one in use");
    }
}

#[test]
fn a_scenario_narrows_what_is_drawn() {
    let narrow = "[value.runway]\none_of = ['13']\n[value.stand]\none_of = ['63', '64']\n\
                  [value.exit]\none_of = ['E2']\n";
    let scenario = scenario("hvalby", narrow);
    for seed in 1..=100 {
        let values = draw_values(&scenario, scenario.standard, seed).expect("a flight");
        assert_eq!(["runway", "landing_runway", "exit"].map(|slot| value(&values, slot)), ["13", "13", "E2"]);
        assert!(["63", "64"].contains(&value(&values, "stand")));
        assert!(["04", "22"].contains(&value(&values, "crossing")));
    }
}

#[test]
fn without_stubs_at_the_ends_aircraft_backtrack() {
    let ostrand = scenario("ostrand", "");
    let hvalby = scenario("hvalby", "");
    for seed in 1..=50 {
        let values = draw_values(&ostrand, ostrand.standard, seed).expect("a flight");
        assert_eq!(value(&values, "backtrack"), value(&values, "runway"));
        assert!(!draw_values(&hvalby, hvalby.standard, seed).expect("a flight").has("backtrack"));
    }
}

#[test]
fn every_standard_hears_its_own_broadcast() {
    let scenario = scenario("hvalby", "");
    let said = |standard| {
        draw_values(&scenario, standard, 3).and_then(|values| values.spoken("atis")).expect("words")
    };
    let (eu, us) = (said(Standard::Eu), said(Standard::Us));
    assert!(
        eu.starts_with("Hvalby information ") && eu.contains("transition level") && eu.contains("QNH"),
        "{eu}"
    );
    assert!(
        us.starts_with("Hvalby airport information ") && us.contains("altimeter") && us.contains(" zulu"),
        "{us}"
    );
    assert!(!us.contains("transition level") && us.contains("advise on initial contact you have"), "{us}");
}
