//! Patterns of the grammar as a pilot can read them: `HOLD SHORT OF RUNWAY (number)`.
//!
//! Words to be said stand in capitals, values in round brackets, what may be left out in square brackets,
//! and one of several in braces.

use crate::diagnostic::clean;
use crate::element::Standard;
use crate::grammar::notation::{self, Node};
use crate::parse::slots::Builtin;
use crate::rules::{FormRule, RuleSet, SlotRef, Template};

/// A vocabulary of at most so many values is written out.
const FEW: usize = 3;

/// Small words that nobody misses: left out where they may be.
const SMALL: [&str; 15] =
    ["the", "a", "an", "your", "our", "my", "is", "are", "you", "that", "this", "we", "i", "and", "it"];

/// Writes patterns of one rule set.
#[derive(Clone, Copy)]
pub(crate) struct Writer<'r> {
    rules: &'r RuleSet,
}

impl<'r> Writer<'r> {
    pub(crate) fn new(rules: &'r RuleSet) -> Self {
        Self { rules }
    }

    /// The pattern, readable. One that can't be read stands as it is.
    pub(crate) fn write(&self, pattern: &str) -> String {
        let text = match notation::parse_template(pattern) {
            Ok(node) => self.outer(&node),
            Err(_) => pattern.to_owned(),
        };
        clean(&text.replace(" ,", ",")).into_owned()
    }

    /// How a phrase is answered: a value that the phrase takes from a vocabulary is written as there.
    pub(crate) fn write_model(&self, model: &str, says: &[String]) -> String {
        let slots = || says.iter().flat_map(|s| s.split('<').skip(1)).filter_map(|s| s.split('>').next());
        let mut text = model.to_owned();
        let named: Vec<&str> = model.split('<').skip(1).filter_map(|s| s.split('>').next()).collect();
        for name in named.into_iter().filter(|name| !name.contains(':') && !slots().any(|s| s == *name)) {
            let own = slots().find(|s| s.split_once(':').is_some_and(|(element, _)| element == name));
            if let Some(own) = own {
                text = text.replace(&format!("<{name}>"), &format!("<{own}>"));
            }
        }
        self.write(&text)
    }

    fn node(&self, node: &Node) -> String {
        match node {
            Node::Sequence(items) => self.sequence(items),
            Node::Either(items) => match self.either(items) {
                one if !one.contains(" / ") => one,
                several => format!("{{{several}}}"),
            },
            Node::Optional(item) if small(item) => String::new(),
            Node::Optional(item) => match self.outer(item) {
                nothing if nothing.is_empty() => nothing,
                inner => format!("[{inner}]"),
            },
            Node::Word(word) => word.to_uppercase(),
            Node::Slot(element, slot) => self.slot(element, slot),
        }
    }

    /// A node that other brackets, or none, stand around: alternatives need no braces.
    fn outer(&self, node: &Node) -> String {
        match node {
            Node::Either(items) => self.either(items),
            Node::Sequence(items) if items.len() == 1 => self.outer(&items[0]),
            other => self.node(other),
        }
    }

    /// The alternatives, each once.
    fn either(&self, items: &[Node]) -> String {
        let mut out: Vec<String> = Vec::new();
        for item in items {
            let text = self.node(item);
            if !text.is_empty() && !out.contains(&text) {
                out.push(text);
            }
        }
        out.join(" / ")
    }

    fn sequence(&self, items: &[Node]) -> String {
        let mut out: Vec<String> = Vec::new();
        for (i, item) in items.iter().enumerate() {
            let text = match (item, items.get(i + 1)) {
                (Node::Slot(_, slot), _) if bare(slot, out.last()) => self.bare(slot).to_owned(),
                // "To" belongs before an altitude and not before a flight level.
                (Node::Word(word), Some(Node::Slot(_, slot)))
                    if word == "to" && slot == "level" && self.rules.on(FormRule::LevelNoTo) =>
                {
                    "[TO]".to_owned()
                }
                _ => self.node(item),
            };
            // Several restrictions may follow one another: told once.
            let again = text.starts_with('[') && out.last() == Some(&text);
            if !text.is_empty() && !again {
                out.push(text);
            }
        }
        out.join(" ")
    }

    fn slot(&self, element: &str, slot: &str) -> String {
        if let Some(builtin) = Builtin::ALL.iter().find(|b| b.name() == slot) {
            return self.builtin(*builtin, element).to_owned();
        }
        let Some(data) = self.rules.slots.iter().find(|s| s.name == slot) else {
            return format!("({})", slot.replace('_', " "));
        };
        let models = || data.models.iter().map(|m| self.template(m)).filter(|m| !m.is_empty());
        match data.models.len() {
            1 => models().collect(),
            2..=FEW => format!("{{{}}}", models().collect::<Vec<_>>().join(" / ")),
            _ => format!("({})", data.title),
        }
    }

