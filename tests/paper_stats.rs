//! Figures of a graded paper: against published and computed values, against plain sums of the same definition, and
//! laws that hold for any scores.

use hearback::paper::stats::{Absent, Figure, Scores, items_for, lengthened, standard_error};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fs;

fn number(value: &toml::Value) -> f64 {
    value.as_float().or(value.as_integer().map(|n| n as f64)).expect("a number")
}

fn numbers(value: &toml::Value) -> Vec<f64> {
    value.as_array().map_or_else(|| vec![number(value)], |list| list.iter().map(number).collect())
}

fn rows(value: &toml::Value) -> Vec<Vec<u8>> {
    let row = |row: &toml::Value| numbers(row).into_iter().map(|n| n as u8).collect();
    value.as_array().expect("rows").iter().map(row).collect()
}

fn scores(full: u8, rows: &[Vec<u8>]) -> Scores {
    let mut scores = Scores::new(rows.first().map_or(0, Vec::len), full);
    rows.iter().for_each(|row| scores.add(row));
    scores
}

#[test]
fn figures_are_the_published_ones() {
    let text = fs::read_to_string("tests/data/paper/check-values.toml").expect("read");
    let all: toml::Table = text.parse().expect("TOML");
    let sets: BTreeMap<&str, (u8, Vec<Vec<u8>>)> = all["dataset"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|set| (set["id"].as_str().expect("a name"), (number(&set["full"]) as u8, rows(&set["rows"]))))
        .collect();
    let cases = all["value"].as_array().expect("a list");
    for case in cases {
        let (topic, inputs) = (case["topic"].as_str().expect("a topic"), &case["inputs"]);
        let given = |key: &str| number(&inputs[key]);
        let set = inputs.get("dataset").map(|id| &sets[id.as_str().expect("a name")]);
        let table = set.map(|(full, rows)| scores(*full, rows));
        let each = |figure: &dyn Fn(&Scores, usize) -> Figure| -> Vec<f64> {
            let table = table.as_ref().expect("of a data set");
            (0..table.items()).map(|item| figure(table, item).expect("there is one")).collect()
        };
        let one = |figure: &dyn Fn(&Scores) -> Figure| {
            vec![figure(table.as_ref().expect("of a data set")).expect("there is one")]
        };
        let found: Vec<f64> = match topic {
            "item_p" => each(&Scores::difficulty),
            "item_total" => each(&Scores::item_total),
            "corrected_item_total" => each(&Scores::corrected),
            "alpha_if_deleted" => each(&Scores::alpha_without),
            "total_variance_population" => one(&Scores::variance),
            "kr20" => one(&Scores::kr20),
            "cronbach_alpha" => one(&Scores::alpha),
            "mean" => one(&Scores::mean),
            "deviation" => one(&Scores::deviation),
            "error" => one(&Scores::error),
            "total_scores" => {
                let (_, rows) = set.expect("of a data set");
                rows.iter().map(|row| row.iter().map(|x| f64::from(*x)).sum()).collect()
            }
            "point_biserial" => {
                // An item, and a second one that is all the rest.
                let (x, y) = (numbers(&inputs["x"]), numbers(&inputs["y"]));
                let rows: Vec<Vec<u8>> = x.iter().zip(&y).map(|(x, y)| vec![*x as u8, *y as u8]).collect();
                vec![scores(6, &rows).corrected(0).expect("there is one")]
            }
            "sem" => vec![standard_error(given("sd"), given("reliability"))],
            "spearman_brown" => vec![lengthened(given("reliability"), given("factor"))],
            other => panic!("nobody computes {other}"),
        };
        let wanted = match &case["expected"] {
            toml::Value::Table(table) => vec![number(&table["r"])],
            value => numbers(value),
        };
        assert_eq!(found.len(), wanted.len(), "{case}");
        let tolerance = number(&case["tolerance"]);
        for (found, wanted) in found.iter().zip(&wanted) {
            // Computed values are written with twelve figures after the point.
            assert!((found - wanted).abs() <= tolerance.max(1e-12), "{case}: {found}");
        }
    }
    assert_eq!(cases.len(), 34);
}

