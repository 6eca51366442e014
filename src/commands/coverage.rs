//! `explain --coverage`: topics of the radio book and rule sets, with how many phrases and examples each has.

use crate::book::topics;
use crate::contract::RuleSets;
use crate::element::Standard;
use crate::error::{Result, exit};
use crate::grammar::load::chain;
use crate::rules::{RuleSet, Topic};
use std::io::Write;
use std::sync::Arc;

/// Prints the table and returns the exit status.
///
/// # Errors
/// The output can't be written.
pub fn run(sets: &dyn RuleSets, out: &mut dyn Write) -> Result<u8> {
    let topics = topics(sets);
    let sets = Standard::ALL.map(|standard| (standard, sets.get(standard)));
    writeln!(out, "Phrases and examples of each topic. A rule set has its own examples, or those of")?;
    writeln!(out, "the rules that it is built on; a dash: the rule set has no such phrase.")?;
    write!(out, "\n{:40}", "")?;
    for (standard, _) in &sets {
        write!(out, "{:>10}", standard.name())?;
    }
    writeln!(out)?;
    let mut total = [(0, 0); Standard::ALL.len()];
    let mut last = None;
    for Topic { phase, id, title } in &topics {
        if last != Some(*phase) {
            writeln!(out, "{}", phase.name())?;
            last = Some(*phase);
        }
        write!(out, "  {title:38}")?;
        for ((standard, rules), total) in sets.iter().zip(&mut total) {
            let phrases: Vec<&str> = in_topic(rules, id).collect();
            let examples: usize = phrases.iter().map(|id| examples(&sets, *standard, id)).sum();
            total.0 += phrases.len();
            total.1 += examples;
            if phrases.is_empty() {
                write!(out, "{:>10}", "–")?;
            } else {
                write!(out, "{:>10}", format!("{} / {examples}", phrases.len()))?;
            }
        }
        writeln!(out)?;
    }
    write!(out, "{:40}", "all")?;
    for (phrases, examples) in total {
        write!(out, "{:>10}", format!("{phrases} / {examples}"))?;
    }
    writeln!(out)?;
    Ok(exit::DONE)
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
