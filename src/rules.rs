//! A rule set, compiled: vocabulary, automaton, duties and rules of form, ready to judge.

use crate::diagnostic::{self, Diagnostic};
use crate::element::{Element, Fault, Severity, Standard};
use crate::grammar::load::{self, Book, Path};
use crate::grammar::schema::Example;
use crate::parse::automaton::Automaton;
use crate::parse::marks::Marks;
use crate::parse::slots::Builtin;
use crate::text::lexicon::{Lexicon, WordId};
use rustc_hash::FxHashMap;
use std::sync::{Arc, OnceLock};

/// What a phrase is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhraseKind {
    /// To be done, and answered for.
    Instruction,
    /// News: needs no read-back.
    Information,
    /// Wants an answer.
    Question,
    /// A call that the pilot begins.
    Call,
    /// A move in the conversation: roger, say again, unable.
    Move,
    /// An element said without a verb.
    Fragment,
    /// Nobody answers.
    Silence,
}

impl PhraseKind {
    /// Every kind with its name in files.
    pub const ALL: [(&'static str, Self); 7] = [
        ("instruction", Self::Instruction),
        ("information", Self::Information),
        ("question", Self::Question),
        ("call", Self::Call),
        ("move", Self::Move),
        ("fragment", Self::Fragment),
        ("silence", Self::Silence),
    ];
}

/// What the pilot owes an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Duty {
    /// Information.
    #[default]
    None,
    /// The value read back carries the instruction.
    Carried,
    /// Any answer with the callsign will do.
    Acknowledge,
    /// Read back, or *wilco*.
    ReadBackOrWilco,
    /// Read back.
    ReadBack,
}

impl Duty {
    /// Every duty with its name in files.
    pub const ALL: [(&'static str, Self); 5] = [
        ("read back", Self::ReadBack),
        ("read back or wilco", Self::ReadBackOrWilco),
        ("acknowledge", Self::Acknowledge),
        ("carried", Self::Carried),
        ("none", Self::None),
    ];
}

/// Where a slot of a pattern puts its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Symbol {
    pub(crate) element: Option<Element>,
    pub(crate) slot: SlotRef,
}

/// A slot of the matcher's own, or one of the grammar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum SlotRef {
    Builtin(Builtin),
    Data(u16),
}

impl SlotRef {
    /// Number of the slot among all slots.
    pub(crate) fn bit(self) -> u32 {
        match self {
            Self::Builtin(b) => b as u32,
            Self::Data(d) => Builtin::ALL.len() as u32 + u32::from(d),
        }
    }
}

/// A form that is understood and noted.
#[derive(Debug, Clone)]
pub(crate) struct VariantRule {
    /// Pattern as written.
    pub(crate) says: String,
    pub(crate) element: Element,
    pub(crate) fault: Fault,
    pub(crate) better: String,
    pub(crate) why: Arc<str>,
    pub(crate) source: Arc<str>,
}

/// A topic of the phrase book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Topic {
    /// Stable name.
    pub id: String,
    /// Heading.
    pub title: String,
    /// When in a flight it is used.
    pub phase: Phase,
}

/// When in a flight a topic is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// Clearance, start-up and push-back.
    BeforeTaxi,
    /// Taxi, out and in.
    Taxi,
    /// From ready to the first minutes in the air.
    TakeOff,
    /// Climb, cruise and descent.
    EnRoute,
    /// Arrival routes and holding.
    Arrival,
    /// Approach.
    Approach,
    /// Landing, going around and vacating.
    Landing,
    /// At any time: frequencies, transponder, altimeter, information, words.
    Any,
    /// Abnormal and emergency.
    Abnormal,
}

impl Phase {
    /// All of them, in the order of a flight.
    pub const ALL: [Self; 9] = [
        Self::BeforeTaxi,
        Self::Taxi,
        Self::TakeOff,
        Self::EnRoute,
        Self::Arrival,
        Self::Approach,
        Self::Landing,
        Self::Any,
        Self::Abnormal,
    ];

