//! Drills: every skill has its transmissions, the schedule keeps its laws, a dangerous slip comes back, transcripts.

mod golden;

use golden::{data, golden};
use hearback::crew::CrewBook;
use hearback::drill::history::{History, InMemory, Review};
use hearback::drill::items::{self, Item};
use hearback::drill::schedule::{Schedule, Want};
use hearback::drill::session::{Drill, Setup};
use hearback::drill::skill::{Skill, catalogue};
use hearback::drill::spacing::{Fsrs, Grade, Memory, Spacing};
use hearback::element::{Element, Severity, Standard, Verdict};
use hearback::judge::{Situation, judge};
use hearback::parse::{self, Speaker};
use hearback::rules::RuleSet;
use hearback::session::Ending;
use hearback::session::console::Script;
use jiff::{Span, ZonedDateTime};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

const SEEDS: u64 = 25;

fn skill(key: &str) -> Skill {
    Skill::parse(key).expect("a key")
}

/// A morning, counted from the first day.
fn morning(day: i64) -> ZonedDateTime {
    let first: ZonedDateTime = "2026-11-02T08:00:00+00:00[UTC]".parse().expect("a time");
    first.checked_add(Span::new().days(day)).expect("a day of this century")
}

fn review(key: &str, day: i64, right: bool, severity: Option<Severity>) -> Review {
    Review { skill: skill(key), at: morning(day).timestamp(), right, severity }
}

#[test]
fn every_skill_has_transmissions_that_are_understood_and_owe_it() {
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        let skills = catalogue(&rules);
        assert!(skills.len() > 100, "{standard}: {}", skills.len());
        for skill in &skills {
            let mut said = BTreeSet::new();
            for seed in 0..SEEDS {
                let callsign = items::callsign(standard, seed).expect("a callsign");
                let item = items::item(&rules, skill, &callsign, seed, 1);
                let Item { say, model, .. } =
                    item.unwrap_or_else(|| panic!("{skill}: no transmission with seed {seed}"));
                let me = Situation { callsign: callsign.clone(), shortened: false };
                let reading = parse::read(&rules, &say, Speaker::Controller);
                assert!(reading.unparsed.is_empty(), "{skill}: {say}");
                assert_eq!(reading.callsign, Some(callsign.written()), "{skill}: {say}");
                let judged = judge(&rules, &me, &say, &model);
                assert_eq!(judged.verdict, Verdict::Correct, "{skill}: {say} / {model}");
                let owed = judged.said.iter().any(|i| i.required && i.element == skill.element);
                assert!(owed, "{skill} is not owed in: {say}");
                said.insert(say.split_once(", ").expect("a callsign stands first").1.to_owned());
            }
            let many = [Element::Runway, Element::Level, Element::Squawk, Element::Frequency];
            if many.contains(&skill.element) {
                // Some words of a transponder are no numbers: ident, standby.
                assert!(said.len() as u64 > SEEDS / 2, "{skill}: few values: {said:?}");
            }
        }
    }
}

#[test]
fn the_same_seed_and_showing_give_the_same_item() {
    let rules = RuleSet::builtin(Standard::Uk);
    let callsign = items::callsign(Standard::Uk, 3).expect("a callsign");
    let item = |seed, showing| items::item(&rules, &skill("uk/take-off/runway"), &callsign, seed, showing);
    assert_eq!(item(3, 1), item(3, 1));
    assert_ne!(item(3, 1), item(3, 2));
    assert_ne!(item(3, 1), item(4, 1));
    assert_eq!(items::item(&rules, &skill("uk/no-topic/runway"), &callsign, 3, 1), None);
}

