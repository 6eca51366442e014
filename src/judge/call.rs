//! Calls that the pilot begins: which parts they must have, and in which order.

use super::need::{For, Need, Needs};
use super::{Case, Situation, call_model, moves, repair};
use crate::element::{Element, Fault, Severity};
use crate::judge::judgement::{Finding, Judgement};
use crate::parse::cover::{self, Piece};
use crate::parse::slots::{Builtin, Match, View};
use crate::parse::{Heard, Parsed, Speaker, with_parsed};
use crate::rules::{Duty, FormRule, PhraseKind, RuleSet, SlotRef};
use crate::text::token;
use crate::value::Value;

/// Judges a call that the trainee begins: `call` is the id of the phrase (`call.taxi`), `wanted` the
/// values that the situation gives, in canonical form.
///
/// Parts of the call that have no wanted value only have to be there.
///
/// ```
/// use hearback::{callsign::Callsign, element::{Element, Standard, Verdict}, judge::{Situation, judge_call}, rules::RuleSet};
/// let rules = RuleSet::builtin(Standard::Icao);
/// let me = Situation { callsign: Callsign::parse("Whimbrel 214").unwrap(), shortened: false };
/// let wanted = [(Element::Unit, "Skerrow Ground".into()), (Element::Stand, "12".into()), (Element::Information, "K".into())];
/// let judged = judge_call(&rules, &me, "call.taxi", &wanted, "skerrow ground, whimbrel 214, stand 12, request taxi, information kilo");
/// assert_eq!(judged.verdict, Verdict::Correct);
/// ```
#[must_use]
pub fn judge_call(
    rules: &RuleSet,
    situation: &Situation,
    call: &str,
    wanted: &[(Element, String)],
    reply: &str,
) -> Judgement {
    // The wanted values as a text of their own, so that both sides are read alike.
    let mut text = String::new();
    let mut places = Vec::new();
    for (element, value) in wanted {
        let start = text.len();
        text.push_str(&call_model::words(rules, *element, value));
        places.push((*element, start, text.len()));
        text.push_str(". ");
    }
    with_parsed(|said| {
        with_parsed(|heard| {
            token::tokenize(&rules.lexicon, &text, &mut said.s.atoms);
            said.s.covers.clear();
            said.s.matches.clear();
            said.s.inner.clear();
            said.heard.clear();
            let mut needs = Needs {
                address: For::Us,
                list: Vec::new(),
                station_shortened: false,
                question: false,
                lost: false,
                freer: Vec::new(),
                bare_used: None,
            };
            let phrase = rules.phrase_index(call);
            let instruction = phrase.and_then(|p| rules.phrases[p as usize].instruction.as_ref().map(|_| p));
            let blank = crate::span::Span::default();
            let base = Heard {
                element: Element::Instruction,
                slot: None,
                span: blank,
                value_span: blank,
                clause: 0,
                phrase,
                at: 0,
            };
            for &(element, start, end) in &places {
                if let Some((slot, found)) = read_value(rules, said, &text, element, (start, end)) {
                    let heard = Heard { element, slot: Some((slot, found)), ..base };
                    needs.list.push(Need {
                        heard,
                        duty: Duty::ReadBack,
                        negated: false,
                        matched: None,
                        exact: false,
                        settled: false,
                        kind: PhraseKind::Call,
                    });
                }
            }
            if instruction.is_some() {
                needs.list.push(Need {
                    heard: base,
                    duty: Duty::ReadBack,
                    negated: false,
                    matched: None,
                    exact: false,
                    settled: false,
                    kind: PhraseKind::Call,
                });
            }
            {
                let hints = needs.hints(said, &text);
                let phrases: Vec<u16> = phrase.into_iter().collect();
                heard.read(
                    rules,
                    reply,
                    Speaker::Pilot,
                    Some(&situation.callsign),
                    &hints,
                    (&phrases, phrases.len()),
                );
            }
            bare_procedure(rules, heard, phrase, wanted);
            repair::repair(rules, heard);
            let moves = moves(rules, heard);
            let mut case = Case {
                rules,
                situation,
                say: &text,
                said,
                reply,
                heard,
                needs,
                findings: Vec::new(),
                moves,
                items: true,
            };
            case.call_parts();
            case.other_parts(phrase);
            case.forms();
            case.words();
            if case.heard.s.atoms.is_empty() {
                case.callsign_missing();
            } else {
                case.callsign();
                case.station_first(phrase);
                case.signal_first(phrase);
            }
            let model = call_model::call_model(rules, &situation.callsign, call, wanted);
            case.finish(model)
        })
    })
}

