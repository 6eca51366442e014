//! What a person lost on an item, element by element; and from many of them what is to be trained, by hazard and count.

use super::marked::MarkedItem;
use crate::airport::value::written;
use crate::diagnostic::clean;
use crate::element::{Element, Fault, Severity, Standard};
use crate::feedback::label;
use crate::progress::habit::weight;
use crate::progress::stats::{Z, wilson};
use crate::record::entry::Found;
use crate::record::skill_key;
use std::collections::BTreeMap;

/// What can be trained by itself: an element of the phrases of a topic, a call between the pilots, or the callsign.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Subject {
    /// `icao/line-up/runway`, `call/to-v1`.
    pub key: String,
    /// The same for readers: "Line up: runway".
    pub name: String,
    /// Topic of the radio book, or id of what is called between the pilots; none for the callsign.
    pub topic: Option<String>,
    /// True for words between the pilots.
    pub crew: bool,
}

/// One thing that an item asked of a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Piece {
    pub(super) subject: Subject,
    pub(super) element: Element,
    /// How much it can hurt, if it did not come back right.
    pub(super) lost: Option<Severity>,
    /// It was owed; else the reply put something wrong in that nobody had asked for.
    pub(super) owed: bool,
}

/// The text without anything that could steer a screen, in one line, cut to so many characters.
pub(super) fn tidy(text: &str, most: usize) -> String {
    // What is far longer than its limit is not even looked at.
    let end = text.char_indices().nth(most.saturating_mul(8)).map_or(text.len(), |(at, _)| at);
    let one_line = clean(&text[..end]).split_whitespace().collect::<Vec<_>>().join(" ");
    if end == text.len() && one_line.chars().count() <= most {
        return one_line;
    }
    one_line.chars().take(most.saturating_sub(3)).collect::<String>() + "..."
}

/// What an item asked of a person and what was lost of it. What the leader took back is not lost.
pub(super) fn pieces(item: &MarkedItem, standard: Standard) -> Vec<Piece> {
    let heavy = |fault: Fault| matches!(fault, Fault::Wrong | Fault::Missing);
    let found = |element: Element| item.findings.iter().any(|f| f.element == element && heavy(f.fault));
    let taken_back = |element: Element| {
        item.overruled.iter().any(|o| o.element == element && heavy(o.fault)) && !found(element)
    };
    let mut out: Vec<Piece> = item
        .owed
        .iter()
        .map(|part| Piece {
            subject: subject(item, part.topic.as_deref(), part.element, standard),
            element: part.element,
            lost: (!part.right && !taken_back(part.element))
                .then(|| part.severity.unwrap_or_else(|| part.element.severity(Fault::Missing))),
            owed: true,
        })
        .collect();
    for found in item.findings.iter().filter(|f| heavy(f.fault) && f.severity > Severity::Advice) {
        if !found.element.is_form() && out.iter().all(|piece| piece.element != found.element) {
            let topic = out.first().and_then(|piece| piece.subject.topic.clone());
            out.push(Piece {
                subject: subject(item, topic.as_deref(), found.element, standard),
                element: found.element,
                lost: Some(found.severity),
                owed: false,
            });
        }
    }
    out
}

fn subject(item: &MarkedItem, topic: Option<&str>, element: Element, standard: Standard) -> Subject {
    if element >= Element::Call {
        let id = topic.filter(|t| !t.is_empty()).or_else(|| item.skill.split('/').nth(1));
        return Subject {
            key: tidy(&item.skill, 80),
            name: tidy(&item.title, 80),
            topic: id.map(|id| tidy(id, 60)),
            crew: true,
        };
    }
    if element == Element::Callsign {
        let key = skill_key(standard.name(), "", element.name());
        return Subject { key, name: "Callsign".to_owned(), topic: None, crew: false };
    }
    let own = item.skill.split('/').nth(1).unwrap_or_default();
    let topic = tidy(topic.unwrap_or(own), 60);
    // The heading of the topic stands before the colon of the item's title.
    let heading = (topic == own).then(|| item.title.split_once(':')).flatten();
    let heading = match heading {
        Some((heading, _)) => tidy(heading, 60),
        None => capital(&topic.replace('-', " ")),
    };
    Subject {
        key: skill_key(standard.name(), &topic, element.name()),
        name: if heading.is_empty() {
            capital(&label(element))
        } else {
            format!("{heading}: {}", label(element))
        },
        topic: (!topic.is_empty()).then_some(topic),
        crew: false,
    }
}