#[test]
fn skills_are_learned_in_the_order_of_a_flight_the_instruction_first() {
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        let skills = catalogue(&rules);
        let place = |topic: &str| rules.topics.iter().position(|t| t.id == topic).expect("a topic");
        assert!(skills.windows(2).all(|w| place(&w[0].topic) <= place(&w[1].topic)));
        for pair in skills.windows(2).filter(|w| w[0].topic == w[1].topic) {
            assert_ne!(pair[1].element, Element::Instruction, "{}", pair[1]);
        }
        let keys: BTreeSet<String> = skills.iter().map(Skill::to_string).collect();
        assert_eq!(keys.len(), skills.len());
        assert!(skills.iter().all(|skill| Skill::parse(&skill.to_string()).as_ref() == Some(skill)));
    }
    let skills = catalogue(&RuleSet::builtin(Standard::Icao));
    assert!(skills.contains(&skill("icao/line-up/runway")));
    let plan = Schedule::of(&[], &morning(0)).plan(&skills, Want::default());
    assert_eq!(plan.skills(), skills[..10], "the first ten");
}

#[test]
fn what_is_known_comes_after_longer_and_longer_times_and_what_slipped_tomorrow() {
    let key = "icao/line-up/runway";
    let mut reviews = Vec::new();
    let (mut day, mut gaps) = (0, Vec::new());
    for _ in 0..6 {
        reviews.push(review(key, day, true, None));
        let schedule = Schedule::of(&reviews, &morning(day));
        let standing = schedule.standing(&skill(key)).expect("it was tried").clone();
        let gap = i64::from(standing.last.until(standing.due).expect("days").get_days());
        gaps.push(gap);
        let of = [skill(key)];
        for early in day..day + gap {
            assert!(Schedule::of(&reviews, &morning(early)).due(&of).is_empty(), "day {early} of {gaps:?}");
        }
        assert_eq!(Schedule::of(&reviews, &morning(day + gap)).due(&of).len(), 1);
        day += gap;
    }
    // Half a year is the longest.
    assert!(gaps.windows(2).all(|w| w[0] < w[1] || w[1] == 180), "{gaps:?}");
    assert!(gaps[0] >= 2 && gaps[3] > 60, "{gaps:?}");
    let due = |severity| {
        let mut reviews = reviews.clone();
        reviews.push(review(key, day, false, Some(severity)));
        Schedule::of(&reviews, &morning(day)).standing(&skill(key)).expect("it was tried").due
    };
    assert!(due(Severity::Major) > morning(day).date());
    assert!(due(Severity::Major) < morning(day + gaps[5] / 3).date());
    assert_eq!(due(Severity::Critical), morning(day).date(), "a dangerous slip is due at once");
}

#[test]
fn nothing_comes_twice_before_its_time_and_no_day_has_more_that_is_new() {
    let skills = catalogue(&RuleSet::builtin(Standard::Icao));
    let want = Want { count: 15, new: 6, ahead: false };
    let mut reviews: Vec<Review> = Vec::new();
    let mut due: BTreeMap<Skill, ZonedDateTime> = BTreeMap::new();
    let mut introduced = Vec::new();
    for day in 0..40 {
        let mut new_today = 0;
        // Two sessions on a day are as one.
        for session in 0..2 {
            let now = morning(day).checked_add(Span::new().hours(session * 6)).expect("the same day");
            let plan = Schedule::of(&reviews, &now).plan(&skills, want);
            assert!(plan.skills().len() <= want.count);
            new_today += plan.new.len();
            introduced.extend(plan.new.clone());
            for (n, skill) in plan.skills().into_iter().enumerate() {
                if let Some(due) = due.get(&skill) {
                    assert!(now.date() >= due.date(), "{skill} on day {day}");
                }
                // One in four slips, never dangerously.
                let right = !(day as usize * 7 + n * 5).is_multiple_of(4);
                let severity = (!right).then_some(Severity::Minor);
                reviews.push(Review { skill: skill.clone(), at: now.timestamp(), right, severity });
                let standing = Schedule::of(&reviews, &now);
                let date = standing.standing(&skill).expect("it was tried").due;
                due.insert(skill, date.to_zoned_datetime(now.time_zone().clone()).expect("a day"));
            }
        }
        assert!(new_today <= want.new, "{new_today} on day {day}");
    }
    assert_eq!(introduced, skills[..introduced.len()], "in the order in which they are learned");
    assert!(introduced.len() > 60, "{}", introduced.len());
}

