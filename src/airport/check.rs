//! Finds everything that is wrong with an airport file.

mod approaches;
mod layout;
mod procedures;

use super::schema::{AirportFile, Number, Range, Text};
use super::value::{canonical, squawk};
use super::{Airport, Apron, Departure, Station, Taxi, Traffic};
use crate::diagnostic::{Diagnostic, Findings};
use crate::element::{Element, Standard};
use layout::Ground;
use std::ops::RangeInclusive;
use std::path::Path;
use std::sync::Arc;

/// The newest file format this program reads.
pub const FORMAT: i64 = 1;

/// Checks the file; the airport is there unless a value is missing that nothing can stand for.
#[must_use]
pub fn check_airport(
    path: &str,
    source: &Arc<str>,
    file: &AirportFile,
) -> (Option<Airport>, Vec<Diagnostic>) {
    let mut check = Check(Findings::new(path, source));
    let airport = check.airport(path, file);
    if let Some(airport) = &airport {
        check.reachable(file, airport);
    }
    (airport, check.0.found)
}

/// Notes a format number that is not ours.
pub(crate) fn check_format(notes: &mut Findings, code: &'static str, format: &Number) {
    let number = *format.get_ref();
    if number > FORMAT {
        let problem =
            notes.problem(code, format.span(), format!("file format {number} is newer than this program"));
        notes.add(
            problem
                .label(format!("this program reads format {FORMAT}"))
                .help("update hearback, or write the file for the older format"),
        );
    } else if number < FORMAT {
        let problem = notes.problem(code, format.span(), format!("there is no file format {number}"));
        notes.add(problem.help(format!("write `format = {FORMAT}`")));
    }
}

/// The rule set of that name, or a note.
pub(crate) fn check_standard(notes: &mut Findings, code: &'static str, name: &Text) -> Option<Standard> {
    let found = Standard::parse(name.get_ref());
    if found.is_none() {
        let title = format!("unknown rule set `{}`", name.get_ref());
        let problem = notes.problem(code, name.span(), title);
        notes.add(problem.suggest(name.get_ref(), Standard::ALL.map(Standard::name)));
    }
    found
}

/// The canonical form of a value, or a note.
pub(crate) fn check_value(
    notes: &mut Findings,
    code: &'static str,
    element: Element,
    value: &Text,
) -> Option<String> {
    match canonical(element, value.get_ref()) {
        Ok(value) => Some(value),
        Err(allowed) => {
            let name = element.name().replace('_', " ");
            let problem = notes.problem(code, value.span(), format!("`{}` is no {name}", value.get_ref()));
            notes.add(problem.help(format!("write {allowed}")));
            None
        }
    }
}

struct Check(Findings);

impl Check {
    fn airport(&mut self, path: &str, file: &AirportFile) -> Option<Airport> {
        check_format(&mut self.0, "A003", &file.format);
        let name = self.words(&file.name);
        let standard = check_standard(&mut self.0, "A004", &file.standard);
        self.number(&file.elevation, -1500..=15_000, "feet");
        self.number(&file.transition_altitude, 1000..=20_000, "feet");
        let information = self.letters(&file.information);
        let stations = self.stations(file);
        let (runways, holding) = self.runways(file);
        let aprons = self.aprons(file);
        let taxi = self.taxi(file, &runways, &holding);
        let departures = self.departures(file, &runways);
        let arrivals = self.arrivals(file, &runways);
        let holds = self.holds(file);
        let squawks = self.squawks(file);
        let Ground { variation, directions, layout } = self.ground(file, &runways);
        let minimum = |check: &mut Self, number: &Option<Number>| {
            let number = number.as_ref()?;
            check.number(number, 0..=25_000, "feet").then_some(*number.get_ref())
        };
        let minimum_vectoring = minimum(self, &file.minimum_vectoring_altitude);
        let minimum_sector = minimum(self, &file.minimum_sector_altitude);
        let qnh = self.range(&file.weather.qnh, 870..=1085, "hectopascals");
        let wind = self.range(&file.weather.wind, 0..=60, "knots");
        let temperature = self.range(&file.weather.temperature, -50..=55, "degrees");
        Some(Airport {
            id: Path::new(path).file_stem()?.to_string_lossy().into_owned(),
            name: name?,
            elevation: *file.elevation.get_ref(),
            transition_altitude: *file.transition_altitude.get_ref(),
            standard: standard?,
            information,
            stations,
            aprons,
            taxi,
            departures,
            qnh: qnh?,
            wind: wind?,
            temperature: temperature?,
            squawks,
            arrivals,
            holds,
            minimum_vectoring,
            minimum_sector,
            traffic: self.one_of("traffic", file.traffic.as_ref(), &Traffic::ALL).unwrap_or_default(),
            variation,
            designators: runways,
            runways: directions,
            layout,
        })
    }

