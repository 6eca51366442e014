//! Drills: every skill has its transmissions, the schedule keeps its laws, a dangerous slip comes back, transcripts.

mod golden;

use hearback::callsign::Callsign;
use hearback::drill::items::{self, Item};
use hearback::drill::skill::{Skill, catalogue};
use hearback::element::{Standard, Verdict};
use hearback::judge::{Situation, judge};
use hearback::parse::{self, Speaker};
use hearback::rules::RuleSet;
use std::collections::BTreeSet;

const SEEDS: u64 = 25;

#[track_caller]
fn made(rules: &RuleSet, skill: &Skill, callsign: &Callsign, seed: u64) -> Item {
    match items::item(rules, skill, callsign, seed, 1) {
        Some(item) => item,
        None => panic!("{skill}: no transmission with seed {seed}"),
    }
}

#[test]
fn every_skill_has_transmissions_that_are_understood_and_owe_it() {
    let mut failed = Vec::new();
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        for skill in catalogue(&rules) {
            for seed in 0..SEEDS {
                let callsign = items::callsign(standard, seed).expect("a callsign");
                let Some(item) = items::item(&rules, &skill, &callsign, seed, 1) else {
                    failed.push(format!("{skill} {seed}"));
                    continue;
                };
                if std::env::var("SHOW").is_ok() && seed < 3 {
                    eprintln!("{skill:40} {}\n{:40} {}", item.say, "", item.model);
                }
                let me = Situation { callsign: callsign.clone(), shortened: false };
                let reading = parse::read(&rules, &item.say, Speaker::Controller);
                assert!(reading.unparsed.is_empty(), "{skill}: {}", item.say);
                assert_eq!(reading.callsign, Some(callsign.written()), "{skill}: {}", item.say);
                let judged = judge(&rules, &me, &item.say, &item.model);
                assert_eq!(judged.verdict, Verdict::Correct, "{skill}: {} / {}", item.say, item.model);
                let owed = judged.said.iter().any(|i| i.required && i.element == skill.element);
                assert!(owed, "{skill} is not owed in: {}", item.say);
            }
        }
    }
    assert!(failed.is_empty(), "no transmission for: {}", failed.join(", "));
}