    /// As it is written.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::BeforeTaxi => "before-taxi",
            Self::Taxi => "taxi",
            Self::TakeOff => "take-off",
            Self::EnRoute => "en-route",
            Self::Arrival => "arrival",
            Self::Approach => "approach",
            Self::Landing => "landing",
            Self::Any => "any",
            Self::Abnormal => "abnormal",
        }
    }

    /// As a heading.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::BeforeTaxi => "Before taxi",
            Self::Taxi => "Taxi",
            Self::TakeOff => "Take-off",
            Self::EnRoute => "Climb, cruise and descent",
            Self::Arrival => "Arrival and holding",
            Self::Approach => "Approach",
            Self::Landing => "Landing",
            Self::Any => "At any time",
            Self::Abnormal => "Abnormal and emergency",
        }
    }

    /// The phase of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.name() == name)
    }
}

/// A phrase of the rule set.
#[derive(Debug, Clone)]
pub struct Phrase {
    /// Stable id.
    pub id: Arc<str>,
    /// What it is for.
    pub kind: PhraseKind,
    /// Number of its topic among [`RuleSet::topics`], if it has one.
    pub topic: Option<u16>,
    /// True if the pilot says it on his own account.
    pub by_pilot: bool,
    /// Canonical value of the element `instruction`, if it has one.
    pub instruction: Option<String>,
    pub(crate) instruction_id: u16,
    pub(crate) family: u16,
    pub(crate) duties: [Duty; 64],
    pub(crate) limit: u64,
    pub(crate) hazard: Option<Severity>,
    pub(crate) near: Vec<u16>,
    pub(crate) includes: Vec<u16>,
    pub(crate) announces: Vec<u16>,
    /// A pilot may always do it instead.
    pub(crate) safe: bool,
    /// It is keyed, not said: no callsign goes with it.
    pub(crate) unsigned: bool,
    /// All that it owes is a limit: it stands beside an instruction.
    pub(crate) limits_only: bool,
    /// The clause right after it is part of the question.
    pub(crate) opens: bool,
    pub(crate) variants: Vec<VariantRule>,
    pub(crate) model: Option<Template>,
    /// The data give a model of their own.
    pub(crate) own_model: bool,
    /// Of a pilot's call: its elements in order.
    pub parts: Vec<Element>,
    /// Patterns as written.
    pub says: Vec<String>,
    /// How it is read back or called, as written; the first pattern if the data give no model of their own.
    pub model_says: Option<String>,
    /// Document and paragraph.
    pub source: Arc<str>,
    /// One sentence a trainee understands.
    pub why: Arc<str>,
}

impl Phrase {
    /// What the pilot owes `element` of this phrase.
    #[must_use]
    pub fn duty(&self, element: Element) -> Duty {
        self.duties[element as usize]
    }

    pub(crate) fn limits(&self, element: Element) -> bool {
        self.limit & (1 << element as u64) != 0
    }
}

/// A slot of the grammar.
#[derive(Debug, Clone)]
pub(crate) struct DataSlot {
    pub(crate) name: String,
    /// What a reader calls its values.
    pub(crate) title: String,
    /// Canonical values with `{inner}`.
    pub(crate) values: Vec<String>,
    pub(crate) models: Vec<Template>,
    /// Of each form, the inner slots that its value names: only they tell two values apart.
    pub(crate) counted: Vec<Vec<SlotRef>>,
}

/// A rule of form.
#[derive(Debug, Clone, Default)]
pub struct Rule {
    /// Name known to the judge.
    pub id: Arc<str>,
    /// Whether this rule set has it.
    pub on: bool,
    /// Document and paragraph.
    pub source: Arc<str>,
    /// One sentence a trainee understands.
    pub why: Arc<str>,
}

/// An example of the data, with its place.
#[derive(Debug, Clone)]
pub struct ExampleCase {
    /// Phrase or rule it belongs to.
    pub id: String,
    /// The example.
    pub example: Example,
    /// File.
    pub path: Path,
    /// Its whole text.
    pub source: Arc<str>,
    /// Stands in the list of right replies.
    pub right: bool,
}

