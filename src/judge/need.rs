//! What a transmission asks of the reply: its elements with their duties.

use super::Situation;
use crate::element::Element;
use crate::parse::address::Address;
use crate::parse::cover::{Cover, Hint, Piece};
use crate::parse::lead::first_digits;
use crate::parse::slots::Builtin;
use crate::parse::{Heard, Parsed};
use crate::rules::{Duty, Phrase, PhraseKind, RuleSet, SlotRef};
use crate::text::token::FILLER;
use crate::value::Value;

/// Whom a transmission is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum For {
    Us,
    Other,
    Silence,
}

/// One element of the transmission and what became of it.
#[derive(Debug, Clone)]
pub(crate) struct Need {
    pub(crate) heard: Heard,
    pub(crate) duty: Duty,
    /// It was forbidden: *do not cross*.
    pub(crate) negated: bool,
    /// Element of the reply with this value.
    pub(crate) matched: Option<usize>,
    /// It came back in its own words, not as a value elsewhere.
    pub(crate) exact: bool,
    /// A finding about it stands.
    pub(crate) settled: bool,
    /// Part of an information phrase or fragment.
    pub(crate) kind: PhraseKind,
}

impl Need {
    pub(crate) fn required(&self) -> bool {
        matches!(self.duty, Duty::ReadBack | Duty::ReadBackOrWilco)
    }
}

/// All that a transmission asks.
#[derive(Debug, Clone)]
pub(crate) struct Needs {
    pub(crate) address: For,
    pub(crate) list: Vec<Need>,
    /// The station shortened the callsign.
    pub(crate) station_shortened: bool,
    /// A question stands.
    pub(crate) question: bool,
    /// A stretch of it was not heard: `…`.
    pub(crate) lost: bool,
    /// Elements whose loss left a freer clearance.
    pub(crate) freer: Vec<Element>,
    /// A bare number that was taken for a required value.
    pub(crate) bare_used: Option<usize>,
}

impl Needs {
    pub(crate) fn of(rules: &RuleSet, situation: &Situation, said: &Parsed) -> Self {
        let mut needs = Self {
            address: For::Us,
            list: Vec::new(),
            station_shortened: false,
            question: false,
            lost: false,
            freer: Vec::new(),
            bare_used: None,
        };
        let own = situation.callsign.digest();
        // Parts between "break break" are for different aircraft.
        let breaks: Vec<u16> = said
            .s
            .atoms
            .windows(2)
            .zip(0u16..)
            .filter(|(w, _)| {
                w[0].word == rules.marks.break_ && w[1].word == rules.marks.break_ && w[0].word != 0
            })
            .map(|(_, i)| i)
            .collect();
        let part = |at: u16| breaks.iter().filter(|&&b| b < at).count();
        let parts = breaks.len() + 1;
        let mut ours = vec![None; parts];
        let mut silence = vec![false; parts];
        for cover in &said.s.covers {
            let p = part(cover.start);
            match cover.piece {
                Piece::Own(found) => {
                    let mine = found.what != Address::Other;
                    if found.what == Address::Short {
                        needs.station_shortened = true;
                    }
                    if mine || ours[p].is_none() {
                        ours[p] = Some(mine);
                    }
                }
                Piece::Other(digest) if digest != own => {
                    // Only an address at the beginning of a part makes it somebody else's.
                    let first = said
                        .s
                        .covers
                        .iter()
                        .filter(|c| part(c.start) == p && c.start < cover.start)
                        .all(|c| matches!(c.piece, Piece::Skip));
                    if first && ours[p].is_none() {
                        ours[p] = Some(false);
                    }
                }
                Piece::Phrase { accept, .. }
                    if rules.phrases[accept.phrase as usize].kind == PhraseKind::Silence =>
                {
                    silence[p] = true;
                }
                _ => {}
            }
        }
        let (mut any, mut nobody) = (false, true);
        for p in 0..parts {
            let spoken =
                said.s.covers.iter().any(|c| part(c.start) == p && matches!(c.piece, Piece::Phrase { .. }));
            if ours[p].is_none() && p > 0 && spoken {
                ours[p] = ours[p - 1];
            }
            nobody &= ours[p].is_none() && !silence[p];
            any |= ours[p] == Some(true) && !silence[p] || ours[p].is_none() && spoken && !silence[p];
        }
        if !any && !nobody {
            needs.address = if silence.iter().any(|&s| s) { For::Silence } else { For::Other };
            return needs;
        }
        // With several parts, only those addressed to us count.
        let addressed = ours.contains(&Some(true));
        for heard in &said.heard {
            let p = part(heard.at);
            if ours[p] == Some(false) || silence[p] || (parts > 1 && addressed && ours[p] != Some(true)) {
                continue;
            }
            needs.add(rules, said, heard);
        }
        needs
    }

