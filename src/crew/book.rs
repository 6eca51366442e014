//! The files of `grammar/crew`: calls with their answers, checklists, words, operators.

use super::briefing::{Briefing, BriefingEntry};
use super::said::{Speech, Words};
use super::speaking_up::{Ladder, LadderEntry};
use crate::element::Severity;
use crate::text::fold;
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::OnceLock;

/// What one may say: every form that is right, forms that are understood, forms for another situation.
#[derive(Debug, Default)]
pub struct Lines {
    /// Right; the first is the one that is taught.
    pub(super) says: Vec<Speech>,
    /// Understood, but not what the trade says.
    pub(super) weak: Vec<Speech>,
    /// Right in another situation only, with that situation.
    pub(super) otherwise: Vec<(String, Vec<Speech>)>,
}

/// A call and its answer.
#[derive(Debug)]
pub struct Call {
    /// Its name in files, for instance `to-v1`.
    pub id: String,
    /// What is said.
    pub call: Lines,
    /// What is answered; none if the call wants an action only.
    pub answer: Option<Lines>,
    /// How much a miss can hurt.
    pub severity: Severity,
    /// What happens if it is missed.
    pub why: String,
    /// Where it comes from.
    pub source: String,
}

/// One item of a checklist.
#[derive(Debug)]
pub struct Item {
    /// What is read.
    pub challenge: Lines,
    /// What is answered.
    pub response: Lines,
    /// Its answer must carry the value or the state that was seen.
    pub killer: bool,
}

/// A checklist of challenges and responses.
#[derive(Debug)]
pub struct Checklist {
    /// Its name in files, for instance `before-takeoff`.
    pub id: String,
    /// In order.
    pub items: Vec<Item>,
    /// Where it comes from.
    pub source: String,
}

/// What an operator chose where the trade has several ways.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Operator {
    /// Version of the file format; 1.
    pub format: i64,
    /// One line for lists.
    pub title: String,
    /// Values that calls take from the operator.
    #[serde(default)]
    pub value: BTreeMap<String, String>,
    /// The wording of calls.
    #[serde(default)]
    pub says: BTreeMap<String, String>,
    /// The wording of answers.
    #[serde(default)]
    pub answer: BTreeMap<String, String>,
}

