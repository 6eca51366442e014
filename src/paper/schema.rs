//! The shape of a paper's file.

use crate::airport::schema::{Number, Text};
use crate::span::Spanned;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A graded paper, as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PaperFile {
    /// Version of the file format; 1.
    pub format: Number,
    /// One line for lists.
    pub title: Text,
    /// Words shown before the first item.
    pub preface: Option<Text>,
    /// Rule set by which replies are judged: `icao`, `eu`, `uk` or `us`; icao if left out.
    pub standard: Option<Text>,
    /// Per cent to pass; 75 if left out.
    pub pass_mark: Option<Number>,
    /// Findings that fail the paper whatever the mark: `'runway wrong'`, `'callsign missing'`, `'any wrong'`, `'critical'`.
    #[serde(default)]
    pub fails: Vec<Text>,
    /// What items are drawn from.
    pub seed: Option<Number>,
    /// `same`: everybody gets the same items. `own`: each person gets other values in the same words; same if left out.
    pub values: Option<Text>,
    /// Minutes for the whole paper; without limit if left out.
    pub minutes: Option<Number>,
    /// Seconds for each item; without limit if left out.
    pub seconds: Option<Number>,
    /// `readable`: a transmission stays on screen. `once`: it is there only as long as it takes to say it; readable if left out.
    pub hear: Option<Text>,
    /// Whether hints can be asked for; an item with a hint counts half. No if left out.
    pub hints: Option<bool>,
    /// Replies to one item: a station corrects a wrong one and hears another, which counts half; 1 if left out.
    pub replies: Option<Number>,
    /// How often a person may sit the paper; the best sitting counts. 1 if left out.
    pub sittings: Option<Number>,
    /// `end`: what was wrong is told after the last item. `item`: after each. `none`: only the mark. End if left out.
    pub feedback: Option<Text>,
    /// Whether the form of a reply counts: `strict` or `line`; strict if left out.
    pub form: Option<Text>,
    /// Whose calls and values the crew uses; `default` if left out.
    pub operator: Option<Text>,
    /// Parts, in order: what is drawn.
    #[serde(default)]
    pub part: Vec<Spanned<PartEntry>>,
    /// Items that are written out, before those that are drawn.
    #[serde(default)]
    pub item: Vec<Spanned<ItemEntry>>,
}

/// A part of a paper: transmissions to read back, or calls of the crew.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartEntry {
    /// One line, shown when it begins.
    pub title: Option<Text>,
    /// How many items are drawn.
    pub items: Number,
    /// Families of phrases, for instance `line-up`; all if left out.
    #[serde(default)]
    pub topics: Vec<Text>,
    /// Airports: transmissions and calls are those of flights there, with their names, runways and frequencies.
    #[serde(default)]
    pub airports: Vec<Text>,
    /// How much must come back of one transmission, from 1 (one element) to 5 (four and more); anything if left out.
    pub difficulty: Option<Number>,
    /// Calls of the crew, by id: `to-v1`, or `to-v1/answer` for its answer.
    #[serde(default)]
    pub calls: Vec<Text>,
    /// Checklists whose responses are asked for.
    #[serde(default)]
    pub checklists: Vec<Text>,
}

/// One item that is written out. It has `says`, `you_call`, `call`, `answer` or `checklist`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemEntry {
    /// What is tried: rule set, topic and element, `icao/line-up/runway`; the most dangerous element if left out.
    pub skill: Option<Text>,
    /// The trainee's callsign, `Whimbrel 214`; needed on the radio.
    pub callsign: Option<Text>,
    /// The station that speaks or is called, `Skerrow Tower`.
    pub station: Option<Text>,
    /// What has happened.
    pub cue: Option<Text>,
    /// What the station says, with the callsign before it.
    pub says: Option<Text>,
    /// The phrase that the trainee calls with.
    pub you_call: Option<Text>,
    /// What must be in that call, element and value each: `['stand 12', 'information K']`.
    #[serde(default)]
    pub with: Vec<Text>,
    /// A call of the crew that the trainee makes.
    pub call: Option<Text>,
    /// A call of the crew that the trainee answers.
    pub answer: Option<Text>,
    /// A checklist that the trainee answers.
    pub checklist: Option<Text>,
    /// The item of it, from 1.
    pub item: Option<Number>,
    /// Values of the call or the item.
    #[serde(default)]
    pub values: BTreeMap<String, String>,
}
