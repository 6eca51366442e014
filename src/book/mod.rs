//! The phrase book: every phrase of the grammar in the order of a flight, as pages to be written out.
//!
//! ```
//! use hearback::book::{Book, Wanted};
//! use hearback::contract::Builtin;
//! let book = Book::of(&Builtin, &Wanted::default());
//! assert_eq!(book.chapters[0].phase.title(), "Before taxi");
//! ```

pub mod compare;
pub mod html;
pub mod markdown;
mod pattern;
pub mod rows;
pub mod side;
pub mod text;

use crate::contract::RuleSets;
use crate::diagnostic;
use crate::element::Standard;
use crate::rules::{Phase, RuleSet, Topic};
use pattern::Writer;
use rows::{Row, rows};
use serde::{Serialize, Serializer};
use side::{Sets, Side};

/// What `[memory]` means.
pub const MEMORY: &str = "A source marked [memory] was written from memory of the document and wants \
    checking against the edition in force; common practice marks what no rule asks for.";

/// How an entry is to be read.
pub const READING: &str = "The first pattern of a phrase is the usual one; those beneath it are heard as \
    well and are not all standard. Of what must come back, each item is meant if it was said. The callsign \
    always comes back.";

/// How patterns are written.
pub const NOTATION: [(&str, &str); 4] = [
    ("HOLD SHORT", "words to say"),
    ("(number)", "a value to put in"),
    ("[THEN]", "may be left out"),
    ("{LEFT / RIGHT}", "one of these"),
];

/// The topic of phrases that name none.
const OTHER: &str = "other";

/// Which part of the book.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wanted<'a> {
    /// One rule set's own wording only; without it the base, and where the others differ.
    pub standard: Option<Standard>,
    /// One phase of flight.
    pub phase: Option<Phase>,
    /// One topic.
    pub topic: Option<&'a str>,
}

/// A phrase book.
#[derive(Debug, Clone, Serialize)]
pub struct Book {
    /// The rule set it is of; nothing if it shows all four.
    pub standard: Option<Standard>,
    /// Phases that have phrases.
    pub chapters: Vec<Chapter>,
    /// Brackets of the patterns, with some of the values that may stand there.
    pub values: Vec<(String, Vec<String>)>,
    /// The rules of form; none in a book of one topic.
    pub rules: Vec<RuleRow>,
}

/// A phase of flight.
#[derive(Debug, Clone, Serialize)]
pub struct Chapter {
    /// Which.
    #[serde(serialize_with = "by_name")]
    pub phase: Phase,
    /// Its topics.
    pub sections: Vec<Section>,
}

/// A topic.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// Stable name.
    pub id: String,
    /// Heading.
    pub title: String,
    /// Its phrases.
    pub entries: Vec<Entry>,
}

/// A phrase.
#[derive(Debug, Clone, Serialize)]
pub struct Entry {
    /// Stable name.
    pub id: String,
    /// The rule set whose wording is given: the book's, or the first that has the phrase.
    pub standard: Standard,
    /// The wording.
    pub side: Side,
    /// Rule sets that don't have it, unless the book is of one.
    pub absent: Vec<Standard>,
    /// Where the other sets differ: what is said, what comes back, why.
    pub differences: Vec<Row>,
    /// Sources, by rule set.
    pub sources: Row,
}

/// A rule of form in the four rule sets.
#[derive(Debug, Clone, Serialize)]
pub struct RuleRow {
    /// Stable name.
    pub id: String,
    /// Whether it holds, in the order of [`Standard::ALL`]; written as the names of the sets in which it does.
    #[serde(serialize_with = "holding")]
    pub on: [bool; 4],
    /// Reasons, by rule set.
    pub why: Row,
    /// Sources, by rule set.
    pub sources: Row,
}

fn by_name<S: Serializer>(phase: &Phase, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(phase.name())
}

fn holding<S: Serializer>(on: &[bool; 4], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(Standard::ALL.into_iter().filter(|standard| on[*standard as usize]))
}

impl RuleRow {
    /// True if it holds in some sets and not in others.
    #[must_use]
    pub fn differs(&self) -> bool {
        self.on.iter().any(|&on| on != self.on[0])
    }
}

impl Book {
    /// The book, or the part of it that is wanted.
    #[must_use]
    pub fn of(sets: &dyn RuleSets, wanted: &Wanted<'_>) -> Self {
        let owned = Standard::ALL.map(|standard| sets.get(standard));
        let sets: Sets<'_> = std::array::from_fn(|i| &*owned[i]);
        let shown: &[Standard] = match &wanted.standard {
            Some(one) => std::slice::from_ref(one),
            None => &Standard::ALL,
        };
        let mut chapters: Vec<Chapter> = Vec::new();
        for phase in Phase::ALL.into_iter().filter(|&p| wanted.phase.is_none_or(|w| w == p)) {
            let sections = sections(phase, wanted.topic, shown, &sets);
            if !sections.is_empty() {
                chapters.push(Chapter { phase, sections });
            }
        }
        let values = values(&chapters, sets[shown[0] as usize]);
        let rules = match wanted.topic {
            Some(_) => Vec::new(),
            None => (0..sets[0].rules().len()).map(|rule| rule_row(rule, shown, &sets)).collect(),
        };
        Self { standard: wanted.standard, chapters, values, rules }
    }

