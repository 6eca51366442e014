//! Elements of the reply against those transmitted: what is there, wrong, missing, or never given.

use super::Case;
use super::judgement::{Finding, Move};
use super::need::{Need, negated};
use crate::element::{Element, Fault, Severity};
use crate::parse::canonical;
use crate::parse::cover::Piece;
use crate::parse::slots::{Builtin, Match, View, form};
use crate::parse::{self, Heard};
use crate::rules::{Duty, FormRule, Phrase, PhraseKind, SlotRef};
use crate::span::Span;
use crate::value::Value;

impl Case<'_> {
    /// Matches, then states what is wrong, missing, unrequested, or of nonstandard form.
    pub(crate) fn align(&mut self) {
        let mut used = vec![false; self.heard.heard.len()];
        self.match_values(&mut used);
        self.uncross(&mut used);
        if self.excused() {
            if [Move::Unable, Move::SayAgain, Move::SayAgainPart].iter().any(|&m| self.has(m)) {
                self.beside_excuse(&used);
            }
            return;
        }
        if self.needs.lost {
            self.not_asked_again();
        }
        self.joined_routes(&mut used);
        self.instructions(&mut used);
        self.wrong_values(&mut used);
        self.share();
        self.wrong_bare();
        self.missing();
        self.extras(&used);
        self.second_values(&used);
        self.unrequested(&used);
        self.forms();
    }

    /// Part of the transmission was lost, and the reply does not ask for it.
    fn not_asked_again(&mut self) {
        self.by_rule(
            FormRule::LostSayAgain,
            Element::Instruction,
            Fault::Missing,
            Severity::Major,
            None,
            (Some("say again".into()), None),
        );
    }

    pub(super) fn phrase_kind(&self, heard: &Heard) -> Option<PhraseKind> {
        heard.phrase.map(|p| self.rules.phrases[p as usize].kind)
    }

    /// True if an element of the reply can answer a transmission: it is not part of the pilot's own
    /// report or request.
    fn answers(&self, heard: &Heard) -> bool {
        !matches!(self.phrase_kind(heard), Some(PhraseKind::Call | PhraseKind::Move))
    }

    /// True for a level that the pilot says he is passing or leaving: it is not the one he is cleared to.
    pub(super) fn is_own_level(&self, heard: &Heard) -> bool {
        heard.element == Element::Level
            && heard.phrase.is_some_and(|p| {
                let phrase = &self.rules.phrases[p as usize];
                phrase.by_pilot
                    && phrase.kind == PhraseKind::Move
                    && phrase.duty(Element::Level) == Duty::None
            })
    }

    pub(crate) fn family(&self, heard: &Heard) -> Option<u16> {
        heard.phrase.map(|p| self.rules.phrases[p as usize].family)
    }

    fn match_values(&mut self, used: &mut [bool]) {
        // Same phrase first, then the same kind of phrase, then anything that answers; in each, values
        // that tell clauses apart before sides and verbs, which many clauses share.
        for pass in 0..3 {
            for vague in [false, true] {
                for n in 0..self.needs.list.len() {
                    let need = &self.needs.list[n];
                    let shared = need.heard.slot.is_none() || need.heard.element == Element::Turn;
                    if need.matched.is_some() || shared != vague {
                        continue;
                    }
                    if let Some(i) = self.best_match(need, pass, used) {
                        used[i] = true;
                        self.needs.list[n].matched = Some(i);
                        self.needs.list[n].exact = pass == 0;
                    }
                }
            }
        }
    }

    /// The element of the reply that answers a need, from a clause that answers the same clause if there is one.
    fn best_match(&self, need: &Need, pass: u8, used: &[bool]) -> Option<usize> {
        if pass > 0 && self.contradicted(need, used) {
            return None;
        }
        let candidates = self.heard.heard.iter().enumerate().filter(|(i, h)| {
            let close = match pass {
                0 => h.phrase.is_some() && h.phrase == need.heard.phrase,
                1 => {
                    h.phrase.is_none()
                        || self.family(h) == self.family(&need.heard)
                        || self.phrase_kind(h) == Some(PhraseKind::Fragment)
                }
                _ => need.heard.slot.is_some(),
            };
            !used[*i]
                && close
                && (self.answers(h) || pass == 2 && h.slot.is_some() && !self.is_own_level(h))
                && self.same(need, h)
                && !self.owned_elsewhere(need, h)
        });
        candidates.min_by_key(|(i, h)| (!self.linked(need, h), *i)).map(|(i, _)| i)
    }

    /// True if another value of the same clause came back in the clause of `heard`.
    fn linked(&self, need: &Need, heard: &Heard) -> bool {
        self.needs.list.iter().any(|o| {
            o.heard.clause == need.heard.clause
                && o.heard.slot.is_some()
                && o.matched.is_some_and(|i| self.heard.heard[i].clause == heard.clause)
        })
    }

    /// True if the reply gives the instruction of a need with another value: no value said elsewhere
    /// stands for it.
    fn contradicted(&self, need: &Need, used: &[bool]) -> bool {
        need.heard.slot.is_some()
            && self.phrase_kind(&need.heard) == Some(PhraseKind::Instruction)
            && self.heard.heard.iter().zip(used).any(|(h, used)| {
                !used
                    && h.phrase == need.heard.phrase
                    && h.element == need.heard.element
                    && h.slot.is_some()
                    && !self.same(need, h)
            })
    }

    /// True if the reply gives a value under another instruction of the transmission, which has another
    /// value of that element and does not come back in its own words: values swapped between two
    /// instructions are two slips.
    fn owned_elsewhere(&self, need: &Need, heard: &Heard) -> bool {
        let Some(p) = heard.phrase else { return false };
        let id = |p: u16| self.rules.phrases[p as usize].instruction_id;
        if heard.slot.is_none()
            || self.phrase_kind(heard) != Some(PhraseKind::Instruction)
            || need.heard.phrase.is_none_or(|q| q == p || id(q) == id(p) && id(p) != 0)
        {
            return false;
        }
        self.needs.list.iter().any(|o| {
            !o.exact && o.heard.phrase == Some(p) && o.heard.element == heard.element && !self.same(o, heard)
        })
    }

    /// Two clauses of one phrase, each answered half by one clause of the reply and half by another, were
    /// mixed up: each keeps only the values that stand where its first value came back.
    fn uncross(&mut self, used: &mut [bool]) {
        let clause_of = |n: &Need| {
            let heard = &self.heard.heard[n.matched?];
            (n.heard.slot.is_some() && heard.phrase.is_some() && heard.phrase == n.heard.phrase)
                .then_some(heard.clause)
        };
        let mut homes: Vec<(u16, u16)> = Vec::new();
        let mut strays: Vec<(usize, u16)> = Vec::new();
        for (n, need) in self.needs.list.iter().enumerate() {
            let Some(clause) = clause_of(need) else { continue };
            match homes.iter().find(|h| h.0 == need.heard.clause) {
                None => homes.push((need.heard.clause, clause)),
                Some(home) if home.1 != clause => strays.push((n, clause)),
                Some(_) => {}
            }
        }
        strays.retain(|&(n, clause)| {
            let own = self.needs.list[n].heard.clause;
            homes.iter().any(|h| h.0 != own && h.1 == clause)
        });
        for (n, _) in strays {
            if let Some(i) = self.needs.list[n].matched.take() {
                used[i] = false;
            }
        }
    }

    /// One value said once can answer the same value asked twice.
    fn share(&mut self) {
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            if need.matched.is_some() || need.heard.slot.is_none() || need.settled {
                continue;
            }
            let twin = self.needs.list.iter().find(|o| {
                o.matched.is_some()
                    && o.heard.element == need.heard.element
                    && o.heard.slot.map(|s| s.1.value) == need.heard.slot.map(|s| s.1.value)
            });
            let shared = twin.and_then(|t| t.matched);
            self.needs.list[n].matched = shared;
        }
    }

    /// True if an element of the reply has the value of a need.
    pub(super) fn same(&self, need: &Need, heard: &Heard) -> bool {
        match (&need.heard.slot, &heard.slot) {
            (None, None) => {
                let id = |h: &Heard| h.phrase.map(|p| self.rules.phrases[p as usize].instruction_id);
                id(&need.heard) == id(heard) && self.same_sense(need, heard)
            }
            (Some((_, want)), Some((_, got))) => {
                let kin = need.heard.element == heard.element || kin(need.heard.element, heard.element);
                kin && self.same_sense(need, heard) && self.same_value(need, want, heard, got)
            }
            _ => false,
        }
    }

    /// True if both are asked for, or both are forbidden.
    fn same_sense(&self, need: &Need, heard: &Heard) -> bool {
        let denied = |p: u16| {
            self.stays_put(need, &self.rules.phrases[p as usize]) || negated(self.rules, self.heard, heard)
        };
        need.negated == heard.phrase.is_some_and(denied)
    }

    /// True for the answer to a prohibition: who stays where he is does not do what was forbidden, unless
    /// just that was forbidden.
    pub(super) fn stays_put(&self, need: &Need, phrase: &Phrase) -> bool {
        let forbidden = |p: u16| self.rules.phrases[p as usize].instruction_id == phrase.instruction_id;
        need.negated && phrase.safe && !need.heard.phrase.is_some_and(forbidden)
    }

    fn same_value(&self, need: &Need, want: &Match, heard: &Heard, got: &Match) -> bool {
        if need.heard.element == Element::Traffic && self.other_sides(want, got)
            || self.other_reference(want, got)
        {
            return false;
        }
        if want.value == got.value {
            return true;
        }
        match (want.value, got.value) {
            // The function tells stations apart; a place is often left out or said another way.
            (Value::Unit(p, f), Value::Unit(q, g)) => {
                let place = p == q || p == 0 || q == 0;
                f == g && f != 0 && (place || self.near_place(want, got)) || (f == 0 || g == 0) && place
            }
            // The name of an aerodrome is forgiven one slip; a five-letter point never is.
            (Value::Name(_), Value::Name(_)) if need.heard.element == Element::ClearanceLimit => {
                self.slipped(want, got, 6)
            }
            (Value::Number(n), Value::Time(255, m)) | (Value::Time(255, m), Value::Number(n)) => {
                n == u32::from(m)
            }
            (Value::Time(h, m), Value::Time(i, n)) => m == n && (h == i || h == 255 || i == 255),
            (Value::Form(..), Value::Form(..)) if need.heard.element == Element::Traffic => {
                let aircraft = self.aircraft_of(self.said, &need.heard);
                aircraft.is_some() && aircraft == self.aircraft_of(self.heard, heard)
            }
            // One meaning said in the words of two vocabularies: *at time one zero four four*.
            (Value::Form(a, ..), Value::Form(b, ..)) if a != b => self.text_of(heard) == self.want_of(need),
            _ => false,
        }
    }

    /// The sides that a traffic description names, in order: *left to right*.
    fn sides<'p>(&'p self, parsed: &'p parse::Parsed, found: &Match) -> impl Iterator<Item = u16> + 'p {
        let marks = &self.rules.marks;
        parsed.s.atoms[found.start as usize..found.end as usize]
            .iter()
            .map(|a| a.word)
            .filter(move |&w| w != 0 && (w == marks.left || w == marks.right))
    }

    /// True if the first words of two names, of `shortest` bytes or more, are at most one slip of the
    /// keyboard apart.
    pub(super) fn slipped(&self, want: &Match, got: &Match, shortest: usize) -> bool {
        let (want, got) = (self.name(self.said, self.say, want), self.name(self.heard, self.reply, got));
        want.len() >= shortest
            && want.chars().next() == got.chars().next()
            && got.len() < 40
            && strsim::osa_distance(&want, &got) <= 1
    }

    /// The first word of a name, in lower case.
    fn name(&self, parsed: &parse::Parsed, text: &str, found: &Match) -> String {
        let atom = parsed.s.atoms.get(found.from as usize);
        atom.map_or(String::new(), |a| a.span.of(text).to_lowercase())
    }

    /// True if the places of two stations could be one name, heard or typed another way.
    fn near_place(&self, want: &Match, got: &Match) -> bool {
        let (want, got) = (self.name(self.said, self.say, want), self.name(self.heard, self.reply, got));
        strsim::jaro_winkler(&want, &got) > 0.75
    }

    /// True if both values say what they are measured from, and not the same: QNH and QFE.
    fn other_reference(&self, want: &Match, got: &Match) -> bool {
        let marks = &self.rules.marks;
        let word = |parsed: &parse::Parsed, found: &Match| {
            let word = parsed.s.atoms.get(found.start as usize).map_or(0, |a| a.word);
            let known = [marks.qnh, marks.qfe];
            if word != 0 && known.contains(&word) { word } else { 0 }
        };
        let (want, got) = (word(self.said, want), word(self.heard, got));
        want != 0 && got != 0 && want != got
    }

    /// True if both descriptions of traffic name as many sides, and not the same ones.
    fn other_sides(&self, want: &Match, got: &Match) -> bool {
        self.sides(self.said, want).count() == self.sides(self.heard, got).count()
            && !self.sides(self.said, want).eq(self.sides(self.heard, got))
    }

    /// The aircraft type inside a traffic description.
    fn aircraft_of(&self, parsed: &parse::Parsed, heard: &Heard) -> Option<Value> {
        let (_, found) = heard.slot?;
        match found.value {
            Value::Form(..) => canonical::inner(parsed, &found)
                .find(|i| i.1 == SlotRef::Builtin(Builtin::Aircraft))
                .map(|i| i.0.value),
            value => Some(value),
        }
    }

    pub(super) fn text_of(&self, heard: &Heard) -> String {
        canonical::value(self.rules, self.heard, self.reply, heard)
    }

    /// What came back, with *not* where it was denied.
    fn given(&self, heard: &Heard) -> String {
        let text = self.text_of(heard);
        if negated(self.rules, self.heard, heard) { format!("not {text}") } else { text }
    }

    pub(super) fn want_of(&self, need: &Need) -> String {
        canonical::value(self.rules, self.said, self.say, &need.heard)
    }

    /// What was transmitted, with *not* where it was forbidden.
    fn wanted(&self, need: &Need) -> String {
        let text = self.want_of(need);
        if need.negated { format!("not {text}") } else { text }
    }

    /// A finding about an element of a phrase.
    pub(crate) fn finding(
        &self,
        need: &Need,
        fault: Fault,
        given: Option<String>,
        span: Option<Span>,
    ) -> Finding {
        let element = need.heard.element;
        let mut severity = element.severity(fault);
        let blank = self.rules.rule(FormRule::CallsignRequired);
        let (mut rule, mut why, mut id) = (blank.source.clone(), blank.why.clone(), blank.id.clone());
        if let Some(p) = need.heard.phrase {
            let phrase = &self.rules.phrases[p as usize];
            if let Some(hazard) = phrase.hazard
                && matches!(fault, Fault::Wrong | Fault::Missing)
                && matches!(
                    element,
                    Element::Instruction
                        | Element::Runway
                        | Element::Condition
                        | Element::Restriction
                        | Element::HoldingPoint
                )
            {
                severity = hazard;
            }
            rule.clone_from(&phrase.source);
            why.clone_from(&phrase.why);
            id.clone_from(&phrase.id);
        }
        if fault == Fault::Nonstandard {
            severity = Severity::Minor;
        }
        Finding {
            element,
            fault,
            severity,
            expected: Some(self.wanted(need)),
            given,
            span,
            rule,
            why,
            better: None,
            id,
        }
    }

    /// Instructions that came back as another of their family.
    fn instructions(&mut self, used: &mut [bool]) {
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            if need.heard.slot.is_some()
                || need.matched.is_some()
                || need.duty == Duty::None
                || need.duty == Duty::Acknowledge
            {
                continue;
            }
            let family = self.family(&need.heard);
            let matched_clauses: Vec<u16> = self
                .needs
                .list
                .iter()
                .filter(|o| o.heard.clause == need.heard.clause)
                .filter_map(|o| o.matched.map(|i| self.heard.heard[i].clause))
                .collect();
            let rival = self.heard.heard.iter().enumerate().filter(|(i, h)| {
                !used[*i] && h.slot.is_none() && self.answers(h) && self.family(h) == family
            });
            // A clause that answers another one is no rival.
            let elsewhere = |h: &Heard| {
                self.needs.list.iter().any(|o| {
                    o.heard.clause != need.heard.clause
                        && o.matched.is_some_and(|i| self.heard.heard[i].clause == h.clause)
                })
            };
            let rival = rival.filter(|(_, h)| !elsewhere(h));
            let rival = rival.min_by_key(|(_, h)| !matched_clauses.contains(&h.clause)).map(|(i, h)| (i, *h));
            let Some((i, heard)) = rival else { continue };
            let phrase = &self.rules.phrases[need.heard.phrase.unwrap_or(0) as usize];
            let given = heard.phrase.map(|p| self.rules.phrases[p as usize].instruction_id).unwrap_or(0);
            let near = phrase.near.contains(&given);
            used[i] = true;
            let fault = if near { Fault::Nonstandard } else { Fault::Wrong };
            let finding = self.finding(need, fault, Some(self.given(&heard)), Some(heard.span));
            self.findings.push(finding);
            let need = &mut self.needs.list[n];
            need.settled = true;
            if near {
                need.matched = Some(i);
            }
        }
    }

    /// Required values that came back as another value.
    fn wrong_values(&mut self, used: &mut [bool]) {
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            let owed = !matches!(need.duty, Duty::None);
            if need.heard.slot.is_none() || need.matched.is_some() || !owed {
                continue;
            }
            let element = need.heard.element;
            let name = |h: &Heard| matches!(h.slot, Some((_, Match { value: Value::Name(_), .. })));
            let named = |need: &Need, h: &Heard| name(&need.heard) && name(h);
            let candidates = self.heard.heard.iter().enumerate().filter(|(i, h)| {
                !used[*i]
                    && h.slot.is_some()
                    && self.answers(h)
                    && (h.element == element
                        || kin(element, h.element)
                            && (h.phrase == need.heard.phrase
                                || named(need, h) && !self.is_awaited(h.element)))
            });
            let best = candidates.min_by_key(|(_, h)| {
                let same_phrase = h.phrase == need.heard.phrase;
                let same_family = self.family(h) == self.family(&need.heard);
                (!same_phrase, !self.linked(need, h), !same_family)
            });
            let Some((i, heard)) = best.map(|(i, h)| (i, *h)) else { continue };
            let (want, got) = (need.heard.slot, heard.slot);
            if let (Some((_, want)), Some((_, got))) = (want, got)
                && let (Value::Unit(_, f), Value::Unit(_, g)) = (want.value, got.value)
                && (f == 0 || g == 0)
            {
                continue;
            }
            let fault = match (want, got) {
                (Some((_, want)), Some((_, got))) => self.partial(need, &want.value, &heard, &got.value),
                _ => Fault::Wrong,
            };
            used[i] = true;
            let given = self.given(&heard);
            if self.same(need, &heard) && !self.owned_elsewhere(need, &heard) {
                self.needs.list[n].matched = Some(i);
                continue;
            }
            let finding = self.finding(need, fault, Some(given), Some(heard.value_span));
            self.findings.push(finding);
            self.needs.list[n].settled = true;
        }
    }

    /// True if a value of that element is still to come back.
    fn is_awaited(&self, element: Element) -> bool {
        self.needs.list.iter().any(|n| n.heard.element == element && n.matched.is_none() && !n.settled)
    }

    /// A part of the value came back: something is missing rather than wrong.
    fn partial(&self, need: &Need, want: &Value, heard: &Heard, got: &Value) -> Fault {
        match (want, got) {
            (Value::Route(a, n), Value::Route(b, m)) => {
                let (a, b) = (&a[..usize::from(*n)], &b[..usize::from(*m)]);
                let mut rest = a.iter();
                if b.len() < a.len() && b.iter().all(|x| rest.any(|y| y == x)) {
                    Fault::Missing
                } else {
                    Fault::Wrong
                }
            }
            (Value::Form(s, ..), Value::Form(t, ..)) if need.heard.element == Element::Traffic && s == t => {
                let aircraft = self.aircraft_of(self.said, &need.heard).is_some();
                let vague = match self.aircraft_of(self.heard, heard) {
                    None => aircraft,
                    Some(Value::Aircraft(a)) => a == 0 || a >> 40 != 0,
                    Some(_) => false,
                };
                if vague { Fault::Missing } else { Fault::Wrong }
            }
            (Value::Form(s, f, _), Value::Form(t, g, _))
                if need.heard.element == Element::Hold && s == t && f != g =>
            {
                Fault::Missing
            }
            _ => Fault::Wrong,
        }
    }

    /// Digits that no phrase owns stand for the first missing value they could be.
    fn wrong_bare(&mut self) {
        let covers = &self.heard.s.covers;
        let mut taken: Vec<usize> = Vec::new();
        for n in 0..self.needs.list.len() {
            let need = &self.needs.list[n];
            if need.heard.slot.is_none()
                || need.matched.is_some()
                || need.settled
                || need.duty < Duty::ReadBackOrWilco && need.duty != Duty::Acknowledge
            {
                continue;
            }
            let Some((slot @ SlotRef::Builtin(builtin), _)) = need.heard.slot else { continue };
            let numeric = matches!(
                builtin,
                Builtin::Level
                    | Builtin::Heading
                    | Builtin::Bearing
                    | Builtin::Speed
                    | Builtin::Frequency
                    | Builtin::Squawk
                    | Builtin::Altimeter
                    | Builtin::Runway
            );
            // A runway that was only announced is not every number.
            if !numeric || builtin == Builtin::Runway && need.duty == Duty::Acknowledge {
                continue;
            }
            let view = View::new(&self.heard.s.atoms, &self.rules.marks);
            let hit = covers.iter().enumerate().find_map(|(c, cover)| {
                if taken.contains(&c)
                    || !matches!(cover.piece, Piece::Bare)
                    || self.is_ident(cover.start as usize, cover.end as usize)
                    || self.counts_something(cover.end as usize)
                {
                    return None;
                }
                let mut found = Vec::new();
                view.read(builtin, cover.start as usize, &mut found);
                // The value must use up the digits, or all but one's own flight number.
                // Whole hundreds of feet in four digits and more are an altitude even without their unit.
                let whole = |m: &Match| matches!(m.value, Value::Feet(n) if n >= 1000 && n % 100 == 0);
                found.retain(|m| !matches!(m.value, Value::Feet(_)) || m.form & form::CLEAR != 0 || whole(m));
                found
                    .into_iter()
                    .find(|m| m.end == cover.end || self.is_ident(m.end as usize, cover.end as usize))
                    .map(|m| (c, m))
            });
            let Some((c, found)) = hit else { continue };
            taken.push(c);
            let cover = covers[c];
            let span = self.heard.cover_span(&cover);
            let heard = Heard { slot: Some((slot, found)), span, value_span: span, ..need.heard };
            let given = self.text_of(&heard);
            let finding = self.finding(need, Fault::Wrong, Some(given), Some(span));
            self.findings.push(finding);
            self.needs.list[n].settled = true;
            self.needs.bare_used = Some(c);
        }
    }

    /// True if atom `i` says what the digits before it count: minutes, miles.
    pub(super) fn counts_something(&self, i: usize) -> bool {
        let marks = &self.rules.marks;
        self.heard.s.atoms.get(i).is_some_and(|a| a.word != 0 && [marks.minute, marks.mile].contains(&a.word))
    }

    /// True if atoms `start..end` are the digits of one's own callsign, or as many at the end.
    pub(super) fn is_ident(&self, start: usize, end: usize) -> bool {
        let atoms = &self.heard.s.atoms;
        let ident = &self.situation.callsign.ident;
        end > start && atoms[start..end].iter().map(|a| b'0' + a.value).eq(ident.iter().copied())
    }

    /// Of two equal values the first that came back answers the first that was transmitted.
    fn straighten(&mut self) {
        let value = |n: &Need| n.heard.slot.map(|s| s.1.value);
        for a in 0..self.needs.list.len() {
            for b in a + 1..self.needs.list.len() {
                let (first, second) = (&self.needs.list[a], &self.needs.list[b]);
                if let (Some(i), Some(j)) = (first.matched, second.matched)
                    && i > j
                    && first.heard.element == second.heard.element
                    && value(first).is_some()
                    && value(first) == value(second)
                {
                    self.needs.list[a].matched = Some(j);
                    self.needs.list[b].matched = Some(i);
                }
            }
        }
    }

    /// Items in another order than transmitted.
    pub(crate) fn order(&mut self) {
        if !self.rules.on(FormRule::OrderKept) || self.excused() {
            return;
        }
        self.straighten();
        let mut last: Option<(u16, u16)> = None;
        let mut places: Vec<(u16, u16)> = Vec::new();
        for need in &self.needs.list {
            if need.kind != PhraseKind::Instruction || need.heard.slot.is_none() || !need.required() {
                continue;
            }
            let Some(i) = need.matched else { continue };
            let at = self.heard.heard[i].at;
            match places.iter_mut().find(|p| p.0 == need.heard.clause) {
                Some(place) => place.1 = place.1.min(at),
                None => places.push((need.heard.clause, at)),
            }
        }
        places.sort_unstable();
        for (clause, at) in places {
            if let Some((_, before)) = last
                && at < before
            {
                return self.out_of_order(at, "as transmitted".into());
            }
            last = Some((clause, at));
        }
    }

    /// What stands at atom `at` is out of order.
    pub(super) fn out_of_order(&mut self, at: u16, expected: String) {
        let span = self.heard.heard.iter().find(|h| h.at == at).map(|h| h.span);
        self.by_rule(
            FormRule::OrderKept,
            Element::Order,
            Fault::Misplaced,
            Severity::Minor,
            span,
            (Some(expected), None),
        );
    }
}

/// Elements whose names overlap: a point can be a route, a limit, or a point.
fn kin(a: Element, b: Element) -> bool {
    let place = |e| matches!(e, Element::Point | Element::Route | Element::ClearanceLimit);
    let procedure = |e| matches!(e, Element::Sid | Element::Star);
    place(a) && place(b) || procedure(a) && procedure(b)
}
