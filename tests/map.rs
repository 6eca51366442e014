//! Drawings of airports: golden pages, laws of every built-in airport and of a dense one, names that must be escaped,
//! routes in words, errors.

mod golden;

use clap::Parser;
use golden::{data, golden};
use hearback::airport::Airport;
use hearback::airport::load::{builtin, builtin_ids, load_airport};
use hearback::airport::network::{NodeKind, Prefer};
use hearback::cli::{Cli, Command};
use hearback::commands::map;
use hearback::content::Content;
use hearback::contract::parse_line;
use hearback::diagnostic::render;
use hearback::grammar::sets::Sets;
use hearback::map::place::Rect;
use hearback::map::request::{Request, taxiways};
use hearback::map::text::{Look, page};
use hearback::map::{Plan, svg, words};
use roxmltree::{Document, Node};
use std::collections::BTreeSet;
use std::path::Path;
use unicode_width::UnicodeWidthStr;

#[track_caller]
fn read(text: &str) -> Airport {
    load_airport("airport.toml", text.as_bytes())
        .unwrap_or_else(|problems| panic!("{}", render(&problems, false)))
}

fn airport(id: &str) -> Airport {
    read(builtin(id).expect("it is built in").1)
}

/// Every built-in airport that has places, and one with over 150 nodes.
fn drawn() -> Vec<Airport> {
    let mut out: Vec<Airport> = builtin_ids().map(airport).filter(|a| a.layout.is_some()).collect();
    out.push(dense());
    out
}

/// Two runways with eleven holding points and exits on each side that faces the other, and 72 stands between them.
fn dense() -> Airport {
    let (mut nodes, mut ways, mut stands) = (String::new(), String::new(), Vec::new());
    let mut put = |id: &str, x: i64, y: i64, rest: &str| {
        nodes.push_str(&format!("{{ id = '{id}', x = {x}, y = {y}{rest} }},\n"));
    };
    for (letter, own, other, y, side) in [('A', "09L", "27R", 0, -1), ('H', "09R", "27L", -1500, 1)] {
        let mut line = Vec::new();
        for n in 1..=11_i64 {
            let (hold, junction) = (format!("{letter}{n}"), format!("{letter}{n}").to_lowercase());
            let x = 20 + (n - 1) * 356;
            let (kind, one_way) = match n {
                1..=3 => {
                    (format!(", kind = 'holding_point', runways = ['{own}'], exits = ['{other}']"), false)
                }
                9.. => (format!(", kind = 'holding_point', runways = ['{other}'], exits = ['{own}']"), false),
                _ => (format!(", kind = 'exit', exits = ['{own}', '{other}']"), true),
            };
            put(&hold, x, y + side * 90, &kind);
            put(&junction, x, y + side * 180, "");
            ways.push_str(&format!(
                "{{ name = '{hold}', nodes = ['{hold}', '{junction}'], one_way = {one_way} }},\n"
            ));
            line.push(format!("'{junction}'"));
        }
        ways.push_str(&format!("{{ name = '{letter}', nodes = [{}] }},\n", line.join(", ")));
    }
    for pier in 0..4_i64 {
        let (x, mut lane) = (500 + pier * 750, vec![format!("'a{}'", 2 * pier + 2)]);
        for row in 0..9_i64 {
            let (y, centre) = (-330 - row * 88, format!("k{pier}{row}"));
            put(&centre, x, y, "");
            lane.push(format!("'{centre}'"));
            for side in [-1, 1] {
                let stand = format!("{}", 101 + pier * 100 + row * 2 + i64::from(side > 0));
                put(&stand, x + side * 55, y, &format!(", kind = 'stand', joins = ['{centre}'], code = 'D'"));
                stands.push(format!("'{stand}'"));
            }
        }
        lane.push(format!("'h{}'", 2 * pier + 3));
        ways.push_str(&format!(
            "{{ name = '{}', nodes = [{}] }},\n",
            ["P", "Q", "R", "S"][pier as usize],
            lane.join(", ")
        ));
    }
    let head = "format = 1\nname = 'Hollowmere'\nelevation = 100\ntransition_altitude = 6000\nstandard = 'icao'\n\
                information = 'ABC'\nvariation = -3.0\n";
    let mut text = format!("{head}node = [\n{nodes}]\ntaxiway = [\n{ways}]\n");
    text.push_str("[[station]]\nid = 'tower'\nname = 'Hollowmere Tower'\nfrequency = '118.180'\n");
    for (name, bearing, x, y) in
        [("09L", 90, 0, 0), ("27R", 270, 3600, 0), ("09R", 90, 0, -1500), ("27L", 270, 3600, -1500)]
    {
        text.push_str(&format!(
            "[[runway]]\ndesignator = '{name}'\nbearing = {bearing}.0\nlength = 3600\nwidth = 60\n\
             threshold = {{ x = {x}, y = {y} }}\n"
        ));
    }
    text.push_str(&format!("[[apron]]\nid = 'piers'\nstands = [{}]\nface = ['north']\n", stands.join(", ")));
    text.push_str(TAIL);
    read(&text)
}