/// Everything that is known about calls.
#[derive(Debug)]
pub struct CrewBook {
    pub(super) words: Words,
    /// The vocabulary of briefings and of speaking up.
    pub(super) talk: Words,
    /// Words that mean the same, by the first of them.
    pub(super) same: HashMap<u64, u64>,
    /// Words of a briefing that carry nothing.
    pub(super) generic: HashSet<u64>,
    pub(super) ladder: Ladder,
    briefings: BTreeMap<String, Briefing>,
    calls: BTreeMap<String, Call>,
    checklists: BTreeMap<String, Checklist>,
    operators: BTreeMap<String, Operator>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "format")]
    _format: i64,
    #[serde(rename = "phase")]
    _phase: Option<String>,
    #[serde(default)]
    call: Vec<CallEntry>,
    #[serde(default)]
    checklist: Vec<ChecklistEntry>,
    #[serde(default)]
    word: Vec<WordEntry>,
    #[serde(default)]
    filler: Vec<WordsEntry>,
    #[serde(default)]
    unit: Vec<WordsEntry>,
    #[serde(default)]
    address: Vec<WordsEntry>,
    #[serde(default)]
    acknowledgement: Vec<WordsEntry>,
    #[serde(default)]
    negation: Vec<WordsEntry>,
    #[serde(default)]
    opposite: Vec<WordsEntry>,
    #[serde(default)]
    same: Vec<WordsEntry>,
    #[serde(default)]
    generic: Vec<WordsEntry>,
    #[serde(default)]
    briefing: Vec<BriefingEntry>,
    speaking_up: Option<LadderEntry>,
    #[serde(default, rename = "source")]
    _source: Vec<SourceEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceEntry {
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
struct WordsEntry {
    words: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CallEntry {
    id: String,
    #[serde(rename = "cue")]
    _cue: String,
    #[serde(rename = "by")]
    _by: String,
    says: Vec<String>,
    #[serde(default)]
    weak: Vec<String>,
    #[serde(rename = "channel")]
    _channel: Option<String>,
    #[serde(rename = "window")]
    _window: f64,
    severity: Severity,
    #[serde(default, rename = "optional")]
    _optional: bool,
    why: String,
    source: String,
    answer: Option<AnswerEntry>,
    #[serde(default)]
    otherwise: Vec<OtherwiseEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AnswerEntry {
    #[serde(rename = "by")]
    _by: String,
    says: Vec<String>,
    #[serde(rename = "channel")]
    _channel: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OtherwiseEntry {
    when: String,
    #[serde(default)]
    says: Vec<String>,
    #[serde(default)]
    answer: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ChecklistEntry {
    id: String,
    #[serde(rename = "title")]
    _title: String,
    #[serde(rename = "phase")]
    _phase: String,
    #[serde(rename = "called_by")]
    _called_by: String,
    #[serde(rename = "read_by")]
    _read_by: String,
    #[serde(rename = "cue")]
    _cue: String,
    source: String,
    item: Vec<ItemEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ItemEntry {
    challenge: String,
    #[serde(rename = "by")]
    _by: String,
    says: Vec<String>,
    #[serde(default)]
    weak: Vec<String>,
    #[serde(default, rename = "below_the_line")]
    _below: bool,
    #[serde(default)]
    killer: bool,
    #[serde(default)]
    otherwise: Vec<OtherwiseEntry>,
}

impl CrewBook {
    /// The book that the binary carries.
    ///
    /// # Errors
    /// What is wrong with a built-in file; a test keeps that from happening.
    pub fn builtin() -> Result<&'static Self, String> {
        static BOOK: OnceLock<Result<CrewBook, String>> = OnceLock::new();
        BOOK.get_or_init(Self::load).as_ref().map_err(Clone::clone)
    }

    fn load() -> Result<Self, String> {
        let mut files = Vec::new();
        let mut operators = BTreeMap::new();
        for (path, text) in crate::grammar::builtin_files() {
            let Some(name) = path.strip_prefix("grammar/crew/") else { continue };
            if let Some(id) = name.strip_prefix("operators/").and_then(|n| n.strip_suffix(".toml")) {
                let operator = toml::from_str(text).map_err(|e| format!("{path}: {e}"))?;
                operators.insert(id.to_owned(), operator);
            } else {
                files.push(toml::from_str::<File>(text).map_err(|e| format!("{path}: {e}"))?);
            }
        }
        let list = |pick: fn(&File) -> &Vec<WordsEntry>| -> Vec<String> {
            files.iter().flat_map(pick).flat_map(|entry| entry.words.clone()).collect()
        };
        let texts = files.iter().flat_map(|file| {
            let calls = file.call.iter().flat_map(|call| {
                let answers = call.answer.iter().flat_map(|answer| &answer.says);
                let other = call.otherwise.iter().flat_map(|o| o.says.iter().chain(&o.answer));
                call.says.iter().chain(&call.weak).chain(answers).chain(other)
            });
            let items = file.checklist.iter().flat_map(|list| &list.item).flat_map(|item| {
                let other = item.otherwise.iter().flat_map(|o| &o.says);
                [&item.challenge].into_iter().chain(&item.says).chain(&item.weak).chain(other)
            });
            calls.chain(items).map(String::as_str)
        });
        let forms: Vec<&WordEntry> = files.iter().flat_map(|file| &file.word).collect();
        let vocabulary = |texts: &mut dyn Iterator<Item = &str>, free: &[String]| {
            Words::new(
                &forms,
                texts,
                free,
                &list(|f| &f.acknowledgement),
                &list(|f| &f.negation),
                &files.iter().flat_map(|f| &f.opposite).map(|o| o.words.clone()).collect::<Vec<_>>(),
            )
        };
        let free = [list(|f| &f.filler), list(|f| &f.unit)].concat();
        let mut texts = texts;
        let words = vocabulary(&mut texts, &[free.clone(), list(|f| &f.address)].concat());
        let one = |f: fn(&File) -> &Vec<WordsEntry>| files.iter().flat_map(f).flat_map(|entry| &entry.words);
        let briefings = files.iter().flat_map(|f| &f.briefing);
        let ladder = files.iter().find_map(|f| f.speaking_up.as_ref());
        let talk = vocabulary(
            &mut briefings
                .clone()
                .flat_map(BriefingEntry::texts)
                .chain(ladder.into_iter().flat_map(LadderEntry::texts))
                .chain(one(|f| &f.same))
                .chain(one(|f| &f.generic))
                .map(String::as_str),
            &free,
        );
        let speeches = |texts: &[String]| -> Vec<Speech> { texts.iter().map(|t| words.speech(t)).collect() };
        let groups = files.iter().flat_map(|f| &f.same);
        let mut book = Self {
            words: Words::default(),
            talk: Words::default(),
            same: groups.flat_map(|g| g.words.iter().map(|w| (fold(w), fold(&g.words[0])))).collect(),
            generic: one(|f| &f.generic).map(|w| fold(w)).collect(),
            ladder: ladder.ok_or("nothing about speaking up")?.ladder(&talk)?,
            briefings: briefings.map(|entry| (entry.id.clone(), entry.briefing(&talk))).collect(),
            calls: BTreeMap::new(),
            checklists: BTreeMap::new(),
            operators,
        };
        for file in &files {
            for entry in &file.call {
                let other = |pick: fn(&OtherwiseEntry) -> &Vec<String>| {
                    let with = entry.otherwise.iter().filter(|o| !pick(o).is_empty());
                    with.map(|o| (o.when.clone(), speeches(pick(o)))).collect()
                };
                let call = Lines {
                    says: speeches(&entry.says),
                    weak: speeches(&entry.weak),
                    otherwise: other(|o| &o.says),
                };
                let answer = entry.answer.as_ref().map(|answer| Lines {
                    says: speeches(&answer.says),
                    weak: Vec::new(),
                    otherwise: other(|o| &o.answer),
                });
                let call = Call {
                    id: entry.id.clone(),
                    call,
                    answer,
                    severity: entry.severity,
                    why: entry.why.clone(),
                    source: entry.source.clone(),
                };
                if book.calls.insert(entry.id.clone(), call).is_some() {
                    return Err(format!("two calls `{}`", entry.id));
                }
            }
            for entry in &file.checklist {
                let items = entry.item.iter().map(|item| {
                    // The words of the challenge may stand before its response.
                    let responses = |texts: &[String]| -> Vec<Speech> {
                        let with =
                            texts.iter().map(|text| words.speech(&format!("{}, {text}", item.challenge)));
                        speeches(texts).into_iter().chain(with).collect()
                    };
                    let other = item.otherwise.iter().map(|o| (o.when.clone(), responses(&o.says)));
                    Item {
                        challenge: Lines { says: vec![words.speech(&item.challenge)], ..Lines::default() },
                        response: Lines {
                            says: responses(&item.says),
                            weak: responses(&item.weak),
                            otherwise: other.collect(),
                        },
                        killer: item.killer,
                    }
                });
                let list =
                    Checklist { id: entry.id.clone(), items: items.collect(), source: entry.source.clone() };
                book.checklists.insert(entry.id.clone(), list);
            }
        }
        book.words = words;
        book.talk = talk;
        Ok(book)
    }

    /// The call of that id.
    #[must_use]
    pub fn call(&self, id: &str) -> Option<&Call> {
        self.calls.get(id)
    }

    /// Every call, by id.
    pub fn calls(&self) -> impl Iterator<Item = &Call> {
        self.calls.values()
    }

    /// The checklist of that id.
    #[must_use]
    pub fn checklist(&self, id: &str) -> Option<&Checklist> {
        self.checklists.get(id)
    }

    /// Ids of all checklists.
    pub fn checklist_ids(&self) -> impl Iterator<Item = &str> {
        self.checklists.keys().map(String::as_str)
    }

    /// The briefing of that id.
    #[must_use]
    pub fn briefing(&self, id: &str) -> Option<&Briefing> {
        self.briefings.get(id)
    }

    /// Every briefing, by id.
    pub fn briefings(&self) -> impl Iterator<Item = &Briefing> {
        self.briefings.values()
    }

    /// The operator of that name.
    #[must_use]
    pub fn operator(&self, id: &str) -> Option<&Operator> {
        self.operators.get(id)
    }

    /// Names of all operators.
    pub fn operator_ids(&self) -> impl Iterator<Item = &str> {
        self.operators.keys().map(String::as_str)
    }
}
