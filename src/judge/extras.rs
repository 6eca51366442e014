//! What came back without being asked: instructions never given, news read back.

use super::Case;
use super::judgement::{Finding, Move};
use super::need::{Need, negated};
use crate::element::{Element, Fault, Severity};
use crate::parse::Heard;
use crate::parse::cover::{Cover, Piece};
use crate::parse::slots::{View, form};
use crate::rules::{Duty, FormRule, Phrase, PhraseKind, SlotRef};
use crate::text::token::{Atom, BREAK, FILLER, Kind};
use crate::value::Value;

impl Case<'_> {
    /// Instructions and values that were never given.
    pub(super) fn extras(&mut self, used: &[bool]) {
        if self.needs.question {
            return;
        }
        let mut named: Vec<u16> = Vec::new();
        for i in 0..self.heard.heard.len() {
            let heard = self.heard.heard[i];
            if used[i] || named.contains(&heard.clause) {
                continue;
            }
            let Some(p) = heard.phrase else { continue };
            let phrase = &self.rules.phrases[p as usize];
            if phrase.kind != PhraseKind::Instruction || phrase.by_pilot {
                continue;
            }
            let clause = |h: &Heard| h.clause == heard.clause;
            // What was only announced came back as a clearance.
            let only_news = || {
                let mut owners = self
                    .needs
                    .list
                    .iter()
                    .filter(|n| n.matched.is_some_and(|j| clause(&self.heard.heard[j])));
                owners.clone().next().is_some()
                    && owners.all(|n| matches!(n.duty, Duty::None | Duty::Acknowledge))
            };
            let stays_put = || self.needs.list.iter().any(|n| self.stays_put(n, phrase));
            let cleared = heard.slot.is_none()
                && phrase.hazard == Some(Severity::Critical)
                && phrase.duty(Element::Instruction) == Duty::ReadBack
                && !stays_put()
                && only_news();
            let severity = if cleared || self.never_given(&heard, phrase) {
                Some(Severity::Critical)
            } else if self.only_announced(&heard, phrase) {
                Some(phrase.hazard.unwrap_or(Severity::Major).max(Severity::Major))
            } else {
                None
            };
            if let Some(severity) = severity {
                named.push(heard.clause);
                let finding = self.stray(&heard, phrase, severity);
                self.findings.push(finding);
                continue;
            }
            let level = heard.element == Element::Level;
            let clause_used =
                self.heard.heard.iter().enumerate().any(|(j, h)| used[j] && clause(h) && h.slot.is_some());
            let instruction_used =
                self.heard.heard.iter().enumerate().any(|(j, h)| used[j] && clause(h) && h.slot.is_none());
            // A level stated under a wrong verb is a second slip; other extras of a used clause are not.
            let wanted_level = self.needs.list.iter().any(|n| n.heard.element == Element::Level);
            let second_slip = level && instruction_used && !wanted_level && !clause_used;
            if (clause_used || instruction_used) && !second_slip {
                continue;
            }
            if heard.slot.is_none() && self.heard.heard.iter().any(|h| clause(h) && h.slot.is_some()) {
                continue;
            }
            let owed = phrase.duty(heard.element);
            if matches!(owed, Duty::None | Duty::Acknowledge) {
                continue;
            }
            // Only what would move the aircraft or its radio counts; remarks about speed and the like do not.
            if !(moves(heard.element) || heard.slot.is_none() && phrase.hazard == Some(Severity::Critical)) {
                continue;
            }
            let second = heard.slot.is_some()
                && self.comes_second(heard.element, heard.at)
                && !self.needs.list.iter().any(|n| self.same(n, &heard));
            // A side is often left out by the station and added by the pilot.
            if !second && (heard.element == Element::Turn || self.included(phrase.instruction_id)) {
                continue;
            }
            let severity = phrase
                .hazard
                .unwrap_or(heard.element.severity(Fault::Wrong))
                .max(heard.element.severity(Fault::Wrong));
            if severity < Severity::Major {
                continue;
            }
            named.push(heard.clause);
            let finding = self.stray(&heard, phrase, severity);
            self.findings.push(finding);
        }
    }

    /// True for an instruction that the station only announced: *expect push back at two five*.
    fn only_announced(&self, heard: &Heard, phrase: &Phrase) -> bool {
        let instruction = phrase.instruction_id;
        let given = |c: &Cover, test: &dyn Fn(&Phrase) -> bool| match c.piece {
            Piece::Phrase { accept, .. } => test(&self.rules.phrases[accept.phrase as usize]),
            _ => false,
        };
        let said = &self.said.s.covers;
        heard.slot.is_none()
            && instruction != 0
            && said.iter().any(|c| given(c, &|p| p.announces.contains(&instruction)))
            && !said.iter().any(|c| given(c, &|p| p.instruction_id == instruction))
    }

    /// True for an instruction that someone can be hurt by and that nobody gave: a take-off clearance in the
    /// answer to a line-up.
    fn never_given(&self, heard: &Heard, phrase: &Phrase) -> bool {
        let about = |n: &Need, test: &dyn Fn(&Phrase) -> bool| {
            n.heard.phrase.is_some_and(|p| test(&self.rules.phrases[p as usize]))
        };
        let same =
            |p: &Phrase| p.instruction_id == phrase.instruction_id || p.near.contains(&phrase.instruction_id);
        let cover = &self.heard.s.covers[usize::from(heard.clause)];
        let noted = |f: &Finding| f.fault == Fault::Wrong && f.span.is_some_and(|s| s.overlaps(heard.span));
        heard.slot.is_none()
            && (phrase.hazard == Some(Severity::Critical)
                // Who waits for somebody although nobody said so hurts no one.
                || phrase.hazard == Some(Severity::Major) && !phrase.limits(Element::Instruction))
            && !self.findings.iter().any(noted)
            // A kind of approach names the slip better than its verb.
            && !self.heard.heard.iter().any(|h| h.clause == heard.clause && h.element == Element::Approach)
            && !self.words_said(cover.start, cover.end)
            && phrase.duty(Element::Instruction) >= Duty::ReadBackOrWilco
            && !negated(self.rules, self.heard, heard)
            && !self.needs.list.iter().any(|n| self.stays_put(n, phrase))
            && !self.included(phrase.instruction_id)
            && !self
                .needs
                .list
                .iter()
                .any(|n| about(n, &same) || n.negated && about(n, &|p| p.family == phrase.family))
    }

    /// Values of their own, without an instruction, that nobody gave: a second level after the right one,
    /// a flight level for a heading.
    pub(super) fn second_values(&mut self, used: &[bool]) {
        for (&heard, &used) in self.heard.heard.iter().zip(used) {
            let Some(p) = heard.phrase else { continue };
            let phrase = &self.rules.phrases[p as usize];
            if used || heard.slot.is_none() || phrase.kind != PhraseKind::Fragment || !moves(heard.element) {
                continue;
            }
            if self.needs.list.iter().any(|n| self.same(n, &heard)) {
                continue;
            }
            let severity = heard.element.severity(Fault::Wrong);
            if self.comes_second(heard.element, heard.at) || self.is_out_of_place(&heard) {
                let finding = self.stray(&heard, phrase, severity);
                self.findings.push(finding);
            }
        }
        self.points_beyond(used);
        self.second_digits();
        self.limits_never_given(used);
    }

    /// What a pilot who is unable to do one thing, or asks for one again, says of the others: a wrong value
    /// or an instruction that nobody gave is no less wrong. What stands right behind *unable* is what cannot be done.
    pub(super) fn beside_excuse(&mut self, used: &[bool]) {
        let covers = &self.heard.s.covers;
        let atoms = &self.heard.s.atoms;
        let unable = |c: &Cover| match c.piece {
            Piece::Phrase { accept, .. } => {
                self.rules.phrases[accept.phrase as usize].instruction.as_deref() == Some("unable")
            }
            _ => false,
        };
        let refused = |h: &Heard| {
            let clause = usize::from(h.clause);
            let first = &atoms[covers[clause].start as usize];
            unable(&covers[clause]) || !first.is(BREAK) && clause > 0 && unable(&covers[clause - 1])
        };
        // Who asks for the rest reads back what he has; who is unable may name another value that he can do.
        let read_back = !self.has(Move::Unable);
        let mut found = Vec::new();
        for (heard, &used) in self.heard.heard.iter().zip(used) {
            let Some(p) = heard.phrase else { continue };
            let phrase = &self.rules.phrases[p as usize];
            if used || phrase.by_pilot || refused(heard) {
                continue;
            }
            let need = self.needs.list.iter().find(|n| {
                (n.heard.phrase == heard.phrase
                    || read_back
                        && (phrase.kind == PhraseKind::Fragment
                            || self.family(heard) == self.family(&n.heard)))
                    && n.heard.element == heard.element
                    && n.heard.slot.is_some()
                    && n.matched.is_none()
                    && n.required()
            });
            match need {
                Some(need) if heard.slot.is_some() && moves(heard.element) && !self.same(need, heard) => {
                    found.push(self.finding(
                        need,
                        Fault::Wrong,
                        Some(self.text_of(heard)),
                        Some(heard.value_span),
                    ));
                }
                _ if self.never_given(heard, phrase) && !phrase.safe => {
                    found.push(self.stray(heard, phrase, Severity::Critical));
                }
                _ => {}
            }
        }
        self.findings.extend(found);
    }

    /// Points after the one that was given: *direct TARNO then BIRLA*.
    fn points_beyond(&mut self, used: &[bool]) {
        for (&heard, &used) in self.heard.heard.iter().zip(used) {
            let Some(p) = heard.phrase else { continue };
            let beside = self.needs.list.iter().any(|n| {
                n.heard.element == Element::Route
                    && n.required()
                    && n.matched.is_some_and(|j| self.heard.heard[j].clause == heard.clause)
            });
            let given = self.needs.list.iter().any(|n| self.same(n, &heard));
            if used || heard.element != Element::Route || !beside || given {
                continue;
            }
            let finding =
                self.stray(&heard, &self.rules.phrases[p as usize], heard.element.severity(Fault::Wrong));
            self.findings.push(finding);
        }
    }

    /// A limit added to a level or speed that was cleared without one: *when ready*; a condition added to anything.
    fn limits_never_given(&mut self, used: &[bool]) {
        // Words that were not understood may have been a limit.
        let understood =
            |c: &Cover| !matches!(c.piece, Piece::Skip) || self.said.s.atoms[c.start as usize].is(FILLER);
        let limited = |e| matches!(e, Element::Restriction | Element::Condition);
        // A limit that did not come back is told as one that is missing or wrong.
        if self.needs.list.iter().any(|n| limited(n.heard.element) && n.matched.is_none())
            || !self.said.s.covers.iter().all(understood)
        {
            return;
        }
        let mut found = Vec::new();
        for (heard, &used) in self.heard.heard.iter().zip(used) {
            let Some(p) = heard.phrase else { continue };
            let phrase = &self.rules.phrases[p as usize];
            let alone = self.is_limit_alone(heard);
            // Beside a limited value, or in a clause of its own right after it.
            let beside = self.needs.list.iter().any(|n| {
                let own = |i: usize| self.heard.heard[i].clause == heard.clause;
                let limitable = limited(n.heard.element)
                    || matches!(n.heard.element, Element::Level | Element::Speed | Element::Rate)
                    || n.heard.slot.is_none() && n.matched.is_some_and(own);
                limitable
                    && n.required()
                    && n.matched.is_some_and(|j| {
                        let clause = self.heard.heard[j].clause;
                        clause == heard.clause || alone && clause + 1 == heard.clause
                    })
            });
            let limit = heard.element == Element::Restriction && phrase.kind == PhraseKind::Instruction;
            let given = || self.needs.list.iter().any(|n| self.same(n, heard));
            let condition = heard.element == Element::Condition
                && !self.needs.list.iter().any(|n| n.heard.element == Element::Condition);
            if !used && (limit && beside || condition) && !self.was_said(heard) && !given() {
                found.push(self.stray(heard, phrase, heard.element.severity(Fault::Wrong)));
            }
        }
        self.findings.extend(found);
    }

    /// True for a limit that makes up a clause of its own: *at BIRLA*.
    fn is_limit_alone(&self, heard: &Heard) -> bool {
        self.phrase_kind(heard) == Some(PhraseKind::Instruction)
            && self.heard.heard.iter().all(|o| o.clause != heard.clause || o.element == Element::Restriction)
    }

    /// True if the transmission has the words of a value, one after the other.
    fn was_said(&self, heard: &Heard) -> bool {
        heard.slot.is_some_and(|(_, found)| self.words_said(found.start, found.end))
    }

    /// True if the transmission has the words of some atoms of the reply, one after the other.
    pub(super) fn words_said(&self, start: u16, end: u16) -> bool {
        let atoms = &self.heard.s.atoms[start as usize..end as usize];
        // Digits and letters by their value, words outside the vocabulary by their letters.
        let same = |a: &Atom, b: &Atom| {
            (a.kind, a.word, a.value) == (b.kind, b.word, b.value)
                && (a.kind != Kind::Word || a.word != 0 || a.hash == b.hash)
        };
        self.said.s.atoms.windows(atoms.len().max(1)).any(|w| w.iter().zip(atoms).all(|(a, b)| same(a, b)))
    }

    /// True if a required value of that element came back before atom `at`.
    fn comes_second(&self, element: Element, at: u16) -> bool {
        self.needs.list.iter().any(|n| {
            n.heard.element == element
                && n.required()
                && n.matched.is_some_and(|i| self.heard.heard[i].at < at)
        })
    }

    /// True for a flight level or altitude, said as one, where the transmission has none, and for a wind
    /// that came back as a heading.
    fn is_out_of_place(&self, heard: &Heard) -> bool {
        let wind = |n: &Need| match (n.heard.slot, heard.slot) {
            (Some((_, n)), Some((_, h))) => {
                matches!((n.value, h.value), (Value::Wind(from, ..), Value::Heading(to)) if from == to)
            }
            _ => false,
        };
        let blown = heard.element == Element::Heading && self.needs.list.iter().any(wind);
        (heard.element == Element::Level || blown)
            && heard.slot.is_some_and(|s| s.1.form & form::MARK != 0)
            && self.needs.is_read_back()
            && !self.needs.list.iter().any(|n| n.heard.element == heard.element)
    }

    /// Digits right after a value that came back right, and of its length: *one two zero or one four zero*.
    fn second_digits(&mut self) {
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            let (Some(i), Some(_)) = (need.matched, need.heard.slot) else { continue };
            let heard = self.heard.heard[i];
            let Some((SlotRef::Builtin(builtin), found)) = heard.slot else { continue };
            if !need.required() || !moves(heard.element) {
                continue;
            }
            let small = |c: &&Cover| {
                let word = self.heard.s.atoms[c.start as usize].word;
                matches!(c.piece, Piece::Skip)
                    && (self.rules.marks.is_small(word) || word == self.rules.marks.or)
            };
            let mut after = self.heard.s.covers.iter().filter(|c| c.start >= found.end);
            let Some(next) = after.find(|c| !small(c)) else { continue };
            let (from, to) = (next.start as usize, next.end as usize);
            if !matches!(next.piece, Piece::Bare) || to - from != usize::from(found.to - found.from) {
                continue;
            }
            if self.is_ident(from, to) || self.counts_something(to) || self.needs.bare_used.is_some() {
                continue;
            }
            let mut readings = Vec::new();
            View::new(&self.heard.s.atoms, &self.rules.marks).read(builtin, from, &mut readings);
            let Some(second) = readings.into_iter().find(|m| m.end as usize == to && m.value != found.value)
            else {
                continue;
            };
            let span = self.heard.cover_span(next);
            let slot = Some((SlotRef::Builtin(builtin), second));
            let stray = Heard { slot, span, value_span: span, ..heard };
            let Some(p) = need.heard.phrase else { continue };
            let phrase = &self.rules.phrases[p as usize];
            let finding = self.stray(&stray, phrase, heard.element.severity(Fault::Wrong));
            self.findings.push(finding);
        }
    }

    /// A finding about something that was never given.
    fn stray(&self, heard: &Heard, phrase: &crate::rules::Phrase, severity: Severity) -> Finding {
        // A value by itself has no instruction whose reason could be told.
        let rule = self.rules.rule(FormRule::NeverGiven);
        let (source, why, id) = if phrase.kind == PhraseKind::Fragment {
            (&rule.source, &rule.why, &rule.id)
        } else {
            (&phrase.source, &phrase.why, &phrase.id)
        };
        Finding {
            element: heard.element,
            fault: Fault::Wrong,
            severity,
            expected: None,
            given: Some(self.text_of(heard)),
            span: Some(heard.value_span),
            rule: source.clone(),
            why: why.clone(),
            better: None,
            id: id.clone(),
        }
    }

    /// True if an instruction that was read back right includes this one.
    fn included(&self, instruction: u16) -> bool {
        self.needs.list.iter().filter(|n| n.matched.is_some()).filter_map(|n| n.heard.phrase).any(|p| {
            let phrase = &self.rules.phrases[p as usize];
            phrase.includes.contains(&instruction) || phrase.instruction_id == instruction && instruction != 0
        })
    }

    /// Wind, traffic and news read back.
    pub(super) fn unrequested(&mut self, used: &[bool]) {
        if !self.rules.on(FormRule::InformationUnrequested) {
            return;
        }
        let mut noted: Vec<Element> = Vec::new();
        for (i, heard) in self.heard.heard.iter().enumerate() {
            let element = heard.element;
            if !matches!(element, Element::Wind | Element::Traffic | Element::Information)
                || noted.contains(&element)
            {
                continue;
            }
            let need = self.needs.list.iter().find(|n| n.matched == Some(i));
            let informs = self.phrase_kind(heard) == Some(PhraseKind::Information);
            let was_given =
                self.needs.list.iter().any(|n| n.heard.element == element && n.duty == Duty::None);
            let news = need.is_some_and(|n| n.duty == Duty::None) || (informs && !used[i] && was_given);
            if !news
                || (element == Element::Information
                    && self.phrase_kind(heard) != Some(PhraseKind::Information))
            {
                continue;
            }
            noted.push(element);
        }
        for element in noted {
            let heard = self.heard.heard.iter().find(|h| h.element == element).copied();
            let given = heard.map(|h| self.text_of(&h));
            let span = heard.map(|h| h.span);
            self.by_rule(
                FormRule::InformationUnrequested,
                element,
                Fault::Unrequested,
                Severity::Minor,
                span,
                (None, given),
            );
        }
    }
}

/// Elements that move the aircraft or its radio.
fn moves(element: Element) -> bool {
    matches!(
        element,
        Element::Level
            | Element::Heading
            | Element::Turn
            | Element::Runway
            | Element::Approach
            | Element::Squawk
            | Element::Frequency
    )
}
