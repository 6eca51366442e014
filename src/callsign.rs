//! Callsigns: written, spoken, and their three types.

use crate::element::Standard;
use crate::text::lexicon::{ALPHABET, Lexicon};
use crate::text::token::{self, Atom, Kind};
use crate::text::{FOLD_START, fold_byte};
use std::sync::OnceLock;

/// The three types of callsign. Source: Annex 10 Volume II, 5.2.1.7.2.1; SERA.14050.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CallsignType {
    /// Characters of the registration.
    A,
    /// Telephony designator and the last four characters of the registration.
    B,
    /// Telephony designator and flight identification: has no abbreviated form.
    C,
}

/// A callsign, with the wake suffix if it belongs to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Callsign {
    telephony: Vec<String>,
    pub(crate) words: Vec<u64>,
    pub(crate) ident: Vec<u8>,
    heavy: Option<&'static str>,
    registration: bool,
}

fn base() -> &'static Lexicon {
    static BASE: OnceLock<Lexicon> = OnceLock::new();
    BASE.get_or_init(|| {
        let mut lexicon = Lexicon::new();
        lexicon.add_word("heavy");
        lexicon.add_word("super");
        lexicon
    })
}

impl Callsign {
    /// The callsign of somebody who uses none: of the crew among themselves.
    #[must_use]
    pub(crate) fn none() -> Self {
        Self { telephony: vec![], words: vec![], ident: vec![], heavy: None, registration: false }
    }

