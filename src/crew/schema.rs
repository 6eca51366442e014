//! The shape of the files of `grammar/crew`, and calls made of it.

use super::book::{Call, Channel, Lines, Operator, Position, ReadBackSlip, Times, Watching};
use super::briefing::BriefingEntry;
use super::said::Speech;
use super::speaking_up::LadderEntry;
use crate::element::Severity;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// The file of an operator.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OperatorFile {
    #[serde(rename = "format")]
    _format: i64,
    pub(super) title: String,
    #[serde(default)]
    pub(super) value: BTreeMap<String, String>,
    #[serde(default)]
    pub(super) says: BTreeMap<Spanned<String>, String>,
    #[serde(default)]
    pub(super) answer: BTreeMap<Spanned<String>, String>,
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct File {
    #[serde(rename = "format")]
    _format: i64,
    #[serde(rename = "phase")]
    _phase: Option<String>,
    #[serde(default)]
    pub(super) call: Vec<CallEntry>,
    #[serde(default)]
    pub(super) checklist: Vec<ChecklistEntry>,
    #[serde(default)]
    pub(super) word: Vec<WordEntry>,
    #[serde(default)]
    pub(super) filler: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) unit: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) address: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) acknowledgement: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) negation: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) opposite: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) same: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) generic: Vec<WordsEntry>,
    #[serde(default)]
    pub(super) briefing: Vec<BriefingEntry>,
    pub(super) speaking_up: Option<LadderEntry>,
    #[serde(default, rename = "source")]
    _source: Vec<SourceEntry>,
    #[serde(default)]
    pub(super) slip: Vec<ReadBackSlip>,
    pub(super) watching: Option<Watching>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SourceEntry {
    #[serde(rename = "id")]
    _id: String,
    #[serde(rename = "title")]
    _title: String,
    #[serde(rename = "read")]
    _read: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WordEntry {
    pub(super) word: String,
    pub(super) forms: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WordsEntry {
    pub(super) words: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CallEntry {
    pub(super) id: String,
    pub(super) cue: String,
    pub(super) by: Position,
    #[serde(deserialize_with = "some")]
    pub(super) says: Vec<String>,
    #[serde(default)]
    pub(super) weak: Vec<String>,
    #[serde(default)]
    pub(super) channel: Channel,
    pub(super) window: f64,
    pub(super) severity: Severity,
    #[serde(default)]
    pub(super) optional: bool,
    pub(super) why: String,
    pub(super) source: String,
    pub(super) answer: Option<AnswerEntry>,
    #[serde(default)]
    pub(super) otherwise: Vec<OtherwiseEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AnswerEntry {
    pub(super) by: Position,
    #[serde(deserialize_with = "some")]
    pub(super) says: Vec<String>,
    pub(super) channel: Option<Channel>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OtherwiseEntry {
    pub(super) when: String,
    #[serde(default)]
    pub(super) says: Vec<String>,
    #[serde(default)]
    pub(super) answer: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ChecklistEntry {
    pub(super) id: String,
    pub(super) title: String,
    #[serde(rename = "phase")]
    _phase: String,
    pub(super) called_by: Position,
    pub(super) read_by: Position,
    #[serde(rename = "cue")]
    _cue: String,
    pub(super) source: String,
    #[serde(deserialize_with = "some")]
    pub(super) item: Vec<ItemEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ItemEntry {
    pub(super) challenge: String,
    pub(super) by: Position,
    #[serde(deserialize_with = "some")]
    pub(super) says: Vec<String>,
    #[serde(default)]
    pub(super) weak: Vec<String>,
    #[serde(default)]
    pub(super) below_the_line: bool,
    #[serde(default)]
    pub(super) killer: bool,
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