/// What every airport file needs besides.
const TAIL: &str = "
[[departure]]
name = 'SAFOT 1A'
runways = ['09L', '27R']
points = ['ENVEV', 'SAFOT']
initial = '5000ft'
destinations = ['Skerrow']
[weather]
qnh = { from = 984, to = 1033 }
wind = { from = 3, to = 25 }
temperature = { from = -9, to = 28 }
[[squawk]]
from = '3011'
to = '3057'
";

/// A plan with a route on it.
#[track_caller]
fn routed<'a>(airport: &'a Airport, from: &str, to: &str, closed: &[&str]) -> Plan<'a> {
    let closed: Vec<String> = closed.iter().map(|name| (*name).to_owned()).collect();
    let mut plan = Plan::new(airport, &taxiways(airport, &closed).expect("they are there"));
    let request = Request { from, to, prefer: Prefer::Usual, code: None };
    plan.show(&request).unwrap_or_else(|error| panic!("{from} to {to}: {error}"));
    plan
}

fn plain(airport: &Airport) -> Plan<'_> {
    Plan::new(airport, &BTreeSet::new())
}

const PAGE: Look = Look { width: 80, plain: false, styled: false };

#[test]
fn pages_are_as_they_were() {
    let (hvalby, ostrand, skerrow) = (airport("hvalby"), airport("ostrand"), airport("skerrow"));
    let crossing = routed(&hvalby, "24", "13", &["P", "E2"]);
    golden(&data("map/hvalby.svg"), &svg::drawing(&crossing).expect("it has places"));
    golden(&data("map/hvalby.txt"), &page(&crossing, PAGE));
    golden(&data("map/hvalby-plain.txt"), &page(&crossing, Look { width: 60, plain: true, styled: false }));
    golden(&data("map/ostrand.txt"), &page(&routed(&ostrand, "26", "4", &[]), PAGE));
    golden(&data("map/skerrow.txt"), &page(&plain(&skerrow), PAGE));
}

/// Plans that the laws are tried on: every airport without and with a route.
fn plans(airports: &[Airport]) -> Vec<Plan<'_>> {
    let mut out: Vec<Plan<'_>> = airports.iter().map(plain).collect();
    for airport in airports {
        let stand = &airport.aprons[0].stands[0];
        let to = airport.layout.as_ref().expect("a network").runways.iter().find(|runway| runway.departures);
        out.push(routed(airport, stand, &format!("runway {}", to.expect("a runway").designator), &[]));
    }
    out
}

fn number(node: Node<'_, '_>, name: &str) -> Option<f64> {
    node.attribute(name).map(|text| text.parse().unwrap_or_else(|_| panic!("{name}={text}")))
}

