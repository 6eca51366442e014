//! Airports: what is computed from wind, pressure and channels, against published numbers; taxi routes against
//! independent searches; drawn flights against both; every problem of an airport file has its message.

#[path = "airports/drawn.rs"]
mod drawn;
mod golden;
#[path = "airports/places.rs"]
mod places;
#[path = "airports/taxi.rs"]
mod taxi;

use golden::{data, golden};
use hearback::airport::altimetry::{
    hectopascals, inches, lowest_usable, pressure_difference, reported, transition_level,
};
use hearback::airport::atis::next_letter;
use hearback::airport::bearing::{
    designator, number, parallels, reciprocal, to_magnetic, to_true, variation_in,
};
use hearback::airport::channel::{Channel, Spacing, assignable};
use hearback::airport::layout::Transition;
use hearback::airport::load::load_airport;
use hearback::airport::vectors::{Entry, Side, entry, glide_height, glide_rate, vectors};
use hearback::airport::wind::{
    Candidate, Limits, Wind, choose, components, in_use, reported_direction, significant, strongest,
};
use hearback::airport::{self, value::canonical};
use hearback::diagnostic::render;
use hearback::element::{Element, Standard};
use hearback::text::speak::spoken;
use std::collections::BTreeSet;
use toml::{Table, Value};

/// The rows of a topic in `tests/data/airport-values.toml`.
fn rows(topic: &str) -> Vec<Table> {
    let text = std::fs::read_to_string(data("airport-values.toml")).expect("the file is there");
    let table: Table = text.parse().expect("it is TOML");
    let rows = table["value"].as_array().expect("tables").iter().filter_map(Value::as_table);
    let rows: Vec<Table> = rows.filter(|row| row["topic"].as_str() == Some(topic)).cloned().collect();
    assert!(!rows.is_empty(), "no value of {topic}");
    rows
}

fn real(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64)).expect("a number")
}

fn reals(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(real).collect()
}

fn texts(value: &Value) -> Vec<&str> {
    value.as_array().expect("a list").iter().filter_map(Value::as_str).collect()
}

/// One number within the tolerance of its row, or the source is named.
#[track_caller]
fn near(row: &Table, found: f64, expected: f64) {
    let fine = (found - expected).abs() <= real(&row["tolerance"]) + 1e-9;
    assert!(fine, "{}: {found}, not {expected} ({})", row["id"], row["source"]);
}

#[track_caller]
fn same<T: PartialEq + std::fmt::Debug>(row: &Table, found: T, expected: T) {
    assert_eq!(found, expected, "{}: {}", row["id"], row["source"]);
}

#[test]
fn wind_along_and_across_as_published() {
    for row in rows("wind") {
        let inputs = &row["inputs"];
        let parts =
            components(real(&inputs["runway_heading"]), real(&inputs["wind_dir"]), real(&inputs["wind_kt"]));
        near(&row, parts.headwind, real(&row["expected"]["headwind"]));
        near(&row, parts.crosswind, real(&row["expected"]["crosswind"]));
        near(&row, parts.tailwind(), (-real(&row["expected"]["headwind"])).max(0.0));
    }
    for row in rows("wind_grid") {
        let head = row["id"].as_str().is_some_and(|id| id.ends_with("head"));
        let speeds = reals(&row["inputs"]["wind_kt"]);
        for (speed, line) in speeds.iter().zip(row["expected"].as_array().expect("rows")) {
            for (angle, expected) in reals(&row["inputs"]["angles_deg"]).iter().zip(reals(line)) {
                let parts = components(0.0, *angle, *speed);
                near(&row, if head { parts.headwind } else { parts.crosswind }, expected);
            }
        }
    }
    for row in rows("wind_limit") {
        let inputs = &row["inputs"];
        let angle = real(&inputs["angle_deg"]);
        let found = match inputs.get("crosswind_limit_kt") {
            Some(limit) => strongest(real(limit), angle),
            // The same for the part along, a right angle on.
            None => strongest(real(&inputs["headwind_min_kt"]), 90.0 - angle),
        };
        near(&row, found.expect("an angle"), real(&row["expected"]));
    }
    for row in rows("wind_dir_rounded") {
        let found: Vec<f64> =
            reals(&row["inputs"]["degrees"]).into_iter().map(|d| f64::from(reported_direction(d))).collect();
        same(&row, found, reals(&row["expected"]));
    }
}

