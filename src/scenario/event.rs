//! What goes into a flight that is being flown, and what comes out of it.

use super::basis::Basis;
use crate::airport::Station;
use crate::crew::Channel;
use crate::element::Element;
use crate::judge::judgement::{Finding, Judgement};
use crate::session::respond::Open;

/// What the trainee does.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// Says something where the situation asks for it; nothing at all is silence.
    Reply(String),
    /// Says it on that channel.
    Say(Channel, String),
    /// Tunes a frequency.
    Tune(String),
    /// Lets the clock run to that many seconds of the flight.
    Time(f64),
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
    /// Something has happened on board.
    Happens {
        /// What.
        text: String,
    },
    /// A voice on board, in the cabin or at the headset.
    Voice {
        /// Who speaks to whom.
        who: String,
        /// Where.
        channel: Channel,
        /// What.
        text: String,
    },
    /// Nobody answers on the frequency that is tuned, or another station does.
    NoAnswer {
        /// What is tuned.
        frequency: String,
        /// The station that listens there.
        heard: Option<Station>,
    },
    /// The trainee spoke, and nothing was due.
    Nothing,
    /// The trainee said what was counted as missed before.
    TooLate,
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
    /// Function of the station, or where it was said.
    pub station: String,
    /// Where it had to be said.
    pub channel: Channel,
    /// What was measured by it.
    pub skill: Skill,
    /// Where another voice was to be watched: whether it slipped, and whether that was noticed.
    pub detection: Option<Detection>,
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
    /// What it was judged by.
    pub basis: Basis,
}

/// What a reply measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Skill {
    /// A clearance was read back.
    ReadBack,
    /// The trainee called a station.
    RadioCall,
    /// The trainee made a call.
    Call,
    /// The trainee answered a call.
    Answer,
    /// The trainee read an item of a checklist.
    Challenge,
    /// The trainee answered an item.
    Response,
    /// The trainee gave a briefing.
    Briefing,
    /// The trainee spoke up.
    SpeakingUp,
    /// Another voice was to be watched.
    Watching,
    /// Words for another aircraft were to be left to it.
    Listening,
}

impl Skill {
    /// Every one with its name in files.
    pub const ALL: [(&'static str, Self); 10] = [
        ("read-back", Self::ReadBack),
        ("radio-call", Self::RadioCall),
        ("call", Self::Call),
        ("answer", Self::Answer),
        ("challenge", Self::Challenge),
        ("response", Self::Response),
        ("briefing", Self::Briefing),
        ("speaking-up", Self::SpeakingUp),
        ("watching", Self::Watching),
        ("listening", Self::Listening),
    ];

    /// Its name in files.
    #[must_use]
    pub fn id(self) -> &'static str {
        Self::ALL.iter().find(|(_, skill)| *skill == self).map_or("", |(id, _)| id)
    }

    /// The word for it in the debrief.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::ReadBack => "read-backs",
            Self::RadioCall => "calls to stations",
            Self::Call => "calls",
            Self::Answer => "answers",
            Self::Challenge => "challenges",
            Self::Response => "responses",
            Self::Briefing => "briefings",
            Self::SpeakingUp => "speaking up",
            Self::Watching => "watching",
            Self::Listening => "left to others",
        }
    }
}

/// How watching another voice ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detection {
    /// It slipped, and that was challenged.
    Hit,
    /// It slipped, and nothing was said.
    Miss,
    /// It was right, and was challenged.
    FalseAlarm,
    /// It was right, and nothing was said.
    CorrectSilence,
}

/// What the trainee has to say now.
#[derive(Debug, Clone)]
pub struct Due {
    /// Elements, in order.
    pub elements: Vec<Open>,
    /// A right reply; empty if silence is right.
    pub model: String,
    /// True for a call of the trainee's own.
    pub call: bool,
    /// The exchange, counted from 1.
    pub exchange: usize,
    /// Where it must be said.
    pub channel: Channel,
    /// What is measured by it.
    pub skill: Skill,
    /// What was said, or the id of the call, checklist and item, or briefing.
    pub asked: String,
    /// What the judge would miss if nothing were said.
    pub lacking: Vec<Finding>,
    /// Seconds in which it must begin; none where a station waits for it.
    pub window: Option<f64>,
    /// It may be left out: some operators do not have it.
    pub optional: bool,
    /// What another voice has just said wrongly, and what would have been right.
    pub slip: Option<(String, String)>,
}