    fn words(&mut self, text: &Text) -> Option<String> {
        check_value(&mut self.0, "A004", Element::Unit, text)
    }

    fn number(&mut self, value: &Number, allowed: RangeInclusive<i64>, unit: &str) -> bool {
        let fine = allowed.contains(value.get_ref());
        if !fine {
            let (least, most) = (allowed.start(), allowed.end());
            let title = format!("{} is out of range", value.get_ref());
            let problem = self.0.problem("A004", value.span(), title);
            self.0.add(problem.help(format!("write {unit} from {least} to {most}")));
        }
        fine
    }

    fn range(
        &mut self,
        range: &Range,
        allowed: RangeInclusive<i64>,
        unit: &str,
    ) -> Option<RangeInclusive<i64>> {
        let fine = self.number(&range.from, allowed.clone(), unit) & self.number(&range.to, allowed, unit);
        let (from, to) = (*range.from.get_ref(), *range.to.get_ref());
        if fine && from > to {
            let problem =
                self.0.problem("A004", range.to.span(), format!("nothing lies between {from} and {to}"));
            self.0.add(problem.help("let `to` be as large as `from` or larger"));
        }
        (fine && from <= to).then_some(from..=to)
    }

    fn letters(&mut self, text: &Text) -> Vec<String> {
        let letters: Vec<String> = text.get_ref().chars().map(String::from).collect();
        if letters.is_empty() || letters.iter().any(|l| canonical(Element::Information, l).is_err()) {
            let problem = self.0.problem("A004", text.span(), "`information` takes capital letters only");
            self.0.add(problem.help("write the letters one after another, for instance `'ABCDEFG'`"));
        }
        letters
    }

    /// Notes a name that is already in `seen`, else adds it.
    fn once(&mut self, seen: &mut Vec<String>, name: &Text) {
        if seen.contains(name.get_ref()) {
            let problem = self.0.problem("A005", name.span(), format!("`{}` is there twice", name.get_ref()));
            self.0.add(problem.help("give one of them another name"));
        } else {
            seen.push(name.get_ref().clone());
        }
    }

    fn known(&mut self, what: &str, name: &Text, known: &[String]) -> bool {
        let found = known.contains(name.get_ref());
        if !found {
            let problem = self.0.problem("A006", name.span(), format!("unknown {what} `{}`", name.get_ref()));
            self.0.add(problem.suggest(name.get_ref(), known.iter().map(String::as_str)));
        }
        found
    }

    fn filled(&mut self, what: &str, list: &[Text], span: std::ops::Range<usize>) {
        if list.is_empty() {
            let problem = self.0.problem("A008", span, format!("no {what} here"));
            self.0.add(problem.help(format!("list one of the {what} at least")));
        }
    }

    fn stations(&mut self, file: &AirportFile) -> Vec<Station> {
        let mut seen = Vec::new();
        let mut out = Vec::new();
        self.shared(file);
        for entry in &file.station {
            self.once(&mut seen, &entry.id);
            let name = self.words(&entry.name);
            let frequency = self.channel(&entry.frequency, file.standard.get_ref());
            if let (Some(name), Some(frequency)) = (name, frequency) {
                let label = name.strip_prefix(file.name.get_ref().as_str()).map_or("", str::trim);
                let label = if label.is_empty() { &name } else { label }.to_owned();
                out.push(Station { id: entry.id.get_ref().clone(), name, label, frequency });
            }
        }
        out
    }

    fn runways(&mut self, file: &AirportFile) -> (Vec<String>, Vec<(String, String)>) {
        let (mut runways, mut holding) = (Vec::new(), Vec::new());
        for entry in &file.runway {
            check_value(&mut self.0, "A004", Element::Runway, &entry.designator);
            self.once(&mut runways, &entry.designator);
            for point in &entry.holding_points {
                check_value(&mut self.0, "A004", Element::HoldingPoint, point);
                holding.push((entry.designator.get_ref().clone(), point.get_ref().clone()));
            }
        }
        (runways, holding)
    }

    fn aprons(&mut self, file: &AirportFile) -> Vec<Apron> {
        let (mut ids, mut stands) = (Vec::new(), Vec::new());
        let mut out = Vec::new();
        for entry in &file.apron {
            self.once(&mut ids, &entry.id);
            self.filled("stands", &entry.stands, entry.id.span());
            self.filled("directions", &entry.face, entry.id.span());
            for stand in &entry.stands {
                check_value(&mut self.0, "A004", Element::Stand, stand);
                self.once(&mut stands, stand);
            }
            for face in &entry.face {
                self.words(face);
            }
            out.push(Apron {
                id: entry.id.get_ref().clone(),
                stands: plain(&entry.stands),
                face: plain(&entry.face),
            });
        }
        out
    }

