//! `explain --coverage`: topics of the radio book and rule sets, with how many phrases and examples each has.

use crate::book::topics;
use crate::contract::RuleSets;
use crate::element::Standard;
use crate::error::{Result, exit};
use crate::grammar::load::chain;
use crate::machine;
use crate::rules::{RuleSet, Topic};
use serde::Serialize;
use serde_json::{Map, Value, json};
use std::io::Write;
use std::sync::Arc;

/// Phrases and examples of a topic, or of all.
#[derive(Debug, Default, Clone, Copy, Serialize)]
struct Counts {
    phrases: usize,
    examples: usize,
}

/// Counts by rule set.
type BySet = [(Standard, Counts); Standard::ALL.len()];

/// A topic with its counts.
struct Line {
    topic: Topic,
    counts: BySet,
}

/// Prints the table, or one object, and returns the exit status.
///
/// # Errors
/// The output can't be written.
pub fn run(sets: &dyn RuleSets, json: bool, out: &mut dyn Write) -> Result<u8> {
    let topics = topics(sets);
    let sets = Standard::ALL.map(|standard| (standard, sets.get(standard)));
    let mut total: BySet = Standard::ALL.map(|standard| (standard, Counts::default()));
    let mut lines = Vec::new();
    for topic in topics {
        let mut counts = total.map(|(standard, _)| (standard, Counts::default()));
        for (((standard, rules), (_, here)), (_, total)) in sets.iter().zip(&mut counts).zip(&mut total) {
            let phrases: Vec<&str> = in_topic(rules, &topic.id).collect();
            here.phrases = phrases.len();
            here.examples = phrases.iter().map(|id| examples(&sets, *standard, id)).sum();
            total.phrases += here.phrases;
            total.examples += here.examples;
        }
        lines.push(Line { topic, counts });
    }
    if json {
        as_json(&lines, &total, out)?
    } else {
        as_text(&lines, &total, out)?
    }
    Ok(exit::DONE)
}

fn as_json(lines: &[Line], total: &BySet, out: &mut dyn Write) -> Result<()> {
    let by_set = |counts: &BySet| -> Map<String, Value> {
        counts.iter().map(|(standard, counts)| (standard.name().to_owned(), json!(counts))).collect()
    };
    let topics: Vec<Value> = lines
        .iter()
        .map(|Line { topic, counts }| {
            json!({ "topic": topic.id, "title": topic.title, "phase": topic.phase.name(), "by_set": by_set(counts) })
        })
        .collect();
    machine::write(&json!({ "topics": topics, "all": by_set(total) }), out)
}

fn as_text(lines: &[Line], total: &BySet, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "Phrases and examples of each topic. A rule set has its own examples, or those of")?;
    writeln!(out, "the rules that it is built on; a dash: the rule set has no such phrase.")?;
    write!(out, "\n{:40}", "")?;
    for (standard, _) in total {
        write!(out, "{:>10}", standard.name())?;
    }
    writeln!(out)?;
    let mut last = None;
    for Line { topic: Topic { phase, title, .. }, counts } in lines {
        if last != Some(*phase) {
            writeln!(out, "{}", phase.name())?;
            last = Some(*phase);
        }
        write!(out, "  {title:38}")?;
        for (_, Counts { phrases, examples }) in counts {
            match phrases {
                0 => write!(out, "{:>10}", "–")?,
                phrases => write!(out, "{:>10}", format!("{phrases} / {examples}"))?,
            }
        }
        writeln!(out)?;
    }
    write!(out, "{:40}", "all")?;
    for (_, Counts { phrases, examples }) in total {
        write!(out, "{:>10}", format!("{phrases} / {examples}"))?;
    }
    writeln!(out)?;
    Ok(())
}

/// Ids of the phrases of a topic.
fn in_topic<'r>(rules: &'r RuleSet, topic: &str) -> impl Iterator<Item = &'r str> {
    let at = rules.topics.iter().position(|t| t.id == topic).and_then(|at| u16::try_from(at).ok());
    rules.phrases().iter().filter(move |p| p.topic.is_some() && p.topic == at).map(|p| &*p.id)
}

/// Examples of a phrase: the rule set's own, or those of the nearest rule set below it that has some.
fn examples(
    sets: &[(Standard, Arc<RuleSet>); Standard::ALL.len()],
    standard: Standard,
    phrase: &str,
) -> usize {
    chain(standard)
        .iter()
        .rev()
        .filter_map(|layer| sets.iter().find(|s| s.0 == *layer))
        .map(|(_, rules)| rules.examples.iter().filter(|e| e.id == phrase).count())
        .find(|&count| count > 0)
        .unwrap_or(0)
}
