//! What did not come back.

use super::Case;
use super::judgement::Move;
use super::need::Need;
use crate::element::{Element, Fault, Severity};
use crate::parse::Heard;
use crate::parse::cover::Piece;
use crate::rules::{Duty, FormRule, PhraseKind, Template};
use crate::span::Span;

impl Case<'_> {
    /// States every required element that is not in the reply.
    pub(super) fn missing(&mut self) {
        let any_matched = self.needs.list.iter().any(|n| n.matched.is_some() && n.duty != Duty::None)
            || self.needs.list.iter().any(|n| n.settled);
        let wilco = self.has(Move::Wilco);
        let roger = self.has(Move::Roger);
        let answered = self.answered();
        let mut roger_noted = false;
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            if need.matched.is_some() || need.settled {
                continue;
            }
            let need = need.clone();
            if need.kind == PhraseKind::Question {
                let answered = if self.wants_value(&need) { self.told_value() } else { answered };
                let complied = need.duty == Duty::Acknowledge && wilco;
                let repeated =
                    self.heard.heard.iter().any(|h| h.phrase.is_some() && h.phrase == need.heard.phrase);
                if need.heard.slot.is_none() && self.taken_for_cleared(&need) {
                    let finding = self.finding(&need, Fault::Wrong, None, None);
                    self.findings.push(finding);
                } else if need.heard.slot.is_none() && !answered && !complied && !repeated {
                    self.push_missing(&need);
                }
                continue;
            }
            match need.duty {
                Duty::None | Duty::Carried => {}
                Duty::Acknowledge => {
                    let silent = self.heard.s.atoms.is_empty();
                    if silent && need.heard.slot.is_none() {
                        self.push_missing(&need);
                    } else if !wilco
                        && !any_matched
                        && !roger_noted
                        && !answered
                        && need.heard.slot.is_none()
                        && self.rules.on(FormRule::AckRoger)
                    {
                        roger_noted = true;
                        let span = self.move_span("roger");
                        self.by_rule(
                            FormRule::AckRoger,
                            Element::Word,
                            Fault::Nonstandard,
                            Severity::Minor,
                            span,
                            (Some("wilco".into()), None),
                        );
                    }
                }
                Duty::ReadBackOrWilco => {
                    let clause_touched = self.clause_touched(need.heard.clause);
                    if wilco && !clause_touched {
                        continue;
                    }
                    if roger && !clause_touched && !any_matched {
                        if self.rules.on(FormRule::AckRoger) && !roger_noted {
                            roger_noted = true;
                            let span = self.move_span("roger");
                            self.by_rule(
                                FormRule::AckRoger,
                                Element::Word,
                                Fault::Nonstandard,
                                Severity::Minor,
                                span,
                                (Some("wilco".into()), Some("roger".into())),
                            );
                        }
                        continue;
                    }
                    self.push_missing_unless_clause_lost(n, &need, any_matched);
                }
                Duty::ReadBack => self.push_missing_unless_clause_lost(n, &need, any_matched),
            }
        }
    }

    /// A question whether something can be done came back as if it had been cleared: neither yes nor no,
    /// nor *able*, but the instruction.
    fn taken_for_cleared(&self, need: &Need) -> bool {
        let opens = need.heard.phrase.is_some_and(|p| self.rules.phrases[p as usize].opens);
        let reply = self.reply.to_lowercase();
        let says_able =
            reply.split(|c: char| !c.is_alphanumeric()).any(|w| matches!(w, "able" | "can" | "could"));
        let cleared = |h: &Heard| {
            h.phrase != need.heard.phrase
                && h.phrase.is_some_and(|p| {
                    let phrase = &self.rules.phrases[p as usize];
                    phrase.kind == PhraseKind::Instruction && !phrase.by_pilot && phrase.instruction.is_some()
                })
        };
        let moves =
            [Move::Affirm, Move::Negative, Move::Unable, Move::Request, Move::StandBy, Move::SayAgain];
        opens && !says_able && !moves.iter().any(|&m| self.has(m)) && self.heard.heard.iter().any(cleared)
    }

    /// Something of that clause came back.
    fn clause_touched(&self, clause: u16) -> bool {
        self.needs.list.iter().any(|n| n.heard.clause == clause && (n.matched.is_some() || n.settled))
    }

    /// A yes, a no, or the value itself.
    fn answered(&self) -> bool {
        self.has(Move::Affirm) || self.has(Move::Negative) || self.told_value()
    }

    /// True for a question whose answer is a value that only the pilot knows: *confirm level*.
    fn wants_value(&self, need: &Need) -> bool {
        let phrase = need.heard.phrase.map(|p| &self.rules.phrases[p as usize]);
        phrase.is_some_and(|p| p.own_model && p.model.as_ref().is_some_and(Template::has_slot))
            && !self.needs.list.iter().any(|n| n.heard.clause == need.heard.clause && n.heard.slot.is_some())
    }

    /// A value, or a wish, that can be the answer.
    fn told_value(&self) -> bool {
        self.has(Move::Request)
            || self.has(Move::TrafficAnswer)
            || self.heard.heard.iter().any(|h| h.slot.is_some())
            || self.heard.s.covers.iter().any(|c| match c.piece {
                Piece::Bare => true,
                Piece::Phrase { accept, .. } => {
                    let phrase = &self.rules.phrases[accept.phrase as usize];
                    phrase.kind == PhraseKind::Call
                        || phrase.kind == PhraseKind::Move
                            && accept.variant > 0
                            && phrase.instruction.is_none()
                }
                _ => false,
            })
    }

    fn move_span(&self, word: &str) -> Option<Span> {
        self.heard.s.covers.iter().find_map(|c| match c.piece {
            Piece::Phrase { accept, .. }
                if self.rules.phrases[accept.phrase as usize].instruction.as_deref() == Some(word) =>
            {
                Some(self.heard.cover_span(c))
            }
            _ => None,
        })
    }

    fn push_missing(&mut self, need: &Need) {
        let finding = self.finding(need, Fault::Missing, None, None);
        self.findings.push(finding);
    }

    fn push_missing_unless_clause_lost(&mut self, n: usize, need: &Need, any_matched: bool) {
        let element = need.heard.element;
        let phrase = need.heard.phrase.map(|p| &self.rules.phrases[p as usize]);
        let touched = self.clause_touched(need.heard.clause);
        // A clause left out whole while the rest came back is one slip, named by its instruction or condition.
        if !touched && any_matched {
            let head = self.needs.list.iter().position(|o| {
                o.heard.clause == need.heard.clause
                    && o.duty >= Duty::ReadBackOrWilco
                    && (o.heard.element == Element::Condition || o.heard.slot.is_none())
            });
            if head.is_some_and(|h| h != n) {
                return;
            }
        }
        // Another approach names the slip; when to begin it goes with it.
        let replaced = |o: &Need| {
            o.heard.clause == need.heard.clause && o.heard.element == Element::Approach && o.settled
        };
        if element == Element::Restriction && self.needs.list.iter().any(replaced) {
            return;
        }
        // The subject of a condition, or the level of a limit, goes with it.
        let goes_with = match element {
            Element::Traffic => Some(Element::Condition),
            Element::Level => Some(Element::Restriction),
            _ => None,
        };
        if let Some(parent) = goes_with
            && self.needs.list.iter().any(|o| {
                o.heard.clause == need.heard.clause
                    && o.heard.element == parent
                    && o.matched.is_none()
                    && !o.settled
                    && o.required()
                    && touched
                    && self.within(o, need)
            })
        {
            return;
        }
        let limit = phrase.is_some_and(|p| p.limits(element));
        // A condition is a clause of its own; other limits go with their clause.
        let alone = !self
            .needs
            .list
            .iter()
            .any(|o| o.heard.clause == need.heard.clause && o.required() && o.heard.element != element);
        let rest_back = self.needs.list.iter().all(|o| {
            o.heard.clause == need.heard.clause || !o.required() || o.matched.is_some() || o.settled
        });
        let crossing = !touched
            && rest_back
            && self.needs.list.iter().any(|o| {
                o.heard.clause == need.heard.clause && o.required() && o.heard.element == Element::Level
            });
        if limit && any_matched && (element != Element::Restriction || touched || alone || crossing) {
            self.needs.freer.push(element);
        }
        // A level that came back as the cleared level was its limit before.
        if element == Element::Restriction && self.limit_became_level(need) {
            return;
        }
        self.push_missing(need);
    }

    /// A condition owns its traffic; a limit owns the level inside it.
    fn within(&self, parent: &Need, child: &Need) -> bool {
        parent.heard.element == Element::Condition || parent.heard.span.overlaps(child.heard.span)
    }

    fn limit_became_level(&self, need: &Need) -> bool {
        let text = self.want_of(need);
        self.heard.heard.iter().any(|h| {
            h.element == Element::Level
                && !self
                    .needs
                    .list
                    .iter()
                    .any(|n| n.matched.is_some_and(|i| std::ptr::eq(&self.heard.heard[i], h)))
                && text.contains(&self.text_of(h))
        })
    }
}
