//! Ways from one exchange to another: labels that must exist, exchanges that must be reached.

use super::Leads;
use super::check::Check;
use super::schema::{ExchangeEntry, ScenarioFile};
use crate::airport::schema::{Number, Text};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

impl Check<'_> {
    /// A small number, the least allowed one if it is left out.
    pub(super) fn small(&mut self, number: Option<&Number>, allowed: RangeInclusive<u8>) -> u8 {
        let Some(number) = number else { return *allowed.start() };
        match u8::try_from(*number.get_ref()).ok().filter(|n| allowed.contains(n)) {
            Some(number) => number,
            None => {
                let title = format!("a number from {} to {}", allowed.start(), allowed.end());
                let problem = self.notes.problem("S022", number.span(), title);
                self.notes.add(problem);
                *allowed.start()
            }
        }
    }

    /// Where each exchange leads.
    pub(super) fn leads(&mut self, file: &ScenarioFile) -> Vec<Leads> {
        let mut labels: BTreeMap<&str, usize> = BTreeMap::new();
        for (n, entry) in file.exchange.iter().enumerate() {
            let Some(label) = &entry.get_ref().label else { continue };
            if labels.insert(label.get_ref(), n).is_some() {
                let title = format!("two exchanges have the label `{}`", label.get_ref());
                let problem = self.notes.problem("S023", label.span(), title);
                self.notes.add(problem);
            }
        }
        let entries: Vec<&ExchangeEntry> = file.exchange.iter().map(|entry| entry.get_ref()).collect();
        let leads: Vec<Leads> = entries
            .iter()
            .map(|entry| {
                let mut to = |label: &Option<Text>| label.as_ref().and_then(|l| self.label(l, &labels));
                let (then, wrong, unable) = (to(&entry.then), to(&entry.on.wrong), to(&entry.on.unable));
                let times = self.small(entry.times.as_ref(), 1..=20);
                Leads { then, times, wrong, unable }
            })
            .collect();
        for (entry, leads) in entries.iter().zip(&leads) {
            let radio = entry.from.is_some() || entry.to.is_some();
            let way = [&entry.then, &entry.on.wrong, &entry.on.unable].into_iter().flatten().next();
            if let Some(way) =
                way.filter(|_| !radio && *leads != Leads { times: leads.times, ..Leads::default() })
            {
                let title = "only an exchange on the radio leads elsewhere";
                let problem = self.notes.problem("S023", way.span(), title);
                self.notes.add(problem.help("put it on the exchange before, with `from` or `to`"));
            }
        }
        self.reached(file, &leads);
        leads
    }

    fn label(&mut self, label: &Text, labels: &BTreeMap<&str, usize>) -> Option<usize> {
        let found = labels.get(label.get_ref().as_str()).copied();
        if found.is_none() {
            let title = format!("no exchange has the label `{}`", label.get_ref());
            let problem = self.notes.problem("S023", label.span(), title);
            self.notes.add(match labels.is_empty() {
                true => problem.help("give the exchange it leads to a `label`"),
                false => problem.suggest(label.get_ref(), labels.keys().copied()),
            });
        }
        found
    }

    /// Notes exchanges that no way leads to.
    fn reached(&mut self, file: &ScenarioFile, leads: &[Leads]) {
        let mut reached = vec![false; leads.len()];
        let mut open = vec![0];
        while let Some(at) = open.pop() {
            let Some(here) = reached.get_mut(at) else { continue };
            if std::mem::replace(here, true) {
                continue;
            }
            let way = &leads[at];
            // A way back is taken a few times only, then the next exchange follows; a way on always is.
            let forward = way.then.is_some_and(|to| to > at);
            open.extend(way.then.into_iter().chain(way.wrong).chain(way.unable));
            // A flight that does not have the exchange goes on with the next one.
            let entry = file.exchange.get(at).map(|entry| entry.get_ref());
            let passed_over = entry.is_some_and(|entry| entry.when.is_some() || entry.unless.is_some());
            if !forward || passed_over {
                open.push(at + 1);
            }
        }
        for (entry, reached) in file.exchange.iter().zip(reached) {
            if !reached {
                let problem = self.notes.problem("S014", entry.span(), "no way leads to this exchange");
                self.notes.add(problem.help("look at the `then` before it, and at the labels"));
            }
        }
    }
}
