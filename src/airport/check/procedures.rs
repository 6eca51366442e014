//! Checks channels, codes, arrivals, holdings and levels of an airport file.

use super::{Check, check_value, plain};
use crate::airport::channel::{Channel, reserved};
use crate::airport::layout_schema::{LevelsEntry, RestrictionEntry};
use crate::airport::schema::{AirportFile, SquawkEntry, Text};
use crate::airport::value::feet;
use crate::airport::vectors::Side;
use crate::airport::{Arrival, Hold, Restriction};
use crate::element::{Element, Standard};
use std::ops::RangeInclusive;

impl Check {
    /// The choice that a word names; a note if it names none.
    pub(super) fn one_of<T: Copy>(
        &mut self,
        what: &str,
        name: Option<&Text>,
        all: &[(&'static str, T)],
    ) -> Option<T> {
        let name = name?;
        let found = all.iter().find(|(known, _)| known == name.get_ref());
        if found.is_none() {
            let title = format!("unknown {what} `{}`", name.get_ref());
            let problem = self.0.problem("A006", name.span(), title);
            self.0.add(problem.suggest(name.get_ref(), all.iter().map(|(known, _)| *known)));
        }
        found.map(|(_, found)| *found)
    }

    /// The channel a station has, or a note.
    pub(super) fn channel(&mut self, text: &Text, standard: &str) -> Option<String> {
        let standard = Standard::parse(standard).unwrap_or(Standard::Icao);
        let Some(kilohertz) = kilohertz(text.get_ref()) else {
            return check_value(&mut self.0, "A004", Element::Frequency, text);
        };
        let name = text.get_ref();
        let (title, label) = match Channel::named(kilohertz) {
            None => {
                (format!("`{name}` is no channel"), "no channel ends in 20, 45, 70 or 95, or between fives")
            }
            Some(channel) => match channel.kept_for() {
                Some(what) => {
                    (format!("`{name}` is kept for {what}"), "no station of an airport may have it")
                }
                None if !channel.used_in(standard) => {
                    (format!("`{name}` is no channel of 25 kHz"), "the rule set `us` has no others")
                }
                None => return Some(channel.name()),
            },
        };
        let problem = self.0.problem("A009", text.span(), title).label(label);
        let beside = Channel::beside(kilohertz, standard);
        let beside: Vec<String> = beside.iter().map(|name| format!("`{name}`")).collect();
        self.0.add(problem.help(format!("the nearest channels are {}", beside.join(" and "))));
        None
    }

    /// Stations on one channel must all say so.
    pub(super) fn shared(&mut self, file: &AirportFile) {
        for (n, entry) in file.station.iter().enumerate() {
            let same = |other: &&crate::airport::schema::StationEntry| {
                kilohertz(other.frequency.get_ref())
                    .is_some_and(|channel| kilohertz(entry.frequency.get_ref()) == Some(channel))
            };
            let before = file.station[..n].iter().find(same);
            if let Some(other) = before.filter(|other| !(other.shared && entry.shared)) {
                let title = format!("`{}` is on the channel of `{}`", entry.id.get_ref(), other.id.get_ref());
                let problem = self.0.problem("A010", entry.frequency.span(), title);
                self.0.add(
                    problem.help("give it a channel of its own, or write `shared = true` in both tables"),
                );
            }
        }
    }

    /// Notes a block of codes with one in it that is never given out.
    pub(super) fn reserved(&mut self, entry: &SquawkEntry, codes: RangeInclusive<u16>) {
        let Some((code, what)) = codes.filter_map(|code| Some((code, reserved(code)?))).next() else {
            return;
        };
        let title = format!("the codes from {} on have {code:04o} among them", entry.from.get_ref());
        let problem = self.0.problem("A021", entry.from.span(), title).label(format!("{code:04o}: {what}"));
        self.0
            .add(problem.help(format!("end the codes before {code:04o}, and begin another table after it")));
    }

    pub(super) fn arrivals(&mut self, file: &AirportFile, runways: &[String]) -> Vec<Arrival> {
        let mut seen = Vec::new();
        let mut out = Vec::new();
        for entry in &file.arrival {
            self.once(&mut seen, &entry.name);
            self.filled("runways", &entry.runways, entry.name.span());
            self.filled("fixes", &entry.fixes, entry.name.span());
            for runway in &entry.runways {
                self.known("runway", runway, runways);
            }
            for text in entry.fixes.iter().chain([&entry.name]) {
                self.words(text);
            }
            out.push(Arrival {
                name: entry.name.get_ref().clone(),
                runways: plain(&entry.runways),
                fixes: plain(&entry.fixes),
                restrictions: self.restrictions(&entry.restrictions, &entry.fixes),
            });
        }
        out
    }

    pub(super) fn restrictions(&mut self, entries: &[RestrictionEntry], points: &[Text]) -> Vec<Restriction> {
        let points = plain(points);
        let mut out = Vec::new();
        for entry in entries {
            self.known("point", &entry.fix, &points);
            let mut level = |text: &Option<Text>| {
                text.as_ref().and_then(|text| check_value(&mut self.0, "A004", Element::Level, text))
            };
            let (at, above, below) = (level(&entry.at), level(&entry.or_above), level(&entry.or_below));
            let whole = match (&entry.at, &entry.or_above, &entry.or_below) {
                (Some(_), None, None) => true,
                (None, above, below) => above.is_some() || below.is_some(),
                _ => false,
            };
            if !whole {
                let title = format!("no level that holds at `{}`", entry.fix.get_ref());
                let problem = self.0.problem("A019", entry.fix.span(), title);
                self.0.add(problem.help("write `at`, or `or_above`, `or_below` or both of these"));
            }
            if let (Some(low), Some(high), Some(text)) = (&above, &below, &entry.or_below) {
                self.between(low, high, text);
            }
            out.push(Restriction {
                fix: entry.fix.get_ref().clone(),
                or_above: at.clone().or(above),
                or_below: at.or(below),
            });
        }
        out
    }

    /// Notes an upper level that is below the lower one.
    fn between(&mut self, low: &str, high: &str, text: &Text) {
        if feet(low) > feet(high) {
            let title = format!("no level lies between {low} and {high}");
            let problem = self.0.problem("A019", text.span(), title);
            self.0.add(problem.help("let the upper level be as high as the lower one or higher"));
        }
    }

    fn levels(&mut self, entry: &LevelsEntry) -> Option<(String, String)> {
        let from = check_value(&mut self.0, "A004", Element::Level, &entry.from);
        let to = check_value(&mut self.0, "A004", Element::Level, &entry.to);
        let (from, to) = (from?, to?);
        self.between(&from, &to, &entry.to);
        Some((from, to))
    }

    pub(super) fn holds(&mut self, file: &AirportFile) -> Vec<Hold> {
        let mut seen = Vec::new();
        let mut out = Vec::new();
        for entry in &file.hold {
            self.once(&mut seen, &entry.fix);
            self.words(&entry.fix);
            self.number(&entry.inbound, 1..=360, "degrees");
            let turn =
                self.one_of("turn", entry.turn.as_ref(), &[("right", Side::Right), ("left", Side::Left)]);
            if let Some(levels) = self.levels(&entry.levels) {
                out.push(Hold {
                    fix: entry.fix.get_ref().clone(),
                    inbound: format!("{:03}", entry.inbound.get_ref()),
                    turn: turn.unwrap_or(Side::Right),
                    levels,
                });
            }
        }
        out
    }
}

/// The number that a text like `118.7` says, if it says one in the band of stations.
fn kilohertz(text: &str) -> Option<u32> {
    let (whole, part) = text.trim().split_once('.')?;
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    let fine = whole.len() == 3 && (1..=3).contains(&part.len()) && digits(whole) && digits(part);
    let number = fine.then(|| format!("{whole}{part:0<3}").parse().ok()).flatten()?;
    (118_000..=136_990).contains(&number).then_some(number)
}
