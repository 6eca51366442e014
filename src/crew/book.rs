//! The files of `grammar/crew`: calls with their answers, checklists, words, operators.

use super::briefing::{Briefing, BriefingEntry};
use super::said::{Speech, Words};
use super::speaking_up::{Ladder, LadderEntry};
use crate::diagnostic::{self, Diagnostic};
use crate::element::Severity;
use crate::span::Spanned;
use crate::text::fold;
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::{Arc, OnceLock};

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

impl Lines {
    /// The form that is taught.
    #[must_use]
    pub fn taught(&self) -> &str {
        self.says.first().map_or("", |speech| &speech.text)
    }

    /// Every form that is right.
    pub fn right(&self) -> impl Iterator<Item = &str> {
        self.says.iter().map(|speech| speech.text.as_str())
    }

    /// Forms that are understood, but are not what the trade says.
    pub fn weak(&self) -> impl Iterator<Item = &str> {
        self.weak.iter().map(|speech| speech.text.as_str())
    }

    /// Situations in which other forms are right, with these.
    pub fn cases(&self) -> impl Iterator<Item = (&str, impl Iterator<Item = &str>)> {
        self.otherwise.iter().map(|(when, texts)| (when.as_str(), texts.iter().map(|s| s.text.as_str())))
    }
}

/// The names in angle brackets of a form of words.
pub fn names(text: &str) -> impl Iterator<Item = &str> {
    text.split('<').skip(1).filter_map(|rest| rest.split_once('>').map(|(name, _)| name))
}

/// Who speaks: a place in the crew, or a voice from outside the flight deck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum Position {
    /// Pilot flying.
    #[serde(rename = "PF")]
    Flying,
    /// Pilot monitoring.
    #[serde(rename = "PM")]
    Monitoring,
    /// Captain, whoever flies.
    #[serde(rename = "CA")]
    Captain,
    /// First officer, whoever flies.
    #[serde(rename = "FO")]
    FirstOfficer,
    /// The pilot who works the radio.
    #[serde(rename = "RP")]
    Radio,
    /// The pilot who does not work the radio.
    #[serde(rename = "NRP")]
    NotRadio,
    /// Both pilots.
    #[serde(rename = "BOTH")]
    Both,
    /// Either pilot.
    #[serde(rename = "EITHER")]
    Either,
    /// The pilot who sees it first.
    #[serde(rename = "FIRST")]
    First,
    /// Cabin crew.
    #[serde(rename = "CC")]
    Cabin,
    /// Senior cabin crew member.
    #[serde(rename = "SCC")]
    Senior,
    /// Ground crew at the headset.
    #[serde(rename = "GND")]
    Ground,
    /// A controller.
    #[serde(rename = "ATC")]
    Controller,
}

impl Position {
    /// What it is called.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Flying => "pilot flying",
            Self::Monitoring => "pilot monitoring",
            Self::Captain => "captain",
            Self::FirstOfficer => "first officer",
            Self::Radio => "pilot on the radio",
            Self::NotRadio => "pilot not on the radio",
            Self::Both => "both pilots",
            Self::Either => "either pilot",
            Self::First => "pilot who sees it first",
            Self::Cabin => "cabin crew",
            Self::Senior => "senior cabin crew",
            Self::Ground => "ground crew",
            Self::Controller => "controller",
        }
    }
}

/// Where something is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Channel {
    /// From pilot to pilot.
    #[default]
    Deck,
    /// To a station.
    Radio,
    /// To the cabin crew.
    Interphone,
    /// To the ground crew.
    Headset,
    /// To everybody in the cabin: public address.
    Pa,
}

impl Channel {
    /// Every channel.
    pub const ALL: [Channel; 5] = [Self::Deck, Self::Radio, Self::Interphone, Self::Headset, Self::Pa];

    /// The word for it in files, commands and on screen.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Deck => "deck",
            Self::Radio => "radio",
            Self::Interphone => "interphone",
            Self::Headset => "headset",
            Self::Pa => "pa",
        }
    }
}

