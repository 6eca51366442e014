//! Judges a reply to a station by what is still open, and keeps it as an attempt.

use super::Play;
use crate::crew::Channel;
use crate::element::Element;
use crate::judge::judgement::Judgement;
use crate::judge::{judge, judge_call};
use crate::scenario::basis::Basis;
use crate::scenario::draw::{RadioExchange, Turn};
use crate::scenario::event::{Action, Attempt, Skill};

impl Play {
    /// What the next reply is judged by: the whole transmission, or the part that was asked for again.
    pub(super) fn basis(&self, exchange: &RadioExchange) -> Basis {
        let shortened = self.situation.shortened;
        let open = self.state.open.clone();
        match &exchange.turn {
            Turn::Call { phrase, wanted } => {
                Basis::Call { phrase: phrase.clone(), wanted: wanted.clone(), shortened, open }
            }
            Turn::Station { .. } => {
                let (say, part) = (self.state.say.clone(), self.state.part.clone());
                Basis::Transmission { say, shortened, part, open }
            }
        }
    }

    /// Judges a reply by what is open.
    pub(super) fn judge(&self, exchange: &RadioExchange, reply: &str) -> Judgement {
        // Both kinds of turn have a judge.
        self.basis(exchange)
            .judge_radio(&self.rules, &self.situation.callsign, reply)
            .unwrap_or_else(|| Judgement::right(String::new()))
            .counted(self.flight.form)
    }

    /// Keeps an attempt; `basis` is what it was judged by.
    pub(super) fn record(
        &mut self,
        exchange: &RadioExchange,
        basis: Basis,
        reply: &str,
        judgement: Judgement,
        accepted: bool,
        actions: &mut Vec<Action>,
    ) {
        let (asked, call, wanted) = match &exchange.turn {
            Turn::Station { .. } => {
                let whole = judge(&self.rules, &self.situation, &self.state.say, "");
                let items = whole.said.into_iter().filter(|i| i.required);
                (self.state.say.clone(), false, items.map(|i| (i.element, i.value)).collect())
            }
            Turn::Call { phrase, wanted } => {
                let mut wanted = wanted.clone();
                let blank = judge_call(&self.rules, &self.situation, phrase, &wanted, "");
                let request = blank.findings.iter().find(|f| f.element == Element::Instruction);
                wanted.extend(request.map(|f| (f.element, f.expected.clone().unwrap_or_default())));
                (phrase.clone(), true, wanted)
            }
        };
        let first = self.state.replies == 0;
        self.state.replies = self.state.replies.saturating_add(1);
        actions.push(Action::Judged(Box::new(Attempt {
            exchange: self.at + 1,
            station: exchange.station.label.clone(),
            channel: Channel::Radio,
            skill: if call { Skill::RadioCall } else { Skill::ReadBack },
            detection: None,
            asked,
            call,
            reply: reply.to_owned(),
            judgement,
            first,
            accepted,
            wanted,
            basis,
        })));
    }
}
