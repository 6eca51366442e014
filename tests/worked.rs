//! The published examples: every verdict and every fault, as the data file states them.
//!
//! The sources of each example stand beside it in `tests/data/worked-examples.toml`.

use hearback::callsign::Callsign;
use hearback::element::{Severity, Standard};
use hearback::judge::{Situation, judge};
use hearback::rules::RuleSet;
use serde::Deserialize;

#[derive(Deserialize)]
struct File {
    example: Vec<Example>,
}

#[derive(Deserialize)]
struct Example {
    id: String,
    standard: String,
    callsign: String,
    say: String,
    reply: String,
    verdict: String,
    faults: Vec<Fault>,
}

#[derive(Deserialize)]
struct Fault {
    element: String,
    fault: String,
}

/// Ids that are not judged as published; one that is must not stand here.
const NOT_COVERED: &[&str] = &[];

#[test]
fn every_published_example_is_judged_as_published() {
    let file: File = toml::from_str(include_str!("data/worked-examples.toml")).expect("TOML");
    assert_eq!(file.example.len(), 191);
    let mut story = Vec::new();
    for example in &file.example {
        let standard = Standard::parse(&example.standard).expect("a rule set");
        let callsign = Callsign::parse(&example.callsign).expect("a callsign");
        let me = Situation { callsign, shortened: false };
        let judged = judge(&RuleSet::builtin(standard), &me, &example.say, &example.reply);
        let found = judged.findings.iter().filter(|f| f.severity > Severity::Advice);
        let mut found: Vec<_> = found.map(|f| format!("{} {}", f.element, f.fault.name())).collect();
        let mut wanted: Vec<_> =
            example.faults.iter().map(|f| format!("{} {}", f.element, f.fault)).collect();
        found.sort();
        wanted.sort();
        let holds = judged.verdict.name() == example.verdict && found == wanted;
        let listed = NOT_COVERED.contains(&example.id.as_str());
        if holds == listed {
            story.push(format!(
                "{} [{}]{}\n  say   {}\n  reply {}\n  want  {} {wanted:?}\n  got   {} {found:?}",
                example.id,
                example.standard,
                if listed { " is judged as published now: take it off the list" } else { "" },
                example.say,
                example.reply,
                example.verdict,
                judged.verdict.name()
            ));
        }
    }
    assert!(story.is_empty(), "{}", story.join("\n"));
}
