//! Judges a reply to a station by what is still open, and keeps it as an attempt.

use super::Play;
use crate::crew::Channel;
use crate::element::{Element, Fault, Severity, Verdict};
use crate::judge::judgement::{Finding, Judgement};
use crate::judge::{judge, judge_call};
use crate::scenario::draw::{RadioExchange, Turn};
use crate::scenario::event::{Action, Attempt, Skill};
use crate::session::respond::Open;

impl Play {
    /// Judges a reply by what is open: the whole transmission, or the part that was asked for again.
    pub(super) fn judge(&self, exchange: &RadioExchange, reply: &str) -> Judgement {
        self.judge_strictly(exchange, reply).counted(self.flight.form)
    }

    pub(super) fn judge_strictly(&self, exchange: &RadioExchange, reply: &str) -> Judgement {
        let open = &self.state.open;
        match &exchange.turn {
            Turn::Call { phrase, wanted } => {
                let judgement = judge_call(&self.rules, &self.situation, phrase, wanted, reply);
                if open.is_empty() { judgement } else { narrow(judgement, open) }
            }
            Turn::Station { .. } => {
                let whole = judge(&self.rules, &self.situation, &self.state.say, reply);
                let whole = if open.is_empty() { whole } else { narrow(whole, open) };
                let part =
                    self.state.part.as_ref().map(|part| judge(&self.rules, &self.situation, part, reply));
                match part {
                    Some(part)
                        if (part.verdict, part.findings.len()) <= (whole.verdict, whole.findings.len()) =>
                    {
                        part
                    }
                    _ => whole,
                }
            }
        }
    }

    pub(super) fn record(
        &mut self,
        exchange: &RadioExchange,
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
        })));
    }
}

/// The judgement with only the open elements required; the callsign always is.
fn narrow(mut judgement: Judgement, open: &[Open]) -> Judgement {
    let due = |f: &Finding| {
        f.element == Element::Callsign || open.iter().any(|o| o.is(f.element, f.expected.as_deref()))
    };
    judgement.findings.retain(|f| f.fault != Fault::Missing || due(f));
    let has = |wanted: Fault| judgement.findings.iter().any(|f| f.fault == wanted && !f.element.is_form());
    judgement.verdict = if has(Fault::Wrong) {
        Verdict::Incorrect
    } else if has(Fault::Missing) {
        Verdict::Incomplete
    } else if judgement.findings.iter().any(|f| f.severity > Severity::Advice) {
        Verdict::Nonstandard
    } else {
        Verdict::Correct
    };
    judgement
}
