//! A right reply in the rule set's spoken form, made from the elements of the transmission.

use super::Case;
use crate::callsign::Callsign;
use crate::element::{Element, Standard};
use crate::grammar::notation::Node;
use crate::parse::slots::{Builtin, Match, View};
use crate::parse::{Heard, canonical};
use crate::rules::{Duty, PhraseKind, RuleSet, SlotRef};
use crate::text::speak;
use crate::text::token::Atom;

/// A value that a template can take: element, slot, reading.
#[derive(Debug, Clone, Copy)]
struct Filled {
    element: Element,
    slot: SlotRef,
    found: Match,
    used: bool,
}

/// The model read-back of a case.
pub(crate) fn model(case: &Case<'_>) -> String {
    let rules = case.rules;
    let mut parts: Vec<String> = Vec::new();
    let (mut wilco, mut question) = (false, false);
    let mut clauses: Vec<u16> = Vec::new();
    for need in &case.needs.list {
        let clause = need.heard.clause;
        if clauses.contains(&clause) {
            continue;
        }
        clauses.push(clause);
        let Some(p) = need.heard.phrase else { continue };
        let phrase = &rules.phrases[p as usize];
        let owed = case.needs.list.iter().filter(|n| n.heard.clause == clause).map(|n| n.duty).max().unwrap_or_default();
        match phrase.kind {
            PhraseKind::Question => question = true,
            _ if owed == Duty::Acknowledge => wilco = true,
            _ if owed == Duty::None => {}
            _ => {
                let mut filled: Vec<Filled> = case
                    .needs
                    .list
                    .iter()
                    .filter(|n| n.heard.clause == clause && n.duty != Duty::None)
                    .filter_map(|n| n.heard.slot.map(|(slot, found)| Filled { element: n.heard.element, slot, found, used: false }))
                    .collect();
                let words = clause_words(case, &need.heard);
                let said = Template { rules, atoms: &case.said.s.atoms, text: case.say, words: &words };
                let mut out = String::new();
                if let Some(node) = &phrase.model {
                    said.render(node, &mut filled, &mut out);
                }
                // A value the template has no place for is said after it.
                for rest in filled.iter().filter(|f| !f.used) {
                    push_word(&mut out, &said.value(rest.element, rest.slot, &rest.found));
                }
                if !out.is_empty() {
                    parts.push(out);
                }
            }
        }
    }
    if question && parts.is_empty() {
        parts.push(if rules.standard == Standard::Us { "affirmative" } else { "affirm" }.to_owned());
    } else if wilco {
        parts.push("wilco".to_owned());
    } else if parts.is_empty() {
        parts.push("roger".to_owned());
    }
    let own = &case.situation.callsign;
    let short = if case.needs.station_shortened || case.situation.shortened { own.short() } else { None };
    parts.push(short.as_ref().unwrap_or(own).spoken(rules.standard));
    sentence(&parts)
}

/// Joins parts and begins with a capital letter.
pub(crate) fn sentence(parts: &[String]) -> String {
    let mut out = parts.join(", ");
    if let Some(first) = out.chars().next() {
        let upper: String = first.to_uppercase().collect();
        out.replace_range(..first.len_utf8(), &upper);
    }
    out
}

/// Vocabulary words of the clause that an element came from.
fn clause_words(case: &Case<'_>, heard: &Heard) -> Vec<u16> {
    let Some(cover) = case.said.s.covers.get(heard.clause as usize) else { return Vec::new() };
    case.said.s.atoms[cover.start as usize..cover.end as usize].iter().map(|a| a.word).filter(|&w| w != 0).collect()
}

fn push_word(out: &mut String, word: &str) {
    if !out.is_empty() && !word.is_empty() {
        out.push(' ');
    }
    out.push_str(word);
}

/// A template and the text its values stand in.
struct Template<'a> {
    rules: &'a RuleSet,
    atoms: &'a [Atom],
    text: &'a str,
    words: &'a [u16],
}