#[test]
fn what_does_not_exist_has_a_reason() {
    let all = |scores: &Scores| {
        [
            scores.difficulty(0),
            scores.corrected(0),
            scores.item_total(0),
            scores.alpha(),
            scores.alpha_without(0),
            scores.deviation(),
            scores.error(),
        ]
    };
    let nobody = scores(1, &[]);
    assert_eq!(nobody.mean(), Err(Absent::NoPeople));
    assert_eq!(nobody.difficulty(0), Err(Absent::NoItems));
    let none = Scores::new(3, 1);
    assert!(all(&none).iter().all(|figure| *figure == Err(Absent::NoPeople)));
    let one = scores(1, &[vec![1, 0, 1]]);
    assert_eq!(one.difficulty(1), Ok(0.0));
    assert!(all(&one)[1..].iter().all(|figure| *figure == Err(Absent::OnePerson)));
    for score in [0, 1] {
        let alike = scores(1, &[vec![score; 3], vec![score; 3], vec![score; 3]]);
        assert_eq!(alike.difficulty(2), Ok(f64::from(score)));
        assert_eq!(alike.corrected(0), Err(Absent::ItemAlike));
        assert_eq!(alike.item_total(0), Err(Absent::ItemAlike));
        assert_eq!(alike.alpha(), Err(Absent::TotalAlike));
        assert_eq!(alike.alpha_without(0), Err(Absent::RestAlike));
        assert_eq!(alike.deviation(), Ok(0.0));
        assert_eq!(alike.error(), Err(Absent::TotalAlike));
    }
    // Everybody has one of two, but not the same one.
    let crossed = scores(1, &[vec![1, 0], vec![0, 1]]);
    assert_eq!(crossed.alpha(), Err(Absent::TotalAlike));
    assert_eq!(crossed.item_total(0), Err(Absent::TotalAlike));
    assert_eq!(crossed.corrected(0), Ok(-1.0));
    assert_eq!(crossed.alpha_without(0), Err(Absent::TwoItems));
    let single = scores(1, &[vec![1], vec![0]]);
    assert_eq!(single.alpha(), Err(Absent::OneItem));
    assert_eq!(single.corrected(0), Err(Absent::OneItem));
    assert_eq!(single.item_total(0), Ok(1.0));
    // The third item has the same score for all, the others cancel each other.
    let rest = scores(1, &[vec![1, 1, 0], vec![0, 1, 0], vec![1, 1, 0]]);
    assert_eq!(rest.corrected(0), Err(Absent::RestAlike));
    assert_eq!(Scores::new(0, 1).alpha_without(0), Err(Absent::NoItems));
    let empty = scores(1, &[vec![], vec![]]);
    assert_eq!(empty.alpha(), Err(Absent::NoItems));
}

#[test]
fn contradicting_items_make_alpha_negative_and_the_error_no_larger_than_the_deviation() {
    let against = scores(1, &[vec![1, 0], vec![0, 1], vec![1, 0], vec![0, 1], vec![1, 1]]);
    // pingouin: cronbach_alpha of the same rows is -4.
    assert!((against.alpha().expect("there is one") + 4.0).abs() < 1e-12);
    assert_eq!(against.error(), against.deviation());
    assert_eq!(items_for(-4.0, 2, 0.8), None);
}

#[test]
fn a_missing_answer_counts_as_wrong() {
    let mut short = Scores::new(3, 1);
    let mut whole = Scores::new(3, 1);
    for (cut, row) in [(vec![1], [1, 0, 0]), (vec![1, 1], [1, 1, 0]), (vec![], [0, 0, 0])] {
        short.add(&cut);
        whole.add(&row);
    }
    assert_eq!(short, whole);
}

/// Alpha as textbooks write it, in two passes.
fn plain_alpha(rows: &[Vec<u8>]) -> f64 {
    let k = rows[0].len() as f64;
    let variance = |values: Vec<f64>| {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (values.len() as f64 - 1.0)
    };
    let column = |j: usize| rows.iter().map(|row| f64::from(row[j])).collect::<Vec<_>>();
    let within: f64 = (0..rows[0].len()).map(|j| variance(column(j))).sum();
    let totals = rows.iter().map(|row| row.iter().map(|x| f64::from(*x)).sum()).collect();
    k / (k - 1.0) * (1.0 - within / variance(totals))
}

/// A correlation as textbooks write it.
fn plain_correlation(x: &[f64], y: &[f64]) -> f64 {
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let (mx, my) = (mean(x), mean(y));
    let xy: f64 = x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum();
    let xx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
    let yy: f64 = y.iter().map(|y| (y - my).powi(2)).sum();
    xy / (xx * yy).sqrt()
}

/// Rows of points, from 0 to the full score.
fn tables() -> impl Strategy<Value = (u8, Vec<Vec<u8>>)> {
    (prop::sample::select(vec![1_u8, 5, 100]), 1_usize..9, 0_usize..13).prop_flat_map(
        |(full, items, people)| {
            (Just(full), prop::collection::vec(prop::collection::vec(0..=full, items), people))
        },
    )
}

