//! A flight as a state machine: an event goes in, actions come out; nothing is read or shown here.

mod judging;
mod tuning;
mod watched;

use super::deck::Deck;
use super::draw::{Exchange, Flight, RadioExchange, Turn};
pub use super::event::{Action, Attempt, Detection, Due, Event, Skill};
use super::steps::{Crew, Step, When};
use crate::crew::{Channel, CrewBook};
use crate::element::Verdict;
use crate::judge::judgement::Judgement;
use crate::judge::{Situation, judge, shortens};
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
    /// True while the trainee talks with a station.
    on_radio: bool,
    deck: Deck,
    /// When the last exchange began, in seconds of the flight.
    began: f64,
    /// The next exchange whose call was made before its time.
    said_early: Option<usize>,
    /// The frequency that is tuned.
    tuned: Option<String>,
    /// A transmission that waits until its station is tuned.
    unheard: bool,
    /// How often each way on was taken.
    taken: Vec<u8>,
    over: bool,
}

/// How an exchange with a station ended.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Done,
    Wrong,
    Unable,
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
    pub fn new(rules: Arc<RuleSet>, flight: Flight, book: Arc<CrewBook>) -> Self {
        let situation = Situation { callsign: flight.callsign.clone(), shortened: false };
        let spoken = flight.callsign.spoken(flight.standard);
        let deck = Deck::new(book, &flight.operator);
        let taken = vec![0; flight.exchanges.len()];
        Self {
            rules,
            flight,
            situation,
            spoken,
            at: 0,
            state: State::default(),
            on_radio: false,
            deck,
            began: 0.0,
            said_early: None,
            tuned: None,
            unheard: false,
            taken,
            over: false,
        }
    }

    /// The rules it is flown by.
    #[must_use]
    pub fn rules(&self) -> &RuleSet {
        &self.rules
    }

    /// The flight.
    #[must_use]
    pub fn flight(&self) -> &Flight {
        &self.flight
    }

    /// What happens first.
    pub fn begin(&mut self) -> Vec<Action> {
        let mut actions = Vec::new();
        self.proceed(&mut actions);
        actions
    }

    /// Whether the clock of the flight runs by itself while the trainee types; typing then takes time.
    pub fn run_clock(&mut self, runs: bool) {
        self.deck.clock_runs = runs;
    }

    /// Seconds of the flight.
    #[must_use]
    pub fn now(&self) -> f64 {
        self.deck.now
    }

    /// The next moment at which something happens by itself; none while a station waits for an answer.
    #[must_use]
    pub fn wake(&self) -> Option<f64> {
        [self.deck.wake(), self.next_begin()].into_iter().flatten().min_by(f64::total_cmp)
    }

    /// True if the trainee has something to say or to watch.
    #[must_use]
    pub fn is_waiting(&self) -> bool {
        self.on_radio || self.deck.channel().is_some()
    }

    /// True if saying nothing is an answer: a station listens, or another voice is to be watched.
    #[must_use]
    pub fn takes_silence(&self) -> bool {
        self.on_radio || self.deck.watches()
    }

    /// Where the trainee's words go.
    #[must_use]
    pub fn channel(&self) -> Channel {
        if self.on_radio { Channel::Radio } else { self.deck.channel().unwrap_or_default() }
    }

    /// What happens when the trainee does something, or time passes; nothing after the flight is over.
    pub fn step(&mut self, event: Event) -> Vec<Action> {
        let mut actions = Vec::new();
        if self.over {
            return actions;
        }
        match event {
            Event::Tune(frequency) => self.tune(&frequency, &mut actions),
            Event::Time(now) => self.pass_time(now, &mut actions),
            Event::Skip if self.on_radio => self.advance(&mut actions),
            Event::Skip => {
                self.deck.skip();
                self.proceed(&mut actions);
            }
            Event::Reply(reply) => self.say(None, &reply, &mut actions),
            Event::Say(channel, reply) => self.say(Some(channel), &reply, &mut actions),
        }
        actions
    }

    fn pass_time(&mut self, now: f64, actions: &mut Vec<Action>) {
        while let Some(at) = self.wake().filter(|at| *at <= now) {
            self.deck.time(at, actions);
            self.proceed(actions);
        }
        self.deck.time(now, actions);
        self.proceed(actions);
    }

    fn say(&mut self, channel: Option<Channel>, reply: &str, actions: &mut Vec<Action>) {
        let silent = reply.trim().is_empty();
        if !silent {
            self.deck.go_ahead(reply);
        }
        if let Some(exchange) = self.current().filter(|_| self.on_radio) {
            match channel.filter(|channel| *channel != Channel::Radio && !silent) {
                None if !self.hears(&exchange) => self.in_vain(actions),
                Some(channel) => self.astray(&exchange, channel, reply, actions),
                None if silent => self.silence(&exchange, actions),
                None => self.reply(&exchange, reply, actions),
            }
        } else if silent {
            self.deck.silence(actions);
        } else if self.deck.fits(reply) {
            self.deck.reply(reply, channel, actions);
        } else if let Some(attempt) = self.early(reply) {
            self.said_early = Some(self.at);
            actions.push(Action::Judged(Box::new(attempt)));
        } else if self.deck.is_too_late(reply) {
            actions.push(Action::TooLate);
        } else if !self.deck.reply(reply, channel, actions) {
            actions.push(Action::Nothing);
        }
        if !self.on_radio {
            self.proceed(actions);
        }
    }

    /// The call of the next exchange, made before its time.
    fn early(&self, reply: &str) -> Option<Attempt> {
        let Some(Exchange::Crew(next)) = self.flight.exchanges.get(self.at) else { return None };
        if self.said_early == Some(self.at) {
            return None;
        }
        let steps = self.deck.steps(Crew { duty: next.duty, rank: self.flight.rank }, next);
        self.deck.early(self.at + 1, &steps, reply)
    }

    /// What is to be said now; `None` if nothing is.
    #[must_use]
    pub fn due(&self) -> Option<Due> {
        if let Some(exchange) = self.current().filter(|_| self.on_radio) {
            let judgement = self.judge(&exchange, "");
            let (call, asked) = match &exchange.turn {
                Turn::Call { phrase, .. } => (true, phrase.clone()),
                Turn::Station { .. } => (false, self.state.say.clone()),
            };
            return Some(Due {
                elements: failed(&judgement.findings),
                model: judgement.model,
                call,
                exchange: self.at + 1,
                channel: Channel::Radio,
                skill: if call { Skill::RadioCall } else { Skill::ReadBack },
                asked,
                lacking: judgement.findings,
                window: None,
                optional: false,
                slip: None,
            });
        }
        self.deck.due()
    }

    fn current(&self) -> Option<RadioExchange> {
        self.flight.exchanges.get(self.at)?.radio().cloned()
    }

    /// When the next exchange begins by itself; none if it waits for the one before.
    fn next_begin(&self) -> Option<f64> {
        if self.on_radio {
            return None;
        }
        let after = match self.flight.exchanges.get(self.at)? {
            Exchange::Crew(exchange) => exchange.after,
            Exchange::Radio(_) | Exchange::Other(_) => None,
        };
        match after {
            Some(seconds) => Some(self.began + seconds),
            None => self.deck.is_idle().then_some(self.deck.now),
        }
    }

    /// Begins every exchange whose time has come.
    fn proceed(&mut self, actions: &mut Vec<Action>) {
        while !self.on_radio {
            let Some(exchange) = self.flight.exchanges.get(self.at) else {
                if self.deck.is_idle() && !self.over {
                    self.over = true;
                    actions.push(Action::Finished);
                }
                return;
            };
            if self.next_begin().is_none_or(|begin| begin > self.deck.now + 1e-6) {
                return;
            }
            self.began = self.deck.now;
            let crew = Crew { duty: exchange.duty(), rank: self.flight.rank };
            let mut steps = match exchange {
                Exchange::Other(other) => {
                    let other = other.clone();
                    self.overheard(&other)
                }
                Exchange::Radio(_) if crew.duty.radio => {
                    self.on_radio = true;
                    self.enter(actions);
                    return;
                }
                Exchange::Radio(exchange) => {
                    let exchange = exchange.clone();
                    self.watched(&exchange, crew)
                }
                Exchange::Crew(exchange) => self.deck.steps(crew, exchange),
            };
            if self.said_early.take() == Some(self.at) {
                steps.retain(|step| !matches!(step, Step::Due(_)));
                for step in &mut steps {
                    if let Step::Voice { when, .. } = step {
                        *when = When::Always;
                    }
                }
            }
            self.at += 1;
            self.deck.begin(self.at, steps, actions);
        }
    }

    fn enter(&mut self, actions: &mut Vec<Action>) {
        self.state = State::default();
        let Some(exchange) = self.current() else { return };
        actions.push(Action::Begin { number: self.at + 1 });
        let call = matches!(exchange.turn, Turn::Call { .. });
        if let Some(text) = &exchange.cue {
            actions.push(Action::Cue { station: exchange.station.clone(), text: text.clone(), call });
        } else if call {
            let text = "The next call is yours.".to_owned();
            actions.push(Action::Cue { station: exchange.station.clone(), text, call });
        }
        // The first station is tuned before anything is said.
        let first = exchange.station.frequency.clone();
        self.tuned.get_or_insert(first);
        if let Turn::Station { .. } = exchange.turn {
            if self.hears(&exchange) {
                self.speak(&exchange, actions);
            } else {
                self.unheard = true;
                let frequency = self.tuned.clone().unwrap_or_default();
                actions.push(Action::NoAnswer { frequency, heard: None });
            }
        }
    }

    /// The station says what it has to say.
    fn speak(&mut self, exchange: &RadioExchange, actions: &mut Vec<Action>) {
        if let Turn::Station { says, cut, .. } = &exchange.turn {
            let heard = cut.as_ref().unwrap_or(says);
            self.state.whole = cut.as_ref().map(|_| says.clone());
            self.state.say.clone_from(heard);
            self.transmit(exchange, heard.clone(), actions);
        }
    }

    fn advance(&mut self, actions: &mut Vec<Action>) {
        self.leave(Outcome::Done, actions);
    }

    /// Goes to the exchange that follows after this outcome.
    fn leave(&mut self, outcome: Outcome, actions: &mut Vec<Action>) {
        let leads = self.flight.leads.get(self.at).copied().unwrap_or_default();
        let apart = match outcome {
            Outcome::Done => None,
            Outcome::Wrong => leads.wrong,
            Outcome::Unable => leads.unable,
        };
        let taken = self.taken.get_mut(self.at);
        let then = leads.then.filter(|to| {
            // A way back is taken so many times, a way on always.
            *to > self.at || taken.is_some_and(|n| std::mem::replace(n, n.saturating_add(1)) < leads.times)
        });
        self.at = apart.or(then).unwrap_or(self.at + 1);
        self.on_radio = false;
        self.proceed(actions);
    }

    fn transmit(&mut self, exchange: &RadioExchange, text: String, actions: &mut Vec<Action>) {
        self.state.last.clone_from(&text);
        self.situation.shortened |= shortens(&self.rules, &self.situation.callsign, &text);
        actions.push(Action::Transmit { station: exchange.station.clone(), text });
    }

    fn silence(&mut self, exchange: &RadioExchange, actions: &mut Vec<Action>) {
        let station = exchange.station.name.clone();
        if self.state.waiting {
            self.state.waiting = false;
            let text = self.voice(&station).after_stand_by();
            actions.push(Action::Transmit { station: exchange.station.clone(), text });
            return;
        }
        let judgement = self.judge(exchange, "");
        let basis = self.basis(exchange);
        if let Some(whole) = self.state.whole.take() {
            self.state.say = whole;
        }
        let accepted = judgement.verdict == Verdict::Correct;
        self.record(exchange, basis, "", judgement, accepted, actions);
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

    fn reply(&mut self, exchange: &RadioExchange, reply: &str, actions: &mut Vec<Action>) {
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
        self.record(exchange, self.basis(exchange), reply, judgement, accepted, actions);
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
        exchange: &RadioExchange,
        whole: String,
        reply: &str,
        judgement: Judgement,
        actions: &mut Vec<Action>,
    ) {
        let right = judgement.verdict <= Verdict::Nonstandard;
        self.record(exchange, self.basis(exchange), reply, judgement, right, actions);
        let items = judge(&self.rules, &self.situation, &whole, "").said;
        let said = Said { text: &whole, items: &items };
        let text = self.voice(&exchange.station.name).say_again(said, "");
        self.state.say = whole;
        self.transmit(exchange, text, actions);
    }

    fn respond(&self, exchange: &RadioExchange, judgement: &Judgement) -> Response {
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
    fn answer(
        &mut self,
        exchange: &RadioExchange,
        asked: Asked,
        reply: &str,
        actions: &mut Vec<Action>,
    ) -> bool {
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
                        self.leave(Outcome::Unable, actions);
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
            self.leave(Outcome::Wrong, actions);
        }
        enough
    }

    fn voice<'a>(&'a self, station: &'a str) -> Voice<'a> {
        Voice { standard: self.flight.standard, callsign: &self.spoken, station }
    }
}