impl Template<'_> {
    fn render(&self, node: &Node, filled: &mut [Filled], out: &mut String) {
        match node {
            Node::Sequence(items) => items.iter().for_each(|n| self.render(n, filled, out)),
            Node::Either(items) => {
                // The alternative whose slots are filled; of several, the one that was said.
                let fits = |n: &&Node| slots(n).iter().all(|s| self.free(s, filled).is_some());
                let said = |n: &&Node| fits(n) && self.was_said(n);
                let slotted = |n: &&Node| fits(n) && !slots(n).is_empty();
                let choice = items.iter().find(slotted).or_else(|| items.iter().find(said)).or_else(|| items.iter().find(fits)).or(items.first());
                if let Some(choice) = choice {
                    self.render(choice, filled, out);
                }
            }
            Node::Optional(item) => {
                let wanted = slots(item);
                let include = if wanted.is_empty() { self.was_said(item) } else { wanted.iter().any(|s| self.free(s, filled).is_some()) && fits_required(item, &|s| self.free(s, filled).is_some()) };
                if include {
                    self.render(item, filled, out);
                }
            }
            Node::Word(word) => push_word(out, word),
            Node::Slot(element, slot) => {
                if let Some(k) = self.free(&(element.clone(), slot.clone()), filled) {
                    filled[k].used = true;
                    let f = filled[k];
                    push_word(out, &self.value(f.element, f.slot, &f.found));
                }
            }
        }
    }

    fn free(&self, slot: &(String, String), filled: &[Filled]) -> Option<usize> {
        let element = Element::parse(&slot.0);
        filled.iter().position(|f| !f.used && Some(f.element) == element)
    }

    fn was_said(&self, node: &Node) -> bool {
        let mut words = Vec::new();
        collect_words(node, &mut words);
        let known: Vec<u16> = words
            .iter()
            .filter_map(|w| match self.rules.lexicon.get(crate::text::fold(w)) {
                Some(crate::text::lexicon::Entry::Words([id, ..], _)) => Some(id),
                _ => None,
            })
            .collect();
        known.len() == words.len() && !known.is_empty() && known.iter().all(|k| self.words.contains(k))
    }

    /// How a value is said.
    fn value(&self, element: Element, slot: SlotRef, found: &Match) -> String {
        let standard = self.rules.standard;
        let canonical = canonical::of_match(self.rules, self.atoms, self.text, element, slot, found);
        match slot {
            SlotRef::Builtin(builtin) => builtin_value(standard, builtin, element, &canonical, found),
            SlotRef::Data(data) => self.data_value(data, found).unwrap_or(canonical),
        }
    }

    fn data_value(&self, data: u16, found: &Match) -> Option<String> {
        let crate::value::Value::Form(_, form, _) = found.value else { return None };
        let view = View { atoms: self.atoms, marks: &self.rules.marks };
        let root = self.rules.automaton.slot_root(data)?;
        let (start, end) = (found.from as usize, found.to as usize);
        let mut inner = Vec::new();
        canonical::inside(self.rules, &view, root, form, start, start, end, &mut inner);
        let node = self.rules.slots[data as usize].models.get(form as usize)?;
        let name = |slot: SlotRef| match slot {
            SlotRef::Builtin(b) => b.name().to_owned(),
            SlotRef::Data(d) => self.rules.slots[d as usize].name.clone(),
        };
        let mut out = String::new();
        let words: Vec<u16> = self.atoms[start..end].iter().map(|a| a.word).filter(|&w| w != 0).collect();
        let here = Template { words: &words, ..*self };
        let mut left: Vec<(String, SlotRef, Match)> = inner.into_iter().map(|(s, m)| (name(s), s, m)).collect();
        here.render_inner(node, &mut left, &mut out);
        Some(out)
    }

    fn render_inner(&self, node: &Node, left: &mut Vec<(String, SlotRef, Match)>, out: &mut String) {
        let has = |slot: &(String, String), left: &[(String, SlotRef, Match)]| left.iter().any(|l| l.0 == slot.1);
        match node {
            Node::Sequence(items) => items.iter().for_each(|n| self.render_inner(n, left, out)),
            Node::Either(items) => {
                let fits = |n: &&Node| slots(n).iter().all(|s| has(s, left));
                let said = |n: &&Node| fits(n) && self.was_said(n);
                let slotted = |n: &&Node| fits(n) && !slots(n).is_empty();
                let choice = items.iter().find(slotted).or_else(|| items.iter().find(said)).or_else(|| items.iter().find(fits)).or(items.first()).cloned();
                if let Some(choice) = choice {
                    self.render_inner(&choice, left, out);
                }
            }
            Node::Optional(item) => {
                let wanted = slots(item);
                let include = if wanted.is_empty() { self.was_said(item) } else { fits_required(item, &|s| has(s, left)) };
                if include {
                    self.render_inner(item, left, out);
                }
            }
            Node::Word(word) => push_word(out, word),
            Node::Slot(_, slot) => {
                if let Some(k) = left.iter().position(|l| l.0 == *slot) {
                    let (name, slot, found) = left.remove(k);
                    let element = Element::parse(&name).unwrap_or(Element::Point);
                    push_word(out, &self.value(element, slot, &found));
                }
            }
        }
    }
}