/// The text with a capital at its beginning.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}

/// A finding in a few words: `runway 27 for 09`, `callsign missing`.
pub(super) fn found_words(found: &Found) -> String {
    let value = |value: &Option<String>| {
        value.as_deref().filter(|v| !v.is_empty()).map(|v| tidy(&written(found.element, v), 60))
    };
    let element = label(found.element);
    match (found.fault, value(&found.expected), value(&found.given)) {
        (Fault::Wrong, Some(expected), Some(given)) => format!("{element} {given} for {expected}"),
        (Fault::Wrong, Some(expected), None) => format!("{element} not {expected}"),
        (Fault::Wrong, None, Some(given)) => format!("{element} {given}, not asked for"),
        (Fault::Missing, Some(expected), _) => format!("{element} {expected} missing"),
        (fault, _, Some(given)) => format!("{element} {}: {given}", fault.name()),
        (fault, _, None) => format!("{element} {}", fault.name()),
    }
}

/// How often something was owed and lost.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Count {
    owed: usize,
    lost: usize,
    weight: f64,
    people: usize,
    worst: Option<Severity>,
}

impl Count {
    fn add(&mut self, lost: Option<Severity>) {
        self.owed += 1;
        let Some(severity) = lost else { return };
        self.lost += 1;
        self.weight += weight(severity);
        self.worst = self.worst.max(Some(severity));
    }

    /// Mean weight of what was lost, times the share that is lost at least, with 95 % confidence.
    fn danger(&self) -> f64 {
        if self.lost == 0 { 0.0 } else { wilson(self.lost, self.owed, Z).0 * self.weight / self.lost as f64 }
    }
}

/// What should be trained, and by which counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// What.
    pub subject: Subject,
    /// Times it did not come back right.
    pub lost: usize,
    /// Times it was owed.
    pub owed: usize,
    /// How many people lost it at least once.
    pub people: usize,
    /// How much the worst of them can hurt.
    pub severity: Severity,
    /// By this it is ordered: mean weight of the losses (minor 1, major 3, critical 9) × the share lost at least.
    pub danger: f64,
}

/// What always came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strength {
    /// What.
    pub subject: Subject,
    /// Times it was owed, and right.
    pub owed: usize,
}

/// Counts of everything that was owed, by subject.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Counts(BTreeMap<Subject, (Element, Count)>);

impl Counts {
    pub(super) fn add(&mut self, piece: &Piece) {
        let entry = self.0.entry(piece.subject.clone()).or_insert((piece.element, Count::default()));
        entry.1.add(piece.lost);
    }

    /// Takes one person's counts in.
    pub(super) fn take(&mut self, person: &Self) {
        for (subject, (element, count)) in &person.0 {
            let all = &mut self.0.entry(subject.clone()).or_insert((*element, Count::default())).1;
            all.owed += count.owed;
            all.lost += count.lost;
            all.weight += count.weight;
            all.worst = all.worst.max(count.worst);
            all.people += usize::from(count.lost > 0);
        }
    }

    /// What was lost, the most dangerous first.
    pub(super) fn needs(&self, most: usize) -> Vec<Need> {
        let lost = self.0.iter().filter(|(_, (_, count))| count.danger() > 0.0);
        let mut out: Vec<Need> = lost
            .map(|(subject, (_, count))| Need {
                subject: subject.clone(),
                lost: count.lost,
                owed: count.owed,
                people: count.people.max(1),
                severity: count.worst.unwrap_or(Severity::Minor),
                danger: count.danger(),
            })
            .collect();
        out.sort_by(|a, b| b.danger.total_cmp(&a.danger).then_with(|| a.subject.cmp(&b.subject)));
        out.truncate(most);
        out
    }

    /// What was never lost, first what would have hurt most and was owed most often.
    pub(super) fn strengths(&self, most: usize) -> Vec<Strength> {
        let mut all: Vec<(f64, Strength)> = self
            .0
            .iter()
            .filter(|(_, (_, count))| count.lost == 0)
            .map(|(subject, (element, count))| {
                let sure = wilson(count.owed, count.owed, Z).0 * weight(element.severity(Fault::Wrong));
                (sure, Strength { subject: subject.clone(), owed: count.owed })
            })
            .collect();
        all.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.subject.cmp(&b.1.subject)));
        all.into_iter().take(most).map(|(_, strength)| strength).collect()
    }
}