#[test]
fn a_schedule_follows_from_the_reviews_alone() {
    let mut reviews = vec![
        review("icao/line-up/runway", 0, true, None),
        review("icao/cross/runway", 1, false, Some(Severity::Critical)),
        review("icao/line-up/runway", 2, true, Some(Severity::Minor)),
        review("icao/cross/runway", 3, true, None),
    ];
    let of = [skill("icao/line-up/runway"), skill("icao/cross/runway")];
    let shown = |reviews: &[Review]| {
        let schedule = Schedule::of(reviews, &morning(9));
        of.iter().map(|skill| schedule.standing(skill).cloned()).collect::<Vec<_>>()
    };
    let first = shown(&reviews);
    reviews.reverse();
    assert_eq!(first, shown(&reviews));
    assert_eq!(first[1].as_ref().map(|standing| standing.tries), Some((2, 1)));
    // A review of a time to come counts as made now.
    let early = Schedule::of(&reviews, &morning(2));
    assert_eq!(early.standing(&of[1]).expect("it was tried").last, morning(2).date());
}

#[test]
fn the_hour_of_a_drill_does_not_matter() {
    let reviews = [Review { at: morning(0).timestamp(), ..review("icao/cross/runway", 0, true, None) }];
    let schedule = |hours: i64| {
        let now = morning(1).checked_add(Span::new().hours(hours)).expect("a time");
        let schedule = Schedule::of(&reviews, &now);
        schedule.standing(&skill("icao/cross/runway")).expect("it was tried").clone()
    };
    assert_eq!(schedule(-7), schedule(15));
}

#[test]
fn another_way_of_spacing_can_take_its_place() {
    /// Boxes: each right reply doubles the days, a slip begins again.
    struct Boxes;
    impl Spacing for Boxes {
        fn first(&self, _: Grade) -> Memory {
            Memory { stability: 1.0, difficulty: 5.0 }
        }
        fn next(&self, memory: Memory, _: u32, grade: Grade) -> Memory {
            let days = if grade == Grade::Again { 1.0 } else { memory.stability * 2.0 };
            Memory { stability: days, ..memory }
        }
        fn interval(&self, memory: Memory) -> u32 {
            memory.stability as u32
        }
        fn recall(&self, memory: Memory, days: u32) -> f64 {
            0.9f64.powf(f64::from(days) / memory.stability)
        }
    }
    let reviews: Vec<Review> = [0, 1, 3].map(|day| review("icao/cross/runway", day, true, None)).to_vec();
    let schedule = Schedule::spaced(&Boxes, &reviews, &morning(3));
    assert_eq!(schedule.standing(&skill("icao/cross/runway")).expect("tried").due, morning(7).date());
}

#[test]
fn memory_fades_and_reviews_prolong_it() {
    let fsrs = Fsrs::default();
    for grade in [Grade::Again, Grade::Hard, Grade::Good] {
        let first = fsrs.first(grade);
        let recalls: Vec<f64> = (0..100).map(|day| fsrs.recall(first, day)).collect();
        assert!((recalls[0] - 1.0).abs() < 1e-9 && recalls.windows(2).all(|w| w[0] > w[1]));
        for days in 0..60 {
            let next = |grade| fsrs.next(first, days, grade).stability;
            assert!(next(Grade::Good) >= first.stability, "{grade:?} {days}");
            assert!(next(Grade::Again) <= next(Grade::Hard), "{grade:?} {days}");
            assert!(next(Grade::Hard) <= next(Grade::Good), "{grade:?} {days}");
            assert!((1..=180).contains(&fsrs.interval(fsrs.next(first, days, grade))));
        }
    }
}

