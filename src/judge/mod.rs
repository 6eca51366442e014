//! The judge: grammar + what was said + who I am + what I replied → a judgement. Pure.

mod align;
mod asked;
mod call;
mod call_model;
mod extras;
mod forms;
mod joined;
pub mod judgement;
mod missing;
mod model;
mod need;
mod owed;
mod repair;

use crate::callsign::Callsign;
use crate::element::{Element, Fault, Severity};
use crate::parse::cover::Piece;
use crate::parse::{self, Parsed, Speaker, address::Address, with_parsed};
use crate::rules::{FormRule, PhraseKind, RuleSet};
use crate::span::Span;
use crate::text::token::FILLER;
use asked::Asked;
pub use asked::LOST;
pub(crate) use asked::judge_findings;
pub use call::judge_call;
use judgement::{Finding, Judgement, Move, score, verdict};
use need::{For, Needs};
pub use owed::{Owed, callsign as owed_callsign, lost, owed};
use std::sync::Arc;

/// Who the trainee is in the conversation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Situation {
    /// Own callsign.
    pub callsign: Callsign,
    /// The station has used the short form of it before.
    pub shortened: bool,
}

/// Judges a reply to a transmission.
///
/// ```
/// use hearback::{callsign::Callsign, element::{Standard, Verdict}, judge::{Situation, judge}, rules::RuleSet};
/// let rules = RuleSet::builtin(Standard::Icao);
/// let me = Situation { callsign: Callsign::parse("Whimbrel 214").unwrap(), shortened: false };
/// let say = "Whimbrel two one four, line up and wait runway zero nine";
/// let judged = judge(&rules, &me, say, "line up and wait runway 27, Whimbrel 214");
/// assert_eq!(judged.verdict, Verdict::Incorrect);
/// assert_eq!(judged.findings[0].given.as_deref(), Some("27"));
/// assert_eq!(judged.model, "Line up and wait runway zero niner, Whimbrel two one four");
/// ```
#[must_use]
pub fn judge(rules: &RuleSet, situation: &Situation, say: &str, reply: &str) -> Judgement {
    let asked = Asked::of(rules, situation, say, parse::take());
    let judged = with_parsed(|heard| asked.judge(rules, reply, heard, true));
    parse::give(asked.said);
    judged
}

/// Judges a reply where one's own callsign is the one that the transmission names.
#[must_use]
pub fn judge_addressed(rules: &RuleSet, say: &str, reply: &str) -> Option<Judgement> {
    let callsign = addressed(rules, say)?;
    Some(judge(rules, &Situation { callsign, shortened: false }, say, reply))
}

/// The callsign that a station's transmission names first.
#[must_use]
pub fn addressed(rules: &RuleSet, say: &str) -> Option<Callsign> {
    with_parsed(|parsed| {
        parsed.read(rules, say, Speaker::Controller, None, &[], (&[], 0));
        parse::callsign_of(parsed, say, Speaker::Controller)
    })
}

/// True if a transmission names one's own callsign in its short form: from then on the short form will do.
#[must_use]
pub fn shortens(rules: &RuleSet, callsign: &Callsign, say: &str) -> bool {
    with_parsed(|said| {
        said.read(rules, say, Speaker::Controller, Some(callsign), &[], (&[], 0));
        said.s.covers.iter().any(|c| matches!(c.piece, Piece::Own(found) if found.what == Address::Short))
    })
}

/// The callsign that a pilot's transmission names.
#[must_use]
pub fn speaker(rules: &RuleSet, text: &str) -> Option<Callsign> {
    with_parsed(|parsed| {
        parsed.read(rules, text, Speaker::Pilot, None, &[], (&[], 0));
        parse::callsign_of(parsed, text, Speaker::Pilot)
    })
}

/// Everything one judgement works with.
pub(crate) struct Case<'a> {
    pub(crate) rules: &'a RuleSet,
    pub(crate) situation: &'a Situation,
    pub(crate) say: &'a str,
    pub(crate) said: &'a Parsed,
    pub(crate) reply: &'a str,
    pub(crate) heard: &'a Parsed,
    pub(crate) needs: Needs,
    pub(crate) findings: Vec<Finding>,
    pub(crate) moves: Vec<Move>,
    /// List what was said and heard.
    pub(crate) items: bool,
}

/// Moves of the conversation in a reply.
fn moves(rules: &RuleSet, heard: &Parsed) -> Vec<Move> {
    let mut out = Vec::new();
    for cover in &heard.s.covers {
        let Piece::Phrase { accept, .. } = cover.piece else { continue };
        let phrase = &rules.phrases[accept.phrase as usize];
        if phrase.kind != PhraseKind::Move && !(phrase.kind == PhraseKind::Call && phrase.by_pilot) {
            continue;
        }
        let found = match phrase.instruction.as_deref() {
            Some("roger") => Move::Roger,
            Some("wilco") => Move::Wilco,
            Some("affirm") => Move::Affirm,
            Some("negative") => Move::Negative,
            Some("say again") => Move::SayAgain,
            Some("say again part") => Move::SayAgainPart,
            Some("confirm") => Move::Confirm,
            Some("unable") => Move::Unable,
            Some("stand by") => Move::StandBy,
            Some("traffic answer") => Move::TrafficAnswer,
            Some("request") => Move::Request,
            _ if phrase.kind == PhraseKind::Call => Move::Request,
            _ => continue,
        };
        if !out.contains(&found) {
            out.push(found);
        }
    }
    out
}

