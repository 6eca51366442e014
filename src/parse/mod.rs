//! Tokens → elements: what a transmission says, as typed values with their places.

pub(crate) mod address;
pub(crate) mod automaton;
pub(crate) mod canonical;
pub(crate) mod cover;
mod hint;
pub(crate) mod lead;
pub(crate) mod marks;
pub(crate) mod slots;

use crate::callsign::Callsign;
use crate::element::Element;
use crate::judge::judgement::Item;
use crate::rules::RuleSet;
use crate::span::Span;
pub use cover::Speaker;
use cover::{Cover, Hint, Piece, Scratch};
use slots::Match;
use std::cell::RefCell;

/// What was read in a transmission.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// The callsign, as written.
    pub callsign: Option<String>,
    /// Elements in the order of the text.
    pub items: Vec<Item>,
    /// Stretches that no phrase covers.
    pub unparsed: Vec<Span>,
}

/// One element found in a text.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Heard {
    pub(crate) element: Element,
    /// Slot and reading; none for the instruction of a phrase.
    pub(crate) slot: Option<(crate::rules::SlotRef, Match)>,
    /// Marker and value.
    pub(crate) span: Span,
    /// The value alone.
    pub(crate) value_span: Span,
    /// Number of the piece it came from.
    pub(crate) clause: u16,
    /// Phrase it came from, if any.
    pub(crate) phrase: Option<u16>,
    /// Atom before it, for words such as *to*.
    pub(crate) at: u16,
}

/// A text with its cover and elements, borrowed from working memory.
#[derive(Debug, Default)]
pub(crate) struct Parsed {
    pub(crate) s: Scratch,
    pub(crate) heard: Vec<Heard>,
}

thread_local! {
    static POOL: RefCell<Vec<Parsed>> = const { RefCell::new(Vec::new()) };
}

/// Runs `work` with working memory that is kept for the next call on this thread.
pub(crate) fn with_parsed<T>(work: impl FnOnce(&mut Parsed) -> T) -> T {
    let mut parsed = take();
    let out = work(&mut parsed);
    give(parsed);
    out
}

/// Working memory of this thread.
pub(crate) fn take() -> Parsed {
    POOL.with_borrow_mut(Vec::pop).unwrap_or_default()
}

/// Gives working memory back.
pub(crate) fn give(parsed: Parsed) {
    POOL.with_borrow_mut(|pool| pool.push(parsed));
}

impl Parsed {
    /// A copy of what was read, without working memory.
    pub(crate) fn compact(&self) -> Self {
        Self { s: self.s.compact(), heard: self.heard.clone() }
    }

