//! A flight as a state machine: an event goes in, actions come out; nothing is read or shown here.

use super::draw::{Exchange, Flight, Turn};
pub use super::event::{Action, Attempt, Due, Event};
use crate::element::{Element, Fault, Verdict};
use crate::judge::judgement::{Finding, Judgement};
use crate::judge::{Situation, judge, judge_call, shortens};
use crate::rules::RuleSet;
use crate::session::ask::{Asked, asked_about, urgent};
use crate::session::respond::{Open, Response, Said, Voice, failed};
use std::sync::Arc;

/// Replies to one transmission that may fail before the station goes on.
pub const TRIES: u8 = 3;

/// A flight that is being flown.
pub struct Play {
    rules: Arc<RuleSet>,
    flight: Flight,
    situation: Situation,
    spoken: String,
    at: usize,
    state: State,
}

/// Where an exchange stands.
#[derive(Debug, Default)]
struct State {
    /// What was said and must come back.
    say: String,
    /// All of the transmission, while a part of it was not heard.
    whole: Option<String>,
    /// What was said last, for "say again".
    last: String,
    /// The part the next reply is judged by.
    part: Option<String>,
    /// What is still open; empty is all of it.
    open: Vec<Open>,
    tries: u8,
    silences: u8,
    replies: u8,
    waiting: bool,
    other_plan: bool,
    /// The trainee has been unable and the station waits until he can.
    unable: bool,
}

impl Play {
    /// A flight before its first exchange.
    #[must_use]
    pub fn new(rules: Arc<RuleSet>, flight: Flight) -> Self {
        let situation = Situation { callsign: flight.callsign.clone(), shortened: false };
        let spoken = flight.callsign.spoken(flight.standard);
        Self { rules, flight, situation, spoken, at: 0, state: State::default() }
    }

    /// The flight.
    #[must_use]
    pub fn flight(&self) -> &Flight {
        &self.flight
    }

    /// What happens first.
    pub fn begin(&mut self) -> Vec<Action> {
        let mut actions = Vec::new();
        self.enter(&mut actions);
        actions
    }

    /// What happens when the trainee does something; nothing after the flight is over.
    pub fn step(&mut self, event: Event) -> Vec<Action> {
        let mut actions = Vec::new();
        let Some(exchange) = self.flight.exchanges.get(self.at).cloned() else {
            return actions;
        };
        match event {
            Event::Skip => self.advance(&mut actions),
            Event::Reply(reply) if reply.trim().is_empty() => self.silence(&exchange, &mut actions),
            Event::Reply(reply) => self.reply(&exchange, &reply, &mut actions),
        }
        actions
    }

    /// What is to be said now; `None` after the flight is over.
    #[must_use]
    pub fn due(&self) -> Option<Due> {
        let exchange = self.flight.exchanges.get(self.at)?;
        let judgement = self.judge(exchange, "");
        let call = matches!(exchange.turn, Turn::Call { .. });
        let elements = failed(&judgement.findings);
        Some(Due { elements, model: judgement.model, call })
    }

    fn enter(&mut self, actions: &mut Vec<Action>) {
        self.state = State::default();
        let Some(exchange) = self.flight.exchanges.get(self.at).cloned() else {
            actions.push(Action::Finished);
            return;
        };
        actions.push(Action::Begin { number: self.at + 1 });
        let call = matches!(exchange.turn, Turn::Call { .. });
        if let Some(text) = &exchange.cue {
            actions.push(Action::Cue { station: exchange.station.clone(), text: text.clone(), call });
        } else if call {
            let text = "The next call is yours.".to_owned();
            actions.push(Action::Cue { station: exchange.station.clone(), text, call });
        }
        if let Turn::Station { says, cut, .. } = &exchange.turn {
            let heard = cut.as_ref().unwrap_or(says);
            self.state.whole = cut.as_ref().map(|_| says.clone());
            self.state.say.clone_from(heard);
            self.transmit(&exchange, heard.clone(), actions);
        }
    }

    fn advance(&mut self, actions: &mut Vec<Action>) {
        self.at += 1;
        self.enter(actions);
    }

    fn transmit(&mut self, exchange: &Exchange, text: String, actions: &mut Vec<Action>) {
        self.state.last.clone_from(&text);
        self.situation.shortened |= shortens(&self.rules, &self.situation.callsign, &text);
        actions.push(Action::Transmit { station: exchange.station.clone(), text });
    }

    fn silence(&mut self, exchange: &Exchange, actions: &mut Vec<Action>) {
        let station = exchange.station.name.clone();
        if self.state.waiting {
            self.state.waiting = false;
            let text = self.voice(&station).after_stand_by();
            actions.push(Action::Transmit { station: exchange.station.clone(), text });
            return;
        }
        let judgement = self.judge(exchange, "");
        if let Some(whole) = self.state.whole.take() {
            self.state.say = whole;
        }
        let accepted = judgement.verdict == Verdict::Correct;
        self.record(exchange, "", judgement, accepted, actions);
        if accepted {
            return self.advance(actions);
        }
        self.state.silences += 1;
        if self.failed_again(actions) {
            return;
        }
        match &exchange.turn {
            // A question of the station's is asked again; what came back before it is not.
            Turn::Station { .. } if !self.state.open.is_empty() => {
                let text = self.state.last.clone();
                self.transmit(exchange, text, actions);
            }
            Turn::Station { .. } => {
                let text = self.voice(&station).after_silence(&self.state.say, self.state.silences);
                self.state.part = None;
                self.state.open.clear();
                self.transmit(exchange, text, actions);
            }
            Turn::Call { .. } => {
                let text = exchange.cue.clone().unwrap_or_else(|| "The next call is yours.".to_owned());
                actions.push(Action::Cue { station: exchange.station.clone(), text, call: true });
            }
        }
    }

