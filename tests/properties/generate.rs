//! Transmissions made from the grammar itself: a pattern, random choices in it, random values in its slots.

use hearback::callsign::Callsign;
use hearback::element::{Element, Standard};
use hearback::grammar::load::{self, Book};
use hearback::grammar::notation::{self, Node};
use hearback::rules::{Phrase, PhraseKind, RuleSet};
use hearback::text::speak::{digits, spoken};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::collections::HashMap;
use std::sync::Arc;

/// One value in its forms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Value {
    pub(crate) canonical: String,
    pub(crate) spoken: String,
    pub(crate) typed: String,
}

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
    rng: ChaCha8Rng,
    /// Points said since [`Generator::begin`].
    said: Vec<&'static str>,
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

const POINTS: [&str; 6] = ["TARNO", "MERLO", "DUNLI", "SKEVA", "HOLMA", "BIRLA"];
const PLACES: [&str; 4] = ["Tarnmoor", "Holmfell", "Brackwater", "Skerrow"];
const CALLSIGNS: [&str; 6] =
    ["Whimbrel 214", "Larkspur 7 Delta", "Harebell 52", "Fernway 1004", "QZ-ABD", "Marlpit 365"];
pub(crate) fn is_number(word: &str) -> bool {
    digits("0123456789").split(' ').any(|d| d == word)
        || ["hundred", "thousand"].contains(&word)
        || word.bytes().all(|b| b.is_ascii_digit())
}

pub(crate) fn ends_in_number(text: &str) -> bool {
    text.split(' ').next_back().is_some_and(is_number)
}

fn begins_with_number(text: &str) -> bool {
    text.split(' ').next().is_some_and(is_number)
}

