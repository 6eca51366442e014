//! What goes into a flight that is being flown, and what comes out of it.

use crate::airport::Station;
use crate::element::Element;
use crate::judge::judgement::Judgement;
use crate::session::respond::Open;

/// What the trainee does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// Transmits; nothing at all is silence.
    Reply(String),
    /// Leaves the exchange.
    Skip,
}

/// What happens next, in order.
#[derive(Debug, Clone)]
pub enum Action {
    /// An exchange begins.
    Begin {
        /// Counted from 1.
        number: usize,
    },
    /// Something has happened that the trainee must notice; the station listens.
    Cue {
        /// The channel that is tuned.
        station: Station,
        /// What has happened.
        text: String,
        /// True if the trainee is to begin.
        call: bool,
    },
    /// A station speaks.
    Transmit {
        /// Which.
        station: Station,
        /// What it says.
        text: String,
    },
    /// A reply was judged.
    Judged(Box<Attempt>),
    /// The station waits for the trainee.
    Waits,
    /// The trainee could not comply.
    Unable,
    /// The flight goes on without a right reply.
    GoesOn {
        /// The trainee was unable twice; otherwise too many replies were not right.
        unable: bool,
    },
    /// The flight is over.
    Finished,
}

/// One judged reply.
#[derive(Debug, Clone)]
pub struct Attempt {
    /// Number of the exchange, from 1.
    pub exchange: usize,
    /// Function of the station.
    pub station: String,
    /// What it said, or the id of the call.
    pub asked: String,
    /// True for a call of the trainee's own.
    pub call: bool,
    /// What the trainee transmitted.
    pub reply: String,
    /// What the judge says of it.
    pub judgement: Judgement,
    /// True for the first reply of the exchange.
    pub first: bool,
    /// True if the station was content.
    pub accepted: bool,
    /// Elements that had to be in the reply, with their values, in order.
    pub wanted: Vec<(Element, String)>,
}

/// What the trainee has to say now, for hints.
#[derive(Debug, Clone)]
pub struct Due {
    /// Elements, in order.
    pub elements: Vec<Open>,
    /// A right reply.
    pub model: String,
    /// True for a call of the trainee's own.
    pub call: bool,
}