/// One compiled rule set.
pub struct RuleSet {
    /// Tells it from every other rule set of the process.
    pub(crate) serial: u64,
    /// Which one.
    pub standard: Standard,
    pub(crate) lexicon: Lexicon,
    pub(crate) marks: Marks,
    pub(crate) automaton: Automaton,
    pub(crate) symbols: Vec<Symbol>,
    pub(crate) slots: Vec<DataSlot>,
    pub(crate) phrases: Vec<Phrase>,
    /// Topics of the phrase book, in the order of a flight.
    pub topics: Vec<Topic>,
    /// Kind of each phrase: all that the search needs to know of it.
    pub(crate) kinds: Vec<PhraseKind>,
    /// Other phrases with the same instruction in the same family: their answers serve as well.
    pub(crate) siblings: Vec<Vec<u16>>,
    pub(crate) form_rules: [Rule; FORM_RULES.len()],
    /// Examples that the content check runs.
    pub examples: Vec<ExampleCase>,
    /// Phrases of its own that lack an example which the content check wants.
    pub unproved: Vec<Diagnostic>,
    pub(crate) by_id: FxHashMap<String, u16>,
}

macro_rules! form_rules {
    ($($name:ident $id:literal;)*) => {
        /// Rules of form that the judge knows.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(u8)]
        pub(crate) enum FormRule { $($name,)* }
        /// Their ids in the data.
        pub const FORM_RULES: &[&str] = &[$($id,)*];
    };
}

form_rules! {
    CallsignRequired "callsign.required";
    CallsignLast "callsign.last";
    CallsignFull "callsign.full";
    CallsignStationFirst "callsign.station-first";
    CallsignGroup "callsign.group";
    CallsignWake "callsign.wake";
    LevelFlightLevel "level.flight-level";
    LevelFeet "level.feet";
    LevelAltitudeWord "level.altitude-word";
    LevelHundreds "level.hundreds";
    LevelDigits "level.digits";
    LevelGroup "level.group";
    LevelThousand "level.thousand";
    LevelNoTo "level.no-to";
    HeadingWord "heading.word";
    HeadingDegrees "heading.degrees";
    HeadingNoDegrees "heading.no-degrees";
    SpeedKnots "speed.knots";
    FrequencyDecimal "frequency.decimal";
    FrequencyDecimalSaid "frequency.decimal-said";
    FrequencySixDigits "frequency.six-digits";
    AltimeterWord "altimeter.word";
    AltimeterUnit "altimeter.unit";
    AltimeterThousand "altimeter.thousand";
    SquawkThousandDigits "squawk.thousand-digits";
    RunwayWord "runway.word";
    RunwayLeadingZero "runway.leading-zero";
    NumberDigits "number.digits";
    OrderKept "order.kept";
    AckRoger "ack.roger";
    InformationUnrequested "information.unrequested";
    LostSayAgain "lost.say-again";
    NeverGiven "value.never-given";
    SlipKeyboard "slip.keyboard";
}

impl RuleSet {
    /// The rule set that the binary carries, compiled once.
    ///
    /// # Panics
    /// If the embedded grammar is unsound, which a test of this package excludes.
    #[must_use]
    pub fn builtin(standard: Standard) -> Arc<RuleSet> {
        static SETS: [OnceLock<Arc<RuleSet>>; 4] = [const { OnceLock::new() }; 4];
        SETS[standard as usize]
            .get_or_init(|| {
                let files = crate::grammar::builtin_files().iter().map(|f| (f.0, f.1.as_bytes()));
                match load::load(files, standard).and_then(RuleSet::compile) {
                    Ok(set) => Arc::new(set),
                    Err(problems) => {
                        panic!("the embedded grammar is unsound:\n{}", diagnostic::render(&problems, false))
                    }
                }
            })
            .clone()
    }

    /// Compiles a book.
    ///
    /// # Errors
    /// Every problem of the data at once: bad patterns, unknown slots, elements, duties, missing keys.
    pub fn compile(book: Book) -> Result<RuleSet, Vec<Diagnostic>> {
        crate::grammar::compile::compile(book)
    }

