//! Transmissions made from the grammar itself: a pattern, random choices in it, random values in its slots.

use hearback::callsign::Callsign;
use hearback::drill::values::{Value, Values, begins_with_number};
pub(crate) use hearback::drill::values::{ends_in_number, is_number};
use hearback::element::{Element, Standard};
use hearback::grammar::load::{self, Book};
use hearback::grammar::notation::{self, Node};
use hearback::rules::{Phrase, PhraseKind, RuleSet};
use std::collections::HashMap;
use std::sync::Arc;

/// A piece of a clause.
#[derive(Debug, Clone)]
pub(crate) enum Piece {
    Word(String),
    Slot { element: Option<Element>, slot: String, value: Value },
}

/// A phrase with its choices made.
#[derive(Debug, Clone)]
pub(crate) struct Clause {
    pub(crate) phrase: String,
    pub(crate) pieces: Vec<Piece>,
}

impl Clause {
    pub(crate) fn text(&self, typed: bool) -> String {
        let words = self.pieces.iter().map(|p| match p {
            Piece::Word(word) => word.as_str(),
            Piece::Slot { value, .. } => {
                if typed {
                    &value.typed
                } else {
                    &value.spoken
                }
            }
        });
        words.collect::<Vec<_>>().join(" ")
    }

    /// Two numbers with no word between them: nobody can tell them apart.
    pub(crate) fn runs_on(&self) -> bool {
        self.pieces.windows(2).any(|w| match w {
            [Piece::Slot { value: a, .. }, Piece::Slot { value: b, .. }] => {
                ends_in_number(&a.spoken) && begins_with_number(&b.spoken)
            }
            _ => false,
        })
    }

    /// The clause without piece `i`.
    pub(crate) fn without(&self, i: usize) -> Self {
        let mut new = self.clone();
        new.pieces.remove(i);
        new
    }
}

pub(crate) struct Generator {
    pub(crate) rules: Arc<RuleSet>,
    pub(crate) standard: Standard,
    values: Values,
    slots: HashMap<String, Vec<(String, Vec<Node>)>>,
    /// The controller's instructions: place in the rule set, digest of the id, patterns.
    phrases: Vec<(usize, u64, Vec<Node>)>,
}

/// A digest of a text that is the same in every build.
fn digest(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

/// Spreads the bits of a number over all of it.
fn mixed(mut n: u64) -> u64 {
    n = (n ^ n >> 33).wrapping_mul(0xff51_afd7_ed55_8ccd);
    n = (n ^ n >> 33).wrapping_mul(0xc4ce_b9fe_1a85_ec53);
    n ^ n >> 33
}

const CALLSIGNS: [&str; 6] =
    ["Whimbrel 214", "Larkspur 7 Delta", "Harebell 52", "Fernway 1004", "QZ-ABD", "Marlpit 365"];

impl Generator {
    pub(crate) fn new(standard: Standard) -> Self {
        let rules = RuleSet::builtin(standard);
        let files = hearback::grammar::builtin_files().iter().map(|f| (f.0, f.1.as_bytes()));
        let book: Book = load::load(files, standard).expect("the grammar is sound");
        let parse = |text: &str| notation::parse(text).expect("the grammar is sound");
        let slots = book
            .slots
            .iter()
            .map(|(slot, _)| {
                let forms = slot.forms.iter().map(|f| {
                    (f.value.get_ref().clone(), f.says.iter().map(|s| parse(s.get_ref())).collect())
                });
                (slot.id.get_ref().clone(), forms.collect())
            })
            .collect();
        let instructions = rules.phrases().iter().enumerate().filter(|(_, phrase)| {
            phrase.kind == PhraseKind::Instruction && !phrase.by_pilot && !phrase.says.is_empty()
        });
        let phrases = instructions
            .map(|(i, phrase)| (i, digest(&phrase.id), phrase.says.iter().map(|says| parse(says)).collect()))
            .collect();
        Self { rules, standard, values: Values::seeded(standard, 0), slots, phrases }
    }

    /// How many instructions of a controller the rule set has.
    pub(crate) fn instructions(&self) -> usize {
        self.phrases.len()
    }

    /// Begins case `n` of a law for an instruction. What is drawn from here on depends on these three alone,
    /// so that a new phrase does not shift the draws of the others.
    pub(crate) fn begin(&mut self, law: &str, instruction: usize, n: usize) {
        let seed = digest(law) ^ self.phrases[instruction].1 ^ mixed(n as u64);
        self.values = Values::seeded(self.standard, mixed(seed));
    }

    /// Any instruction: the one whose digest, mixed with a drawn number, is the greatest.
    pub(crate) fn any(&mut self) -> usize {
        let drawn = self.values.number();
        let greatest = self.phrases.iter().enumerate().max_by_key(|(_, p)| mixed(p.1 ^ drawn));
        greatest.expect("the grammar has instructions").0
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        self.values.below(n)
    }

    pub(crate) fn phrase(&self, clause: &Clause) -> &Phrase {
        self.rules.phrase(&clause.phrase).expect("made from it")
    }

    pub(crate) fn callsign(&mut self) -> Callsign {
        Callsign::parse(self.values.pick(&CALLSIGNS)).expect("a callsign")
    }

    /// A random clause of an instruction.
    pub(crate) fn clause(&mut self, instruction: usize) -> Clause {
        let phrase = self.rules.phrases()[self.phrases[instruction].0].id.to_string();
        loop {
            let k = self.below(self.phrases[instruction].2.len());
            let node = self.phrases[instruction].2[k].clone();
            let mut pieces = Vec::new();
            self.expand(&node, &mut pieces, 0);
            let clause = Clause { phrase: phrase.clone(), pieces };
            if !clause.pieces.is_empty() && !clause.runs_on() {
                return clause;
            }
        }
    }

    fn expand(&mut self, node: &Node, out: &mut Vec<Piece>, depth: usize) {
        match node {
            Node::Sequence(items) => items.iter().for_each(|n| self.expand(n, out, depth)),
            Node::Either(items) => {
                let k = self.below(items.len());
                self.expand(&items[k], out, depth);
            }
            Node::Optional(item) => {
                if self.below(3) == 0 {
                    self.expand(item, out, depth);
                }
            }
            Node::Word(word) => out.push(Piece::Word(word.clone())),
            Node::Slot(element, slot) => {
                let value = self.value(slot, depth);
                out.push(Piece::Slot { element: Element::parse(element), slot: slot.clone(), value });
            }
        }
    }

    /// A random value of a slot.
    pub(crate) fn value(&mut self, slot: &str, depth: usize) -> Value {
        if let Some(forms) = self.slots.get(slot) {
            let k = usize::try_from(self.values.number() % forms.len() as u64).expect("below the length");
            let (canonical, says) = self.slots[slot][k].clone();
            let says = says[self.below(says.len())].clone();
            // Some forms cannot be said without two numbers side by side.
            let mut clause = Clause { phrase: String::new(), pieces: Vec::new() };
            for _ in 0..20 {
                clause.pieces.clear();
                self.expand(&says, &mut clause.pieces, depth + 1);
                if !clause.runs_on() {
                    break;
                }
            }
            let mut canonical = canonical;
            for piece in &clause.pieces {
                if let Piece::Slot { slot, value, .. } = piece {
                    canonical = canonical.replacen(&format!("{{{slot}}}"), &value.canonical, 1);
                }
            }
            return Value { canonical, spoken: clause.text(false), typed: clause.text(true) };
        }
        self.values.value(slot).unwrap_or_else(|| panic!("the generator knows no slot `{slot}`"))
    }
}
