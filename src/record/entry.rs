//! One judged attempt as the record keeps it: what was asked, typed and found, and every element that was owed.

use super::moment;
use crate::crew::{Channel, CrewBook};
use crate::element::{Element, Fault, Severity, Standard, Verdict};
use crate::judge::judgement::{Finding, Form};
use crate::judge::{Owed, lost};
use crate::rules::{Phase, RuleSet};
use crate::scenario::basis::Basis;
use crate::scenario::draw::Flight;
use crate::scenario::event::{Attempt, Skill};
use crate::session::console::Timing;
use crate::session::hint::TOLD;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::time::Duration;

/// A judged attempt.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Tells it from every other, in any record: 32 hexadecimal digits. Empty: the record gives it one.
    pub id: String,
    /// When it was judged, UTC.
    #[serde(with = "moment")]
    pub at: Timestamp,
    /// Whose it is.
    pub profile: String,
    /// Id of the scenario.
    pub scenario: String,
    /// What the flight was drawn from.
    pub seed: u64,
    /// Number of the exchange, from 1.
    pub exchange: u32,
    /// The rule set.
    pub standard: Standard,
    /// How far form counted.
    #[serde(with = "form")]
    pub form: Form,
    /// Whose calls and values the crew used.
    pub operator: String,
    /// Where it had to be said.
    #[serde(with = "channel")]
    pub channel: Channel,
    /// What was measured.
    #[serde(with = "skill")]
    pub skill: Skill,
    /// When in a flight: that of the first phrase, call or checklist which belongs to one.
    #[serde(with = "phase")]
    pub phase: Option<Phase>,
    /// Topic of the first phrase that owed something.
    pub topic: Option<String>,
    /// The station, or where it was said.
    pub station: String,
    /// The trainee's callsign.
    pub callsign: String,
    /// What was said, or the id of the call.
    pub asked: String,
    /// True for a call of the trainee's own.
    pub call: bool,
    /// What was typed.
    pub reply: String,
    /// The overall call.
    pub verdict: Verdict,
    /// From 0 to 100.
    pub score: u8,
    /// Faults, as `grade` writes them.
    pub findings: Vec<Found>,
    /// The others were content.
    pub accepted: bool,
    /// The first reply of the exchange.
    pub first: bool,
    /// Milliseconds from the prompt to the first key.
    pub first_key_ms: Option<u32>,
    /// Milliseconds from the prompt to Enter.
    pub sent_ms: Option<u32>,
    /// Hints that were asked for before it, 0 to 3; with the third a right reply was shown. Files of earlier versions do
    /// not tell.
    #[serde(default)]
    pub hints: u8,
    /// Elements that were owed.
    pub elements: Vec<Part>,
    /// What it was judged by.
    pub basis: Basis,
    /// When the judgement was made: at once, or when it was judged again.
    #[serde(with = "moment")]
    pub judged_at: Timestamp,
    /// Version of the program that judged it.
    pub program: String,
    /// Fingerprint of the grammar it was judged by.
    pub grammar: String,
    /// Judgements before this one, oldest first.
    pub earlier: Vec<Earlier>,
}

/// One element that was owed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Which.
    pub element: Element,
    /// Its canonical value.
    pub value: String,
    /// Id of the phrase that asked for it.
    pub phrase: Option<String>,
    /// Topic of that phrase.
    pub topic: Option<String>,
    /// It came back right.
    pub right: bool,
    /// How much it can hurt, if it did not.
    pub severity: Option<Severity>,
}

/// A fault, in the words of `grade`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Found {
    /// What it concerns.
    pub element: Element,
    /// What is the matter with it.
    pub fault: Fault,
    /// How much it can hurt.
    pub severity: Severity,
    /// What was transmitted.
    pub expected: Option<String>,
    /// What came back.
    pub given: Option<String>,
    /// Bytes of the reply.
    pub span: Option<[u32; 2]>,
    /// Document and paragraph.
    pub rule: String,
}

/// A judgement that another one took the place of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Earlier {
    /// When it was made.
    #[serde(with = "moment")]
    pub judged_at: Timestamp,
    /// The overall call.
    pub verdict: Verdict,
    /// From 0 to 100.
    pub score: u8,
    /// Faults.
    pub findings: Vec<Found>,
    /// Elements that were owed.
    pub elements: Vec<Part>,
    /// Version of the program.
    pub program: String,
    /// Fingerprint of the grammar.
    pub grammar: String,
}

/// Whose attempt it is, and by what it was judged.
#[derive(Clone, Copy)]
pub struct Origin<'a> {
    /// The profile.
    pub profile: &'a str,
    /// The rule set of the flight.
    pub rules: &'a RuleSet,
    /// The words of the crew.
    pub book: &'a CrewBook,
    /// Fingerprint of the grammar.
    pub grammar: &'a str,
    /// The time.
    pub now: Timestamp,
}