/// A departure or arrival said by its name alone has the shape of a callsign; where the call has one, and
/// one's own callsign stands elsewhere, it is no callsign.
fn bare_procedure(rules: &RuleSet, heard: &mut Parsed, phrase: Option<u16>, wanted: &[(Element, String)]) {
    let due = |e: &Element| {
        wanted.iter().any(|w| w.0 == *e)
            || phrase.is_some_and(|p| rules.phrases[usize::from(p)].parts.contains(e))
    };
    let Some(element) = [Element::Sid, Element::Star].into_iter().find(due) else { return };
    let own = heard.s.covers.iter().any(|c| matches!(c.piece, Piece::Own(_)));
    if !own || heard.heard.iter().any(|h| h.element == element) {
        return;
    }
    let mut found = Vec::new();
    for (clause, cover) in heard.s.covers.iter().enumerate() {
        let Piece::Other(_) = cover.piece else { continue };
        found.clear();
        View::new(&heard.s.atoms, &rules.marks).read(
            Builtin::Procedure,
            usize::from(cover.start),
            &mut found,
        );
        let Some(whole) = found.iter().find(|m| m.end == cover.end) else { continue };
        let span = heard.cover_span(cover);
        heard.heard.push(Heard {
            element,
            slot: Some((SlotRef::Builtin(Builtin::Procedure), *whole)),
            span,
            value_span: span,
            clause: u16::try_from(clause).unwrap_or(u16::MAX),
            phrase: None,
            at: cover.start,
        });
        return;
    }
}

/// The value between two bytes of the wanted text.
fn read_value(
    rules: &RuleSet,
    said: &mut Parsed,
    text: &str,
    element: Element,
    (start, end): (usize, usize),
) -> Option<(SlotRef, Match)> {
    let atoms = &said.s.atoms;
    let first = atoms.iter().position(|a| a.span.start as usize >= start)?;
    let last = atoms.iter().rposition(|a| a.span.end as usize <= end)?;
    let whole = |m: &&Match| m.end as usize == last + 1;
    if let Some(builtin) = builtin(element) {
        let mut found = Vec::new();
        View::new(atoms, &rules.marks).read(builtin, first, &mut found);
        if let Some(value) = found.iter().find(whole) {
            return Some((SlotRef::Builtin(builtin), *value));
        }
    }
    // A value of one of the vocabularies that phrases take this element from.
    let mut tried = Vec::new();
    for symbol in rules.symbols.iter().filter(|s| s.element == Some(element)) {
        if matches!(symbol.slot, SlotRef::Data(_)) && !tried.contains(&symbol.slot) {
            tried.push(symbol.slot);
            let found = cover::readings(rules, &mut said.s, text, symbol.slot, first);
            if let Some(value) = found.iter().find(whole) {
                return Some((symbol.slot, *value));
            }
        }
    }
    None
}

/// The slot of the matcher's own that holds an element.
fn builtin(element: Element) -> Option<Builtin> {
    Some(match element {
        Element::Runway => Builtin::Runway,
        Element::Level => Builtin::Level,
        Element::Heading => Builtin::Heading,
        Element::Speed => Builtin::Speed,
        Element::Frequency => Builtin::Frequency,
        Element::Squawk => Builtin::Squawk,
        Element::Altimeter => Builtin::Altimeter,
        Element::Information => Builtin::Information,
        Element::Stand => Builtin::Stand,
        Element::HoldingPoint => Builtin::HoldingPoint,
        Element::TaxiRoute => Builtin::TaxiRoute,
        Element::Point | Element::Route => Builtin::Point,
        Element::ClearanceLimit => Builtin::Place,
        Element::Sid | Element::Star => Builtin::Procedure,
        Element::Unit => Builtin::Unit,
        Element::Time => Builtin::Time,
        _ => return None,
    })
}

