//! What a reply owes, element by element, with the phrase that asks for it.

use super::asked::Asked;
use super::judgement::Finding;
use super::need::For;
use super::{Case, Situation};
use crate::element::{Element, Fault, Severity};
use crate::parse::{self, with_parsed};
use crate::rules::{Phase, RuleSet};
use std::sync::Arc;

/// One element that must come back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Owed {
    /// Which.
    pub element: Element,
    /// Its canonical value; for a callsign as it is written.
    pub value: String,
    /// Id of the phrase that asks for it.
    pub phrase: Option<Arc<str>>,
    /// Id of the phrase's topic.
    pub topic: Option<String>,
    /// When in a flight that topic is used.
    pub phase: Option<Phase>,
    /// Elements with one number stand in one clause.
    pub clause: usize,
    /// It came back, in its own words or by its value.
    pub answered: bool,
}

impl Owed {
    /// An element of a phrase; of none if the rule set does not have it.
    #[must_use]
    pub fn of_phrase(rules: &RuleSet, element: Element, value: String, phrase: &str) -> Self {
        let (topic, phase) = place(rules, phrase);
        let phrase = Some(Arc::from(phrase));
        Self { element, value, phrase, topic, phase, clause: 0, answered: false }
    }
}

/// The topic of a phrase, and when in a flight it is used.
fn place(rules: &RuleSet, phrase: &str) -> (Option<String>, Option<Phase>) {
    let topic = rules.phrase(phrase).and_then(|p| rules.topics.get(usize::from(p.topic?)));
    (topic.map(|t| t.id.clone()), topic.map(|t| t.phase))
}

/// What the reply to a transmission owes, in the order of the transmission, the callsign last; nothing if silence
/// is right.
///
/// ```
/// use hearback::{callsign::Callsign, element::{Element, Standard}, judge::{Situation, owed}, rules::RuleSet};
/// let rules = RuleSet::builtin(Standard::Icao);
/// let me = Situation { callsign: Callsign::parse("Whimbrel 214").unwrap(), shortened: false };
/// let say = "Whimbrel two one four, line up and wait runway zero nine";
/// let owed = owed(&rules, &me, say, "line up and wait, Whimbrel 214");
/// let runway = owed.iter().find(|o| o.element == Element::Runway).unwrap();
/// assert_eq!((runway.value.as_str(), runway.topic.as_deref(), runway.answered), ("09", Some("line-up"), false));
/// ```
#[must_use]
pub fn owed(rules: &RuleSet, situation: &Situation, say: &str, reply: &str) -> Vec<Owed> {
    let asked = Asked::of(rules, situation, say, parse::take());
    let out = with_parsed(|heard| asked.case(rules, reply, heard, false).owed());
    parse::give(asked.said);
    out
}

impl Case<'_> {
    fn owed(&self) -> Vec<Owed> {
        if self.needs.address != For::Us {
            return Vec::new();
        }
        let mut out = Vec::new();
        for need in self.needs.list.iter().filter(|need| need.required()) {
            let value = parse::item(self.rules, self.said, self.say, &need.heard).value;
            let phrase = need.heard.phrase.map(|p| &self.rules.phrases[usize::from(p)]);
            let (topic, phase) = phrase.map_or((None, None), |p| place(self.rules, &p.id));
            out.push(Owed {
                element: need.heard.element,
                value,
                phrase: phrase.map(|p| Arc::clone(&p.id)),
                topic,
                phase,
                clause: usize::from(need.heard.clause),
                answered: need.matched.is_some(),
            });
        }
        if let Some(first) = out.first().cloned() {
            out.push(callsign(self.situation, first));
        }
        out
    }
}

/// The callsign that goes with an element.
#[must_use]
pub fn callsign(situation: &Situation, with: Owed) -> Owed {
    let value = situation.callsign.written();
    Owed { element: Element::Callsign, value, clause: usize::MAX, answered: true, ..with }
}

/// Of each owed element nothing if it came back right, else how much that can hurt.
///
/// A clause that was left out whole is one finding, under its head; its other elements did not come back either.
#[must_use]
pub fn lost(owed: &[Owed], findings: &[Finding]) -> Vec<Option<Severity>> {
    let mut out: Vec<Option<Severity>> = vec![None; owed.len()];
    let bad = |f: &&Finding| matches!(f.fault, Fault::Wrong | Fault::Missing) && !f.element.is_form();
    for finding in findings.iter().filter(bad) {
        let same = |o: &Owed| {
            let value = finding.expected.as_deref();
            value.is_some_and(|value| value == o.value || value.strip_prefix("not ") == Some(&o.value))
        };
        let open = |at: &usize| owed[*at].element == finding.element && out[*at].is_none();
        let exact = (0..owed.len()).filter(open).find(|at| same(&owed[*at]));
        let at = exact.or_else(|| (0..owed.len()).filter(open).min_by_key(|at| owed[*at].answered));
        if let Some(at) = at {
            out[at] = Some(finding.severity);
        }
    }
    for at in 0..owed.len() {
        if out[at].is_none() && !owed[at].answered {
            let head = (0..owed.len()).filter(|o| owed[*o].clause == owed[at].clause).find_map(|o| out[o]);
            out[at] = head.map(|_| owed[at].element.severity(Fault::Missing));
        }
    }
    out
}