#[test]
fn a_change_of_wind_is_significant_as_published() {
    for row in rows("wind_change_significant") {
        let column = |key: &str| reals(&row["inputs"][key]);
        let wind = |when: &str, n: usize| {
            let at = |key: &str| column(&format!("{when}_{key}"))[n] as u16;
            Wind { from: at("dir"), speed: at("kt"), gust: at("gust") }
        };
        for (n, expected) in row["expected"].as_array().expect("a list").iter().enumerate() {
            same(
                &row,
                significant(wind("old", n), wind("new", n)),
                expected.as_bool().expect("true or false"),
            );
        }
    }
}

fn runway(bearing: f64) -> Candidate {
    Candidate { bearing, departures: true, arrivals: true, preferred: false, closed: false, length: 2500 }
}

#[test]
fn the_wind_chooses_the_runway() {
    for row in rows("runway_in_use") {
        let inputs = &row["inputs"];
        let column = |key: &str| reals(&inputs[key]);
        for (n, runways) in inputs["runways"].as_array().expect("a list").iter().enumerate() {
            let list: Vec<Candidate> = reals(runways)
                .into_iter()
                .map(|bearing| Candidate { preferred: bearing == column("preferred")[n], ..runway(bearing) })
                .collect();
            let wind = Wind {
                from: column("wind_dir")[n] as u16,
                speed: column("wind_kt")[n] as u16,
                gust: column("gust_kt")[n] as u16,
            };
            let at = choose(&list, wind, &Limits::default(), |_| true).expect("one is open");
            near(&row, list[at].bearing, reals(&row["expected"])[n]);
        }
    }
}

#[test]
fn parallel_runways_are_split_and_closed_ones_left_out() {
    let wind = |text: &str| Wind::parse(text).expect("a wind");
    let limits = Limits::default();
    let four = [90.0, 90.0, 270.0, 270.0].map(runway);
    let found = in_use(&four, wind("260/12"), &limits).expect("runways");
    assert_eq!((found.arrivals, found.departures), (2, 3));
    let mut split = four;
    (split[0].arrivals, split[3].arrivals) = (false, false);
    (split[1].departures, split[2].departures) = (false, false);
    let found = in_use(&split, wind("080/12"), &limits).expect("runways");
    assert_eq!((found.arrivals, found.departures), (1, 0));
    let mut closed = four;
    closed[3].closed = true;
    let found = in_use(&closed, wind("260/12"), &limits).expect("runways");
    assert_eq!((found.arrivals, found.departures), (2, 2));
    let shut = four.map(|runway| Candidate { closed: true, ..runway });
    assert_eq!(in_use(&shut, wind("260/12"), &limits), None);
    let crossing = [0.0, 180.0, 90.0, 270.0].map(runway);
    let found = in_use(&crossing, wind("260/12"), &limits).expect("runways");
    assert_eq!((found.arrivals, found.departures), (3, 3));
}