/// Every place that an element names, in its own sheet.
fn places(node: Node<'_, '_>) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    for (x, y) in [("x", "y"), ("cx", "cy")] {
        out.extend(number(node, x).zip(number(node, y)));
    }
    if let (Some((x, y)), Some(w), Some(h)) =
        (number(node, "x").zip(number(node, "y")), number(node, "width"), number(node, "height"))
    {
        out.push((x + w, y + h));
    }
    let lists = ["points", "d"].into_iter().filter_map(|name| node.attribute(name));
    for list in lists {
        let numbers: Vec<f64> = list
            .split(|c: char| c.is_whitespace() || matches!(c, ',' | 'M' | 'L'))
            .filter(|word| !word.is_empty())
            .map(|word| word.parse().unwrap_or_else(|_| panic!("{word} in {list}")))
            .collect();
        assert!(numbers.len().is_multiple_of(2), "{list}");
        out.extend(numbers.chunks(2).map(|pair| (pair[0], pair[1])));
    }
    out
}

fn sheet(svg: Node<'_, '_>) -> Rect {
    let view: Vec<f64> = svg
        .attribute("viewBox")
        .expect("a view")
        .split(' ')
        .map(|word| word.parse().expect("a number"))
        .collect();
    Rect { x: view[0], y: view[1], w: view[2], h: view[3] }
}

/// Names on the map with their classes and boxes.
fn labels(document: &Document<'_>) -> Vec<(String, String, Rect)> {
    let groups = document.descendants().filter(|node| node.attribute("data-name").is_some());
    groups
        .map(|group| {
            let rect = group.children().find(|child| child.has_tag_name("rect")).expect("a box");
            let text = group.children().find(|child| child.has_tag_name("text")).and_then(|text| text.text());
            let name = group.attribute("data-name").expect("a name").to_owned();
            assert_eq!(text, Some(name.as_str()));
            let side = |side| number(rect, side).expect("a number");
            let rect = Rect { x: side("x"), y: side("y"), w: side("width"), h: side("height") };
            (group.attribute("class").expect("a class").to_owned(), name, rect)
        })
        .collect()
}

#[test]
fn every_named_place_is_on_the_drawing_once_and_no_name_covers_another() {
    let airports = drawn();
    for plan in plans(&airports) {
        let id = &plan.airport.name;
        let drawing = svg::drawing(&plan).expect("it has places");
        let document = Document::parse(&drawing).expect("it is XML");
        let labels = labels(&document);
        for node in plan.named() {
            let class = match node.kind {
                NodeKind::HoldingPoint => "label hold",
                NodeKind::Exit => "label exit",
                _ => "label stand",
            };
            let shown = labels.iter().filter(|(of, name, _)| of == class && *name == node.id).count();
            assert_eq!(shown, 1, "{class} {} at {id}", node.id);
        }
        for strip in &plan.strips {
            for name in &strip.names {
                assert!(
                    labels.iter().any(|(of, shown, _)| of == "label designator" && shown == name),
                    "{name}"
                );
            }
        }
        let named = plan.network.iter().flat_map(|n| n.ways()).filter_map(|way| way.name.as_ref());
        for name in named {
            assert!(labels.iter().any(|(_, shown, _)| shown == name), "taxiway {name} at {id}");
        }
        for (n, (class, name, rect)) in labels.iter().enumerate() {
            for (other_class, other, there) in &labels[..n] {
                let shared = rect.shared(there);
                assert!(shared < 0.05, "{id}: {class} {name} covers {other_class} {other} by {shared:.1}");
            }
        }
    }
}

#[test]
fn every_place_lies_on_its_sheet_and_nothing_comes_from_elsewhere() {
    let airports = drawn();
    for plan in plans(&airports) {
        let drawing = svg::drawing(&plan).expect("it has places");
        let document = Document::parse(&drawing).expect("it is XML");
        let root = document.root_element();
        assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
        for name in ["title", "desc"] {
            let text = root.children().find(|child| child.has_tag_name(name)).and_then(|child| child.text());
            assert!(text.is_some_and(|text| text.contains(&plan.airport.name)), "{name}");
        }
        for node in root.descendants().filter(|node| node.is_element() && *node != root) {
            let inside = node.ancestors().skip(1).find(|above| above.has_tag_name("svg")).expect("a sheet");
            let sheet = sheet(inside);
            for (x, y) in places(node) {
                let fine = x >= 0.0 && y >= 0.0 && x <= sheet.w && y <= sheet.h;
                assert!(fine, "{}: {x} {y} is not on {sheet:?}: {node:?}", plan.airport.name);
            }
            let name = node.tag_name().name();
            assert!(!["script", "image", "use", "foreignObject", "a"].contains(&name), "{name}");
            let calls = |attribute: roxmltree::Attribute<'_, '_>| {
                attribute.name().starts_with("on") || attribute.name().ends_with("href")
            };
            assert!(!node.attributes().any(calls), "{node:?}");
        }
    }
}