    /// The title.
    #[must_use]
    pub fn title(&self) -> String {
        match self.standard {
            Some(standard) => format!("Radio phrase book: {standard} ({})", standard.documents()),
            None => "Radio phrase book: icao, and where eu, uk and us differ".to_owned(),
        }
    }

    /// Every phrase.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.chapters.iter().flat_map(|c| &c.sections).flat_map(|s| &s.entries)
    }
}

/// The topics of all rule sets, in the order of a flight.
#[must_use]
pub fn topics(sets: &dyn RuleSets) -> Vec<Topic> {
    let mut out: Vec<Topic> = Vec::new();
    for standard in Standard::ALL {
        for topic in &sets.get(standard).topics {
            if !out.iter().any(|o| o.id == topic.id) {
                out.push(topic.clone());
            }
        }
    }
    out.sort_by_key(|o| o.phase);
    out
}

/// The topics of a phase that have phrases in the sets shown.
fn sections(phase: Phase, topic: Option<&str>, shown: &[Standard], sets: &Sets<'_>) -> Vec<Section> {
    let mut out: Vec<Section> = Vec::new();
    for &standard in shown {
        let rules = sets[standard as usize];
        let of_phase = rules.topics.iter().filter(|t| t.phase == phase);
        let here: Vec<(Option<u16>, &str, &str)> = of_phase
            .filter_map(|t| {
                let at = rules.topics.iter().position(|other| other.id == t.id)?;
                Some((Some(u16::try_from(at).ok()?), t.id.as_str(), t.title.as_str()))
            })
            .chain((phase == Phase::Any).then_some((None, OTHER, "Other phrases")))
            .filter(|t| topic.is_none_or(|wanted| wanted == t.1))
            .collect();
        for (number, id, title) in here {
            for phrase in rules.phrases().iter().filter(|p| p.topic == number) {
                // A set before this one may have it, perhaps under another topic.
                let first = shown.iter().find(|&&s| sets[s as usize].phrase(&phrase.id).is_some());
                if first != Some(&standard) {
                    continue;
                }
                let Some(entry) = entry(&phrase.id, standard, shown, sets) else { continue };
                match out.iter_mut().find(|s| s.id == id) {
                    Some(section) => section.entries.push(entry),
                    None => {
                        let (id, title) = (id.to_owned(), diagnostic::clean(title).into_owned());
                        out.push(Section { id, title, entries: vec![entry] });
                    }
                }
            }
        }
    }
    let order = |id: &str| sets.iter().find_map(|rules| rules.topics.iter().position(|t| t.id == id));
    out.sort_by_key(|s| order(&s.id).unwrap_or(usize::MAX));
    out
}

/// One phrase, its wording from `standard`.
fn entry(id: &str, standard: Standard, shown: &[Standard], sets: &Sets<'_>) -> Option<Entry> {
    let sides: Vec<(Standard, Option<Side>)> = shown.iter().map(|&s| (s, Side::of(id, s, sets))).collect();
    let side = sides.iter().find(|s| s.0 == standard).and_then(|s| s.1.clone())?;
    // A set whose words are those of the book stands with it, whatever its source and examples.
    let folded: Vec<(Standard, Option<&Side>)> = sides
        .iter()
        .map(|(s, other)| (*s, other.as_ref().map(|other| if other.differs(&side) { other } else { &side })))
        .collect();
    let mut differences: Vec<Row> = rows(&folded).into_iter().filter(Row::differs).collect();
    // What is long stands once: the wording above is that of these sets.
    for row in differences.iter_mut().filter(|r| ["For example", "Avoid", "Why"].contains(&r.key)) {
        row.groups.retain(|g| !g.standards.contains(&standard));
    }
    let as_they_are: Vec<(Standard, Option<&Side>)> = sides.iter().map(|(s, o)| (*s, o.as_ref())).collect();
    let absent = sides.iter().filter(|s| s.1.is_none()).map(|s| s.0).collect();
    let sources = rows::sources(&as_they_are);
    Some(Entry { id: id.to_owned(), standard, side, absent, differences, sources })
}

/// What the brackets of all patterns stand for.
fn values(chapters: &[Chapter], rules: &RuleSet) -> Vec<(String, Vec<String>)> {
    let mut patterns = String::new();
    for entry in chapters.iter().flat_map(|c| &c.sections).flat_map(|s| &s.entries) {
        for pattern in &entry.side.patterns {
            patterns.push_str(pattern);
        }
    }
    Writer::new(rules).vocabulary(&patterns)
}

/// A rule of form by its number.
fn rule_row(rule: usize, shown: &[Standard], sets: &Sets<'_>) -> RuleRow {
    let of = |standard: Standard| &sets[standard as usize].rules()[rule];
    let said = |text: &dyn Fn(Standard) -> String| -> Vec<(Standard, Vec<String>)> {
        shown.iter().map(|&s| (s, vec![diagnostic::clean(&text(s)).into_owned()])).collect()
    };
    RuleRow {
        id: of(Standard::Icao).id.to_string(),
        on: Standard::ALL.map(|s| of(s).on),
        why: Row::new("Why", said(&|s| of(s).why.to_string())),
        sources: Row::new("Source", said(&|s| of(s).source.to_string())),
    }
}