    /// Reads a callsign as written or spoken: `Whimbrel 214`, `QZ-ABD`, `Larkspur seven Delta`.
    /// `None` if it has neither a digit nor two letters.
    ///
    /// ```
    /// use hearback::callsign::{Callsign, CallsignType};
    /// let flight = Callsign::parse("whimbrel two fourteen").unwrap();
    /// assert_eq!(flight.written(), "Whimbrel 214");
    /// assert_eq!(flight.kind(), CallsignType::C);
    /// assert_eq!(Callsign::parse("QZ-ABD").unwrap().kind(), CallsignType::A);
    /// assert!(Callsign::parse("hello").is_none());
    /// ```
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let registration = is_registration(text);
        if registration {
            let ident =
                text.bytes().filter(u8::is_ascii_alphanumeric).map(|b| b.to_ascii_uppercase()).collect();
            return Some(Self { telephony: vec![], words: vec![], ident, heavy: None, registration });
        }
        let mut atoms = Vec::new();
        token::tokenize(base(), text, &mut atoms);
        token::settle_oh(&mut atoms);
        let mut new = Self::none();
        let (heavy, superb) = (base().find("heavy"), base().find("super"));
        for atom in &atoms {
            match atom.kind {
                Kind::Word if Some(atom.word) == heavy => new.heavy = Some("Heavy"),
                Kind::Word if Some(atom.word) == superb => new.heavy = Some("Super"),
                Kind::Word if new.ident.is_empty() => {
                    let word = atom.span.of(text);
                    let mut chars = word.chars();
                    let first: String = chars.next().into_iter().flat_map(char::to_uppercase).collect();
                    new.telephony.push(first + chars.as_str());
                    new.words.push(atom.hash);
                }
                Kind::Digit => new.ident.push(b'0' + atom.value),
                Kind::Letter => new.ident.push(atom.value),
                Kind::Hundred => new.ident.extend(b"00"),
                Kind::Thousand => new.ident.extend(b"000"),
                Kind::Word | Kind::Decimal => {}
            }
        }
        let letters = new.ident.iter().filter(|b| b.is_ascii_uppercase()).count();
        let useful = new.ident.len() <= 8 && (letters < new.ident.len() || letters >= 2);
        useful.then_some(new)
    }

    /// A callsign from atoms found in a transmission.
    pub(crate) fn from_atoms(atoms: &[Atom], text: &str) -> Option<Self> {
        let (first, last) = (atoms.first()?, atoms.last()?);
        Self::parse(first.span.to(last.span).of(text))
    }

    /// Type a, b or c.
    #[must_use]
    pub fn kind(&self) -> CallsignType {
        if self.telephony.is_empty() {
            CallsignType::A
        } else if self.ident.iter().all(u8::is_ascii_uppercase) {
            CallsignType::B
        } else {
            CallsignType::C
        }
    }

    /// The word *Heavy* or *Super*, if it is part of the callsign.
    #[must_use]
    pub fn wake(&self) -> Option<&'static str> {
        self.heavy
    }

    /// As one writes it: `Whimbrel 214`, `Larkspur 7 Delta`, `QZ-ABD`.
    #[must_use]
    pub fn written(&self) -> String {
        if self.registration {
            let text: String = self.ident.iter().map(|&b| char::from(b)).collect();
            return format!("{}-{}", &text[..text.len().min(2)], &text[text.len().min(2)..]);
        }
        let mut out = self.telephony.join(" ");
        let mut digits = false;
        for &byte in &self.ident {
            let digit = byte.is_ascii_digit();
            if !(out.is_empty() || digit && digits) {
                out.push(' ');
            }
            if digit {
                out.push(char::from(byte));
            } else {
                out.push_str(&spell(byte));
            }
            digits = digit;
        }
        if let Some(heavy) = self.heavy {
            out.push(' ');
            out.push_str(heavy);
        }
        out
    }

    /// As one says it: digit by digit, in `us` the flight number in group form.
    ///
    /// ```
    /// use hearback::{callsign::Callsign, element::Standard};
    /// let c = Callsign::parse("Fernway 1004").unwrap();
    /// assert_eq!(c.spoken(Standard::Icao), "Fernway one zero zero four");
    /// assert_eq!(c.spoken(Standard::Us), "Fernway ten zero four");
    /// ```
    #[must_use]
    pub fn spoken(&self, standard: Standard) -> String {
        let mut out = self.telephony.join(" ");
        let mut push = |word: &str| {
            if !out.is_empty() {
                out.push(' ');
            }
            out.push_str(word);
        };
        let digits = self.ident.iter().take_while(|b| b.is_ascii_digit()).count();
        let group = standard == Standard::Us && self.kind() == CallsignType::C && digits == self.ident.len();
        if group {
            push(&crate::text::speak::group(&self.ident.iter().map(|b| b - b'0').collect::<Vec<_>>()));
        } else {
            for &byte in &self.ident {
                if byte.is_ascii_digit() {
                    push(crate::text::speak::digit(byte - b'0'));
                } else {
                    push(&spell(byte));
                }
            }
        }
        if let Some(heavy) = self.heavy {
            push(&heavy.to_lowercase());
        }
        out
    }

    /// The short form, for the types that have one: first character and last two (type a), telephony
    /// and last two (type b). Source: Annex 10 Volume II, 5.2.1.7.2.2.
    #[must_use]
    pub fn short(&self) -> Option<Self> {
        let keep = match self.kind() {
            CallsignType::A if self.ident.len() >= 4 => {
                let mut ident = vec![self.ident[0]];
                ident.extend(&self.ident[self.ident.len() - 2..]);
                ident
            }
            CallsignType::B if self.ident.len() >= 3 => self.ident[self.ident.len() - 2..].to_vec(),
            _ => return None,
        };
        Some(Self { ident: keep, registration: false, ..self.clone() })
    }

    /// Word `i` of the telephony designator.
    pub(crate) fn telephony(&self, i: usize) -> Option<&str> {
        self.telephony.get(i).map(String::as_str)
    }

    /// Words and characters folded to one number; the wake suffix does not count.
    pub(crate) fn digest(&self) -> u64 {
        digest(&self.words, &self.ident)
    }
}

pub(crate) fn digest(words: &[u64], ident: &[u8]) -> u64 {
    let mut hash = FOLD_START;
    for word in words {
        for byte in word.to_le_bytes() {
            hash = fold_byte(hash, byte);
        }
    }
    for &byte in ident {
        hash = fold_byte(hash, byte);
    }
    hash
}

/// The spelling word of a letter, with a capital.
pub(crate) fn spell(letter: u8) -> String {
    let word = ALPHABET.iter().find(|w| w.1 == letter.to_ascii_uppercase()).map_or("", |w| w.0);
    let mut out = word.to_owned();
    if let Some(first) = out.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    out
}

fn is_registration(text: &str) -> bool {
    static SHAPE: OnceLock<Option<regex::Regex>> = OnceLock::new();
    SHAPE
        .get_or_init(|| regex::Regex::new(r"^[A-Z0-9]{1,2}-[A-Z0-9]{3,5}$").ok())
        .as_ref()
        .is_some_and(|r| r.is_match(text))
}