proptest! {
    #[test]
    fn the_order_of_people_changes_nothing((full, rows) in tables(), turn in 0_usize..13) {
        let mut other = rows.clone();
        other.reverse();
        let len = other.len().max(1);
        other.rotate_left(turn % len);
        prop_assert_eq!(scores(full, &rows), scores(full, &other));
    }

    #[test]
    fn figures_are_numbers_in_their_ranges((full, rows) in tables()) {
        let table = scores(full, &rows);
        for item in 0..table.items() {
            for figure in [table.corrected(item), table.item_total(item)].into_iter().flatten() {
                prop_assert!((-1.0..=1.0).contains(&figure));
            }
            if let Ok(p) = table.difficulty(item) {
                prop_assert!((0.0..=1.0).contains(&p));
            }
            if let Ok(alpha) = table.alpha_without(item) {
                prop_assert!(alpha.is_finite() && alpha <= 1.0 + 1e-12);
            }
        }
        if let Ok(alpha) = table.alpha() {
            prop_assert!(alpha.is_finite() && alpha <= 1.0 + 1e-12);
            prop_assert!((alpha - plain_alpha(&rows)).abs() < 1e-9 * alpha.abs().max(1.0));
        }
        if let (Ok(error), Ok(deviation)) = (table.error(), table.deviation()) {
            prop_assert!(error.is_finite() && (0.0..=deviation).contains(&error));
        }
    }

    #[test]
    fn correlations_are_those_of_the_textbook((full, rows) in tables()) {
        let table = scores(full, &rows);
        for item in 0..table.items() {
            let own: Vec<f64> = rows.iter().map(|row| f64::from(row[item])).collect();
            let all: Vec<f64> = rows.iter().map(|row| row.iter().map(|x| f64::from(*x)).sum()).collect();
            let rest: Vec<f64> = all.iter().zip(&own).map(|(all, own)| all - own).collect();
            for (figure, other) in [(table.item_total(item), &all), (table.corrected(item), &rest)] {
                match figure {
                    Ok(r) => prop_assert!((r - plain_correlation(&own, other)).abs() < 1e-9),
                    Err(reason) => prop_assert!(!reason.words().is_empty()),
                }
            }
            let without: Vec<Vec<u8>> = rows
                .iter()
                .map(|row| row.iter().enumerate().filter(|(j, _)| *j != item).map(|(_, x)| *x).collect())
                .collect();
            if let Ok(alpha) = table.alpha_without(item) {
                prop_assert_eq!(Ok(alpha), scores(full, &without).alpha());
            }
        }
    }

    #[test]
    fn an_item_that_all_answer_alike_only_lengthens_the_paper((full, rows) in tables(), score in 0_u8..=100) {
        let table = scores(full, &rows);
        let longer: Vec<Vec<u8>> =
            rows.iter().map(|row| row.iter().copied().chain([score.min(full)]).collect()).collect();
        let longer = scores(full, &longer);
        let last = table.items();
        if table.people() > 1 {
            prop_assert_eq!(longer.corrected(last), Err(Absent::ItemAlike));
            prop_assert_eq!(longer.deviation(), table.deviation());
        }
        if let (Ok(before), Ok(after)) = (table.alpha(), longer.alpha()) {
            let k = table.items() as f64;
            let wanted = before * (k - 1.0) / k * (k + 1.0) / k;
            prop_assert!((after - wanted).abs() < 1e-9 * wanted.abs().max(1.0));
            prop_assert_eq!(longer.alpha_without(last), Ok(before));
        }
    }

    #[test]
    fn right_taken_for_wrong_leaves_reliability_and_turns_difficulty((full, rows) in tables()) {
        let table = scores(full, &rows);
        let turned: Vec<Vec<u8>> = rows.iter().map(|row| row.iter().map(|x| full - x).collect()).collect();
        let turned = scores(full, &turned);
        prop_assert_eq!(table.alpha(), turned.alpha());
        for item in 0..table.items() {
            prop_assert_eq!(table.corrected(item), turned.corrected(item));
            if let (Ok(p), Ok(q)) = (table.difficulty(item), turned.difficulty(item)) {
                prop_assert!((p + q - 1.0).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn so_many_items_more_do_bring_the_reliability(reliability in 0.01_f64..0.79, items in 1_usize..60) {
        if let Some(needed) = items_for(reliability, items, 0.8) {
            let at = |n: usize| lengthened(reliability, n as f64 / items as f64);
            prop_assert!(at(needed) >= 0.8 - 1e-9 && at(needed - 1) < 0.8);
        }
    }
}
