//! The shape of the files of `grammar/crew`, and calls made of it.

use super::book::{Call, Channel, Lines, Operator, Position, ReadBackSlip, Times, Watching};
use super::briefing::BriefingEntry;
use super::said::Speech;
use super::speaking_up::LadderEntry;
use crate::diagnostic::list;
use crate::element::Severity;
use crate::rules::Phase;
use crate::span::Spanned;
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The file of an operator.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OperatorFile {
    /// Version of the file format; 1.
    #[serde(rename = "format")]
    _format: i64,
    /// One line for lists.
    pub(super) title: String,
    /// Values that calls take from the operator, for instance `xcheck = '80'`.
    #[serde(default)]
    pub(super) value: BTreeMap<String, String>,
    /// The words of calls, where the trade has several: id of the call, words. The others stay right.
    #[serde(default)]
    pub(super) says: BTreeMap<Spanned<String>, String>,
    /// The words of answers: id of the call, words.
    #[serde(default)]
    pub(super) answer: BTreeMap<Spanned<String>, String>,
    /// Times that are the operator's own.
    #[serde(default)]
    pub(super) time: Times,
}

impl OperatorFile {
    pub(super) fn operator(&self) -> Operator {
        let plain = |words: &BTreeMap<Spanned<String>, String>| {
            words.iter().map(|(id, words)| (id.get_ref().clone(), words.clone())).collect()
        };
        Operator {
            title: self.title.clone(),
            value: self.value.clone(),
            says: plain(&self.says),
            answer: plain(&self.answer),
            time: self.time.clone(),
        }
    }
}

/// A phase of the phrase book, by its name.
#[derive(Clone, Copy, JsonSchema)]
pub(super) struct PhaseName(#[schemars(with = "String")] pub(super) Phase);

impl<'de> Deserialize<'de> for PhaseName {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let name = String::deserialize(from)?;
        let known = || format!("`{name}` is no phase: {}", list(&Phase::ALL.map(Phase::name)));
        Phase::parse(&name).map(Self).ok_or_else(|| serde::de::Error::custom(known()))
    }
}