#[test]
fn bearings_and_designators_as_published() {
    for row in rows("true_to_magnetic") {
        let found = to_magnetic(real(&row["inputs"]["true"]), real(&row["inputs"]["variation_east"]));
        near(&row, found, real(&row["expected"]));
        near(&row, to_true(found, real(&row["inputs"]["variation_east"])), real(&row["inputs"]["true"]));
    }
    for row in rows("magnetic_to_true") {
        let found = to_true(real(&row["inputs"]["magnetic"]), real(&row["inputs"]["variation_east"]));
        near(&row, found, real(&row["expected"]));
    }
    for row in rows("variation_at_year") {
        let value = |key: &str| real(&row["inputs"][key]);
        let found = variation_in(
            value("variation_east_min"),
            value("annual_change_east_min"),
            value("epoch") as i32,
            value("year") as i32,
        );
        near(&row, found, real(&row["expected"]));
    }
    for row in rows("runway_designator") {
        let found = designator(real(&row["inputs"]["magnetic_bearing"]));
        same(&row, found.as_str(), row["expected"].as_str().expect("text"));
    }
    for row in rows("runway_designator_either") {
        let found = designator(real(&row["inputs"]["magnetic_bearing"]));
        assert!(texts(&row["expected"]).contains(&found.as_str()), "{found}: {}", row["source"]);
    }
    for row in rows("runway_reciprocal") {
        let found: Vec<String> =
            texts(&row["inputs"]["designators"]).into_iter().filter_map(reciprocal).collect();
        same(&row, found.iter().map(String::as_str).collect::<Vec<_>>(), texts(&row["expected"]));
    }
    let side_by_side = |row: &Table| {
        let count = real(&row["inputs"]["count"]) as usize;
        parallels(real(&row["inputs"]["magnetic_bearing"]), count).into_iter().collect::<BTreeSet<_>>()
    };
    let set = |value: &Value| texts(value).into_iter().map(str::to_owned).collect::<BTreeSet<_>>();
    for row in rows("runway_parallels") {
        same(&row, side_by_side(&row), set(&row["expected"]));
    }
    for row in rows("runway_parallels_either") {
        let found = side_by_side(&row);
        let fine = row["expected"].as_array().expect("a list").iter().any(|list| set(list) == found);
        assert!(fine, "{found:?}: {}", row["source"]);
    }
    assert!((0..=720).all(|half| (1..=36).contains(&number(f64::from(half) / 2.0))));
}

#[test]
fn the_transition_level_as_published() {
    for row in rows("transition_level") {
        let value = |key: &str| real(&row["inputs"][key]);
        let found = transition_level(
            value("ta_ft") as u32,
            value("qnh_hpa"),
            value("layer_ft") as u32,
            value("step_fl") as u16,
        );
        same(&row, found.map(f64::from), Ok(real(&row["expected"])));
    }
    for row in rows("transition_level_table") {
        let inputs = &row["inputs"];
        let value = |key: &str| real(&inputs[key]) as u32;
        let level = |qnh: f64| {
            let step = u16::try_from(value("step_fl")).expect("small");
            transition_level(value("ta_ft"), qnh, value("layer_ft"), step).map(f64::from).expect("a pressure")
        };
        let columns = reals(&inputs["qnh_from"]).into_iter().zip(reals(&inputs["qnh_to"]));
        for ((from, to), expected) in columns.zip(reals(&row["expected"])) {
            for bound in [from, to].into_iter().filter(|bound| (900.0..=1075.0).contains(bound)) {
                // Two bounds of one table are rounded by 0.1 hPa; in another 1013 stands for what rounds down to it.
                let rounded = [959.5, 1050.4].contains(&bound) || bound == 1013.0 && value("ta_ft") == 10_000;
                let found = level(if rounded { bound + 0.3 } else { bound });
                assert_eq!(found, expected, "{}: {bound} ({})", row["id"], row["source"]);
            }
        }
    }
    for row in rows("transition_level_fixed") {
        let fixed = Transition { fixed: Some(150), ..Transition::default() };
        let found = [980, 1013, 1040].map(|qnh| fixed.level(real(&row["inputs"]["ta_ft"]) as i64, qnh));
        same(&row, found, [Some(real(&row["expected"]) as u16); 3]);
    }
    for row in rows("us_lowest_usable_fl") {
        let former = row["id"].as_str().is_some_and(|id| id.ends_with("former"));
        let bounds = reals(&row["inputs"]["inhg_from"]).into_iter().zip(reals(&row["inputs"]["inhg_to"]));
        for ((from, to), expected) in bounds.zip(reals(&row["expected"])) {
            for inches in [from, to] {
                same(&row, lowest_usable(inches, former).map(f64::from), Ok(expected));
            }
        }
    }
    for row in rows("qnh_bound") {
        for (offset, expected) in reals(&row["inputs"]["offset_ft"]).into_iter().zip(reals(&row["expected"]))
        {
            assert!((pressure_difference(expected) - offset).abs() < 0.6, "{offset}: {}", row["source"]);
        }
    }
    for wrong in [
        transition_level(5000, f64::NAN, 0, 5),
        transition_level(5000, 1013.0, 0, 7),
        transition_level(0, 1013.0, 0, 5),
    ] {
        assert!(wrong.is_err());
    }
}