impl Case<'_> {
    fn call_parts(&mut self) {
        let mut used = vec![false; self.heard.heard.len()];
        for n in 0..self.needs.list.len() {
            let need = self.needs.list[n].clone();
            let same = |h: &Heard| match (need.heard.slot, h.slot) {
                (None, None) => {
                    h.phrase.map(|p| self.rules.phrases[p as usize].instruction_id)
                        == need.heard.phrase.map(|p| self.rules.phrases[p as usize].instruction_id)
                }
                (Some((_, a)), Some((_, b))) => {
                    let unit = |v| match v {
                        crate::value::Value::Unit(place, function) => Some((place, function)),
                        _ => None,
                    };
                    h.element == need.heard.element
                        && (a.value == b.value
                            || matches!((unit(a.value), unit(b.value)), (Some((p, f)), Some((q, g))) if f == g && (p == q || q == 0)))
                        || a.value == b.value
                            && matches!(
                                need.heard.element,
                                Element::ClearanceLimit
                                    | Element::Point
                                    | Element::Route
                                    | Element::Sid
                                    | Element::Star
                            )
                            && h.element != Element::Unit
                }
                _ => false,
            };
            if let Some(i) = self.heard.heard.iter().enumerate().position(|(i, h)| {
                !used[i] && self.right_level(n, h) && (same(h) || self.near_unit(&need, h))
            }) {
                used[i] = true;
                self.needs.list[n].matched = Some(i);
            }
        }
        for n in 0..self.needs.list.len() {
            let need = self.needs.list[n].clone();
            if need.matched.is_some() {
                continue;
            }
            let other = self.heard.heard.iter().enumerate().position(|(i, h)| {
                !used[i] && h.element == need.heard.element && h.slot.is_some() && need.heard.slot.is_some()
            });
            let finding = match other {
                Some(i) => {
                    used[i] = true;
                    let heard = self.heard.heard[i];
                    let given = crate::parse::canonical::value(self.rules, self.heard, self.reply, &heard);
                    self.finding(&need, Fault::Wrong, Some(given), Some(heard.value_span))
                }
                None => {
                    // Nobody is hurt by what the station can ask for.
                    let missing = self.finding(&need, Fault::Missing, None, None);
                    Finding { severity: missing.severity.min(Severity::Major), ..missing }
                }
            };
            self.findings.push(finding);
        }
    }

    /// Of two levels the first is the one passed, the second the one cleared: a verb of the other kind
    /// beside a level makes it the other one.
    fn right_level(&self, n: usize, heard: &Heard) -> bool {
        let levels = |k: &Need| k.heard.element == Element::Level;
        let list = &self.needs.list;
        if !levels(&list[n]) || list.iter().filter(|k| levels(k)).count() < 2 {
            return true;
        }
        let passed = list.iter().position(levels) == Some(n);
        let cleared = self.phrase_kind(heard) == Some(PhraseKind::Instruction);
        if passed { !cleared } else { !self.is_own_level(heard) }
    }

    /// True if the station is right but for one slip of the keyboard in its place.
    fn near_unit(&self, need: &Need, heard: &Heard) -> bool {
        if need.heard.element != Element::Unit || heard.element != Element::Unit {
            return false;
        }
        let (Some((_, want)), Some((_, got))) = (need.heard.slot, heard.slot) else { return false };
        let (Value::Unit(_, f), Value::Unit(_, g)) = (want.value, got.value) else { return false };
        f == g && self.slipped(&want, &got, 5)
    }

    /// Parts of the call that the situation gives no value for only have to be there.
    fn other_parts(&mut self, phrase: Option<u16>) {
        let Some(index) = phrase else { return };
        for &part in &self.rules.phrases[index as usize].parts {
            let phrase = &self.rules.phrases[index as usize];
            let twice = self.findings.iter().any(|f| f.element == part && f.fault == Fault::Missing);
            let wanted = self.needs.list.iter().filter(|n| n.heard.element == part).count();
            let there = self.heard.heard.iter().filter(|h| h.element == part).count();
            let due = phrase.parts.iter().filter(|p| **p == part).count();
            if part == Element::Callsign || twice || wanted.max(there) >= due {
                continue;
            }
            self.findings.push(Finding {
                element: part,
                fault: Fault::Missing,
                severity: part.severity(Fault::Missing),
                expected: None,
                given: None,
                span: None,
                rule: phrase.source.clone(),
                why: phrase.why.clone(),
                better: None,
                id: phrase.id.clone(),
            });
        }
    }

    /// The station is called first, then comes one's own callsign.
    fn station_first(&mut self, phrase: Option<u16>) {
        let Some(phrase) = phrase.map(|p| &self.rules.phrases[p as usize]) else { return };
        if phrase.parts.first() != Some(&Element::Unit) {
            return;
        }
        let unit = self.heard.heard.iter().find(|h| h.element == Element::Unit).copied();
        let own = self.heard.s.covers.iter().find(|c| matches!(c.piece, Piece::Own(_)));
        if let (Some(unit), Some(own)) = (unit, own)
            && own.start < unit.at
        {
            let expected = Some("the station first".to_owned());
            self.by_rule(
                FormRule::OrderKept,
                Element::Unit,
                Fault::Misplaced,
                Severity::Minor,
                Some(unit.span),
                (expected, None),
            );
        }
    }

    /// A call that begins with its signal has its parts in order, so that whoever hears the first words
    /// knows what matters most.
    fn signal_first(&mut self, phrase: Option<u16>) {
        let Some(phrase) = phrase.map(|p| &self.rules.phrases[p as usize]) else { return };
        if phrase.parts.first() != Some(&Element::Instruction) {
            return;
        }
        let own = self.heard.s.covers.iter().find(|c| matches!(c.piece, Piece::Own(_))).map(|c| c.start);
        let place = |part: Element| match part {
            Element::Callsign => own,
            _ => self.heard.heard.iter().filter(|h| h.element == part).map(|h| h.at).min(),
        };
        let mut last = (0, None);
        // Where and how high come behind them, in any order.
        let first =
            [Element::Instruction, Element::Unit, Element::Callsign, Element::Concern, Element::Proposal];
        for &part in phrase.parts.iter().filter(|p| first.contains(p)) {
            let Some(at) = place(part) else { continue };
            if at < last.0 {
                let before = last.1.map_or("the signal", Element::name);
                return self.out_of_order(at, format!("{before} before {}", part.name()));
            }
            last = (at, Some(part));
        }
        let early = [Element::Information, Element::Heading, Element::Level]
            .into_iter()
            .filter_map(|part| Some((place(part)?, part)))
            .find(|(at, _)| *at < last.0);
        if let (Some((at, part)), Some(before)) = (early, last.1) {
            self.out_of_order(at, format!("{} before {}", before.name(), part.name()));
        }
    }
}