/// A call and its answer.
#[derive(Debug)]
pub struct Call {
    /// Its name in files, for instance `to-v1`.
    pub id: String,
    /// The situation it is for, if that is not the usual one.
    pub case: Option<String>,
    /// The call in other situations.
    pub cases: Vec<Call>,
    /// What happens before it.
    pub cue: String,
    /// Who makes it.
    pub by: Position,
    /// Where it is made.
    pub channel: Channel,
    /// Seconds in which it must begin.
    pub window: f64,
    /// What is said.
    pub call: Lines,
    /// What is answered; none if the call wants an action only.
    pub answer: Option<Lines>,
    /// Who answers, and where.
    pub answered: Option<(Position, Channel)>,
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
    /// Who answers.
    pub by: Position,
    /// True if it waits until the rest of the list has been read.
    pub below: bool,
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
    /// Its name as it is called.
    pub title: String,
    /// Who calls for it.
    pub called_by: Position,
    /// Who reads it.
    pub read_by: Position,
    /// In order.
    pub items: Vec<Item>,
    /// Where it comes from.
    pub source: String,
}

/// What an operator chose where the trade has several ways.
#[derive(Debug, Clone, Default)]
pub struct Operator {
    /// One line for lists.
    pub title: String,
    /// Values that calls take from the operator.
    pub value: BTreeMap<String, String>,
    /// The wording of calls.
    pub says: BTreeMap<String, String>,
    /// The wording of answers.
    pub answer: BTreeMap<String, String>,
    /// Times that are the operator's own.
    pub time: Times,
}

/// The file of an operator.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OperatorFile {
    /// Version of the file format; 1.
    #[serde(rename = "format")]
    _format: i64,
    /// One line for lists.
    title: String,
    /// Values that calls take from the operator, for instance `xcheck = '80'`.
    #[serde(default)]
    value: BTreeMap<String, String>,
    /// The words of calls, where the trade has several: id of the call, words. The others stay right.
    #[serde(default)]
    says: BTreeMap<Spanned<String>, String>,
    /// The words of answers: id of the call, words.
    #[serde(default)]
    answer: BTreeMap<Spanned<String>, String>,
    /// Times that are the operator's own.
    #[serde(default)]
    time: Times,
}

impl OperatorFile {
    fn operator(&self) -> Operator {
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

/// Whether a file below a folder `crew` is one of an operator, and its name; none if it lies elsewhere.
fn place(path: &str) -> Option<(bool, &str)> {
    let mut parts = path.rsplit('/');
    let name = parts.next()?.strip_suffix(".toml")?;
    match parts.next()? {
        "crew" => Some((false, name)),
        "operators" if parts.next() == Some("crew") => Some((true, name)),
        _ => None,
    }
}

/// Times in seconds.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Times {
    /// In which an answer must begin.
    pub answer: f64,
    /// A call counts as late up to this many times its window, then as missed.
    pub late_factor: f64,
    /// Typing takes longer than speaking: so much more for each reply ...
    pub typing: f64,
    /// ... and so much for each character.
    pub typing_per_character: f64,
}

impl Default for Times {
    fn default() -> Self {
        Self { answer: 3.0, late_factor: 2.0, typing: 1.5, typing_per_character: 0.25 }
    }
}

/// A way in which a read-back goes wrong.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadBackSlip {
    /// Its name.
    pub id: String,
    /// What happens, for the debrief.
    pub what: String,
    /// How often, beside the others.
    pub weight: u32,
    /// The elements it concerns, by name.
    pub elements: Vec<String>,
    /// What becomes of the value.
    pub does: Change,
    /// Where it comes from.
    pub source: String,
}

/// What becomes of a value that is read back wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Change {
    /// A value beside it.
    Near,
    /// Two digits change places, or one is another.
    Digit,
    /// It is left out.
    Omit,
    /// The other side.
    Side,
    /// The digits of another flight.
    Flight,
}

