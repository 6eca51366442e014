//! The shape of grammar files, as an author writes them.

use crate::span::Spanned;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A text with its place in the file.
pub type Text = Spanned<String>;

/// One grammar file: any mixture of the tables below.
#[derive(Debug, Clone, Deserialize, JsonSchema, Default)]
#[serde(deny_unknown_fields)]
pub struct GrammarFile {
    /// Version of the file format; 1.
    pub format: Option<Spanned<u32>>,
    /// Words that stand for one another.
    #[serde(default)]
    pub word: Vec<WordEntry>,
    /// Words that carry nothing: greetings, hesitations.
    #[serde(default)]
    pub filler: Vec<FillerEntry>,
    /// Words that the program's own slots look for.
    #[serde(default)]
    pub role: Vec<RoleEntry>,
    /// Closed vocabularies and small patterns that phrases share.
    #[serde(default)]
    pub slot: Vec<SlotEntry>,
    /// Topics that phrases are sorted by.
    #[serde(default)]
    pub topic: Vec<TopicEntry>,
    /// Phrases with their duties.
    #[serde(default)]
    pub phrase: Vec<PhraseEntry>,
    /// Rules of form, switched on or off by a rule set.
    #[serde(default)]
    pub rule: Vec<RuleEntry>,
}

/// A word and the forms that are folded to it before matching.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[word]]` with `word` and `forms`")]
pub struct WordEntry {
    /// The word patterns use; may be several words (`take off`).
    pub word: Text,
    /// Other forms: verb forms, spellings, abbreviations.
    pub forms: Vec<Text>,
}

/// Words that carry nothing.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[filler]]` with `words`")]
pub struct FillerEntry {
    /// They greet or thank; a name before one of them may be a station.
    #[serde(default)]
    pub greeting: bool,
    /// The words.
    pub words: Vec<Text>,
}

/// Words that tell the program's own slots what stands beside them.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[role]]` with `of` and `words`")]
pub struct RoleEntry {
    /// What they do.
    pub of: Role,
    /// The words.
    pub words: Vec<Text>,
}

/// What a word does beside a value or a name.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Before the number of a stand.
    Stand,
    /// Behind the name of a station.
    Function,
    /// Before a type of aircraft.
    Maker,
    /// Stands for an aircraft or vehicle by itself.
    Vehicle,
    /// Part of a telephony designator, beside a name.
    Telephony,
    /// Tells no instruction from another.
    Small,
}

/// A named small grammar that a pattern can use as `<id>`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[slot]]` with `id` and `forms`")]
pub struct SlotEntry {
    /// Name in patterns.
    pub id: Text,
    /// What a reader calls its values, if not by the name.
    pub title: Option<Text>,
    /// The values it can take.
    pub forms: Vec<SlotForm>,
}

/// One value of a slot.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables such as `{ value = '…', says = ['…'] }`")]
pub struct SlotForm {
    /// Canonical value; `{name}` is replaced by the canonical value of an inner slot.
    pub value: Text,
    /// How it is said.
    pub says: Vec<Text>,
    /// How a model says it, if not as the first of `says`.
    pub model: Option<Text>,
}

/// A topic of the phrase book, in the order of a flight.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[topic]]` with `id`, `title` and `phase`")]
pub struct TopicEntry {
    /// Name that phrases use.
    pub id: Text,
    /// Heading.
    pub title: Text,
    /// Phase of flight.
    pub phase: Text,
}

/// A phrase of the book. In an overlay only the stated keys replace those of the base.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[phrase]]` with `id`, `says` and more")]
pub struct PhraseEntry {
    /// Stable, lower case, dotted.
    pub id: Text,
    /// Topic of the phrase book that it stands under.
    pub topic: Option<Text>,
    /// `controller` or `pilot`.
    pub by: Option<Text>,
    /// `instruction`, `information`, `question`, `call`, `move`, `fragment` or `silence`.
    pub kind: Option<Text>,
    /// Canonical value of the element `instruction`.
    pub instruction: Option<Text>,
    /// Phrases of one family exclude one another; the part of `id` before the dot if left out.
    pub family: Option<Text>,
    /// How it is said.
    pub says: Option<Spanned<Vec<Text>>>,
    /// Further forms in a reply.
    pub reply: Option<Vec<Text>>,
    /// The model read-back, if not the first of `says`.
    pub model: Option<Text>,
    /// Element to duty.
    pub duty: Option<BTreeMap<Text, Text>>,
    /// Elements whose loss makes the clearance freer than it was given.
    pub limit: Option<Vec<Text>>,
    /// Severity of a fault in instruction, runway or condition.
    pub hazard: Option<Text>,
    /// Instructions that mean the same in a word that does not belong here.
    pub near: Option<Vec<Text>>,
    /// Instructions that this one includes: saying them too is no fault.
    pub includes: Option<Vec<Text>>,
    /// Instructions that it only announces: coming back as given, they are wrong.
    pub announces: Option<Vec<Text>>,
    /// The clause right after it is part of the question: *are you able to cross …* clears nothing.
    #[serde(default)]
    pub opens: bool,
    /// A pilot may always do it instead: wait where he is, or go around.
    #[serde(default)]
    pub safe: bool,
    /// It is keyed, not said: no callsign goes with it.
    #[serde(default)]
    pub unsigned: bool,
    /// Forms that are understood and noted.
    pub variants: Option<Vec<Variant>>,
    /// Of a pilot's own call: the elements it must have, in order.
    pub parts: Option<Vec<Text>>,
    /// Document and paragraph.
    pub source: Option<Text>,
    /// One sentence a trainee understands.
    pub why: Option<Text>,
    /// Replies that are right.
    pub right: Option<Vec<Example>>,
    /// Replies that are wrong, with their faults.
    pub wrong: Option<Vec<Example>>,
    /// In an overlay: this rule set does not have the phrase.
    #[serde(default)]
    pub absent: bool,
}

/// A form that is understood and noted.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    deny_unknown_fields,
    expecting = "tables such as `{ says = '…', fault = 'word nonstandard', better = '…' }`"
)]
pub struct Variant {
    /// The pattern.
    pub says: Text,
    /// `element fault`, for instance `word nonstandard`.
    pub fault: Text,
    /// What to say instead.
    pub better: Text,
    /// Why, in one sentence.
    pub why: Option<Text>,
    /// Document and paragraph, if not the phrase's.
    pub source: Option<Text>,
}

/// An exchange that is run as a test.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables such as `{ say = '…', reply = '…' }`")]
pub struct Example {
    /// What the station says; left out for a pilot's own call.
    pub say: Option<Text>,
    /// What the pilot says.
    pub reply: Text,
    /// Own callsign; taken from `say` if left out.
    pub callsign: Option<Text>,
    /// Each `element fault`.
    #[serde(default)]
    pub faults: Vec<Text>,
}

/// A rule of form.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, expecting = "tables `[[rule]]` with `id` and `on`")]
pub struct RuleEntry {
    /// Name known to the judge.
    pub id: Text,
    /// Whether the rule set has it.
    pub on: Option<bool>,
    /// Document and paragraph.
    pub source: Option<Text>,
    /// One sentence a trainee understands.
    pub why: Option<Text>,
    /// Right replies.
    pub right: Option<Vec<Example>>,
    /// Wrong replies.
    pub wrong: Option<Vec<Example>>,
}

impl PhraseEntry {
    /// Its patterns, none if it states none.
    pub fn patterns(&self) -> impl Iterator<Item = &Text> {
        self.says.iter().flat_map(|says| says.get_ref())
    }
}