/// One file of the crew's book: any mixture of the tables below.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct File {
    /// Version of the file format; 1.
    #[serde(rename = "format")]
    _format: i64,
    /// Phase of flight of the calls, one of those of `phase_of`.
    pub(super) phase: Option<String>,
    /// What such a phase is in the phrase book.
    #[serde(default)]
    pub(super) phase_of: BTreeMap<String, PhaseName>,
    /// Calls with their answers.
    #[serde(default)]
    pub(super) call: Vec<CallEntry>,
    /// Checklists of challenges and responses.
    #[serde(default)]
    pub(super) checklist: Vec<ChecklistEntry>,
    /// Words that stand for one another.
    #[serde(default)]
    pub(super) word: Vec<WordEntry>,
    /// Words that carry nothing.
    #[serde(default)]
    pub(super) filler: Vec<WordsEntry>,
    /// Units, which may be left out.
    #[serde(default)]
    pub(super) unit: Vec<WordsEntry>,
    /// Words by which one pilot speaks to the other.
    #[serde(default)]
    pub(super) address: Vec<WordsEntry>,
    /// Words that say no more than that something was heard.
    #[serde(default)]
    pub(super) acknowledgement: Vec<WordsEntry>,
    /// Words that turn the meaning round.
    #[serde(default)]
    pub(super) negation: Vec<WordsEntry>,
    /// Words that exclude one another.
    #[serde(default)]
    pub(super) opposite: Vec<WordsEntry>,
    /// Words of one meaning in briefings.
    #[serde(default)]
    pub(super) same: Vec<WordsEntry>,
    /// Words of a briefing that carry nothing.
    #[serde(default)]
    pub(super) generic: Vec<WordsEntry>,
    /// Briefings, part by part.
    #[serde(default)]
    pub(super) briefing: Vec<BriefingEntry>,
    /// How one pilot stops the other, step by step.
    pub(super) speaking_up: Option<LadderEntry>,
    /// Documents that the files name.
    #[serde(default, rename = "source")]
    _source: Vec<SourceEntry>,
    /// Values that go together, by name: exercises take them where no flight gives any.
    #[serde(default)]
    pub(super) values: Vec<BTreeMap<String, String>>,
    /// Ways in which a read-back goes wrong.
    #[serde(default)]
    pub(super) slip: Vec<ReadBackSlip>,
    /// How much is read back wrongly, and how that is challenged.
    pub(super) watching: Option<Watching>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SourceEntry {
    /// Name in other files.
    #[serde(rename = "id")]
    _id: String,
    /// The document.
    #[serde(rename = "title")]
    _title: String,
    /// How it was read.
    #[serde(rename = "read")]
    _read: String,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WordEntry {
    /// The word that the calls use.
    pub(super) word: String,
    /// Other forms of it.
    pub(super) forms: Vec<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WordsEntry {
    /// The words.
    pub(super) words: Vec<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CallEntry {
    /// Its name in scenarios, for instance `to-v1`.
    pub(super) id: String,
    /// What happens before it.
    pub(super) cue: String,
    /// Who makes it.
    pub(super) by: Position,
    /// Every form that is right; the first is taught. Values stand in angle brackets.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    pub(super) says: Vec<String>,
    /// Forms that are understood, but are not what the trade says.
    #[serde(default)]
    pub(super) weak: Vec<String>,
    /// Where it is made; on the flight deck if left out.
    #[serde(default)]
    pub(super) channel: Channel,
    /// Seconds in which it must begin.
    pub(super) window: f64,
    /// How much a miss can hurt.
    pub(super) severity: Severity,
    /// Not every operator has it.
    #[serde(default)]
    pub(super) optional: bool,
    /// What happens if it is missed.
    pub(super) why: String,
    /// Document and paragraph, or `common practice`.
    pub(super) source: String,
    /// What is answered; left out if the call wants an action only.
    pub(super) answer: Option<AnswerEntry>,
    /// What is right in another situation only.
    #[serde(default)]
    pub(super) otherwise: Vec<OtherwiseEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AnswerEntry {
    /// Who answers.
    pub(super) by: Position,
    /// Every form that is right; the first is taught.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    pub(super) says: Vec<String>,
    /// Where; as the call if left out.
    pub(super) channel: Option<Channel>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OtherwiseEntry {
    /// The situation.
    pub(super) when: String,
    /// What is said then.
    #[serde(default)]
    pub(super) says: Vec<String>,
    /// What is answered then.
    #[serde(default)]
    pub(super) answer: Vec<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ChecklistEntry {
    /// Its name in scenarios, for instance `before-takeoff`.
    pub(super) id: String,
    /// Its name as it is called.
    pub(super) title: String,
    /// Phase of flight, one of those of `phase_of`.
    pub(super) phase: String,
    /// Who calls for it.
    pub(super) called_by: Position,
    /// Who reads it.
    pub(super) read_by: Position,
    /// When it is due, for readers.
    #[serde(rename = "cue")]
    _cue: String,
    /// Document and paragraph, or `common practice`.
    pub(super) source: String,
    /// Its items, in order.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    pub(super) item: Vec<ItemEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ItemEntry {
    /// What is read.
    pub(super) challenge: String,
    /// Who answers.
    pub(super) by: Position,
    /// Every answer that is right; the first is taught. Values stand in angle brackets.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    pub(super) says: Vec<String>,
    /// Answers that are understood, but are not what the trade says.
    #[serde(default)]
    pub(super) weak: Vec<String>,
    /// It waits until the rest of the list has been read.
    #[serde(default)]
    pub(super) below_the_line: bool,
    /// Its answer must carry the value or the state that was seen.
    #[serde(default)]
    pub(super) killer: bool,
    /// What is right in another situation only.
    #[serde(default)]
    pub(super) otherwise: Vec<OtherwiseEntry>,
}

/// A list with something in it.
pub(super) fn some<'de, D: serde::Deserializer<'de>, T: Deserialize<'de>>(
    from: D,
) -> Result<Vec<T>, D::Error> {
    let list = Vec::deserialize(from)?;
    if list.is_empty() { Err(serde::de::Error::custom("the list is empty")) } else { Ok(list) }
}

/// The shape of a file of calls, checklists, briefings and words.
pub(crate) fn crew_schema(settings: SchemaSettings) -> Schema {
    settings.into_generator().into_root_schema_for::<File>()
}

/// The shape of an operator's file.
pub(crate) fn operator_schema(settings: SchemaSettings) -> Schema {
    settings.into_generator().into_root_schema_for::<OperatorFile>()
}

impl CallEntry {
    /// The call; with a case, as it is in that situation.
    pub(super) fn call(
        &self,
        case: Option<&OtherwiseEntry>,
        speeches: &dyn Fn(&[String]) -> Vec<Speech>,
    ) -> Call {
        let usual = "nothing of that kind is the matter";
        let lines = |usually: &[String], weak: &[String], pick: fn(&OtherwiseEntry) -> &Vec<String>| {
            let other = self.otherwise.iter().filter(|o| !pick(o).is_empty());
            let own = case.filter(|case| !pick(case).is_empty());
            let others = other.filter(|o| own.is_none_or(|own| own.when != o.when));
            let mut otherwise: Vec<_> = others.map(|o| (o.when.clone(), speeches(pick(o)))).collect();
            if own.is_some() {
                otherwise.push((usual.to_owned(), speeches(usually)));
            }
            Lines {
                says: own.map_or_else(|| speeches(usually), |own| speeches(pick(own))),
                weak: if own.is_some() { Vec::new() } else { speeches(weak) },
                otherwise,
            }
        };
        let answer = self.answer.as_ref();
        Call {
            id: self.id.clone(),
            case: case.map(|case| case.when.clone()),
            cases: Vec::new(),
            cue: self.cue.clone(),
            by: self.by,
            channel: self.channel,
            window: self.window,
            call: lines(&self.says, &self.weak, |o| &o.says),
            answer: answer.map(|answer| lines(&answer.says, &[], |o| &o.answer)),
            answered: answer.map(|a| (a.by, a.channel.unwrap_or(self.channel))),
            optional: self.optional,
            severity: self.severity,
            why: self.why.clone(),
            source: self.source.clone(),
        }
    }
}
