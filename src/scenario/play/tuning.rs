//! What is tuned, who is heard there, and words that go where their station does not listen.

use super::Play;
use crate::airport::Station;
use crate::crew::Channel;
use crate::element::Verdict;
use crate::scenario::deck::wrong_channel;
use crate::scenario::difficulty::Difficulty;
use crate::scenario::draw::{Exchange, RadioExchange, Turn};
use crate::scenario::event::Action;

impl Play {
    /// Tunes a frequency: the station that waits there is heard.
    pub(super) fn tune(&mut self, frequency: &str, actions: &mut Vec<Action>) {
        self.tuned = Some(frequency.to_owned());
        let Some(exchange) = self.current().filter(|_| self.on_radio) else { return };
        if std::mem::take(&mut self.unheard) {
            if self.hears(&exchange) {
                self.speak(&exchange, actions);
            } else {
                self.unheard = true;
                actions.push(Action::NoAnswer { frequency: frequency.to_owned(), heard: None });
            }
        }
    }

    /// True if the station of the exchange is tuned, or nobody has to tune.
    pub(super) fn hears(&self, exchange: &RadioExchange) -> bool {
        !self.difficulty().tuning || self.tuned.as_deref() == Some(&*exchange.station.frequency)
    }

    /// How hard the flight is.
    #[must_use]
    pub fn difficulty(&self) -> Difficulty {
        Difficulty::of(self.flight.difficulty)
    }

    /// The station that waits for the trainee, or that he must call.
    #[must_use]
    pub fn station(&self) -> Option<&Station> {
        let exchange = self.flight.exchanges.get(self.at).filter(|_| self.on_radio)?;
        exchange.radio().map(|radio| &radio.station)
    }

    /// The frequency that is tuned, where the trainee has to tune.
    #[must_use]
    pub fn tuned(&self) -> Option<&str> {
        self.tuned.as_deref().filter(|_| self.difficulty().tuning)
    }

    /// Words on a frequency where the station does not listen: nobody answers, or somebody else.
    pub(super) fn in_vain(&self, actions: &mut Vec<Action>) {
        let frequency = self.tuned.clone().unwrap_or_default();
        let stations = self.flight.exchanges.iter().filter_map(Exchange::radio).map(|radio| &radio.station);
        let heard = stations.into_iter().find(|station| station.frequency == frequency).cloned();
        actions.push(Action::NoAnswer { frequency, heard });
    }

    /// Words for a station that went to another channel: it hears nothing.
    pub(super) fn astray(
        &mut self,
        exchange: &RadioExchange,
        channel: Channel,
        reply: &str,
        actions: &mut Vec<Action>,
    ) {
        let mut judgement = self.judge(exchange, reply);
        if judgement.verdict <= Verdict::Nonstandard {
            wrong_channel(&mut judgement, Channel::Radio, channel);
        }
        self.record(exchange, self.basis(exchange), reply, judgement, false, actions);
        if !self.failed_again(actions)
            && let Turn::Station { .. } = exchange.turn
        {
            let text = self.voice(&exchange.station.name).after_silence(&self.state.say, 1);
            self.transmit(exchange, text, actions);
        }
    }
}