    fn add(&mut self, rules: &RuleSet, said: &Parsed, heard: &Heard) {
        let Some(index) = heard.phrase else { return };
        let phrase = &rules.phrases[index as usize];
        let duty = phrase.duty(heard.element);
        self.question |= phrase.kind == PhraseKind::Question;
        let value = |h: &Heard| h.slot.map(|s| s.1.value);
        // An instruction that is all words, given in two ways: *hold position, cancel take-off*.
        let bare = |p: &Phrase| p.duty(Element::Instruction) == Duty::ReadBack;
        let same_order = |p: u16, other: &Phrase| {
            let p = &rules.phrases[p as usize];
            bare(p) && p.instruction_id == other.instruction_id && p.family == other.family
        };
        // Said twice is asked once.
        let twice = self.list.iter_mut().find(|n| {
            n.heard.element == heard.element
                && value(&n.heard) == value(heard)
                && (n.heard.phrase == heard.phrase
                    && (heard.slot.is_some() || n.heard.clause != heard.clause)
                    || heard.slot.is_none()
                        && bare(phrase)
                        && all_words(said, heard)
                        && all_words(said, &n.heard)
                        && n.heard.phrase.is_some_and(|p| same_order(p, phrase))
                    || phrase.kind == PhraseKind::Fragment
                    || n.kind == PhraseKind::Fragment)
        });
        if let Some(old) = twice {
            old.duty = old.duty.max(duty);
            return;
        }
        // What must not be done is acknowledged.
        let negated = negated(rules, said, heard);
        let duty = match () {
            () if asked(rules, said, heard) => Duty::None,
            () if negated => duty.min(Duty::Acknowledge),
            () => duty,
        };
        self.list.push(Need {
            heard: *heard,
            duty,
            negated,
            matched: None,
            exact: false,
            settled: false,
            kind: phrase.kind,
        });
    }

    /// Values that may come back without their words.
    pub(crate) fn hints<'t>(&self, said: &Parsed, say: &'t str) -> Vec<Hint<'t>> {
        let mut out = Vec::with_capacity(self.list.len());
        for need in &self.list {
            let Some((slot, found)) = need.heard.slot else { continue };
            let owed = need.duty != Duty::None || matches!(need.heard.element, Element::Wind);
            if !owed
                || matches!(slot, SlotRef::Builtin(Builtin::Distance | Builtin::Clock | Builtin::Callsign))
            {
                continue;
            }
            let name = match found.value {
                Value::Name(_) | Value::Procedure(..) | Value::Unit(..) => {
                    let atom = &said.s.atoms[found.from as usize];
                    if atom.kind == crate::text::token::Kind::Word && found.to == found.from + 1 {
                        atom.span.of(say)
                    } else {
                        ""
                    }
                }
                _ => "",
            };
            out.push(Hint {
                element: need.heard.element,
                slot,
                value: found.value,
                name,
                digits: first_digits(&found.value),
            });
        }
        out
    }

    /// Phrases of the transmission, then others with the same instructions; how many of the first.
    pub(crate) fn phrases(&self, rules: &RuleSet) -> (Vec<u16>, usize) {
        let mut out: Vec<u16> = Vec::with_capacity(8);
        for phrase in self.list.iter().filter_map(|n| n.heard.phrase) {
            if !out.contains(&phrase) {
                out.push(phrase);
            }
        }
        let exact = out.len();
        for k in 0..exact {
            for &sibling in &rules.siblings[out[k] as usize] {
                if !out.contains(&sibling) {
                    out.push(sibling);
                }
            }
        }
        (out, exact)
    }

    /// True if the transmission asks for a read-back.
    pub(crate) fn is_read_back(&self) -> bool {
        self.list.iter().any(|n| {
            n.duty >= Duty::ReadBackOrWilco && !matches!(n.kind, PhraseKind::Question | PhraseKind::Call)
        })
    }

    /// First atom of the reply that answers a need.
    pub(crate) fn first_matched(&self, heard: &Parsed) -> Option<u16> {
        self.list.iter().filter_map(|n| n.matched).map(|i| heard.heard[i].at).min()
    }
}

/// True if *not* or *never* stands right before the words of a clause, outside every phrase.
pub(crate) fn negated(rules: &RuleSet, parsed: &Parsed, heard: &Heard) -> bool {
    before(parsed, heard).is_some_and(|c| {
        let word = parsed.s.atoms[c.start as usize].word;
        matches!(c.piece, Piece::Skip) && rules.marks.is_negation(word)
    })
}

/// True if a question stands right before a clause and asks for it: *are you able to …*.
fn asked(rules: &RuleSet, parsed: &Parsed, heard: &Heard) -> bool {
    before(parsed, heard).is_some_and(
        |c| matches!(c.piece, Piece::Phrase { accept, .. } if rules.phrases[accept.phrase as usize].opens),
    )
}

/// True if the clause that an element was heard in has no values.
fn all_words(parsed: &Parsed, heard: &Heard) -> bool {
    parsed.heard.iter().all(|h| h.clause != heard.clause || h.slot.is_none())
}

/// What stands before the clause that an element was heard in, hesitations aside.
fn before<'p>(parsed: &'p Parsed, heard: &Heard) -> Option<&'p Cover> {
    let covers = &parsed.s.covers[..usize::from(heard.clause)];
    let filler = |c: &Cover| matches!(c.piece, Piece::Skip) && parsed.s.atoms[c.start as usize].is(FILLER);
    covers.iter().rev().find(|c| !filler(c))
}