#[test]
fn pressures_as_published() {
    let pairs = |row: &Table, key: &str| -> Vec<(f64, f64)> {
        match row["expected"].as_array() {
            Some(_) => reals(&row["inputs"][key]).into_iter().zip(reals(&row["expected"])).collect(),
            None => vec![(real(&row["inputs"][key]), real(&row["expected"]))],
        }
    };
    for topic in ["hpa_to_inhg", "hpa_to_inhg_grid"] {
        for row in rows(topic) {
            pairs(&row, "hpa").into_iter().for_each(|(given, expected)| near(&row, inches(given), expected));
        }
    }
    for topic in ["inhg_to_hpa", "inhg_to_hpa_grid"] {
        for row in rows(topic) {
            pairs(&row, "inhg")
                .into_iter()
                .for_each(|(given, expected)| near(&row, hectopascals(given), expected));
        }
    }
    for row in rows("qnh_reported") {
        pairs(&row, "hpa")
            .into_iter()
            .for_each(|(given, expected)| near(&row, f64::from(reported(given)), expected));
    }
}

#[test]
fn channels_and_codes_as_published() {
    for row in rows("channel_valid") {
        for (name, expected) in
            texts(&row["inputs"]["names"]).iter().zip(row["expected"].as_array().expect("a list"))
        {
            assert_eq!(Some(Channel::parse(name).is_some()), expected.as_bool(), "{name}: {}", row["source"]);
            let value = canonical(Element::Frequency, name).is_ok();
            assert!(!value || expected.as_bool() == Some(true), "{name} is taken as a value");
        }
    }
    for row in rows("channel_frequency") {
        let columns = texts(&row["inputs"]["names"]).into_iter().zip(reals(&row["inputs"]["spacing_khz"]));
        for ((name, spacing), expected) in columns.zip(reals(&row["expected"])) {
            let channel = Channel::parse(name).expect("a channel");
            near(&row, channel.carrier(), expected);
            assert_eq!(channel.spacing() == Spacing::Wide, spacing > 10.0, "{name}");
        }
    }
    for row in rows("channel_count") {
        let wide = Channel::all().filter(|channel| channel.spacing() == Spacing::Wide).count();
        assert_eq!(Some(wide as i64), row["expected"]["khz25"].as_integer());
        // Three names of 8.33 kHz to each of 25.
        let narrow = Channel::all().count() - wide;
        assert_eq!(Some(narrow as i64), row["expected"]["khz8_33"].as_integer());
    }
    for row in rows("channel_spoken_digits") {
        for (name, expected) in texts(&row["inputs"]["names"]).into_iter().zip(texts(&row["expected"])) {
            let digit = |word: &str| {
                let digits =
                    ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner"];
                digits.iter().position(|d| *d == word).map_or(word.to_owned(), |n| n.to_string())
            };
            let said = spoken(Standard::Icao, Element::Frequency, name);
            same(&row, said.split(' ').map(digit).collect::<Vec<_>>().join(" ").as_str(), expected);
        }
    }
    for row in rows("squawk_assignable") {
        let codes = texts(&row["inputs"]["codes"]).into_iter();
        let found: Vec<Value> =
            codes.map(|code| Value::Boolean(u16::from_str_radix(code, 8).is_ok_and(assignable))).collect();
        same(&row, &found, row["expected"].as_array().expect("a list"));
    }
    for row in rows("atis_letter_next") {
        let next = |text: &str| text.chars().map(next_letter).collect::<String>();
        let found: Vec<String> = texts(&row["inputs"]["letters"]).into_iter().map(next).collect();
        same(&row, found.iter().map(String::as_str).collect(), texts(&row["expected"]));
    }
    assert!(Channel::all().all(|c| {
        !Channel::beside(c.name().replace('.', "").parse().expect("digits"), Standard::Us).is_empty()
    }));
}