/// True if every slot that the node can't do without is there.
fn fits_required(node: &Node, has: &dyn Fn(&(String, String)) -> bool) -> bool {
    match node {
        Node::Sequence(items) => items.iter().all(|n| fits_required(n, has)),
        Node::Either(items) => items.iter().any(|n| fits_required(n, has)),
        Node::Optional(_) | Node::Word(_) => true,
        Node::Slot(element, slot) => has(&(element.clone(), slot.clone())),
    }
}

fn slots(node: &Node) -> Vec<(String, String)> {
    match node {
        Node::Sequence(items) | Node::Either(items) => items.iter().flat_map(slots).collect(),
        Node::Optional(item) => slots(item),
        Node::Word(_) => Vec::new(),
        Node::Slot(element, slot) => vec![(element.clone(), slot.clone())],
    }
}

fn collect_words<'n>(node: &'n Node, out: &mut Vec<&'n str>) {
    match node {
        Node::Sequence(items) => items.iter().for_each(|n| collect_words(n, out)),
        Node::Either(items) => {
            if let Some(first) = items.first() {
                collect_words(first, out);
            }
        }
        Node::Optional(_) | Node::Slot(..) => {}
        Node::Word(word) => out.push(word),
    }
}

fn builtin_value(standard: Standard, builtin: Builtin, element: Element, canonical: &str, found: &Match) -> String {
    let us = standard == Standard::Us;
    let short = found.form & crate::parse::slots::form::SHORT != 0;
    match builtin {
        Builtin::Runway => speak::spoken(standard, Element::Runway, canonical),
        Builtin::Level => {
            let said = speak::spoken(standard, Element::Level, canonical);
            // The word altitude only where the station said it.
            let altitude = found.form & crate::parse::slots::form::ALTITUDE != 0;
            let plain = said.strip_prefix("altitude ").unwrap_or(&said).to_owned();
            if altitude && !us && !canonical.starts_with("FL") { format!("altitude {plain}") } else { plain }
        }
        Builtin::Heading => speak::spoken(standard, Element::Heading, canonical),
        Builtin::Degrees => format!("{} degrees", speak::digits(canonical)),
        Builtin::Speed => speak::spoken(standard, Element::Speed, canonical),
        Builtin::Rate => speak::spoken(standard, Element::Rate, canonical),
        Builtin::Frequency if short && us => {
            canonical.split_once('.').map_or(canonical.to_owned(), |(_, d)| format!("point {}", speak::digits(d.trim_end_matches('0'))))
        }
        Builtin::Frequency => speak::spoken(standard, Element::Frequency, canonical),
        Builtin::Squawk => speak::spoken(standard, Element::Squawk, canonical),
        Builtin::Altimeter => speak::spoken(standard, Element::Altimeter, canonical),
        Builtin::Time => speak::digits(canonical),
        Builtin::Information => speak::spoken(standard, Element::Information, canonical),
        Builtin::Stand => speak::spoken(standard, Element::Stand, canonical),
        Builtin::HoldingPoint => {
            let said = speak::spoken(standard, Element::HoldingPoint, canonical);
            let marked = found.form & crate::parse::slots::form::MARK != 0;
            if marked { said } else { said.trim_start_matches("holding point ").to_owned() }
        }
        Builtin::TaxiRoute => speak::spoken(standard, Element::TaxiRoute, canonical),
        Builtin::Procedure => speak::spoken(standard, Element::Sid, canonical),
        Builtin::Wind => speak::spoken(standard, Element::Wind, canonical),
        Builtin::Callsign => Callsign::parse(canonical).map_or(canonical.to_owned(), |c| c.spoken(standard)),
        Builtin::Minutes | Builtin::Number | Builtin::Temperature => match canonical.strip_prefix('-') {
            Some(below) => format!("minus {}", speak::digits(below)),
            None => speak::digits(canonical),
        },
        Builtin::Distance => format!("{} mile{}", speak::digits(canonical), if canonical == "1" { "" } else { "s" }),
        Builtin::Clock => format!("{} o'clock", speak::digits(canonical)),
        Builtin::Airway | Builtin::Aircraft => marks(canonical),
        Builtin::Point | Builtin::Place | Builtin::Unit => {
            let _ = element;
            canonical.to_owned()
        }
    }
}

