//! The radio book is whole: every topic of the list has its phrases, with examples, in every rule set that has it.

use hearback::callsign::Callsign;
use hearback::element::{Element, Standard};
use hearback::grammar::check;
use hearback::judge::{Situation, judge};
use hearback::rules::{Duty, RuleSet};
use serde::Deserialize;
use std::collections::BTreeSet;

#[derive(Deserialize)]
struct Book {
    topic: Vec<Topic>,
    owed: Vec<Row>,
    word: Vec<Word>,
}

#[derive(Deserialize)]
struct Row {
    name: String,
    elements: Vec<Owed>,
}

/// What one element of one phrase is owed: the same everywhere, or by rule set.
#[derive(Deserialize)]
struct Owed {
    phrase: String,
    element: String,
    duty: Option<String>,
    icao: Option<String>,
    eu: Option<String>,
    uk: Option<String>,
    us: Option<String>,
}

#[derive(Deserialize)]
struct Word {
    name: String,
    /// All four if left out.
    sets: Option<Vec<String>>,
    exchanges: Vec<Exchange>,
}

#[derive(Deserialize)]
struct Exchange {
    say: String,
    reply: String,
    verdict: String,
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

/// True if a rule set is among those named, or none is named.
fn has(sets: &Option<Vec<String>>, standard: Standard) -> bool {
    sets.as_ref().is_none_or(|sets| sets.iter().any(|set| set == standard.name()))
}

#[test]
fn every_topic_has_its_phrases_in_every_rule_set_that_has_it() {
    let mut lacking = Vec::new();
    for topic in book().topic {
        for standard in Standard::ALL {
            if !has(&topic.sets, standard) {
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

fn duty_name(duty: Duty) -> &'static str {
    match duty {
        Duty::ReadBack => "read back",
        Duty::ReadBackOrWilco => "read back or wilco",
        Duty::Acknowledge => "acknowledge",
        Duty::Carried => "carried",
        Duty::None => "none",
    }
}

#[test]
fn every_element_is_owed_as_the_published_lists_say() {
    let mut differing = Vec::new();
    let mut looked_at = 0;
    for row in book().owed {
        for owed in row.elements {
            let element = Element::parse(&owed.element).expect("an element");
            for standard in Standard::ALL {
                let wanted = match standard {
                    Standard::Icao => owed.icao.as_ref(),
                    Standard::Eu => owed.eu.as_ref(),
                    Standard::Uk => owed.uk.as_ref(),
                    Standard::Us => owed.us.as_ref(),
                };
                let wanted = wanted.or(owed.duty.as_ref()).expect("a duty for every rule set");
                let rules = RuleSet::builtin(standard);
                let found = rules.phrase(&owed.phrase).map_or("absent", |p| duty_name(p.duty(element)));
                looked_at += 1;
                if found != wanted {
                    let name = &row.name;
                    differing
                        .push(format!("{name}: {element} of `{}` in {standard} is {found}", owed.phrase));
                }
            }
        }
    }
    assert!(differing.is_empty(), "{}", differing.join("\n"));
    assert!(looked_at > 200, "{looked_at}");
}

#[test]
fn every_procedure_word_is_understood() {
    let mut differing = Vec::new();
    for word in book().word {
        for standard in Standard::ALL {
            if !has(&word.sets, standard) {
                continue;
            }
            let rules = RuleSet::builtin(standard);
            let situation = Situation {
                callsign: Callsign::parse("Whimbrel 214").expect("a callsign"),
                shortened: false,
            };
            for exchange in &word.exchanges {
                let judged = judge(&rules, &situation, &exchange.say, &exchange.reply);
                if judged.verdict.name() != exchange.verdict {
                    let faults = check::faults(&judged).join(", ");
                    differing.push(format!(
                        "{} in {standard}: {} → {}: {} ({faults})",
                        word.name,
                        exchange.say,
                        exchange.reply,
                        judged.verdict.name()
                    ));
                }
            }
        }
    }
    assert!(differing.is_empty(), "{}", differing.join("\n"));
}
