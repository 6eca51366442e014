//! The shape of scenario files, as an author writes them.

use crate::airport::schema::{Number, Text};
use crate::crew::{Channel, Position};
use crate::span::Spanned;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::{Error as _, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

/// A flight: what stations say, and what the trainee must call.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ScenarioFile {
    /// Version of the file format; 1.
    pub format: Number,
    /// One line for lists.
    pub title: Text,
    /// What the trainee reads before the first transmission.
    pub briefing: Text,
    /// Id of the airport.
    pub airport: Text,
    /// Rule set; the airport's if left out.
    pub standard: Option<Text>,
    /// `strict`, or `line`: only values count. Strict if left out.
    pub form: Option<Text>,
    /// `monitoring` or `flying`; the pilot monitoring works the radio.
    pub seat: Option<Text>,
    /// `captain` or `first officer`; first officer if left out.
    pub rank: Option<Text>,
    /// Whose calls and values the crew uses; `default` if left out.
    pub operator: Option<Text>,
    /// From 1 to 5; 1 if left out. 2: other aircraft talk; 3: frequencies are to be tuned; 4: what is said is
    /// heard once; 5: faster, and several transmissions in one.
    pub difficulty: Option<Number>,
    /// How many of the other voices' words are wrong where they can be, from 0 to 1; the book's share if left out.
    pub slips: Option<Spanned<f64>>,
    /// The trainee's callsign; drawn if left out.
    pub callsign: Option<CallsignEntry>,
    /// Values of the scenario's own, or choices that narrow what the airport offers.
    #[serde(default)]
    pub value: BTreeMap<Spanned<String>, ValueEntry>,
    /// What happens, in order.
    #[serde(default)]
    pub exchange: Vec<Spanned<ExchangeEntry>>,
}

/// Operator and flight.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "a table with `telephony` and `flight`: `{ telephony = 'Whimbrel', flight = '214' }`"
)]
pub struct CallsignEntry {
    /// The operator's name on the radio.
    pub telephony: Text,
    /// The flight's digits and letters.
    pub flight: Text,
}

/// A value to draw: from a list, or from numbers with equal steps.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with `one_of`, or with `from` and `to`")]
pub struct ValueEntry {
    /// What kind of value it is; plain words if left out.
    pub element: Option<Text>,
    /// The choices.
    pub one_of: Option<Vec<Text>>,
    /// The least number.
    pub from: Option<Number>,
    /// The largest number.
    pub to: Option<Number>,
    /// From one number to the next; 1 if left out.
    pub step: Option<Number>,
    /// In how many flights it is drawn at all, from 0 to 1; in every flight if left out.
    pub share: Option<Spanned<f64>>,
}

/// A slot, or several.
#[derive(Debug, Clone)]
pub enum Slots {
    /// One.
    One(String),
    /// Several, each with its place.
    Many(Vec<Text>),
}

/// The slots of a key with their places.
pub fn slots(key: Option<&Spanned<Slots>>) -> Vec<(&str, Range<usize>)> {
    match key.map(|slots| (slots.get_ref(), slots.span())) {
        None => Vec::new(),
        Some((Slots::One(slot), span)) => vec![(slot, span)],
        Some((Slots::Many(slots), _)) => {
            slots.iter().map(|slot| (slot.get_ref().as_str(), slot.span())).collect()
        }
    }
}

impl<'de> Deserialize<'de> for Slots {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Slots;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a slot `'crossing'`, or a list of slots")
            }

            fn visit_str<E: serde::de::Error>(self, slot: &str) -> Result<Slots, E> {
                Ok(Slots::One(slot.to_owned()))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Slots, A::Error> {
                let mut slots = Vec::new();
                while let Some(slot) = list.next_element()? {
                    slots.push(slot);
                }
                if slots.is_empty() {
                    return Err(A::Error::custom("the list names no slot"));
                }
                Ok(Slots::Many(slots))
            }
        }
        deserializer.deserialize_any(Reader)
    }
}