impl Case<'_> {
    pub(crate) fn has(&self, what: Move) -> bool {
        self.moves.contains(&what)
    }

    /// The reply asks, refuses or delays instead of reading back; who reads back does not delay.
    pub(crate) fn excused(&self) -> bool {
        let delays = || self.needs.list.iter().all(|n| n.matched.is_none() || !n.required());
        [Move::SayAgain, Move::SayAgainPart, Move::Unable, Move::Confirm].iter().any(|&m| self.has(m))
            || self.has(Move::StandBy) && delays()
    }

    /// Adds a finding that a rule of form asks for.
    pub(crate) fn by_rule(
        &mut self,
        rule: FormRule,
        element: Element,
        fault: Fault,
        severity: Severity,
        span: Option<Span>,
        values: (Option<String>, Option<String>),
    ) {
        let rule = self.rules.rule(rule);
        self.findings.push(Finding {
            element,
            fault,
            severity,
            expected: values.0,
            given: values.1,
            span,
            rule: rule.source.clone(),
            why: rule.why.clone(),
            better: None,
            id: rule.id.clone(),
        });
    }

    fn not_for_us(&mut self) {
        let span = self.heard.s.covers.first().map(|c| self.heard.cover_span(c));
        let own = self.situation.callsign.written();
        let rule = self.rules.rule(FormRule::CallsignRequired);
        self.findings.push(Finding {
            element: Element::Callsign,
            fault: Fault::Wrong,
            severity: Severity::Critical,
            expected: parse::addressed(self.said, self.say).map(|c| c.written()),
            given: Some(own),
            span,
            rule: rule.source.clone(),
            why: Arc::from(if self.needs.address == For::Silence {
                "This transmission wants silence: an answer blocks the frequency."
            } else {
                "This was for another aircraft: answering takes its clearance and blocks its read-back."
            }),
            better: None,
            id: rule.id.clone(),
        });
    }

    pub(crate) fn callsign_missing(&mut self) {
        let own = Some(self.situation.callsign.written());
        self.by_rule(
            FormRule::CallsignRequired,
            Element::Callsign,
            Fault::Missing,
            Severity::Major,
            None,
            (own, None),
        );
    }

    /// Whose callsign came back, in which form, and where.
    pub(crate) fn callsign(&mut self) {
        let (situation, reply) = (self.situation, self.reply);
        let own = || situation.callsign.written();
        let covers = &self.heard.s.covers;
        let mut best: Option<(usize, crate::parse::address::Addressed)> = None;
        let mut other = None;
        for (i, cover) in covers.iter().enumerate() {
            match cover.piece {
                Piece::Own(found) if found.what == Address::Other => other = other.or(Some(i)),
                Piece::Own(found) => {
                    let rank = |a: Address| match a {
                        Address::Full => 0,
                        Address::Short => 1,
                        Address::Cut => 2,
                        Address::Telephony | Address::Other => 3,
                    };
                    if best.is_none_or(|b| rank(found.what) <= rank(b.1.what)) {
                        best = Some((i, found));
                    }
                }
                Piece::Other(digest) if digest != self.situation.callsign.digest() && self.at_edge(i) => {
                    other = other.or(Some(i));
                }
                _ => {}
            }
        }
        // One's own callsign, and after it another that nobody has named: which of the two is it?
        let second = best.and_then(|(index, _)| {
            let is_other = |c: &crate::parse::cover::Cover| {
                matches!(c.piece, Piece::Own(found) if found.what == Address::Other)
                    && !self.words_said(c.start, c.end)
            };
            (index + 1..covers.len()).find(|&i| self.at_edge(i) && is_other(&covers[i]))
        });
        let named = best.filter(|b| b.1.what != Address::Telephony && second.is_none());
        let other = second.or(other);
        let Some((index, found)) = named else {
            let wrong = other.or_else(|| self.stray_ident());
            match wrong {
                Some(i) => {
                    let span = self.heard.cover_span(&covers[i]);
                    let atoms = &self.heard.s.atoms[covers[i].start as usize..covers[i].end as usize];
                    let given = Callsign::from_atoms(atoms, self.reply)
                        .map_or_else(|| span.of(self.reply).to_owned(), |c| c.written());
                    self.by_rule(
                        FormRule::CallsignRequired,
                        Element::Callsign,
                        Fault::Wrong,
                        Severity::Critical,
                        Some(span),
                        (Some(own()), Some(given)),
                    );
                }
                None if self.keyed() => {}
                None => self.callsign_missing(),
            }
            return;
        };
        let span = Some(self.heard.cover_span(&covers[index]));
        let given = || span.map(|s| s.of(reply).to_owned());
        let form = |case: &mut Self, rule, element, fault, severity| {
            case.by_rule(rule, element, fault, severity, span, (Some(own()), given()));
        };
        if found.slip {
            form(self, FormRule::SlipKeyboard, Element::Callsign, Fault::Nonstandard, Severity::Advice);
        }
        let shortened = self.situation.shortened || self.needs.station_shortened;
        match found.what {
            Address::Short if !shortened => form(
                self,
                FormRule::CallsignStationFirst,
                Element::Callsign,
                Fault::Nonstandard,
                Severity::Minor,
            ),
            Address::Cut => {
                form(self, FormRule::CallsignFull, Element::Callsign, Fault::Nonstandard, Severity::Minor)
            }
            _ => {
                let wake = self.situation.callsign.wake().is_some();
                if wake && !found.wake && self.rules.on(FormRule::CallsignWake) {
                    form(
                        self,
                        FormRule::CallsignWake,
                        Element::Callsign,
                        Fault::Nonstandard,
                        Severity::Minor,
                    );
                }
            }
        }
        if found.grouped && !self.rules.on(FormRule::CallsignGroup) {
            form(self, FormRule::CallsignGroup, Element::NumberForm, Fault::Nonstandard, Severity::Minor);
        }
        if self.rules.on(FormRule::CallsignLast) && self.needs.is_read_back() && !self.excused() {
            let at = covers[index].start;
            let later = covers.iter().skip(index + 1).any(|c| matches!(c.piece, Piece::Own(f) if !matches!(f.what, Address::Other | Address::Telephony)));
            let before_all = self.needs.first_matched(self.heard).is_some_and(|first| at < first);
            if before_all && !later {
                form(self, FormRule::CallsignLast, Element::Callsign, Fault::Misplaced, Severity::Minor);
            }
        }
    }

    /// True if the reply is a keyed carrier, which cannot name anyone.
    fn keyed(&self) -> bool {
        self.heard.s.covers.iter().any(|c| {
            matches!(c.piece, Piece::Phrase { accept, .. } if self.rules.phrases[accept.phrase as usize].unsigned)
        })
    }

    /// True if only fillers stand before or after cover `i`.
    fn at_edge(&self, i: usize) -> bool {
        let covers = &self.heard.s.covers;
        let filler = |c: &crate::parse::cover::Cover| {
            matches!(c.piece, Piece::Skip) && self.heard.s.atoms[c.start as usize].is(FILLER)
        };
        covers[..i].iter().all(filler) || covers[i + 1..].iter().all(filler)
    }

    /// Digits at the end that can only be a mangled flight identification.
    fn stray_ident(&self) -> Option<usize> {
        let ident = &self.situation.callsign.ident;
        let covers = &self.heard.s.covers;
        let last = covers.iter().rposition(|c| {
            !matches!(c.piece, Piece::Skip) || !self.heard.s.atoms[c.start as usize].is(FILLER)
        })?;
        if !matches!(covers[last].piece, Piece::Bare) {
            return None;
        }
        let said: Vec<u8> = self.heard.s.atoms[covers[last].start as usize..covers[last].end as usize]
            .iter()
            .map(|a| b'0' + a.value)
            .collect();
        (said.len() == ident.len()
            && ident.iter().all(u8::is_ascii_digit)
            && self.needs.bare_used != Some(last))
        .then_some(last)
    }

    fn finish(mut self, model: String) -> Judgement {
        self.findings.sort_by_key(|f| f.span.map_or((u32::MAX, u32::MAX), |s| (s.start, s.end)));
        let verdict = verdict(&self.findings, &self.needs.freer);
        let required = self.needs.list.iter().filter(|n| n.required()).count();
        let (findings, moves) = (std::mem::take(&mut self.findings), std::mem::take(&mut self.moves));
        let judgement = Judgement {
            verdict,
            score: score(verdict, &findings, required),
            findings,
            moves,
            freer: std::mem::take(&mut self.needs.freer),
            ..Judgement::right(model)
        };
        if !self.items {
            return judgement;
        }
        let said = self.needs.list.iter().map(|n| {
            let mut item = parse::item(self.rules, self.said, self.say, &n.heard);
            item.required = n.required();
            item
        });
        let said = said.collect();
        let heard = self.heard.heard.iter().enumerate().map(|(i, h)| {
            let mut item = parse::item(self.rules, self.heard, self.reply, h);
            item.required = self.needs.list.iter().any(|n| n.matched == Some(i));
            item
        });
        let heard = heard.collect();
        Judgement { said, heard, ..judgement }
    }
}