    /// A value without the word that belongs to it.
    fn bare(&self, slot: &str) -> &'static str {
        match slot {
            "heading" => "(three digits)",
            _ if self.rules.standard == Standard::Us => "(four digits)",
            _ => "(setting)",
        }
    }

    fn builtin(&self, builtin: Builtin, element: &str) -> &'static str {
        let us = self.rules.standard == Standard::Us;
        match builtin {
            Builtin::Runway => "RUNWAY (number)",
            Builtin::Level => "(level)",
            Builtin::Heading => "HEADING (three digits)",
            Builtin::Bearing => "(three digits)",
            Builtin::Degrees => "(number) DEGREES",
            Builtin::Speed => "(speed)",
            Builtin::Rate => "(number) FEET PER MINUTE",
            Builtin::Frequency => "(frequency)",
            Builtin::Squawk => "(four digits)",
            Builtin::Altimeter if us => "ALTIMETER (four digits)",
            Builtin::Altimeter => "QNH (setting)",
            Builtin::Time => "(time)",
            Builtin::Minutes | Builtin::Number => "(number)",
            Builtin::Information => "(letter)",
            Builtin::Stand => "STAND (number)",
            Builtin::HoldingPoint => "(holding point)",
            Builtin::TaxiRoute => "(taxiways)",
            Builtin::Point => "(point)",
            Builtin::Place => "(place)",
            Builtin::Procedure if element == "sid" => "(departure)",
            Builtin::Procedure if element == "star" => "(arrival)",
            Builtin::Procedure => "(procedure)",
            Builtin::Airway => "(airway)",
            Builtin::Unit => "(station)",
            Builtin::Distance => "(number) MILES",
            Builtin::Clock => "(number) O'CLOCK",
            Builtin::Wind => "(wind)",
            Builtin::Aircraft => "(aircraft)",
            Builtin::Callsign => "(callsign)",
            Builtin::Temperature => "(temperature)",
        }
    }

    /// How a value of a vocabulary is said.
    fn template(&self, template: &Template) -> String {
        match template {
            Template::Sequence(items) => {
                let mut out: Vec<String> = Vec::new();
                for item in items {
                    let text = match item {
                        Template::Slot(_, Some(SlotRef::Builtin(b))) if bare(b.name(), out.last()) => {
                            self.bare(b.name()).to_owned()
                        }
                        _ => self.template(item),
                    };
                    if !text.is_empty() {
                        out.push(text);
                    }
                }
                out.join(" ").replace(" ,", ",")
            }
            // The first is as good as the others.
            Template::Either(items) => items.first().map(|t| self.template(t)).unwrap_or_default(),
            Template::Optional(_) => String::new(),
            Template::Word(word, _) => word.to_uppercase(),
            Template::Slot(_, Some(SlotRef::Builtin(builtin))) => self.builtin(*builtin, "").to_owned(),
            Template::Slot(_, Some(SlotRef::Data(data))) => {
                let slot = self.rules.slots.get(usize::from(*data));
                slot.map_or_else(String::new, |slot| self.slot("", &slot.name))
            }
            Template::Slot(_, None) => String::new(),
        }
    }

    /// The vocabularies too large for a pattern: what the bracket says, and how some of its values are said.
    pub(crate) fn vocabulary(&self, patterns: &str) -> Vec<(String, Vec<String>)> {
        let mut out: Vec<(String, Vec<String>)> = Vec::new();
        for slot in self.rules.slots.iter().filter(|s| s.models.len() > FEW) {
            let label = slot.title.clone();
            let used = patterns.contains(&format!("({label})"));
            if !used || out.iter().any(|o| o.0 == label) {
                continue;
            }
            let mut values: Vec<String> = Vec::new();
            for value in slot.models.iter().map(|m| clean(&self.template(m)).into_owned()) {
                if !value.is_empty() && !values.contains(&value) {
                    values.push(value);
                }
            }
            out.push((label, values));
        }
        out.sort();
        out
    }
}

/// True if the word before a value is already the one that belongs to it.
fn bare(slot: &str, before: Option<&String>) -> bool {
    let Some(before) = before.map(String::as_str) else { return false };
    match slot {
        "heading" => ["HEADING", "TRACK", "COURSE", "RADIAL"].contains(&before),
        "altimeter" => ["ALTIMETER", "SETTING", "QNH"].contains(&before),
        _ => false,
    }
}

/// True if nothing is in it but small words.
fn small(node: &Node) -> bool {
    match node {
        Node::Word(word) => SMALL.contains(&word.to_lowercase().as_str()),
        Node::Sequence(items) | Node::Either(items) => items.iter().all(small),
        Node::Optional(item) => small(item),
        Node::Slot(..) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn reads(standard: Standard, pattern: &str, readable: &str) {
        assert_eq!(Writer::new(&RuleSet::builtin(standard)).write(pattern), readable);
    }

    #[test]
    fn words_are_capitals_values_stand_in_brackets_and_small_words_go() {
        let icao = Standard::Icao;
        reads(icao, "hold short [of | to] [the] <runway>", "HOLD SHORT [OF / TO] RUNWAY (number)");
        reads(
            icao,
            "(turn | fly) [<turn>] <heading>",
            "{TURN / FLY} [{LEFT / RIGHT}] HEADING (three digits)",
        );
        reads(icao, "(roger | wilco)", "ROGER / WILCO");
        reads(icao, "climb <level> [<restriction>] [<restriction>]", "CLIMB (level) [(restriction)]");
        reads(icao, "cross <runway>, <_:callsign>", "CROSS RUNWAY (number), (callsign)");
        reads(icao, "<broken", "<broken");
    }

    #[test]
    fn an_answer_takes_its_values_from_where_the_phrase_does() {
        let rules = RuleSet::builtin(Standard::Icao);
        let says = ["[squawk] <squawk:transponder_ident>".to_owned()];
        assert_eq!(Writer::new(&rules).write_model("squawk <squawk>", &says), "SQUAWK IDENT");
    }

    #[test]
    fn a_rule_set_has_its_own_words_for_values() {
        reads(Standard::Uk, "climb to <level>", "CLIMB [TO] (level)");
        reads(Standard::Us, "altimeter setting <altimeter>", "ALTIMETER SETTING (four digits)");
        reads(Standard::Us, "<altimeter>", "ALTIMETER (four digits)");
    }
}