impl Entry {
    /// What the record keeps of an attempt, before which so many hints were asked for.
    #[must_use]
    pub fn of(origin: Origin<'_>, flight: &Flight, attempt: &Attempt, timing: Timing, hints: u8) -> Self {
        let judgement = &attempt.judgement;
        let owed = attempt.basis.owed(origin.rules, &flight.callsign, &attempt.reply, judgement);
        let of_crew = |o: &Owed| o.topic.as_deref().and_then(|id| origin.book.phase(id));
        let radio = matches!(attempt.skill, Skill::ReadBack | Skill::RadioCall);
        let phases = owed.iter().filter_map(|o| if radio { o.phase } else { of_crew(o) });
        let phase = phases.min_by_key(|phase| *phase == Phase::Any);
        let ms = |time: Option<Duration>| time.map(|t| u32::try_from(t.as_millis()).unwrap_or(u32::MAX));
        let now = moment::whole(origin.now);
        Self {
            id: String::new(),
            at: now,
            profile: origin.profile.to_owned(),
            scenario: flight.scenario.clone(),
            seed: flight.seed,
            exchange: u32::try_from(attempt.exchange).unwrap_or(u32::MAX),
            standard: flight.standard,
            form: flight.form,
            operator: flight.operator.clone(),
            channel: attempt.channel,
            skill: attempt.skill,
            phase,
            topic: owed.iter().find_map(|o| o.topic.clone()),
            station: attempt.station.clone(),
            callsign: flight.callsign.written(),
            asked: attempt.asked.clone(),
            call: attempt.call,
            reply: attempt.reply.clone(),
            verdict: judgement.verdict,
            score: judgement.score,
            findings: judgement.findings.iter().map(Found::from).collect(),
            accepted: attempt.accepted,
            first: attempt.first,
            first_key_ms: ms(timing.first_key),
            sent_ms: ms(timing.sent),
            hints: hints.min(TOLD),
            elements: parts(attempt.skill, &owed, &judgement.findings, judgement.verdict),
            basis: attempt.basis.clone(),
            judged_at: now,
            program: PROGRAM.to_owned(),
            grammar: origin.grammar.to_owned(),
            earlier: Vec::new(),
        }
    }

    /// The judgement as one that another takes the place of.
    #[must_use]
    pub fn judgement(&self) -> Earlier {
        Earlier {
            judged_at: self.judged_at,
            verdict: self.verdict,
            score: self.score,
            findings: self.findings.clone(),
            elements: self.elements.clone(),
            program: self.program.clone(),
            grammar: self.grammar.clone(),
        }
    }
}

/// The version of this program.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// What became of each owed element. Calls of the crew are right or wrong as a whole.
#[must_use]
pub fn parts(skill: Skill, owed: &[Owed], findings: &[Finding], verdict: Verdict) -> Vec<Part> {
    let mut severities = lost(owed, findings);
    let radio = matches!(skill, Skill::ReadBack | Skill::RadioCall);
    if !radio && verdict > Verdict::Nonstandard && severities.iter().all(Option::is_none) {
        let worst = findings.iter().map(|f| f.severity).max();
        for (severity, owed) in severities.iter_mut().zip(owed) {
            *severity = Some(worst.unwrap_or_else(|| owed.element.severity(Fault::Missing)));
        }
    }
    owed.iter()
        .zip(severities)
        .map(|(owed, severity)| Part {
            element: owed.element,
            value: owed.value.clone(),
            phrase: owed.phrase.as_deref().map(str::to_owned),
            topic: owed.topic.clone(),
            right: severity.is_none(),
            severity,
        })
        .collect()
}

impl From<&Finding> for Found {
    fn from(f: &Finding) -> Self {
        Self {
            element: f.element,
            fault: f.fault,
            severity: f.severity,
            expected: f.expected.clone(),
            given: f.given.clone(),
            span: f.span.map(|s| [s.start, s.end]),
            rule: f.rule.to_string(),
        }
    }
}

/// A kind of value as the text that files use for it.
macro_rules! by_name {
    ($module:ident, $type:ty, $name:expr, $all:expr) => {
        pub(super) mod $module {
            use super::*;
            use serde::{Deserializer, Serializer, de::Error};
            use std::borrow::Cow;

            /// The text for a value.
            pub(crate) fn name(value: $type) -> &'static str {
                $name(value)
            }

            /// The value of a text.
            pub(crate) fn parse(text: &str) -> Result<$type, String> {
                let names: Vec<&'static str> = $all.map($name).collect();
                $all.find(|value| $name(*value) == text).ok_or_else(|| {
                    format!("no {} `{text}`: {}", stringify!($module), crate::diagnostic::list(&names))
                })
            }

            pub(super) fn serialize<S: Serializer>(value: &$type, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(name(*value))
            }

            pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<$type, D::Error> {
                parse(&Cow::<str>::deserialize(from)?).map_err(D::Error::custom)
            }
        }
    };
}

by_name!(
    form,
    Form,
    |form| Form::ALL.iter().find(|(_, known)| *known == form).map_or("", |(name, _)| *name),
    Form::ALL.into_iter().map(|(_, form)| form)
);
by_name!(channel, Channel, Channel::name, Channel::ALL.into_iter());
by_name!(skill, Skill, Skill::id, Skill::ALL.into_iter().map(|(_, skill)| skill));

/// A phase of flight, or none.
pub(super) mod phase {
    use super::*;
    use serde::{Deserializer, Serializer, de::Error};

    /// The phase of a text.
    pub(crate) fn parse(text: &str) -> Result<Phase, String> {
        Phase::parse(text).ok_or_else(|| {
            format!("no phase `{text}`: {}", crate::diagnostic::list(&Phase::ALL.map(Phase::name)))
        })
    }

    pub(super) fn serialize<S: Serializer>(value: &Option<Phase>, to: S) -> Result<S::Ok, S::Error> {
        value.map(Phase::name).serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Phase>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| parse(&text)).transpose().map_err(D::Error::custom)
    }
}