impl JsonSchema for Slots {
    fn schema_name() -> Cow<'static, str> {
        "Slots".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        schemars::json_schema!({
            "description": "A slot, or several.",
            "anyOf": [
                { "type": "string" },
                { "type": "array", "items": { "type": "string" }, "minItems": 1 },
            ],
        })
    }
}

/// Something a station says, or something the trainee must call.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "tables `[[exchange]]` with `from` and `says`, `to` and `you_call`, `call`, `checklist`, `brief`, `speak_up`, or `by` and `says`"
)]
pub struct ExchangeEntry {
    /// Id of the station that speaks.
    pub from: Option<Text>,
    /// What it says, with `{slots}`.
    pub says: Option<Text>,
    /// The words of `says` that are blocked when it is said first; "say again" brings them.
    pub blocked: Option<Text>,
    /// What it says instead if the trainee is unable to comply.
    pub unable: Option<Text>,
    /// What has happened, for the trainee to notice.
    pub cue: Option<Text>,
    /// Id of the phrase the trainee must call.
    pub you_call: Option<Text>,
    /// Id of the station the trainee must call.
    pub to: Option<Text>,
    /// Slots the call must carry.
    #[serde(default)]
    pub with: Vec<Text>,
    /// Id of a call between the pilots, or to cabin or ground.
    pub call: Option<Text>,
    /// The situation in which the call is made, as the book names it, if it is not the usual one.
    pub case: Option<Text>,
    /// Id of a checklist.
    pub checklist: Option<Text>,
    /// First and last item that is read now; all of them if left out.
    pub items: Option<Spanned<[usize; 2]>>,
    /// Id of a briefing that the trainee gives.
    pub brief: Option<Text>,
    /// The trainee speaks up, with so much time left.
    pub speak_up: Option<Spanned<SpeakUpEntry>>,
    /// Who speaks, if it is no station.
    pub by: Option<Position>,
    /// Where that is said; on the flight deck if left out.
    pub channel: Option<Channel>,
    /// What is said instead if it comes out wrong.
    pub slip: Option<Spanned<SlipEntry>>,
    /// Values of what is said. For calls and checklists a slot of the same name fills by itself; in a briefing and
    /// in speaking up only what stands here is judged.
    #[serde(default)]
    pub set: BTreeMap<String, Text>,
    /// Seconds after the exchange before began; once that is over if left out.
    pub after: Option<Spanned<f64>>,
    /// A name for `then` and `on` to lead to.
    pub label: Option<Text>,
    /// The exchange that follows, by its label; the next one if left out.
    pub then: Option<Text>,
    /// How often `then` may lead back; once if left out.
    pub times: Option<Number>,
    /// What follows if it did not go well.
    #[serde(default)]
    pub on: OnEntry,
    /// From here on the trainee is `flying` or `monitoring`.
    pub seat: Option<Text>,
    /// From here on the radio is worked by `you` or by the `other` pilot.
    pub radio: Option<Text>,
    /// The exchange takes place only if this slot was drawn, or all of these.
    pub when: Option<Spanned<Slots>>,
    /// The exchange takes place only if this slot was not drawn, or none of these.
    pub unless: Option<Spanned<Slots>>,
}

/// Where an exchange leads if the trainee could not comply, or was never right.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "a table with labels: `{ wrong = 'lost', unable = 'hold' }`")]
pub struct OnEntry {
    /// The label that follows if no reply was right.
    pub wrong: Option<Text>,
    /// The label that follows if the trainee was unable.
    pub unable: Option<Text>,
}

/// A moment in which the trainee must speak up.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "a table with `seconds`: `{ seconds = 40 }`, and perhaps `unanswered = 1`"
)]
pub struct SpeakUpEntry {
    /// Seconds until it is too late.
    pub seconds: u32,
    /// Calls of before that had no answer.
    #[serde(default)]
    pub unanswered: u32,
}

/// A slip of another voice that the trainee must catch.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "a table with `says` and `heard`: `{ says = 'Flaps one', heard = 'flaps five' }`"
)]
pub struct SlipEntry {
    /// Item of the checklist that it concerns, from 1.
    pub item: Option<Number>,
    /// What is said wrongly.
    pub says: Text,
    /// What is right.
    pub heard: Text,
}