/// How much is read back wrongly, and how words are heard that challenge it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Watching {
    /// The share of clearances that come back wrong where a scenario says nothing.
    pub share: f64,
    /// How often the controller hears it.
    pub controller_hears: f64,
    /// Seconds in which a slip must be challenged.
    pub window: f64,
    /// Words that doubt what was said.
    pub words: Vec<String>,
}

/// Everything that is known about calls.
#[derive(Debug)]
pub struct CrewBook {
    /// Ways in which a read-back goes wrong.
    pub slips: Vec<ReadBackSlip>,
    /// How much goes wrong, and how it is challenged.
    pub watching: Watching,
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

/// One file of the crew's book: any mixture of the tables below.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct File {
    /// Version of the file format; 1.
    #[serde(rename = "format")]
    _format: i64,
    /// Phase of flight of the calls, for readers.
    #[serde(rename = "phase")]
    _phase: Option<String>,
    /// Calls with their answers.
    #[serde(default)]
    call: Vec<CallEntry>,
    /// Checklists of challenges and responses.
    #[serde(default)]
    checklist: Vec<ChecklistEntry>,
    /// Words that stand for one another.
    #[serde(default)]
    word: Vec<WordEntry>,
    /// Words that carry nothing.
    #[serde(default)]
    filler: Vec<WordsEntry>,
    /// Units, which may be left out.
    #[serde(default)]
    unit: Vec<WordsEntry>,
    /// Words by which one pilot speaks to the other.
    #[serde(default)]
    address: Vec<WordsEntry>,
    /// Words that say no more than that something was heard.
    #[serde(default)]
    acknowledgement: Vec<WordsEntry>,
    /// Words that turn the meaning round.
    #[serde(default)]
    negation: Vec<WordsEntry>,
    /// Words that exclude one another.
    #[serde(default)]
    opposite: Vec<WordsEntry>,
    /// Words of one meaning in briefings.
    #[serde(default)]
    same: Vec<WordsEntry>,
    /// Words of a briefing that carry nothing.
    #[serde(default)]
    generic: Vec<WordsEntry>,
    /// Briefings, part by part.
    #[serde(default)]
    briefing: Vec<BriefingEntry>,
    /// How one pilot stops the other, step by step.
    speaking_up: Option<LadderEntry>,
    /// Documents that the files name.
    #[serde(default, rename = "source")]
    _source: Vec<SourceEntry>,
    /// Ways in which a read-back goes wrong.
    #[serde(default)]
    slip: Vec<ReadBackSlip>,
    /// How much is read back wrongly, and how that is challenged.
    watching: Option<Watching>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SourceEntry {
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
struct WordsEntry {
    /// The words.
    words: Vec<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CallEntry {
    /// Its name in scenarios, for instance `to-v1`.
    id: String,
    /// What happens before it.
    cue: String,
    /// Who makes it.
    by: Position,
    /// Every form that is right; the first is taught. Values stand in angle brackets.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    says: Vec<String>,
    /// Forms that are understood, but are not what the trade says.
    #[serde(default)]
    weak: Vec<String>,
    /// Where it is made; on the flight deck if left out.
    #[serde(default)]
    channel: Channel,
    /// Seconds in which it must begin.
    window: f64,
    /// How much a miss can hurt.
    severity: Severity,
    /// Not every operator has it.
    #[serde(default, rename = "optional")]
    _optional: bool,
    /// What happens if it is missed.
    why: String,
    /// Document and paragraph, or `common practice`.
    source: String,
    /// What is answered; left out if the call wants an action only.
    answer: Option<AnswerEntry>,
    /// What is right in another situation only.
    #[serde(default)]
    otherwise: Vec<OtherwiseEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AnswerEntry {
    /// Who answers.
    by: Position,
    /// Every form that is right; the first is taught.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    says: Vec<String>,
    /// Where; as the call if left out.
    channel: Option<Channel>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OtherwiseEntry {
    /// The situation.
    when: String,
    /// What is said then.
    #[serde(default)]
    says: Vec<String>,
    /// What is answered then.
    #[serde(default)]
    answer: Vec<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ChecklistEntry {
    /// Its name in scenarios, for instance `before-takeoff`.
    id: String,
    /// Its name as it is called.
    title: String,
    /// Phase of flight, for readers.
    #[serde(rename = "phase")]
    _phase: String,
    /// Who calls for it.
    called_by: Position,
    /// Who reads it.
    read_by: Position,
    /// When it is due, for readers.
    #[serde(rename = "cue")]
    _cue: String,
    /// Document and paragraph, or `common practice`.
    source: String,
    /// Its items, in order.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    item: Vec<ItemEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ItemEntry {
    /// What is read.
    challenge: String,
    /// Who answers.
    by: Position,
    /// Every answer that is right; the first is taught. Values stand in angle brackets.
    #[serde(deserialize_with = "some")]
    #[schemars(length(min = 1))]
    says: Vec<String>,
    /// Answers that are understood, but are not what the trade says.
    #[serde(default)]
    weak: Vec<String>,
    /// It waits until the rest of the list has been read.
    #[serde(default)]
    below_the_line: bool,
    /// Its answer must carry the value or the state that was seen.
    #[serde(default)]
    killer: bool,
    /// What is right in another situation only.
    #[serde(default)]
    otherwise: Vec<OtherwiseEntry>,
}

/// A list with something in it.
fn some<'de, D: serde::Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Vec<T>, D::Error> {
    let list = Vec::deserialize(from)?;
    if list.is_empty() { Err(serde::de::Error::custom("the list is empty")) } else { Ok(list) }
}

impl CallEntry {
    /// The call; with a case, as it is in that situation.
    fn call(&self, case: Option<&OtherwiseEntry>, speeches: &dyn Fn(&[String]) -> Vec<Speech>) -> Call {
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
            severity: self.severity,
            why: self.why.clone(),
            source: self.source.clone(),
        }
    }
}

/// The shape of a file of calls, checklists, briefings and words.
pub(crate) fn crew_schema(settings: SchemaSettings) -> Schema {
    settings.into_generator().into_root_schema_for::<File>()
}

/// The shape of an operator's file.
pub(crate) fn operator_schema(settings: SchemaSettings) -> Schema {
    settings.into_generator().into_root_schema_for::<OperatorFile>()
}

impl CrewBook {
    /// The book that the binary carries.
    ///
    /// # Errors
    /// What is wrong with a built-in file; a test keeps that from happening.
    pub fn builtin() -> Result<Arc<Self>, String> {
        static BOOK: OnceLock<Result<Arc<CrewBook>, String>> = OnceLock::new();
        let load = || {
            let files = crate::grammar::builtin_files().iter();
            let problem = |found: Vec<Diagnostic>| diagnostic::render(&found, false);
            Self::load(files.map(|f| (f.0, f.1.as_bytes()))).map(Arc::new).map_err(problem)
        };
        BOOK.get_or_init(load).clone()
    }

    /// A book from files of grammar, of which those below a folder `crew` are taken: calls, checklists, words,
    /// and operators from a folder `operators`. What comes later takes the place of what has the same id.
    ///
    /// # Errors
    /// Everything that is wrong with the files, with its place.
    pub fn load<'a>(given: impl Iterator<Item = (&'a str, &'a [u8])>) -> Result<Self, Vec<Diagnostic>> {
        let mut files = Vec::new();
        let mut operators: BTreeMap<String, Operator> = BTreeMap::new();
        let mut read_operators = Vec::new();
        let mut found = Vec::new();
        for (path, bytes) in given {
            let Some((operator, id)) = place(path) else { continue };
            let source = match diagnostic::text("C001", path, bytes) {
                Ok(source) => source,
                Err(problem) => {
                    found.push(*problem);
                    continue;
                }
            };
            let broken = diagnostic::syntax("C002", path, &source);
            if !broken.is_empty() {
                found.extend(broken);
                continue;
            }
            let told = |error: toml::de::Error| diagnostic::from_toml(path, &source, &error, "C002");
            if operator {
                match toml::from_str::<OperatorFile>(&source).map_err(told) {
                    Ok(file) => {
                        operators.insert(id.to_owned(), file.operator());
                        read_operators.push((path, source.clone(), file));
                    }
                    Err(problem) => found.push(problem),
                }
            } else {
                match toml::from_str::<File>(&source).map_err(told) {
                    Ok(file) => files.push(file),
                    Err(problem) => found.push(problem),
                }
            }
        }
        let calls: Vec<&str> =
            files.iter().flat_map(|file| &file.call).map(|call| call.id.as_str()).collect();
        for (path, source, file) in &read_operators {
            for name in file.says.keys().chain(file.answer.keys()) {
                if !found.is_empty() || calls.contains(&name.get_ref().as_str()) {
                    continue;
                }
                let title = format!("unknown call `{}`", name.get_ref());
                let problem = Diagnostic::new("C003", path, source, name.span(), title);
                found.push(problem.suggest(name.get_ref(), calls.iter().copied()));
            }
        }
        if !found.is_empty() {
            return Err(found);
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
        let problem = |title: String| {
            vec![Diagnostic::new("C004", "crew/speaking-up.toml", &Arc::from(""), 0..0, title)]
        };
        let ladder = ladder.ok_or_else(|| "nothing about speaking up".to_owned());
        let ladder = ladder.and_then(|entry| entry.ladder(&talk)).map_err(problem)?;
        let mut book = Self {
            slips: files.iter().flat_map(|f| f.slip.clone()).collect(),
            watching: files.iter().find_map(|f| f.watching.clone()).unwrap_or_default(),
            words: Words::default(),
            talk: Words::default(),
            same: groups.flat_map(|g| g.words.iter().map(|w| (fold(w), fold(&g.words[0])))).collect(),
            generic: one(|f| &f.generic).map(|w| fold(w)).collect(),
            ladder,
            briefings: briefings.map(|entry| (entry.id.clone(), entry.briefing(&talk))).collect(),
            calls: BTreeMap::new(),
            checklists: BTreeMap::new(),
            operators,
        };
        for file in &files {
            for entry in &file.call {
                let mut call = entry.call(None, &speeches);
                let cases = entry.otherwise.iter();
                call.cases = cases.map(|case| entry.call(Some(case), &speeches)).collect();
                book.calls.insert(entry.id.clone(), call);
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
                        by: item.by,
                        below: item.below_the_line,
                        challenge: Lines { says: vec![words.speech(&item.challenge)], ..Lines::default() },
                        response: Lines {
                            says: responses(&item.says),
                            weak: responses(&item.weak),
                            otherwise: other.collect(),
                        },
                        killer: item.killer,
                    }
                });
                let list = Checklist {
                    id: entry.id.clone(),
                    title: entry.title.clone(),
                    called_by: entry.called_by,
                    read_by: entry.read_by,
                    items: items.collect(),
                    source: entry.source.clone(),
                };
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

    /// The call of that id in a situation; the usual one without.
    #[must_use]
    pub fn call_when(&self, id: &str, case: Option<&str>) -> Option<&Call> {
        let call = self.call(id)?;
        match case {
            None => Some(call),
            Some(case) => call.cases.iter().find(|other| other.case.as_deref() == Some(case)),
        }
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

    /// True if the reply holds that value, whatever stands beside it.
    #[must_use]
    pub fn holds(&self, value: &str, reply: &str) -> bool {
        self.words.holds(value, reply)
    }

    /// True if the reply doubts what was said.
    #[must_use]
    pub fn doubts(&self, reply: &str) -> bool {
        self.watching.words.iter().any(|word| {
            let found = self.words.compare(&self.words.speech(word), &BTreeMap::new(), reply);
            found.missing == 0
        })
    }

    /// True if the reply says no more than that something was heard.
    #[must_use]
    pub fn acknowledges(&self, reply: &str) -> bool {
        self.words.acknowledges(reply)
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