#[test]
fn holdings_glide_paths_and_vectors() {
    for row in rows("holding_entry") {
        let inputs = &row["inputs"];
        for (n, expected) in texts(&row["expected"]).into_iter().enumerate() {
            let right = inputs["right_turns"][n].as_bool() == Some(true);
            let found = entry(
                reals(&inputs["inbound"])[n],
                reals(&inputs["heading"])[n],
                if right { Side::Right } else { Side::Left },
            );
            let expected = match expected {
                "direct" => Entry::Direct,
                "offset" => Entry::Offset,
                _ => Entry::Parallel,
            };
            same(&row, found, expected);
        }
    }
    for row in rows("glide_path") {
        let angle = real(&row["inputs"]["angle_deg"]);
        near(&row, glide_height(angle, 1.0), real(&row["expected"]["ft_per_nm"]));
        let speeds = reals(&row["inputs"]["ground_speed_kt"]).into_iter();
        for (speed, expected) in speeds.zip(reals(&row["expected"]["fpm"])) {
            near(&row, glide_rate(angle, speed), expected);
        }
    }
    let apart = |a: f64, b: f64| {
        let turned = (a - b).rem_euclid(360.0);
        turned.min(360.0 - turned)
    };
    for tenth in 1..=3600 {
        let course = f64::from(tenth) / 10.0;
        for side in [Side::Left, Side::Right] {
            let found = vectors(course, 30.0, side).expect("an angle");
            assert!(apart(f64::from(found.downwind), course + 180.0) <= 2.5);
            assert!(
                apart(f64::from(found.base), course + if side == Side::Left { 90.0 } else { 270.0 }) <= 2.5
            );
            // 30 degrees, and 45 at the most: Doc 8168, III-2-1-5; Doc 4444, 8.9.3.6 [memory].
            let closing = apart(f64::from(found.intercept), course);
            assert!(
                (27.5..=32.5).contains(&closing)
                    && apart(f64::from(found.intercept), f64::from(found.base)) < 70.0
            );
            assert!(
                [found.downwind, found.base, found.intercept]
                    .iter()
                    .all(|h| (1..=360).contains(h) && h % 5 == 0)
            );
        }
    }
    assert!(vectors(90.0, 60.0, Side::Left).is_err());
}

#[test]
fn every_problem_in_an_airport_file_has_a_golden_message() {
    let mut seen = BTreeSet::new();
    let mut files: Vec<_> = std::fs::read_dir(data("bad-airports"))
        .expect("the folder is there")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    for path in files {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = std::fs::read(&path).expect("it can be read");
        let found = load_airport(&name, &bytes).err().unwrap_or_default();
        assert!(found.iter().any(|d| name.starts_with(d.code)), "{name} does not show its code");
        seen.extend(found.iter().map(|d| d.code));
        golden(&path.with_extension("stderr"), &render(&found, false));
    }
    for (code, what) in airport::CODES {
        assert!(seen.contains(code), "no file under tests/data/bad-airports shows {code}: {what}");
    }
}