    /// The phrase of that id.
    #[must_use]
    pub fn phrase(&self, id: &str) -> Option<&Phrase> {
        self.by_id.get(id).map(|&i| &self.phrases[i as usize])
    }

    pub(crate) fn phrase_index(&self, id: &str) -> Option<u16> {
        self.by_id.get(id).copied()
    }

    /// Every phrase, in the order of the files.
    #[must_use]
    pub fn phrases(&self) -> &[Phrase] {
        &self.phrases
    }

    /// Ids of all phrases.
    pub fn phrase_ids(&self) -> impl Iterator<Item = &str> {
        self.phrases.iter().map(|p| &*p.id)
    }

    /// The rules of form with their state in this rule set.
    #[must_use]
    pub fn rules(&self) -> &[Rule] {
        &self.form_rules
    }

    pub(crate) fn rule(&self, rule: FormRule) -> &Rule {
        &self.form_rules[rule as usize]
    }

    pub(crate) fn on(&self, rule: FormRule) -> bool {
        self.form_rules[rule as usize].on
    }
}

/// How a model read-back is said.
#[derive(Debug, Clone)]
pub(crate) enum Template {
    Sequence(Vec<Template>),
    Either(Vec<Template>),
    Optional(Box<Template>),
    /// As written, and its number in the vocabulary.
    Word(Box<str>, WordId),
    /// Element, and slot for values inside a slot of the grammar.
    Slot(Option<Element>, Option<SlotRef>),
}

impl Template {
    /// True if every slot that it can't do without passes.
    pub(crate) fn needs(&self, has: &dyn Fn(Option<Element>, Option<SlotRef>) -> bool) -> bool {
        match self {
            Self::Sequence(items) => items.iter().all(|n| n.needs(has)),
            Self::Either(items) => items.iter().any(|n| n.needs(has)),
            Self::Optional(_) | Self::Word(..) => true,
            Self::Slot(element, slot) => has(*element, *slot),
        }
    }

    /// True if there is a value for every slot that it can't do without: two levels take two.
    pub(crate) fn fits(&self, values: &[(Element, String)]) -> bool {
        let mut wanted = Vec::new();
        self.demand(&mut wanted);
        let count = |e: &Element| wanted.iter().filter(|w| *w == e).count();
        wanted.iter().all(|e| values.iter().filter(|v| v.0 == *e).count() >= count(e))
    }

    /// Elements of the slots that it can't do without, of alternatives the first.
    fn demand(&self, out: &mut Vec<Element>) {
        match self {
            Self::Sequence(items) => items.iter().for_each(|n| n.demand(out)),
            Self::Either(items) => items.iter().take(1).for_each(|n| n.demand(out)),
            Self::Optional(_) | Self::Word(..) => {}
            Self::Slot(element, _) => out.extend(*element),
        }
    }

    /// True if it has a slot, optional or not.
    pub(crate) fn has_slot(&self) -> bool {
        match self {
            Self::Sequence(items) | Self::Either(items) => items.iter().any(Self::has_slot),
            Self::Optional(item) => item.has_slot(),
            Self::Word(..) => false,
            Self::Slot(..) => true,
        }
    }

    /// True if the words that it can't do without are all among `words`.
    pub(crate) fn was_said(&self, words: &[WordId]) -> bool {
        match self {
            Self::Sequence(items) => items.iter().all(|n| n.was_said(words)),
            Self::Either(items) => items.iter().any(|n| n.was_said(words)),
            Self::Optional(_) | Self::Slot(..) => true,
            Self::Word(word, id) => &**word == "," || *id != 0 && words.contains(id),
        }
    }
}

/// A pattern whose words and slots are numbers.
#[derive(Debug, Clone)]
pub(crate) enum Resolved {
    Sequence(Vec<Resolved>),
    Either(Vec<Resolved>),
    Optional(Box<Resolved>),
    Word(WordId),
    Slot(u16),
}