    fn reply(&mut self, exchange: &Exchange, reply: &str, actions: &mut Vec<Action>) {
        self.state.waiting = false;
        let judgement = self.judge(exchange, reply);
        if let Some(whole) = self.state.whole.take() {
            return self.unblock(exchange, whole, reply, judgement, actions);
        }
        if let Some(asked) = urgent(&judgement.moves, reply)
            && self.answer(exchange, asked, reply, actions)
        {
            return;
        }
        let response = self.respond(exchange, &judgement);
        let accepted = matches!(response, Response::Accept(_));
        self.record(exchange, reply, judgement, accepted, actions);
        match response {
            Response::Accept(text) => {
                if let Some(text) = text {
                    actions.push(Action::Transmit { station: exchange.station.clone(), text });
                }
                self.advance(actions);
            }
            Response::Again { text, part, open } => {
                if !self.failed_again(actions) {
                    self.state.part = part;
                    self.state.open = open;
                    self.transmit(exchange, text, actions);
                }
            }
        }
    }

    /// The first reply to a transmission of which a part was blocked: whatever it was, all of it comes again.
    fn unblock(
        &mut self,
        exchange: &Exchange,
        whole: String,
        reply: &str,
        judgement: Judgement,
        actions: &mut Vec<Action>,
    ) {
        let right = judgement.verdict <= Verdict::Nonstandard;
        self.record(exchange, reply, judgement, right, actions);
        let items = judge(&self.rules, &self.situation, &whole, "").said;
        let said = Said { text: &whole, items: &items };
        let text = self.voice(&exchange.station.name).say_again(said, "");
        self.state.say = whole;
        self.transmit(exchange, text, actions);
    }

    fn respond(&self, exchange: &Exchange, judgement: &Judgement) -> Response {
        let voice = self.voice(&exchange.station.name);
        match &exchange.turn {
            Turn::Call { .. } => voice.to_call(judgement),
            Turn::Station { .. } => {
                let whole = judge(&self.rules, &self.situation, &self.state.say, "");
                let said = Said { text: &self.state.say, items: &whole.said };
                voice.to_readback(said, judgement, self.state.tries)
            }
        }
    }

    /// Answers a move; false if the reply is to be judged after all.
    fn answer(&mut self, exchange: &Exchange, asked: Asked, reply: &str, actions: &mut Vec<Action>) -> bool {
        let station = exchange.station.name.clone();
        let Turn::Station { unable, .. } = &exchange.turn else {
            if asked != Asked::Again && asked != Asked::Slower {
                return false;
            }
            let text = match self.state.last.is_empty() {
                true => self.voice(&station).after_stand_by(),
                false => self.state.last.clone(),
            };
            actions.push(Action::Transmit { station: exchange.station.clone(), text });
            return true;
        };
        let whole = judge(&self.rules, &self.situation, &self.state.say, "");
        let said = Said { text: &self.state.say, items: &whole.said };
        let voice = self.voice(&station);
        match asked {
            Asked::Slower => {
                let text = voice.slower(&self.state.say);
                self.transmit(exchange, text, actions);
            }
            Asked::Again => {
                let text = voice.say_again(said, reply);
                self.transmit(exchange, text, actions);
            }
            Asked::Confirm => {
                let asked = asked_about(reply);
                let heard = judge(&self.rules, &self.situation, &self.state.say, asked);
                let text = voice.to_confirm(said, &heard.heard, asked);
                self.transmit(exchange, text, actions);
            }
            Asked::Wait => {
                self.state.waiting = true;
                actions.push(Action::Waits);
            }
            Asked::Unable => {
                actions.push(Action::Unable);
                match unable {
                    Some(plan) if !self.state.other_plan => {
                        self.state = State {
                            say: plan.clone(),
                            other_plan: true,
                            replies: self.state.replies,
                            ..State::default()
                        };
                        self.transmit(exchange, plan.clone(), actions);
                    }
                    _ if !self.state.unable => {
                        let text = voice.to_unable();
                        self.state.unable = true;
                        self.state.waiting = true;
                        actions.push(Action::Transmit { station: exchange.station.clone(), text });
                        actions.push(Action::Waits);
                    }
                    _ => {
                        actions.push(Action::GoesOn { unable: true });
                        self.advance(actions);
                    }
                }
            }
        }
        true
    }

    /// Counts a failure; true if the station goes on.
    fn failed_again(&mut self, actions: &mut Vec<Action>) -> bool {
        self.state.tries += 1;
        let enough = self.state.tries >= TRIES;
        if enough {
            actions.push(Action::GoesOn { unable: false });
            self.advance(actions);
        }
        enough
    }

    /// Judges a reply by what is open: the whole transmission, or the part that was asked for again.
    fn judge(&self, exchange: &Exchange, reply: &str) -> Judgement {
        self.judge_strictly(exchange, reply).counted(self.flight.form)
    }

    fn judge_strictly(&self, exchange: &Exchange, reply: &str) -> Judgement {
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

    fn record(
        &mut self,
        exchange: &Exchange,
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
            asked,
            call,
            reply: reply.to_owned(),
            judgement,
            first,
            accepted,
            wanted,
        })));
    }

    fn voice<'a>(&'a self, station: &'a str) -> Voice<'a> {
        Voice { standard: self.flight.standard, callsign: &self.spoken, station }
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
    } else if judgement.findings.iter().any(|f| f.severity > crate::element::Severity::Advice) {
        Verdict::Nonstandard
    } else {
        Verdict::Correct
    };
    judgement
}
