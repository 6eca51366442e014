//! Names in transmissions: which are known at the airport and in the scenario, and whom a station speaks to.

use super::Scenario;
use crate::callsign::Callsign;
use crate::element::Element;
use crate::parse::cover::Piece;
use crate::parse::slots::{Builtin, Match, View};
use crate::parse::{Parsed, Speaker, with_parsed};
use crate::rules::{PhraseKind, RuleSet, SlotRef};
use crate::span::Span;
use crate::text::token;
use crate::value::Value;

/// Slots that take any word for a name.
const OPEN: [Builtin; 4] = [Builtin::Point, Builtin::Place, Builtin::Procedure, Builtin::Unit];

/// The names that may be spoken in a scenario.
pub(super) struct Names<'a> {
    rules: &'a RuleSet,
    /// As they are written.
    written: Vec<&'a str>,
    /// What they are read as.
    values: Vec<Value>,
}

impl<'a> Names<'a> {
    /// The names of the scenario's airport, and those among the scenario's own values.
    pub(super) fn of(scenario: &'a Scenario, rules: &'a RuleSet) -> Self {
        let airport = &*scenario.airport;
        let mut written = vec![airport.name.as_str()];
        written.extend(airport.stations.iter().map(|station| station.name.as_str()));
        for departure in &airport.departures {
            written.push(&departure.name);
            written.extend(departure.points.iter().chain(&departure.destinations).map(String::as_str));
        }
        for arrival in &airport.arrivals {
            written.push(&arrival.name);
            written.extend(arrival.fixes.iter().map(String::as_str));
        }
        written.extend(airport.holds.iter().map(|hold| hold.fix.as_str()));
        for choice in &scenario.values {
            let named = match choice.element {
                None => true,
                Some(element) => matches!(
                    element,
                    Element::Point
                        | Element::ClearanceLimit
                        | Element::Route
                        | Element::Sid
                        | Element::Star
                        | Element::Unit
                        | Element::Hold
                        | Element::Restriction
                        | Element::Word
                ),
            };
            if named {
                written.extend(choice.values.iter().map(String::as_str));
            }
        }
        let mut values = Vec::new();
        let (mut atoms, mut found) = (Vec::new(), Vec::new());
        for name in &written {
            token::tokenize(&rules.lexicon, name, &mut atoms);
            token::settle_oh(&mut atoms);
            let view = View::new(&atoms, &rules.marks);
            for slot in OPEN {
                (0..atoms.len()).for_each(|at| view.read(slot, at, &mut found));
            }
            values.extend(found.drain(..).map(|m: Match| m.value));
        }
        Self { rules, written, values }
    }

    /// The names as they are written.
    pub(super) fn known(&self) -> impl Iterator<Item = &'a str> {
        self.written.iter().copied()
    }

    /// The places of names in a transmission that are none of these.
    pub(super) fn strange(&self, text: &str) -> Vec<Span> {
        with_parsed(|parsed| {
            parsed.read(self.rules, text, Speaker::Controller, None, &[], (&[], 0));
            let mut out = Vec::new();
            for cover in &parsed.s.covers {
                let Piece::Phrase { binds: (first, count), .. } = cover.piece else { continue };
                for bind in &parsed.s.binds[first as usize..first as usize + usize::from(count)] {
                    self.look(parsed, &parsed.s.matches[bind.found as usize], &mut out);
                }
            }
            out
        })
    }

    /// Looks at a reading and at those inside it.
    fn look(&self, parsed: &Parsed, found: &Match, out: &mut Vec<Span>) {
        match found.slot {
            SlotRef::Data(_) => {
                let (first, count) = found.inner;
                let inside = parsed.s.inner.get(first as usize..first as usize + usize::from(count));
                for &inner in inside.unwrap_or(&[]) {
                    self.look(parsed, &parsed.s.matches[inner as usize], out);
                }
            }
            SlotRef::Builtin(slot) if OPEN.contains(&slot) && !self.knows(found.value) => {
                let here = &parsed.s.atoms[found.from as usize..found.to as usize];
                if let (Some(first), Some(last)) = (here.first(), here.last()) {
                    out.push(first.span.to(last.span));
                }
            }
            SlotRef::Builtin(_) => {}
        }
    }

    /// True if the name is known; of a station its place is enough, or its function alone.
    fn knows(&self, value: Value) -> bool {
        match value {
            Value::Unit(0, _) => true,
            Value::Unit(place, _) => self.values.iter().any(|known| match *known {
                Value::Unit(name, _) | Value::Name(name) => name == place,
                _ => false,
            }),
            _ => self.values.contains(&value),
        }
    }
}

/// True if a transmission names an aircraft, or is for everybody.
pub(super) fn is_addressed(rules: &RuleSet, text: &str, own: &Callsign) -> bool {
    with_parsed(|parsed| {
        parsed.read(rules, text, Speaker::Controller, Some(own), &[], (&[], 0));
        parsed.s.covers.iter().any(|cover| match cover.piece {
            Piece::Own(_) | Piece::Other(_) => true,
            Piece::Phrase { accept, .. } => {
                rules.phrases[usize::from(accept.phrase)].kind == PhraseKind::Silence
            }
            _ => false,
        })
    })
}