/// A drill of some skills by a script that is made from the items: given its number and the item, a reply.
fn drill(
    keys: &[&str],
    seed: u64,
    history: &mut InMemory,
    items: usize,
    reply: impl Fn(u64, &Skill, &Item) -> String,
) -> (Ending, String, Vec<Skill>) {
    let rules = RuleSet::builtin(Standard::Icao);
    let callsign = items::callsign(Standard::Icao, seed).expect("a callsign");
    let mut order: Vec<Skill> = keys.iter().map(|key| skill(key)).collect();
    // What comes back comes after two others: the script finds out what comes by playing ever longer drills.
    loop {
        let mut kept = history.clone();
        let lines: Vec<String> = (1..)
            .zip(&order)
            .take(items)
            .map(|(n, skill)| {
                let item = items::item(&rules, skill, &callsign, seed, n).expect("an item");
                reply(n, skill, &item)
            })
            .collect();
        // Silence is asked about once.
        let twice = lines.iter().flat_map(|line| vec![line.as_str(); if line.is_empty() { 2 } else { 1 }]);
        let mut script = Script::of_lines(80, twice);
        let clock = || morning(0);
        let setup = Setup {
            keeper: None,
            rules: Arc::clone(&rules),
            book: CrewBook::builtin().expect("the book is in order"),
            history: &mut kept,
            clock: &clock,
            skills: keys.iter().map(|key| skill(key)).collect(),
            want: Want::default(),
            seed,
            styled: false,
        };
        let mut out = Vec::new();
        let mut drill = Drill::new(setup, &mut script, &mut out).expect("a drill");
        let ending = drill.run().expect("a script never fails");
        let shown = String::from_utf8(out).expect("the screen is text");
        let tried: Vec<Skill> = kept.0[history.0.len()..].iter().map(|review| review.skill.clone()).collect();
        let heading = shown.rsplit("once more: ").next().filter(|_| shown.contains("once more: "));
        if ending == Ending::Finished || order.len() >= items {
            *history = kept;
            return (ending, shown, tried);
        }
        // The item that was shown last and not answered.
        let heading = heading.unwrap_or_else(|| panic!("nothing comes back:\n{shown}"));
        let next = keys.iter().map(|key| skill(key)).find(|skill| {
            let title = rules.topics.iter().find(|t| t.id == skill.topic).map_or("", |t| &t.title);
            heading.starts_with(&format!("{title}, {}\n", hearback::feedback::label(skill.element)))
        });
        order.push(next.unwrap_or_else(|| panic!("what came back?\n{shown}")));
    }
}

const FOUR: [&str; 4] =
    ["icao/line-up/instruction", "icao/line-up/runway", "icao/landing/runway", "icao/transponder/squawk"];

#[test]
fn a_dangerous_slip_comes_back_in_the_same_session() {
    let mut history = InMemory::default();
    let wrong = |n, skill: &Skill, item: &Item| match (n, skill.element) {
        (2, Element::Runway) => {
            let turned = ["zero", "one", "two", "three"]
                .iter()
                .fold(item.model.clone(), |text, word| text.replace(&format!("runway {word}"), "runway *"));
            turned.replace(
                "runway *",
                if item.say.contains("runway zero") { "runway two" } else { "runway zero" },
            )
        }
        _ => item.model.clone(),
    };
    let (ending, shown, tried) = drill(&FOUR, 5, &mut history, 9, wrong);
    assert_eq!(ending, Ending::Finished, "{shown}");
    let order: Vec<String> = tried.iter().map(Skill::to_string).collect();
    let wanted = [FOUR[0], FOUR[1], FOUR[2], FOUR[3], FOUR[1]];
    assert_eq!(order, wanted, "{shown}");
    assert!(history.0[1].is_critical_slip(), "{:?}", history.0[1]);
    assert!(history.0[4].right);
    assert!(shown.contains("would have been dangerous"), "{shown}");
    assert!(shown.contains("right again"), "{shown}");
    // In the end nothing is left for today.
    assert!(Schedule::of(&history.0, &morning(0)).due(&FOUR.map(skill)).is_empty());
}

