//! Does spacing help? Learners of different kinds over ninety days, by the scheduler, by chance and in a fixed order.

#[path = "simulation/course.rs"]
mod course;
mod golden;
#[path = "simulation/learner.rs"]
mod learner;
#[path = "simulation/plot.rs"]
mod plot;

use course::{Course, Way, course, mean_course};
use golden::{data, golden};
use hearback::drill::skill::{Skill, catalogue};
use hearback::element::Standard;
use hearback::rules::RuleSet;
use learner::{KINDS, Kind};

const SEEDS: u64 = 8;

fn skills() -> Vec<Skill> {
    catalogue(&RuleSet::builtin(Standard::Icao))
}

/// The mean course of each way.
fn all_ways(kind: Kind, skills: &[Skill]) -> Vec<(Way, Course)> {
    let of = |way| (0..SEEDS).map(|seed| course(kind, way, skills, seed)).collect::<Vec<_>>();
    Way::ALL.into_iter().map(|way| (way, mean_course(&of(way)))).collect()
}

/// What the scheduler is ahead of the better of the two others.
fn ahead(ways: &[(Way, Course)], measure: fn(&Course) -> f64) -> f64 {
    let best = ways[1..].iter().map(|(_, course)| measure(course)).fold(0.0, f64::max);
    assert_eq!(ways[0].0, Way::Scheduler);
    measure(&ways[0].1) - best
}

#[test]
fn the_scheduler_keeps_more_than_chance_and_a_fixed_order_for_every_kind_of_learner() {
    let skills = skills();
    let mut table =
        format!("{:21}  {:12}  {:>4}  {:>5}  {:>4}\n", "learner", "chosen by", "end", "tried", "mean");
    let mut panels = Vec::new();
    for kind in KINDS {
        let ways = all_ways(kind, &skills);
        for (way, course) in &ways {
            let percent = |share: f64| format!("{:.1}", share * 100.0);
            table.push_str(&format!(
                "{:21}  {:12}  {:>4}  {:>5}  {:>4}\n",
                kind.name,
                way.name(),
                percent(course.end()),
                percent(course.mean_of_tried()),
                percent(course.mean())
            ));
        }
        // At the end, over all skills, those included that were never tried.
        let end = ahead(&ways, Course::end);
        assert!(end > 0.005, "{}: at the end {end:+.3}\n{table}", kind.name);
        // On every day, over the skills tried so far.
        let tried = ahead(&ways, Course::mean_of_tried);
        assert!(tried > 0.05, "{}: over the days {tried:+.3}\n{table}", kind.name);
        // On every day over all skills the slow learner is the exception: 20 items a day are too few for him, and
        // what is kept was paid for with what was not begun.
        let mean = ahead(&ways, Course::mean);
        assert!(mean > 0.0 || kind.name == "slow", "{}: over all days {mean:+.3}\n{table}", kind.name);
        panels.push((kind.name, ways));
    }
    golden(&data("simulation/recall.txt"), &table);
    golden(&data("simulation/recall.svg"), &plot::svg(&panels, skills.len(), SEEDS));
}

#[test]
fn a_course_is_the_same_every_time() {
    let skills = skills();
    for way in Way::ALL {
        let (one, two) = (course(KINDS[2], way, &skills, 3), course(KINDS[2], way, &skills, 3));
        assert_eq!(one.all, two.all, "{}", way.name());
    }
}
