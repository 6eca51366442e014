//! The trainee's notepad: clearance values that were read back correctly so far.

use super::screen::{Row, Tone, columns, hang};
use crate::airport::value::written;
use crate::element::Element;
use crate::feedback::label;
use crate::scenario::play::Attempt;

/// Values in the order they were first accepted; a later one of the same element takes its place.
#[derive(Debug, Default)]
pub struct Notes(Vec<(Element, String)>);

/// What a pilot writes down.
const KEPT: &[Element] = &[
    Element::ClearanceLimit,
    Element::Route,
    Element::Sid,
    Element::Level,
    Element::Squawk,
    Element::Runway,
    Element::HoldingPoint,
    Element::TaxiRoute,
    Element::Stand,
    Element::Altimeter,
    Element::Frequency,
    Element::Heading,
    Element::Speed,
    Element::Point,
    Element::Restriction,
    Element::Time,
];

impl Notes {
    /// Writes down what an accepted read-back held.
    pub fn take(&mut self, attempt: &Attempt) {
        if !attempt.accepted || attempt.call {
            return;
        }
        for (element, value) in attempt.wanted.iter().filter(|(e, _)| KEPT.contains(e)) {
            match self.0.iter_mut().find(|(known, _)| known == element) {
                Some(line) => line.1.clone_from(value),
                None => self.0.push((*element, value.clone())),
            }
        }
    }

    /// The notepad on screen.
    #[must_use]
    pub fn rows(&self, briefing: &str, width: usize) -> Vec<Row> {
        let names = self.0.iter().map(|(e, _)| columns(&label(*e))).max().unwrap_or(0);
        let column = 4 + names.max(5) + 2;
        let mut rows = hang((Tone::Label, "    given"), column, Tone::Plain, briefing, width);
        if self.0.is_empty() {
            rows.push(Row::of(Tone::Faint, "    No clearance has been read back yet."));
        }
        for (element, value) in &self.0 {
            let name = format!("    {}", label(*element));
            rows.extend(hang((Tone::Label, &name), column, Tone::Plain, &written(*element, value), width));
        }
        rows
    }
}