#[test]
fn a_skill_that_slips_every_time_comes_back_twice_and_is_due_in_the_next_session() {
    let mut history = InMemory::default();
    let silent = |_, skill: &Skill, item: &Item| match skill.element {
        Element::Runway if skill.topic == "line-up" => String::new(),
        _ => item.model.clone(),
    };
    let (ending, shown, tried) = drill(&FOUR, 6, &mut history, 9, silent);
    assert_eq!(ending, Ending::Finished, "{shown}");
    assert_eq!(tried.iter().filter(|s| **s == skill(FOUR[1])).count(), 3, "{shown}");
    let schedule = Schedule::of(&history.0, &morning(0));
    let due: Vec<&Skill> = schedule.due(&FOUR.map(skill)).iter().map(|s| &s.skill).collect();
    assert_eq!(due, [&skill(FOUR[1])]);
    // Nothing is new today: the cap counts skills, not tries.
    assert_eq!(schedule.introduced_today(), 4);
}

#[test]
fn a_slip_counts_for_the_skill_of_its_element() {
    let say = |lines: &[&str]| {
        let mut history = InMemory::default();
        let rules = RuleSet::builtin(Standard::Icao);
        let clock = || morning(0);
        let mut script = Script::of_lines(80, lines.iter().copied());
        let setup = Setup {
            keeper: None,
            rules,
            book: CrewBook::builtin().expect("the book is in order"),
            history: &mut history,
            clock: &clock,
            skills: vec![skill("icao/line-up/runway")],
            want: Want { count: 1, ..Want::default() },
            seed: 2,
            styled: false,
        };
        let mut out = Vec::new();
        Drill::new(setup, &mut script, &mut out).expect("a drill").run().expect("a script never fails");
        let kept = history.reviews().expect("in memory");
        let first: Vec<(String, bool, Option<Severity>)> =
            kept.iter().take(2).map(|r| (r.skill.to_string(), r.right, r.severity)).collect();
        (first, String::from_utf8(out).expect("text"))
    };
    let rules = RuleSet::builtin(Standard::Icao);
    let callsign = items::callsign(Standard::Icao, 2).expect("a callsign");
    let item = items::item(&rules, &skill("icao/line-up/runway"), &callsign, 2, 1).expect("an item");
    let own = |right, severity| ("icao/line-up/runway".to_owned(), right, severity);
    let runway = item.model.split("runway ").nth(1).expect("a runway").split(", ").next().expect("words");
    let named = callsign.spoken(Standard::Icao);
    // All of it.
    assert_eq!(say(&[&item.model]).0, [own(true, None)]);
    // The instruction is lost: that is another skill.
    let (kept, shown) = say(&[&format!("runway {runway}, {named}")]);
    assert_eq!(kept[0], own(true, None), "{shown}");
    assert_eq!(kept[1], ("icao/line-up/instruction".to_owned(), false, Some(Severity::Critical)), "{shown}");
    // The callsign is nobody's skill: it counts for the one that was tried.
    let without = item.model.replace(&format!(", {named}"), "");
    assert_eq!(say(&[&without]).0, [own(false, Some(Severity::Major))]);
    // Silence, and a reply that was read off the hint.
    assert!(!say(&["", ""]).0[0].1);
    assert_eq!(say(&["/hint", "/hint", "/hint", &item.model]).0, [own(false, Some(Severity::Minor))]);
    assert_eq!(say(&["/hint", &item.model]).0, [own(true, Some(Severity::Advice))]);
    // What is asked again costs nothing, and what is left is not kept.
    assert_eq!(say(&["say again", &item.model]).0, [own(true, None)]);
    assert_eq!(say(&["/skip"]).0, []);
    assert_eq!(say(&["unable", "unable"]).0, []);
    assert_eq!(say(&["quit", "/frobnicate", "/quit"]).0, []);
}

