//! What several rule sets say of one thing, side by side: sets that agree share a group.

use super::side::{Exchange, Side};
use crate::element::Standard;
use serde::Serialize;

/// Rule sets that agree, and what they say.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Group {
    /// The rule sets, in their order.
    pub standards: Vec<Standard>,
    /// What they say, line by line.
    pub lines: Vec<String>,
}

impl Group {
    /// Names of the rule sets.
    #[must_use]
    pub fn names(&self) -> String {
        names(&self.standards)
    }
}

/// One thing in the rule sets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Row {
    /// What it is.
    pub key: &'static str,
    /// What is said of it, in the order of the first set of each group.
    pub groups: Vec<Group>,
}

impl Row {
    /// Puts sets that say the same together; a set that says nothing is left out.
    pub(crate) fn new(key: &'static str, said: impl IntoIterator<Item = (Standard, Vec<String>)>) -> Self {
        let mut groups: Vec<Group> = Vec::new();
        for (standard, lines) in said.into_iter().filter(|s| !s.1.is_empty()) {
            match groups.iter_mut().find(|g| g.lines == lines) {
                Some(group) => group.standards.push(standard),
                None => groups.push(Group { standards: vec![standard], lines }),
            }
        }
        Self { key, groups }
    }

    /// True if not all sets say the same.
    #[must_use]
    pub fn differs(&self) -> bool {
        self.groups.len() > 1
    }
}

/// Names of rule sets, one after the other.
#[must_use]
pub fn names(standards: &[Standard]) -> String {
    standards.iter().map(|s| s.name()).collect::<Vec<_>>().join(" ")
}

/// What stands where a rule set doesn't have a phrase.
pub const ABSENT: &str = "no such phrase in this rule set";

/// The rows of a phrase, all but its source.
pub(crate) fn rows(sides: &[(Standard, Option<&Side>)]) -> Vec<Row> {
    let row = |key: &'static str, lines: &dyn Fn(&Side) -> Vec<String>| {
        let said = sides.iter().map(|&(standard, side)| (standard, side.map_or_else(Vec::new, lines)));
        Row::new(key, said)
    };
    let said = sides.iter().map(|&(standard, side)| {
        let lines = side.map_or_else(|| vec![ABSENT.to_owned()], said);
        (standard, lines)
    });
    let rows = [
        Row::new("Said", said),
        row("Parts in order", &|s| line(&s.parts)),
        row("For example", &|s| s.example.as_ref().map_or_else(Vec::new, exchange)),
        row("Answer", &|s| line(&s.model)),
        row("Must come back", &|s| line(&s.back)),
        row("Avoid", &|s| {
            s.avoid
                .iter()
                .map(|a| format!("{}; instead: {}. {}", a.says.join(" · "), a.better, a.why))
                .collect()
        }),
        row("Why", &|s| line(&s.why)),
    ];
    rows.into_iter().filter(|r| !r.groups.is_empty()).collect()
}

/// The sources of a phrase.
pub(crate) fn sources(sides: &[(Standard, Option<&Side>)]) -> Row {
    Row::new("Source", sides.iter().filter_map(|&(standard, side)| Some((standard, line(&side?.source)))))
}

/// The usual pattern.
fn said(side: &Side) -> Vec<String> {
    match side.patterns.first() {
        Some(pattern) => vec![pattern.clone()],
        None if side.avoid.is_empty() => Vec::new(),
        None => vec!["nothing: words to avoid".to_owned()],
    }
}

/// The lines of an exchange, speaker first.
fn exchange(exchange: &Exchange) -> Vec<String> {
    let station = exchange.station.iter().map(|said| format!("station: {said}"));
    let pilot = Some(&exchange.pilot).filter(|said| !said.is_empty());
    station.chain(pilot.map(|said| format!("pilot: {said}"))).collect()
}

fn line(text: &str) -> Vec<String> {
    if text.is_empty() { Vec::new() } else { vec![text.to_owned()] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Standard::{Eu, Icao, Uk, Us};

    #[test]
    fn sets_that_agree_share_a_group_and_silent_ones_have_none() {
        let say = |text: &str| line(text);
        let row = Row::new("Said", [(Icao, say("a")), (Eu, say("")), (Uk, say("b")), (Us, say("a"))]);
        let groups: Vec<String> = row.groups.iter().map(Group::names).collect();
        assert_eq!(groups, ["icao us", "uk"]);
        assert!(row.differs());
    }
}