#[test]
fn plans_fit_their_width_and_name_everything() {
    let airports = drawn();
    for plan in plans(&airports) {
        for width in [40, 50, 64, 80, 100, 120, 160] {
            let text = page(&plan, Look { width, plain: false, styled: false });
            for line in text.lines() {
                assert!(line.width() <= width, "{width}: {line}");
            }
            let words: BTreeSet<&str> =
                text.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
            for node in plan.named() {
                assert!(
                    words.contains(node.id.as_str()),
                    "{} at {width} of {}\n{text}",
                    node.id,
                    plan.airport.name
                );
            }
            let ascii = page(&plan, Look { width, plain: true, styled: false });
            assert!(ascii.is_ascii(), "{ascii}");
            let styled = page(&plan, Look { width, plain: false, styled: true });
            assert!(styled.contains("\x1b["));
            assert_eq!(anstream::adapter::strip_str(&styled).to_string(), text);
        }
    }
}

#[test]
fn what_a_controller_says_is_read_whole_by_the_grammar() {
    let sets = Sets::builtin();
    for mut airport in drawn() {
        for standard in hearback::element::Standard::ALL {
            airport.standard = standard;
            let layout = airport.layout.clone().expect("a network");
            let ends = layout.network.nodes().iter().filter(|node| node.kind == NodeKind::HoldingPoint);
            let stands: Vec<&String> = airport.aprons.iter().flat_map(|apron| &apron.stands).collect();
            for (stand, end) in stands.iter().step_by(5).flat_map(|s| ends.clone().map(move |end| (s, end))) {
                for (from, to) in [(stand.as_str(), end.id.as_str()), (end.id.as_str(), stand.as_str())] {
                    let mut plan = plain(&airport);
                    let request = Request { from, to, prefer: Prefer::Usual, code: None };
                    if plan.show(&request).is_err() {
                        continue;
                    }
                    for said in words::said(&plan) {
                        let line = serde_json::json!({
                            "standard": standard.name(),
                            "text": format!("Whimbrel two one four, {}", said.spoken),
                        });
                        let mut out = Vec::new();
                        assert!(!parse_line(&sets, line.to_string().as_bytes(), 1, &mut out));
                        let read: serde_json::Value = serde_json::from_slice(&out).expect("JSON");
                        assert_eq!(
                            read["unparsed"],
                            serde_json::json!([]),
                            "{standard}: {} {read}",
                            said.spoken
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn names_in_a_file_are_only_text() {
    let (_, text) = builtin("hvalby").expect("it is built in");
    let hostile = text
        .replace("name = 'Hvalby'", "name = '<script>\"Hvalby\" & co'")
        .replace("name = 'Hvalby Ground'", "name = '</text><svg onload=\"x\">'")
        .replace("id = 'main'", "id = '<b>&amp;\u{202e}]]>'");
    let airport = read(&hostile);
    let drawing = svg::drawing(&plain(&airport)).expect("it has places");
    let document = Document::parse(&drawing).expect("it is XML");
    let texts: Vec<&str> = document.descendants().filter_map(|node| node.text()).collect();
    assert!(texts.contains(&"<script>\"Hvalby\" & co"));
    assert!(texts.contains(&"</text><svg onload=\"x\">"));
    assert!(!drawing.contains("<script") && !drawing.contains('\u{202e}'));
    let page = page(&plain(&airport), PAGE);
    assert!(page.starts_with("<script>\"Hvalby\" & co\n"));
}

#[test]
fn runways_alone_are_drawn_and_the_rest_is_said_to_be_missing() {
    let text = format!(
        "format = 1\nname = 'Varnsey'\nelevation = 9\ntransition_altitude = 5000\nstandard = 'icao'\n\
         information = 'ABC'\nvariation = 2.0\ntaxi = [{{ apron = 'a', runway = '09L', holding_point = 'A1', via = 'A' }}, \
         {{ apron = 'a', runway = '27R', holding_point = 'A9', via = 'A' }}]\n\
         [[station]]\nid = 'tower'\nname = 'Varnsey Tower'\nfrequency = '118.180'\n\
         [[runway]]\ndesignator = '09L'\nholding_points = ['A1']\nbearing = 90.0\nlength = 2000\n\
         threshold = {{ x = 0, y = 0 }}\n[[runway]]\ndesignator = '27R'\nholding_points = ['A9']\n\
         [[runway]]\ndesignator = '15'\n[[apron]]\nid = 'a'\nstands = ['1']\nface = ['east']\n{TAIL}"
    );
    let airport = read(&text);
    let plan = plain(&airport);
    assert_eq!(plan.strips.len(), 1);
    assert_eq!(plan.strips[0].ends[1].0.round(), 2000.0);
    let gaps = plan.gaps().join("\n");
    for part in
        ["27R, 15 are not drawn", "Taxiways, holding points and stands are not drawn", "Drawn 45 m wide"]
    {
        assert!(gaps.contains(part), "{part}: {gaps}");
    }
    let drawing = svg::drawing(&plan).expect("a runway has a place");
    Document::parse(&drawing).expect("it is XML");
}

/// What the command prints, or its error and exit status.
fn run(args: &[&str]) -> Result<String, (String, u8)> {
    let cli = Cli::try_parse_from(["hearback", "map"].iter().chain(args)).map_err(|e| (e.to_string(), 2))?;
    let Some(Command::Map(options)) = cli.command else { panic!("another command") };
    let mut out = Vec::new();
    map::run(&options, &Sets::builtin(), Content::none(), false, &mut out)
        .map_err(|e| (e.to_string(), e.status()))?;
    Ok(String::from_utf8(out).expect("UTF-8"))
}

#[test]
fn errors_name_what_is_allowed() {
    for (args, message) in [
        (&["hvalbi"][..], "no airport `hvalbi`; did you mean `hvalby`?"),
        (&["hvalby", "--closed", "A11"], "no taxiway `A11` at Hvalby; did you mean `A1`?"),
        (&["ostrand", "--closed", "Z"], "no taxiway `Z` at Ostrand; known here: A, B, C"),
        (
            &["ostrand", "--from", "77", "--to", "26"],
            "no stand, holding point, exit or runway `77` at Ostrand; known here: 08, 26, A, B, 1, 2, 3, 4, 5, 6",
        ),
        (
            &["hvalby", "--from", "24", "--to", "22", "--closed", "A"],
            "no taxiway leads from `24` to `22` for an aircraft of code C; closed: A",
        ),
        (
            &["hvalby", "--from", "24", "--to", "runway 24"],
            "no stand, holding point, exit or runway `runway 24` at Hvalby; known here: 22, 04, 13, 31, A1, A2, A3, A4, B1, B2, A5, B3, C1, D3, D1, D2, E1, E2, 21, 22, 23, 24, 25, 26 and 6 more",
        ),
        (&["hvalby", "--from", "24", "--to", "24"], "a route from `24` to itself"),
    ] {
        assert_eq!(run(args), Err((message.to_owned(), 2)), "{args:?}");
    }
    let (message, _) = run(&["nowhere/else.toml"]).expect_err("no file");
    assert!(message.starts_with("failed to read `nowhere/else.toml`: "), "{message}");
    let (message, status) = run(&["skerrow", "--from", "10", "--to", "09"]).expect_err("no network");
    assert!(
        message.starts_with("Skerrow has no taxiway network") && message.contains("via B C D"),
        "{message}"
    );
    assert_eq!(status, 2);
    let (message, _) = run(&["skerrow", "--svg", "-"]).expect_err("no places");
    assert!(
        message.starts_with("nothing of Skerrow can be drawn. Runways 09, 27, 15, 33 are not drawn"),
        "{message}"
    );
    let (message, _) = run(&["hvalby", "--from", "24"]).expect_err("no end");
    assert!(message.contains("--to <PLACE>"), "{message}");
}

#[test]
fn a_file_is_only_written_over_when_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("x.svg");
    let path = file.to_str().expect("UTF-8");
    assert_eq!(run(&["ostrand", "--svg", path]), Ok(format!("Ostrand is drawn in {path}\n")));
    let first = std::fs::read_to_string(&file).expect("it is there");
    assert_eq!(run(&["ostrand", "--svg", "-"]), Ok(first));
    let (message, _) = run(&["ostrand", "--svg", path]).expect_err("it is there");
    assert!(message.contains("--force"), "{message}");
    assert!(run(&["ostrand", "--svg", path, "--force"]).is_ok());
    // A file that is being written is drawn from its path.
    let own = folder.path().join("mine.toml");
    std::fs::write(&own, builtin("ostrand").expect("built in").1.replace("'Ostrand'", "'Holmfell'"))
        .expect("written");
    let text = run(&[own.to_str().expect("UTF-8")]).expect("it is drawn");
    assert!(text.starts_with("Holmfell\n"), "{text}");
    assert!(Path::new(path).is_file());
}

#[test]
fn json_says_the_route_of_the_network() {
    let text = run(&["hvalby", "--from", "24", "--to", "22", "--json"]).expect("a route");
    let out: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let hvalby = airport("hvalby");
    let network = &hvalby.layout.as_ref().expect("a network").network;
    let route = network.route("24", "B2", Prefer::Usual, Some('C')).expect("a route");
    assert_eq!(out["route"]["nodes"], serde_json::json!(route.nodes));
    assert_eq!(out["route"]["taxiways"], serde_json::json!(route.taxiways));
    assert_eq!(out["route"]["metres"], route.length as f64 / 10.0);
    assert_eq!(out["route"]["crossings"][0]["runway"], "13");
    assert_eq!((&out["airport"], &out["format"]), (&"hvalby".into(), &1.into()));
    let none: serde_json::Value =
        serde_json::from_str(&run(&["skerrow", "--json"]).expect("a list")).expect("JSON");
    assert!(none["route"].is_null() && none["not_drawn"].as_array().expect("a list").len() == 2);
}

#[test]
fn a_name_of_two_things_is_the_one_that_makes_sense() {
    let hvalby = airport("hvalby");
    let ends = |from: &str, to: &str| {
        let plan = routed(&hvalby, from, to, &[]);
        words::between(&plan, plan.route.as_ref().expect("a route"))
    };
    assert_eq!(ends("24", "22"), "stand 24 to holding point B2 of runway 22");
    assert_eq!(ends("24", "stand 22"), "stand 24 to stand 22");
    assert_eq!(ends("22", "24"), "runway 22 by exit A3 to stand 24");
    assert_eq!(ends("stand 22", "24"), "stand 22 to stand 24");
    assert_eq!(ends("b1", "stand 22"), "runway 04 by exit B1 to stand 22");
    assert_eq!(ends("24", "d1"), "stand 24 to holding point D1 of runway 13");
    // No holding point lies at the beginning of a runway there.
    let ostrand = airport("ostrand");
    let plan = routed(&ostrand, "4", "26", &[]);
    let facts = words::facts(&plan, plan.route.as_ref().expect("a route"));
    assert_eq!(facts, "364 m, 2 turns, no runway crossed, backtrack on runway 26");
    // The shortest in distance or in turns is no longer, or has no more turns, than the usual one.
    let by = |prefer| {
        let mut plan = plain(&hvalby);
        plan.show(&Request { from: "61", to: "04", prefer, code: None }).expect("a route");
        plan.route.expect("a route").route
    };
    assert!(by(Prefer::Distance).length <= by(Prefer::Usual).length);
    assert!(by(Prefer::Turns).turns <= by(Prefer::Usual).turns);
}