const LETTERS: &[u8] = b"ABCDEFGHJKLMNPRSTVWYZ";

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
        Self { rules, standard, rng: ChaCha8Rng::seed_from_u64(0), said: Vec::new(), slots, phrases }
    }

    /// How many instructions of a controller the rule set has.
    pub(crate) fn instructions(&self) -> usize {
        self.phrases.len()
    }

    /// Begins case `n` of a law for an instruction. What is drawn from here on depends on these three alone,
    /// so that a new phrase does not shift the draws of the others.
    pub(crate) fn begin(&mut self, law: &str, instruction: usize, n: usize) {
        let seed = digest(law) ^ self.phrases[instruction].1 ^ mixed(n as u64);
        self.rng = ChaCha8Rng::seed_from_u64(mixed(seed));
        self.said.clear();
    }

    /// Any instruction: the one whose digest, mixed with a drawn number, is the greatest.
    pub(crate) fn any(&mut self) -> usize {
        let drawn = self.rng.next_u64();
        let greatest = self.phrases.iter().enumerate().max_by_key(|(_, p)| mixed(p.1 ^ drawn));
        greatest.expect("the grammar has instructions").0
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.rng.next_u64() % n as u64).expect("below n")
    }

    fn pick<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.below(all.len())]
    }

    /// A point that was not said before in this transmission, while there is one: no route goes through
    /// one point twice.
    fn point(&mut self) -> &'static str {
        loop {
            let point = self.pick(&POINTS);
            if !self.said.contains(&point) || self.said.len() >= POINTS.len() {
                self.said.push(point);
                return point;
            }
        }
    }

    pub(crate) fn phrase(&self, clause: &Clause) -> &Phrase {
        self.rules.phrase(&clause.phrase).expect("made from it")
    }

    pub(crate) fn callsign(&mut self) -> Callsign {
        Callsign::parse(self.pick(&CALLSIGNS)).expect("a callsign")
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
            let k = usize::try_from(self.rng.next_u64() % forms.len() as u64).expect("below the length");
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
        let s = self.standard;
        let us = s == Standard::Us;
        let both = |element, canonical: String, typed: String| Value {
            spoken: spoken(s, element, &canonical),
            canonical,
            typed,
        };
        let plain = |canonical: String, spoken: String, typed: String| Value { canonical, spoken, typed };
        match slot {
            "runway" => {
                let n = self.below(36) + 1;
                let side = self.pick(&["", "", "L", "R", "C"]);
                let canonical = format!("{n:02}{side}");
                both(Element::Runway, canonical.clone(), format!("runway {canonical}"))
            }
            "level" => {
                if self.below(2) == 0 {
                    let n = if us { 18 + self.below(22) } else { 5 + self.below(35) } * 10;
                    both(Element::Level, format!("FL{n:03}"), format!("FL{n}"))
                } else {
                    let n = (self.below(160) + 10) * 100;
                    both(
                        Element::Level,
                        format!("{n}ft"),
                        if s == Standard::Uk { format!("altitude {n} ft") } else { format!("{n} ft") },
                    )
                }
            }
            "heading" => {
                let n = (self.below(72) + 1) * 5;
                let degrees = if s == Standard::Uk && n.is_multiple_of(10) { " degrees" } else { "" };
                both(Element::Heading, format!("{n:03}"), format!("heading {n:03}{degrees}"))
            }
            "degrees" => {
                let n = (self.below(8) + 1) * 10;
                plain(n.to_string(), format!("{} degrees", digits(&n.to_string())), format!("{n} degrees"))
            }
            "speed" => {
                let n = (self.below(20) + 16) * 10;
                both(Element::Speed, format!("{n}kt"), format!("{n} knots"))
            }
            "rate" => {
                let n = (self.below(5) + 1) * 500;
                both(Element::Rate, format!("{n}fpm"), format!("{n} feet per minute"))
            }
            "frequency" => {
                let (mhz, step) = (118 + self.below(18), self.below(40) * 25);
                let canonical = format!("{mhz}.{step:03}");
                both(Element::Frequency, canonical.clone(), canonical)
            }
            "squawk" => {
                let code: String = (0..4)
                    .map(|_| char::from(b'0' + u8::try_from(self.below(8)).expect("below 8")))
                    .collect();
                both(Element::Squawk, code.clone(), code)
            }
            "altimeter" if us => {
                let n = 2850 + self.below(230);
                let canonical = format!("{}.{:02}inHg", n / 100, n % 100);
                both(Element::Altimeter, canonical, format!("altimeter {n}"))
            }
            "altimeter" => {
                let n = 960 + self.below(80);
                let unit = if s == Standard::Uk && n < 1000 { " hPa" } else { "" };
                both(Element::Altimeter, format!("{n}hPa"), format!("QNH {n}{unit}"))
            }
            "time" => {
                let time = format!("{:02}{:02}", self.below(24), self.below(60));
                both(Element::Time, time.clone(), time)
            }
            "minutes" | "number" => {
                let n = (self.below(30) + 2).to_string();
                plain(n.clone(), digits(&n), n)
            }
            "information" => {
                let letter = char::from(LETTERS[self.below(LETTERS.len())]).to_string();
                both(Element::Information, letter.clone(), format!("information {letter}"))
            }
            "stand" => {
                let n = (self.below(60) + 1).to_string();
                both(Element::Stand, n.clone(), format!("stand {n}"))
            }
            "holding_point" => {
                let mark = format!(
                    "{}{}",
                    char::from(LETTERS[self.below(LETTERS.len())]),
                    self.pick(&["", "1", "2", "3"])
                );
                let said = spoken(Standard::Icao, Element::HoldingPoint, &mark);
                plain(mark.clone(), said, format!("holding point {mark}"))
            }
            "taxi_route" => {
                let n = self.below(3) + 1;
                let mut used: Vec<String> = Vec::new();
                while used.len() < n {
                    let next = char::from(LETTERS[self.below(LETTERS.len())]).to_string();
                    if !used.contains(&next) {
                        used.push(next);
                    }
                }
                let canonical = used.join(" ");
                both(Element::TaxiRoute, canonical.clone(), canonical)
            }
            "point" => {
                let name = self.point().to_owned();
                plain(name.clone(), name.clone(), name)
            }
            "place" => {
                let name = self.pick(&PLACES).to_owned();
                plain(name.clone(), name.clone(), name)
            }
            "procedure" => {
                let name = format!(
                    "{} {}{}",
                    self.point(),
                    self.below(9) + 1,
                    char::from(LETTERS[self.below(LETTERS.len())])
                );
                both(Element::Sid, name.clone(), name)
            }
            "airway" => {
                let n = self.below(90) + 1;
                plain(format!("L{n}"), format!("Lima {}", digits(&n.to_string())), format!("L{n}"))
            }
            "unit" => {
                let name = format!(
                    "{} {}",
                    self.pick(&PLACES),
                    self.pick(&["Tower", "Ground", "Approach", "Departure", "Control"])
                );
                plain(name.clone(), name.clone(), name)
            }
            "distance" => {
                let n = (self.below(28) + 2).to_string();
                plain(n.clone(), format!("{} miles", digits(&n)), format!("{n} miles"))
            }
            "clock" => {
                let n = (self.below(12) + 1).to_string();
                plain(n.clone(), format!("{} o'clock", digits(&n)), format!("{n} o'clock"))
            }
            "bearing" => {
                let n = format!("{:03}", self.below(360) + 1);
                plain(n.clone(), digits(&n), n)
            }
            "wind" => {
                let canonical = format!("{:03}/{:02}", (self.below(36) + 1) * 10, self.below(20) + 10);
                let said = spoken(s, Element::Wind, &canonical);
                plain(canonical, said.clone(), said)
            }
            "aircraft" => {
                let (canonical, said) = [
                    ("A320", "A three two zero"),
                    ("737", "seven three seven"),
                    ("E190", "E one niner zero"),
                ][self.below(3)];
                plain(canonical.into(), said.into(), canonical.into())
            }
            "callsign" => {
                let callsign = Callsign::parse("Dunlin 88").expect("a callsign");
                plain(callsign.written(), callsign.spoken(s), callsign.written())
            }
            "temperature" => {
                let n = (self.below(20) + 2).to_string();
                plain(n.clone(), digits(&n), n)
            }
            other => panic!("the generator knows no slot `{other}`"),
        }
    }
}
