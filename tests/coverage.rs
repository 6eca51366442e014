//! The radio book is whole: every topic of the list has its phrases, with examples, in every rule set that has it.

use hearback::element::Standard;
use hearback::rules::RuleSet;
use serde::Deserialize;
use std::collections::BTreeSet;

#[derive(Deserialize)]
struct Book {
    topic: Vec<Topic>,
}

#[derive(Deserialize)]
struct Topic {
    name: String,
    /// All four if left out.
    sets: Option<Vec<String>>,
    phrases: Vec<String>,
}

fn book() -> Book {
    toml::from_str(include_str!("data/coverage.toml")).expect("TOML")
}

#[test]
fn every_topic_has_its_phrases_in_every_rule_set_that_has_it() {
    let mut lacking = Vec::new();
    for topic in book().topic {
        for standard in Standard::ALL {
            if topic.sets.as_ref().is_some_and(|s| !s.iter().any(|s| s == standard.name())) {
                continue;
            }
            let rules = RuleSet::builtin(standard);
            for id in &topic.phrases {
                if rules.phrase(id).is_none() {
                    lacking.push(format!("{}: no `{id}` in {standard}", topic.name));
                }
            }
        }
    }
    assert!(lacking.is_empty(), "{}", lacking.join("\n"));
}

#[test]
fn every_phrase_belongs_to_a_topic() {
    let mut stray = BTreeSet::new();
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        stray.extend(rules.phrases().iter().filter(|p| p.topic.is_none()).map(|p| p.id.to_string()));
    }
    assert!(stray.is_empty(), "in no topic: {stray:?}");
}