fn hearback(args: &[&str], input: &str) -> (i32, String, String) {
    let output = snapbox::cmd::Command::new(snapbox::cmd::cargo_bin("hearback"))
        .args(args)
        .env("HEARBACK_RECORD", "")
        // No choices of whoever runs the tests.
        .env("XDG_CONFIG_HOME", "nowhere")
        .env("HEARBACK_NOW", "2026-11-26T08:00:00+00:00[UTC]")
        .env("COLUMNS", "80")
        .stdin(input)
        .output()
        .expect("the program runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (output.status.code().unwrap_or(-1), text(output.stdout), text(output.stderr))
}

#[test]
fn transcript_of_a_drill_through_a_pipe() {
    let input = std::fs::read_to_string(data("drill/first.in")).expect("the script is there");
    let (status, shown, err) =
        hearback(&["drill", "--topic", "line-up", "--count", "3", "--seed", "11"], &input);
    assert_eq!((status, err.as_str()), (0, ""), "{shown}");
    golden(&data("drill/first.out"), &shown);
    let columns = hearback::session::screen::columns;
    assert!(shown.lines().filter(|l| !l.contains("> ")).all(|l| columns(l) <= 80), "too wide:\n{shown}");
}

#[test]
fn what_is_due_is_listed_for_people_and_programs() {
    let (status, shown, _) = hearback(&["drill", "--due", "--new", "3", "--standard", "us"], "");
    assert_eq!(status, 0);
    assert!(shown.starts_with("Due today: 0 skills (rule set us)\nNew today: 3 skills\n"), "{shown}");
    let (status, shown, _) = hearback(&["drill", "--due", "--json", "--topic", "line-up"], "");
    let list: serde_json::Value = serde_json::from_str(&shown).expect("one object");
    assert_eq!(status, 0);
    assert_eq!(list["today"], "2026-11-26");
    assert_eq!(list["new"][0], "icao/line-up/instruction");
    assert_eq!(list["due"].as_array().map(Vec::len), Some(0));
    let (status, _, err) = hearback(&["drill", "--topic", "line-upp"], "");
    assert_eq!((status, err.as_str()), (2, "hearback: no topic `line-upp`; did you mean `line-up`?\n"));
    let (status, _, err) = hearback(&["drill", "--json"], "");
    assert!(status == 2 && err.contains("--due"), "{err}");
}

#[test]
fn nothing_left_for_today_is_said() {
    let (status, shown, _) = hearback(&["drill", "--new", "0"], "");
    assert_eq!(status, 0);
    assert!(shown.contains("Nothing is left for today."), "{shown}");
}

#[test]
fn what_was_drilled_is_kept_and_comes_back_on_another_day() {
    let folder = tempfile::tempdir().expect("a folder");
    let record = folder.path().join("record.db");
    let run = |now: &str, args: &[&str], input: &str| {
        let output = snapbox::cmd::Command::new(snapbox::cmd::cargo_bin("hearback"))
            .args(args)
            .env("HEARBACK_RECORD", &record)
            .env("XDG_CONFIG_HOME", folder.path())
            .env("HEARBACK_NOW", now)
            .stdin(input)
            .output()
            .expect("the program runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("text")
    };
    let list = |now: &str| -> serde_json::Value {
        serde_json::from_str(&run(now, &["drill", "--due", "--json"], "")).expect("one object")
    };
    let first = list("2026-11-26T08:00:00+00:00[UTC]");
    assert_eq!(first["due"].as_array().map(Vec::len), Some(0));
    run(
        "2026-11-26T08:00:00+00:00[UTC]",
        &["drill", "--topic", "line-up", "--count", "2", "--seed", "3"],
        "roger\nroger\n",
    );
    let later = list("2026-12-20T08:00:00+00:00[UTC]");
    let due = later["due"].as_array().expect("a list");
    assert!(!due.is_empty() && due.iter().all(|skill| skill["slips"].as_u64() >= Some(1)), "{later:#}");
    assert!(later["untried"].as_u64() < first["untried"].as_u64(), "{later:#}");
}
