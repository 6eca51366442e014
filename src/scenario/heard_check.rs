//! Checks what stations say: that the grammar understands it, that names are known, and that it is for somebody.

use super::check::Check;
use super::draw::Values;
use super::names::{Names, is_addressed};
use super::template::{Filled, Template};
use crate::airport::schema::Text;
use crate::callsign::Callsign;
use crate::diagnostic;
use crate::parse::{Speaker, read};
use crate::rules::RuleSet;
use std::collections::BTreeSet;

impl Check<'_> {
    /// Reads a transmission in every flight that has it as the judge will; what sounds alike is read once.
    pub(super) fn transmission(
        &mut self,
        text: &Text,
        template: &Template,
        met: &[&Values],
        names: &Names<'_>,
        rules: &RuleSet,
    ) {
        let Some(own) = met.first().map(|values| values.callsign()) else { return };
        let called = own.spoken(rules.standard);
        let mut heard = BTreeSet::new();
        let fill = |values: &&Values| {
            template.fill(|slot| if slot == "callsign" { Some(called.clone()) } else { values.spoken(slot) })
        };
        let filled: Vec<Filled> =
            met.iter().map(fill).filter(|filled| heard.insert(filled.text.clone())).collect();
        self.understood(text, &filled, rules);
        self.names(text, &filled, names);
        if !template.slots().any(|(slot, _)| slot == "callsign") {
            self.addressed(text, &filled, own, rules);
        }
    }

    /// Notes the names of a transmission that nothing here bears, once each.
    fn names(&mut self, text: &Text, filled: &[Filled], names: &Names<'_>) {
        let mut seen = BTreeSet::new();
        for filled in filled {
            for place in names.strange(&filled.text) {
                let (start, end) = (place.start as usize, place.end as usize);
                let inside = filled.origin(start..end);
                if filled.drawn(start..end) || !seen.insert((inside.start, inside.end)) {
                    continue;
                }
                let name = place.of(&filled.text);
                let place = self.notes.within(text.span(), inside);
                let problem = self.notes.problem("S017", place, format!("nothing here is named `{name}`"));
                let problem = problem.label(format!("neither at {} nor in this scenario", self.airport.name));
                let known: Vec<&str> = names.known().collect::<BTreeSet<_>>().into_iter().collect();
                let help = diagnostic::suggestion(name, &known).unwrap_or_default();
                let own = match diagnostic::nearest(name, known) {
                    Some(_) => String::new(),
                    None => {
                        format!("; a name of your own is added by `[value.fix]` with `one_of = ['{name}']`")
                    }
                };
                self.notes.add(problem.help(help + &own));
            }
        }
    }

    /// Notes a transmission that names no aircraft and is no broadcast.
    fn addressed(&mut self, text: &Text, filled: &[Filled], own: &Callsign, rules: &RuleSet) {
        if filled.iter().any(|filled| !is_addressed(rules, &filled.text, own)) {
            let problem = self.notes.problem("S018", text.span(), "this transmission is for nobody");
            self.notes.add(problem.label("no callsign in it").help(
                "begin it with `{callsign}, …`; only a broadcast such as `all stations, …` names no aircraft",
            ));
        }
    }

    /// Notes the words of a transmission that the grammar does not know, once each.
    fn understood(&mut self, text: &Text, filled: &[Filled], rules: &RuleSet) {
        let mut seen = BTreeSet::new();
        for filled in filled {
            for lost in read(rules, &filled.text, Speaker::Controller).unparsed {
                let (start, end) = (lost.start as usize, lost.end as usize);
                let words = lost.of(&filled.text).trim();
                let inside = filled.origin(start..end);
                if words.is_empty() || !seen.insert((inside.start, inside.end)) {
                    continue;
                }
                let place = self.notes.within(text.span(), inside);
                let problem =
                    self.notes.problem("S012", place, format!("the grammar does not understand `{words}`"));
                self.notes.add(
                    problem
                        .label("no phrase has these words here")
                        .help("use the words of a phrase, or add a phrase to the grammar"),
                );
            }
        }
    }
}