/// Letters and digits one by one, other words as they are: `A320` → "A three two zero".
fn marks(canonical: &str) -> String {
    let mut out = String::new();
    for word in canonical.split(' ') {
        if word.bytes().any(|b| b.is_ascii_digit()) {
            for c in word.chars() {
                push_word(&mut out, &if c.is_ascii_digit() { speak::digits(&c.to_string()) } else { c.to_string() });
            }
        } else {
            push_word(&mut out, word);
        }
    }
    out
}

/// A pilot's own call: its parts in order.
pub(crate) fn call_model(rules: &RuleSet, callsign: &Callsign, call: &str, wanted: &[(Element, String)]) -> String {
    let Some(phrase) = rules.phrase(call) else { return String::new() };
    let mut left: Vec<(Element, String)> = wanted.to_vec();
    let mut request = String::new();
    if let Some(node) = &phrase.model {
        call_template(rules.standard, node, &mut left, &mut request);
    }
    let mut parts: Vec<String> = Vec::new();
    for &part in &phrase.parts {
        match part {
            Element::Callsign => parts.push(callsign.spoken(rules.standard)),
            Element::Instruction => {
                if !request.is_empty() {
                    parts.push(std::mem::take(&mut request));
                }
            }
            _ => {
                while let Some(k) = left.iter().position(|w| w.0 == part) {
                    let (element, value) = left.remove(k);
                    parts.push(speak::spoken(rules.standard, element, &value));
                }
            }
        }
    }
    if !phrase.parts.contains(&Element::Callsign) {
        parts.push(callsign.spoken(rules.standard));
    }
    if !request.is_empty() {
        parts.push(request);
    }
    sentence(&parts)
}

fn call_template(standard: Standard, node: &Node, left: &mut Vec<(Element, String)>, out: &mut String) {
    let has = |slot: &(String, String), left: &[(Element, String)]| Element::parse(&slot.0).is_some_and(|e| left.iter().any(|l| l.0 == e));
    match node {
        Node::Sequence(items) => items.iter().for_each(|n| call_template(standard, n, left, out)),
        Node::Either(items) => {
            let choice = items.iter().find(|n| slots(n).iter().all(|s| has(s, left))).or(items.first());
            if let Some(choice) = choice {
                call_template(standard, choice, left, out);
            }
        }
        Node::Optional(item) => {
            if !slots(item).is_empty() && fits_required(item, &|s| has(s, left)) {
                call_template(standard, item, left, out);
            }
        }
        Node::Word(word) => push_word(out, word),
        Node::Slot(element, _) => {
            if let Some(element) = Element::parse(element)
                && let Some(k) = left.iter().position(|l| l.0 == element)
            {
                let (_, value) = left.remove(k);
                push_word(out, &speak::spoken(standard, element, &value));
            }
        }
    }
}

