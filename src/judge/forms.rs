//! How a right value was said: units, markers, number forms, words that do not belong.

use super::Case;
use super::judgement::Finding;
use crate::element::{Element, Fault, Severity};
use crate::parse::Heard;
use crate::parse::cover::Piece;
use crate::parse::slots::{Match, form};
use crate::rules::{FormRule, PhraseKind};
use crate::text::token::Atom;
use crate::value::Value;

impl Case<'_> {
    /// Form of every value that came back right.
    pub(crate) fn forms(&mut self) {
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            let Some(i) = need.matched else { continue };
            let heard = self.heard.heard[i];
            let Some((_, said)) = need.heard.slot else { continue };
            let Some((_, found)) = heard.slot else { continue };
            if matches!((said.value, found.value), (Value::Name(a), Value::Name(b)) if a != b) {
                let given = Some(heard.value_span.of(self.reply).to_owned());
                let better = Some(self.want_of(need));
                let (element, span) = (heard.element, Some(heard.value_span));
                let values = (better, given);
                self.by_rule(
                    FormRule::SlipKeyboard,
                    element,
                    Fault::Nonstandard,
                    Severity::Advice,
                    span,
                    values,
                );
            } else if need.duty != crate::rules::Duty::None {
                self.form_of(&heard, &found, &said);
            }
        }
    }

    fn note(&mut self, rule: FormRule, element: Element, fault: Fault, heard: &Heard) {
        // The word that does not belong stands before the value.
        let span = match rule {
            FormRule::LevelNoTo => self.heard.s.atoms[heard.at as usize - 1].span,
            _ => heard.span,
        };
        let given = Some(span.of(self.reply).to_owned());
        let better = heard.slot.map(|_| {
            let canonical = crate::parse::canonical::value(self.rules, self.heard, self.reply, heard);
            crate::text::speak::spoken(self.rules.standard, heard.element, &canonical)
        });
        self.by_rule(rule, element, fault, Severity::Minor, Some(span), (better, given));
    }

    fn form_of(&mut self, heard: &Heard, found: &Match, said: &Match) {
        let f = found.form;
        let on = |rule| self.rules.on(rule);
        let spoken = f & form::SPOKEN != 0;
        let nonstandard = Fault::Nonstandard;
        let mut notes: Vec<(FormRule, Element, Fault)> = Vec::new();
        if f & form::LOOSE_DIGIT != 0 && on(FormRule::NumberDigits) {
            notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
        }
        match found.value {
            Value::FlightLevel(level) => {
                if on(FormRule::LevelFlightLevel) {
                    if f & form::MARK == 0 {
                        notes.push((FormRule::LevelFlightLevel, Element::LevelUnit, Fault::Missing));
                    } else if f & form::LEVEL_ALONE != 0 {
                        notes.push((FormRule::LevelFlightLevel, Element::LevelUnit, nonstandard));
                    }
                }
                let hundreds = level >= 100 && level % 100 == 0;
                if hundreds && spoken {
                    if f & form::HUNDRED == 0 && on(FormRule::LevelHundreds) {
                        notes.push((FormRule::LevelHundreds, Element::NumberForm, nonstandard));
                    }
                    if f & form::HUNDRED != 0 && on(FormRule::LevelDigits) {
                        notes.push((FormRule::LevelDigits, Element::NumberForm, nonstandard));
                    }
                }
                if f & form::GROUPED != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
                let to_before =
                    heard.at > 0 && self.heard.s.atoms[heard.at as usize - 1].word == self.rules.marks.to;
                if to_before && on(FormRule::LevelNoTo) {
                    notes.push((FormRule::LevelNoTo, Element::Word, nonstandard));
                }
            }
            Value::Feet(feet) => {
                let round = feet >= 1000 && feet % 100 == 0;
                if round && spoken && f & form::ROUND == 0 && on(FormRule::LevelThousand) {
                    notes.push((FormRule::LevelThousand, Element::NumberForm, nonstandard));
                }
                let word = |atoms: &[Atom], m: &Match| atoms.get(m.start as usize).map_or(0, |a| a.word);
                let marks = &self.rules.marks;
                let datum = [marks.altitude, marks.height];
                let (here, there) = (word(&self.heard.s.atoms, found), word(&self.said.s.atoms, said));
                if here != there && datum.contains(&here) && datum.contains(&there) {
                    notes.push((FormRule::LevelAltitudeWord, Element::LevelUnit, nonstandard));
                }
                if f & form::UNIT == 0 && on(FormRule::LevelFeet) {
                    notes.push((FormRule::LevelFeet, Element::LevelUnit, Fault::Missing));
                } else if f & form::ALTITUDE == 0
                    && said.form & form::ALTITUDE != 0
                    && on(FormRule::LevelAltitudeWord)
                {
                    notes.push((FormRule::LevelAltitudeWord, Element::LevelUnit, Fault::Missing));
                }
                if f & form::GROUPED != 0 && !on(FormRule::LevelGroup) {
                    notes.push((FormRule::LevelGroup, Element::NumberForm, nonstandard));
                }
            }
            Value::Heading(degrees) => {
                if f & form::MARK == 0 && on(FormRule::HeadingWord) {
                    notes.push((FormRule::HeadingWord, Element::Heading, nonstandard));
                }
                let needs_degrees = degrees % 10 == 0;
                if f & form::UNIT == 0 && needs_degrees && on(FormRule::HeadingDegrees) {
                    notes.push((FormRule::HeadingDegrees, Element::Heading, nonstandard));
                }
                if f & form::UNIT != 0 && on(FormRule::HeadingNoDegrees) {
                    notes.push((FormRule::HeadingNoDegrees, Element::Heading, nonstandard));
                }
                if f & (form::GROUPED | form::SHORT) != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
            }
            Value::Knots(_) => {
                if f & form::UNIT == 0 && on(FormRule::SpeedKnots) {
                    notes.push((FormRule::SpeedKnots, Element::Speed, nonstandard));
                }
                if f & form::GROUPED != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
            }
            Value::Frequency(kilohertz) if said.form & form::SHORT == 0 => {
                if f & form::POINT != 0 && on(FormRule::FrequencyDecimal) {
                    notes.push((FormRule::FrequencyDecimal, Element::Frequency, nonstandard));
                } else if f & form::DECIMAL == 0 && on(FormRule::FrequencyDecimalSaid) {
                    notes.push((FormRule::FrequencyDecimalSaid, Element::NumberForm, nonstandard));
                }
                if f & form::NO_LEAD != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
                let cut = f & form::CUT_CHANNEL != 0 && said.form & form::CUT_CHANNEL == 0;
                // Typed, a last zero may be left out as in any number.
                if cut && (spoken || kilohertz % 10 != 0) && on(FormRule::FrequencySixDigits) {
                    notes.push((FormRule::FrequencySixDigits, Element::NumberForm, nonstandard));
                }
                if f & form::GROUPED != 0 && on(FormRule::FrequencyDecimal) {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
            }
            Value::Squawk(code) => {
                if f & form::ROUND != 0 && on(FormRule::SquawkThousandDigits) && code % 1000 == 0 {
                    notes.push((FormRule::SquawkThousandDigits, Element::NumberForm, nonstandard));
                }
                if f & form::GROUPED != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
            }
            Value::Hectopascals(pressure) => {
                if f & form::MARK == 0 && on(FormRule::AltimeterWord) {
                    notes.push((FormRule::AltimeterWord, Element::Altimeter, nonstandard));
                }
                if pressure < 1000 && f & form::UNIT == 0 && on(FormRule::AltimeterUnit) {
                    notes.push((FormRule::AltimeterUnit, Element::PressureUnit, Fault::Missing));
                }
                if pressure == 1000 && spoken && f & form::ROUND == 0 && on(FormRule::AltimeterThousand) {
                    notes.push((FormRule::AltimeterThousand, Element::NumberForm, nonstandard));
                }
                if f & form::GROUPED != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
            }
            Value::Runway(number, side) => {
                // Inside its own clause, or with its side, a number can be nothing but the runway.
                let clear = heard.phrase.is_some() && self.phrase_kind(heard) != Some(PhraseKind::Fragment);
                if f & form::MARK == 0 && side == 0 && !clear && on(FormRule::RunwayWord) {
                    notes.push((FormRule::RunwayWord, Element::Runway, nonstandard));
                }
                if f & form::SHORT != 0 && number < 10 && on(FormRule::RunwayLeadingZero) && spoken {
                    notes.push((FormRule::RunwayLeadingZero, Element::NumberForm, nonstandard));
                }
                if f & form::GROUPED != 0 {
                    notes.push((FormRule::NumberDigits, Element::NumberForm, nonstandard));
                }
            }
            _ => {}
        }
        notes.sort_by_key(|n| (n.0 as u8, n.1));
        notes.dedup_by_key(|n| (n.0 as u8, n.1));
        for (rule, element, fault) in notes {
            self.note(rule, element, fault, heard);
        }
    }

    /// Forms that are understood and noted, and slips of the keyboard.
    pub(crate) fn words(&mut self) {
        for cover in &self.heard.s.covers {
            let span = self.heard.cover_span(cover);
            if let Piece::Phrase { accept, .. } = cover.piece
                && accept.variant > 0
            {
                let phrase = &self.rules.phrases[accept.phrase as usize];
                let variant = &phrase.variants[accept.variant as usize - 1];
                // In a transmission's own words a variant is no fault of the pilot.
                let twice = self.findings.iter().any(|f| {
                    f.element == variant.element && f.fault == variant.fault && f.span == Some(span)
                });
                if !twice {
                    let severity = if variant.fault == Fault::Wrong {
                        variant.element.severity(Fault::Wrong)
                    } else {
                        Severity::Minor
                    };
                    self.findings.push(Finding {
                        element: variant.element,
                        fault: variant.fault,
                        severity,
                        expected: Some(variant.better.clone()),
                        given: Some(span.of(self.reply).to_owned()),
                        span: Some(span),
                        rule: variant.source.clone(),
                        why: variant.why.clone(),
                        better: Some(variant.better.clone()),
                        id: phrase.id.clone(),
                    });
                }
            }
            if cover.slip && !matches!(cover.piece, Piece::Own(_)) {
                let atoms = &self.heard.s.atoms[cover.start as usize..cover.end as usize];
                let slip = atoms.iter().find(|a| a.slip != 0 && a.word == 0);
                let span = slip.map_or(span, |a| a.span);
                let rule = self.rules.rule(FormRule::SlipKeyboard);
                self.findings.push(Finding {
                    element: Element::Word,
                    fault: Fault::Nonstandard,
                    severity: Severity::Advice,
                    expected: None,
                    given: Some(span.of(self.reply).to_owned()),
                    span: Some(span),
                    rule: rule.source.clone(),
                    why: rule.why.clone(),
                    better: None,
                    id: rule.id.clone(),
                });
            }
        }
    }
}
