//! Airports: what is computed from wind, pressure, channels and taxiways, against published numbers and independent searches.

use hearback::airport::load::{builtin, load_airport};
use hearback::crew::CrewBook;
use hearback::diagnostic::render;
use hearback::element::Standard;
use hearback::rules::RuleSet;
use hearback::scenario::draw::draw_values;
use hearback::scenario::load::Library;
use std::sync::Arc;

fn rules(standard: Standard) -> Arc<RuleSet> {
    RuleSet::builtin(standard)
}

#[test]
fn built_in_networks_load() {
    for id in ["ostrand", "hvalby"] {
        let (path, text) = builtin(id).expect("built in");
        let found = load_airport(path, text.as_bytes());
        assert!(found.is_ok(), "{}", render(&found.err().unwrap_or_default(), false));
    }
}

fn scenario(airport: &str) -> String {
    format!(
        "format = 1\ntitle = 'x'\nbriefing = '{{airport}}, {{stand}}'\nairport = '{airport}'\nseat = 'monitoring'\n\
         callsign = {{ telephony = 'Whimbrel', flight = '214' }}\n\n[[exchange]]\nfrom = 'tower'\n\
         says = '{{callsign}}, taxi to holding point {{holding_point}} via {{taxi_route}}, {{runway}}'\n\n[[exchange]]\nfrom = 'tower'\n\
         says = '{{callsign}}, vacate via {{exit}}, taxi to {{stand}} via {{taxi_in}}'\n\n[[exchange]]\nfrom = 'approach'\n\
         says = '{{callsign}}, {{star}} arrival, turn {{vector_side}} heading {{vector_downwind}}, transition level {{transition_level}}, information {{information}}'\n\n[[exchange]]\nfrom = 'approach'\n\
         says = '{{callsign}}, hold at {{hold_fix}}'\n"
    )
}

#[test]
fn flights_of_a_network_are_drawn() {
    let library = Library::new(&rules, CrewBook::builtin().expect("the book is in order"));
    for id in ["ostrand", "hvalby"] {
        let text = scenario(id);
        let found = library.scenario("x.toml", text.as_bytes(), None);
        let scenario = found.unwrap_or_else(|problems| panic!("{}", render(&problems, false)));
        for seed in 1..=200 {
            let values = draw_values(&scenario, scenario.standard, seed);
            let values = values.unwrap_or_else(|| panic!("{id} {seed} has no flight"));
            assert!(values.spoken("atis").is_some_and(|text| text.contains(" information ")));
        }
    }
}
