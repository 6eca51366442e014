//! Checks which approaches the runways of an airport file have.

use super::{Check, plain};
use crate::airport::approach::{CIRCLING, VISUAL, kinds};
use crate::airport::schema::{AirportFile, RunwayEntry};
use crate::element::Standard;

impl Check {
    /// Every kind is one of the rule set, and whoever circles has an approach to begin with.
    pub(super) fn approaches(&mut self, file: &AirportFile, entry: &RunwayEntry) {
        if !entry.approaches.is_empty() {
            let standard = Standard::parse(file.standard.get_ref()).unwrap_or(Standard::Icao);
            let known: Vec<String> = kinds(standard).iter().map(|kind| kind.name.clone()).collect();
            for kind in &entry.approaches {
                if kind.get_ref() == CIRCLING {
                    let title = "circling begins with an approach to another runway";
                    let problem = self.0.problem("A006", kind.span(), title);
                    self.0.add(problem.help("take it out, and name that runway: `circling_from = ['…']`"));
                } else {
                    self.known("approach", kind, &known);
                }
            }
        }
        for from in &entry.circling_from {
            let names: Vec<String> = file.runway.iter().map(|r| r.designator.get_ref().clone()).collect();
            if !self.known("runway", from, &names) {
                continue;
            }
            let other = file.runway.iter().find(|r| r.designator.get_ref() == from.get_ref());
            let begins =
                other.is_some_and(|other| plain(&other.approaches).iter().any(|kind| kind != VISUAL));
            if from.get_ref() == entry.designator.get_ref() {
                let problem = self.0.problem(
                    "A020",
                    from.span(),
                    format!("runway {} circles to itself", from.get_ref()),
                );
                self.0.add(problem.help("name the runway whose approach is flown before the circling"));
            } else if !begins {
                let title = format!("runway {} has no approach to circle from", from.get_ref());
                let problem = self.0.problem("A020", from.span(), title);
                self.0.add(problem.help("write `approaches = ['ILS']` or another kind but `visual` there"));
            }
        }
    }
}