    fn taxi(&mut self, file: &AirportFile, runways: &[String], holding: &[(String, String)]) -> Vec<Taxi> {
        let aprons: Vec<String> = file.apron.iter().map(|a| a.id.get_ref().clone()).collect();
        let mut out = Vec::new();
        for entry in &file.taxi {
            self.known("apron", &entry.apron, &aprons);
            if self.known("runway", &entry.runway, runways) {
                let here: Vec<String> = holding
                    .iter()
                    .filter(|(r, _)| r == entry.runway.get_ref())
                    .map(|(_, p)| p.clone())
                    .collect();
                self.known(
                    &format!("holding point of runway {}", entry.runway.get_ref()),
                    &entry.holding_point,
                    &here,
                );
            }
            if let Some(crosses) = &entry.crosses {
                self.known("runway", crosses, runways);
            }
            let via = check_value(&mut self.0, "A004", Element::TaxiRoute, &entry.via);
            out.push(Taxi {
                apron: entry.apron.get_ref().clone(),
                runway: entry.runway.get_ref().clone(),
                holding_point: entry.holding_point.get_ref().clone(),
                via: via.unwrap_or_default(),
                crosses: entry.crosses.as_ref().map(|c| c.get_ref().clone()),
            });
        }
        out
    }

    fn departures(&mut self, file: &AirportFile, runways: &[String]) -> Vec<Departure> {
        let mut seen = Vec::new();
        let mut out = Vec::new();
        for entry in &file.departure {
            self.once(&mut seen, &entry.name);
            self.filled("runways", &entry.runways, entry.name.span());
            self.filled("points", &entry.points, entry.name.span());
            self.filled("destinations", &entry.destinations, entry.name.span());
            for runway in &entry.runways {
                self.known("runway", runway, runways);
            }
            for text in entry.points.iter().chain(&entry.destinations).chain([&entry.name]) {
                self.words(text);
            }
            let initial = check_value(&mut self.0, "A004", Element::Level, &entry.initial);
            let restrictions = self.restrictions(&entry.restrictions, &entry.points);
            out.push(Departure {
                restrictions,
                name: entry.name.get_ref().clone(),
                runways: plain(&entry.runways),
                points: plain(&entry.points),
                initial: initial.unwrap_or_default(),
                destinations: plain(&entry.destinations),
            });
        }
        if out.is_empty() {
            let problem = self.0.problem("A008", file.name.span(), "no departures here");
            self.0.add(problem.help("add a table `[[departure]]`"));
        }
        out
    }

    fn squawks(&mut self, file: &AirportFile) -> Vec<RangeInclusive<u16>> {
        let mut out = Vec::new();
        for entry in &file.squawk {
            let from = check_value(&mut self.0, "A004", Element::Squawk, &entry.from);
            let to = check_value(&mut self.0, "A004", Element::Squawk, &entry.to);
            let (Some(from), Some(to)) = (from.and_then(|c| squawk(&c)), to.and_then(|c| squawk(&c))) else {
                continue;
            };
            self.reserved(entry, from..=to);
            if from > to {
                let problem = self.0.problem("A004", entry.to.span(), "the last code is below the first");
                self.0.add(problem.help("let `to` be as large as `from` or larger"));
            } else {
                out.push(from..=to);
            }
        }
        if file.squawk.is_empty() {
            let problem = self.0.problem("A008", file.name.span(), "no transponder codes here");
            self.0.add(problem.help("add a table `[[squawk]]` with `from` and `to`"));
        }
        out
    }

    /// Every apron must lead to every runway that a departure begins at.
    fn reachable(&mut self, file: &AirportFile, airport: &Airport) {
        // With a network the ways are computed.
        let listed = if file.node.is_empty() { &*file.apron } else { &[] };
        for apron in listed {
            let mut missing: Vec<&str> = Vec::new();
            let known = |runway: &&String| file.runway.iter().any(|r| r.designator.get_ref() == *runway);
            for runway in airport.departures.iter().flat_map(|d| &d.runways).filter(known) {
                let way = airport.taxi.iter().any(|t| &t.apron == apron.id.get_ref() && &t.runway == runway);
                if !way && !missing.contains(&runway.as_str()) {
                    missing.push(runway);
                }
            }
            for runway in missing {
                let title = format!("apron `{}` has no way to runway {runway}", apron.id.get_ref());
                let problem =
                    self.0.problem("A007", apron.id.span(), title).label("aircraft cannot leave from here");
                self.0.add(problem.help(format!(
                    "add a table `[[taxi]]` with `apron = '{}'` and `runway = '{runway}'`",
                    apron.id.get_ref()
                )));
            }
        }
        if file.apron.is_empty() {
            let problem = self.0.problem("A008", file.name.span(), "no aprons here");
            self.0.add(problem.help("add a table `[[apron]]` with its stands"));
        }
    }
}

fn plain(list: &[Text]) -> Vec<String> {
    list.iter().map(|t| t.get_ref().clone()).collect()
}