    /// Covers the text and lists its elements.
    pub(crate) fn read(
        &mut self,
        rules: &RuleSet,
        text: &str,
        speaker: Speaker,
        own: Option<&Callsign>,
        hints: &[Hint<'_>],
        phrases: (&[u16], usize),
    ) {
        cover::cover(rules, &mut self.s, text, speaker, own, hints, phrases);
        self.list(rules, hints, speaker);
    }

    fn span(&self, from: u16, to: u16) -> Span {
        let atoms = &self.s.atoms;
        match (atoms.get(from as usize), atoms.get((to as usize).saturating_sub(1))) {
            (Some(first), Some(last)) => first.span.to(last.span),
            _ => Span::default(),
        }
    }

    pub(crate) fn cover_span(&self, cover: &Cover) -> Span {
        self.span(cover.start, cover.end)
    }

    fn list(&mut self, rules: &RuleSet, hints: &[Hint<'_>], speaker: Speaker) {
        let mut heard = std::mem::take(&mut self.heard);
        heard.clear();
        for (clause, cover) in self.s.covers.iter().enumerate() {
            let clause = u16::try_from(clause).unwrap_or(u16::MAX);
            match cover.piece {
                Piece::Phrase { accept, binds, verbless } => {
                    let phrase = &rules.phrases[accept.phrase as usize];
                    let carried = phrase.duty(Element::Instruction) == crate::rules::Duty::Carried;
                    if phrase.instruction.is_some() && !(verbless && carried && speaker == Speaker::Pilot) {
                        let span = self.cover_span(cover);
                        heard.push(Heard {
                            element: Element::Instruction,
                            slot: None,
                            span,
                            value_span: span,
                            clause,
                            phrase: Some(accept.phrase),
                            at: cover.start,
                        });
                    }
                    for bind in &self.s.binds[binds.0 as usize..binds.0 as usize + binds.1 as usize] {
                        let symbol = rules.symbols[bind.symbol as usize];
                        let found = self.s.matches[bind.found as usize];
                        if let Some(element) = symbol.element {
                            heard.push(Heard {
                                element,
                                slot: Some((symbol.slot, found)),
                                span: self.span(found.start, found.end),
                                value_span: self.span(found.from, found.to),
                                clause,
                                phrase: Some(accept.phrase),
                                at: found.start,
                            });
                        }
                    }
                }
                Piece::Hint { hint, found } => {
                    let found = self.s.matches[found as usize];
                    let hint = &hints[hint as usize];
                    heard.push(Heard {
                        element: hint.element,
                        slot: Some((hint.slot, Match { form: found.form | slots::form::EXPECTED, ..found })),
                        span: self.span(cover.start, cover.end),
                        value_span: self.span(found.from, found.to),
                        clause,
                        phrase: None,
                        at: cover.start,
                    });
                }
                Piece::Skip | Piece::Own(_) | Piece::Other(_) | Piece::Bare => {}
            }
        }
        self.heard = heard;
    }
}

/// Reads a transmission by itself: its callsign, its elements, and what was not understood.
///
/// ```
/// use hearback::{element::Standard, parse::{read, Speaker}, rules::RuleSet};
/// let rules = RuleSet::builtin(Standard::Icao);
/// let text = "Whimbrel two one four, line up and wait runway zero nine";
/// let reading = read(&rules, text, Speaker::Controller);
/// assert_eq!(reading.callsign.as_deref(), Some("Whimbrel 214"));
/// assert!(reading.items.iter().any(|i| i.value == "09" && i.span.of(text) == "runway zero nine"));
/// ```
#[must_use]
pub fn read(rules: &RuleSet, text: &str, speaker: Speaker) -> Reading {
    with_parsed(|parsed| {
        parsed.read(rules, text, speaker, None, &[], (&[], 0));
        let callsign = callsign_of(parsed, text, speaker).map(|c| c.written());
        let items = parsed.heard.iter().map(|h| item(rules, parsed, text, h)).collect();
        let mut unparsed: Vec<Span> = Vec::new();
        for cover in &parsed.s.covers {
            let skipped = match cover.piece {
                Piece::Skip => {
                    let atom = &parsed.s.atoms[cover.start as usize];
                    // *And* between two clauses says nothing of its own.
                    !atom.is(crate::text::token::FILLER) && atom.word != rules.marks.and
                }
                Piece::Bare => true,
                _ => false,
            };
            if skipped {
                let span = parsed.cover_span(cover);
                match unparsed.last_mut() {
                    Some(last)
                        if text[last.end as usize..span.start.max(last.end) as usize].trim().is_empty() =>
                    {
                        last.end = span.end
                    }
                    _ => unparsed.push(span),
                }
            }
        }
        Reading { callsign, items, unparsed }
    })
}

/// Ids of the phrases that a text is read as, in order, each once.
#[must_use]
pub fn phrases(rules: &RuleSet, text: &str, speaker: Speaker) -> Vec<String> {
    with_parsed(|parsed| {
        parsed.read(rules, text, speaker, None, &[], (&[], 0));
        let mut out: Vec<String> = Vec::new();
        for cover in &parsed.s.covers {
            if let Piece::Phrase { accept, .. } = cover.piece {
                let id = rules.phrases[accept.phrase as usize].id.to_string();
                if !out.contains(&id) {
                    out.push(id);
                }
            }
        }
        out
    })
}

pub(crate) fn item(rules: &RuleSet, parsed: &Parsed, text: &str, heard: &Heard) -> Item {
    Item {
        element: heard.element,
        value: canonical::value(rules, parsed, text, heard),
        span: heard.span,
        required: false,
    }
}

/// The callsign that a transmission names: a station says it first, a pilot first or last.
pub(crate) fn callsign_of(parsed: &Parsed, text: &str, speaker: Speaker) -> Option<Callsign> {
    let mut found = parsed.s.covers.iter().filter(|c| matches!(c.piece, Piece::Other(_)));
    let cover = match speaker {
        Speaker::Controller => found.next(),
        Speaker::Pilot => {
            let last = parsed.s.covers.iter().rev().find(|c| {
                !matches!(c.piece, Piece::Skip)
                    || !parsed.s.atoms[c.start as usize].is(crate::text::token::FILLER)
            });
            match last {
                Some(c) if matches!(c.piece, Piece::Other(_)) => Some(c),
                _ => found.next(),
            }
        }
    }?;
    Callsign::from_atoms(&parsed.s.atoms[cover.start as usize..cover.end as usize], text)
}

/// The callsign of somebody else that a transmission is for, even one much like one's own.
pub(crate) fn addressed(parsed: &Parsed, text: &str) -> Option<Callsign> {
    let other = |c: &&Cover| match c.piece {
        Piece::Other(_) => true,
        Piece::Own(found) => found.what == address::Address::Other,
        _ => false,
    };
    let cover = parsed.s.covers.iter().find(other)?;
    Callsign::from_atoms(&parsed.s.atoms[cover.start as usize..cover.end as usize], text)
}
