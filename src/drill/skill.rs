//! What is drilled: one element in one family of phrases, by one rule set; and all of it in order.

use crate::element::{Element, Fault, Severity, Standard};
use crate::rules::{Duty, Phrase, PhraseKind, RuleSet};
use std::fmt;

/// One element in the phrases of one topic, by one rule set.
///
/// ```
/// use hearback::drill::skill::Skill;
/// let skill = Skill::parse("icao/line-up/runway").unwrap();
/// assert_eq!(skill.topic, "line-up");
/// assert_eq!(skill.to_string(), "icao/line-up/runway");
/// assert_eq!(Skill::parse("icao/line-up"), None);
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Skill {
    /// Whose rules.
    pub standard: Standard,
    /// Id of the topic.
    pub topic: String,
    /// What must come back.
    pub element: Element,
}

impl Skill {
    /// The skill of that key: rule set, topic and element with slashes between them.
    #[must_use]
    pub fn parse(key: &str) -> Option<Self> {
        let mut parts = key.split('/');
        let standard = Standard::parse(parts.next()?)?;
        let topic = parts.next().filter(|topic| !topic.is_empty())?.to_owned();
        let element = Element::parse(parts.next()?)?;
        parts.next().is_none().then_some(Self { standard, topic, element })
    }

    /// How much a slip in it can hurt: the worst that the registry or a phrase of its says.
    #[must_use]
    pub fn severity(&self, rules: &RuleSet) -> Severity {
        let own = self.element.severity(Fault::Wrong);
        let phrases = rules.phrases().iter().filter(|phrase| teaches(rules, phrase, self));
        phrases.filter_map(|phrase| phrase.hazard).fold(own, Severity::max)
    }
}

impl fmt::Display for Skill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}/{}", self.standard, self.topic, self.element)
    }
}

/// True if a station says this phrase, and it must be answered for.
fn is_asked(phrase: &Phrase) -> bool {
    let kind = matches!(phrase.kind, PhraseKind::Instruction | PhraseKind::Information);
    kind && !phrase.by_pilot && !phrase.says.is_empty()
}

/// What a phrase owes of an element, if the phrase can carry it.
fn duty(phrase: &Phrase, element: Element) -> Duty {
    let carries = match element {
        Element::Instruction => phrase.instruction.is_some(),
        _ => phrase.says.iter().any(|says| super::items::mentions(says, element)),
    };
    if carries { phrase.duty(element) } else { Duty::None }
}

fn is_owed(duty: Duty) -> bool {
    matches!(duty, Duty::ReadBack | Duty::ReadBackOrWilco)
}

/// True if the skill can be drilled by this phrase.
pub(super) fn teaches(rules: &RuleSet, phrase: &Phrase, skill: &Skill) -> bool {
    let topic = phrase.topic.and_then(|n| rules.topics.get(n as usize));
    is_asked(phrase)
        && topic.is_some_and(|topic| topic.id == skill.topic)
        && is_owed(duty(phrase, skill.element))
}

/// Every skill of a rule set, in the order in which it is learned: the topics as they come in a flight, and in each
/// the instruction first, then the values that must be read back before those for which *wilco* will do, the
/// dangerous ones first.
#[must_use]
pub fn catalogue(rules: &RuleSet) -> Vec<Skill> {
    let mut out = Vec::new();
    for (number, topic) in rules.topics.iter().enumerate() {
        let phrases: Vec<&Phrase> = rules
            .phrases()
            .iter()
            .filter(|phrase| phrase.topic.map(usize::from) == Some(number) && is_asked(phrase))
            .collect();
        let mut elements: Vec<(Duty, Severity, Element)> = Element::ALL
            .iter()
            .filter_map(|&element| {
                let most = phrases.iter().map(|phrase| duty(phrase, element)).max()?;
                is_owed(most).then(|| (most, element.severity(Fault::Wrong), element))
            })
            .collect();
        elements.sort_by_key(|(duty, severity, element)| {
            let values = *element != Element::Instruction;
            (values, std::cmp::Reverse(*duty), std::cmp::Reverse(*severity), *element)
        });
        out.extend(elements.into_iter().map(|(_, _, element)| Skill {
            standard: rules.standard,
            topic: topic.id.clone(),
            element,
        }));
    }
    out
}
