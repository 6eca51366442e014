//! The data that the binary carries: sound, complete, and sourced.

use hearback::element::Standard;
use hearback::grammar::check::{check_examples, without_examples};
use hearback::rules::RuleSet;
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn every_example_of_the_grammar_holds_in_every_rule_set() {
    for standard in Standard::ALL {
        let (problems, counted) = check_examples(&RuleSet::builtin(standard));
        assert!(problems.is_empty(), "{}", hearback::diagnostic::render(&problems, false));
        assert!(counted.phrases > 200);
    }
}

#[test]
fn every_phrase_has_a_source_and_a_reason_and_instructions_have_examples() {
    for standard in Standard::ALL {
        for phrase in RuleSet::builtin(standard).phrases() {
            assert!(!phrase.source.is_empty() && !phrase.why.is_empty(), "{} [{standard}]", phrase.id);
        }
        for rule in RuleSet::builtin(standard).rules() {
            assert!(!rule.source.is_empty() && !rule.why.is_empty(), "{} [{standard}]", rule.id);
        }
    }
    let lacking = without_examples(&RuleSet::builtin(Standard::Icao));
    assert!(lacking.is_empty(), "no right or no wrong example: {lacking:?}");
}

#[test]
fn all_data_files_are_embedded_and_nothing_else_lies_beside_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut there = BTreeSet::new();
    let mut folders = vec![root.join("grammar"), root.join("scenarios")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let inside = path.strip_prefix(root).expect("below the root");
                let inside = inside.to_string_lossy().replace('\\', "/");
                // Schemas for editors are kept beside the data; `tests/authors.rs` looks after them.
                if !(inside.starts_with(hearback::schema::FOLDER) && inside.ends_with(".schema.json")) {
                    there.insert(inside);
                }
            }
        }
    }
    let embedded = hearback::grammar::builtin_files().iter().chain(hearback::grammar::builtin_scenarios());
    let embedded: BTreeSet<String> = embedded.map(|f| f.0.to_owned()).collect();
    assert_eq!(embedded, there);
}
