//! The other pilot works the radio: his read-backs, some of them wrong, are for the trainee to watch.

use super::Play;
use crate::airport::value::written;
use crate::crew::Channel;
use crate::element::Element;
use crate::judge::{Situation, judge, judge_call, shortens};
use crate::scenario::draw::{OtherExchange, RadioExchange, Turn, chance, happens};
use crate::scenario::slip::wrong_read_back;
use crate::scenario::steps::{Crew, Heard, Kind, Step, Want, When};
use crate::session::respond::{Response, Said};
use crate::text::speak::spoken;

impl Play {
    /// The station talks with another aircraft: the trainee keeps silent until it is over.
    pub(super) fn overheard(&self, exchange: &OtherExchange) -> Vec<Step> {
        let OtherExchange { station, callsign, says, .. } = exchange.clone();
        let who = format!("{} to {}", callsign.written(), station.label);
        let situation = Situation { callsign, shortened: false };
        let answer = judge(&self.rules, &situation, &says, "").model;
        let mut steps = vec![Step::Station { station, text: says.clone(), when: When::Always }];
        if !answer.is_empty() {
            steps.push(Step::Due(Want {
                kind: Kind::Listen { says },
                channel: Channel::Radio,
                window: self.deck.book().watching.window,
                values: Default::default(),
            }));
            steps.push(Step::Voice { who, channel: Channel::Radio, text: answer, when: When::Always });
        }
        steps
    }

    /// The other pilot works the radio: what he says, sometimes wrongly, is for the trainee to watch.
    pub(super) fn watched(&mut self, exchange: &RadioExchange, crew: Crew) -> Vec<Step> {
        let mut steps: Vec<Step> = exchange.cue.iter().cloned().map(Step::Cue).collect();
        let station = &exchange.station;
        let who = format!("{} to {}", crew.other(), station.label);
        let voice =
            |text: String, when| Step::Voice { who: who.clone(), channel: Channel::Radio, text, when };
        let says = match &exchange.turn {
            Turn::Call { phrase, wanted } => {
                let model = judge_call(&self.rules, &self.situation, phrase, wanted, "").model;
                steps.push(voice(model, When::Always));
                return steps;
            }
            Turn::Station { says, .. } => says,
        };
        self.situation.shortened |= shortens(&self.rules, &self.situation.callsign, says);
        let speaks = |text: String, when| Step::Station { station: station.clone(), text, when };
        steps.push(speaks(says.clone(), When::Always));
        let right = judge(&self.rules, &self.situation, says, "");
        if right.model.is_empty() {
            return steps;
        }
        let (book, flight) = (self.deck.book(), &self.flight);
        let mut chance = chance(&flight.scenario, flight.seed, &format!("read-back {}", self.at));
        let wrong = happens(&mut chance, flight.slips)
            .then(|| {
                let (rules, situation) = (&self.rules, &self.situation);
                wrong_read_back(book, rules, situation, flight.standard, says, &mut chance)
            })
            .flatten();
        let said = wrong.as_ref().map_or(&right.model, |wrong| &wrong.text).clone();
        steps.push(voice(said.clone(), When::Always));
        let slip = wrong.as_ref().map(|wrong| Heard {
            right: written(wrong.element, &wrong.heard),
            spoken: match wrong.element {
                Element::Callsign => self.spoken.clone(),
                element => spoken(flight.standard, element, &wrong.heard),
            },
            element: Some(wrong.element),
            item: wrong.element.name().replace('_', " "),
        });
        steps.push(Step::Due(Want {
            kind: Kind::Watch { slip, said: said.clone() },
            channel: Channel::Deck,
            window: book.watching.window,
            values: Default::default(),
        }));
        let Some(_) = wrong else {
            steps.push(speaks(format!("{}, read back correct", self.spoken), When::FalseAlarm));
            return steps;
        };
        steps.push(voice(format!("Correction. {}", right.model), When::Caught));
        if happens(&mut chance, book.watching.controller_hears) {
            let judged = judge(&self.rules, &self.situation, says, &said);
            let items = right.said;
            let heard = Said { text: says, items: &items };
            if let Response::Again { text, .. } = self.voice(&station.name).to_readback(heard, &judged, 0) {
                steps.push(speaks(text, When::Unnoticed));
            }
            steps.push(voice(right.model, When::Unnoticed));
        }
        steps
    }
}
