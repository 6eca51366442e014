//! Finds everything that is wrong with a scenario file, down to words the grammar does not understand.

use super::choice::check_choice;
use super::draw::{Values, draw_values, rare};
use super::names::Names;
use super::schema::{CallsignEntry, ExchangeEntry, ScenarioFile, slots};
use super::template::Template;
use super::{Choice, Entry, EntryTurn, Leads, Scenario, Seat};
use crate::airport::check::{check_format, check_standard};
use crate::airport::schema::Text;
use crate::airport::{Airport, Station};
use crate::callsign::Callsign;
use crate::crew::CrewBook;
use crate::diagnostic::{self, Diagnostic, Findings};
use crate::element::{Element, Fault, Standard};
use crate::judge::judgement::Form;
use crate::judge::{LOST, Situation, judge_call};
use crate::rules::RuleSet;
use std::collections::BTreeSet;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

/// Flights that are drawn to see every branch: with two ways at each of a few forks, all are met.
const FLIGHTS: u64 = 64;

/// Flights that are looked through for what few of them have.
const SELDOM: u64 = 10_000;

/// A flight that has an exchange which few have.
fn later(scenario: &Scenario, entry: &Entry) -> Option<Values> {
    let mut flights =
        (FLIGHTS + 1..=SELDOM).filter_map(|seed| draw_values(scenario, scenario.standard, seed));
    flights.find(|values| entry.is_met(|slot| values.has(slot)))
}

/// Checks the file and makes a scenario of it.
///
/// # Errors
/// Everything that is wrong with it.
pub fn check_scenario(
    path: &str,
    source: &Arc<str>,
    file: &ScenarioFile,
    airport: &Arc<Airport>,
    rules: &dyn Fn(Standard) -> Arc<RuleSet>,
    book: &Arc<CrewBook>,
) -> Result<Scenario, Vec<Diagnostic>> {
    let notes = Findings::new(path, source);
    let mut check = Check { notes, airport, book: Arc::clone(book), broken: BTreeSet::new() };
    let (mut scenario, entries) = check.scenario(path, file, rules);
    // Exchanges with problems of their own don't keep the others from being looked at.
    check.flights(file, &scenario, &entries, &rules(scenario.standard));
    if !check.notes.found.is_empty() {
        return Err(check.notes.found);
    }
    scenario.exchanges = entries.into_iter().flatten().collect();
    Ok(scenario)
}

/// Digits, and after them up to two letters.
fn is_flight(number: &str) -> bool {
    let letters = number.trim_start_matches(|c: char| c.is_ascii_digit());
    (1..=4).contains(&(number.len() - letters.len()))
        && letters.len() <= 2
        && letters.bytes().all(|b| b.is_ascii_alphabetic())
}

pub(super) struct Check<'a> {
    pub(super) notes: Findings,
    pub(super) book: Arc<CrewBook>,
    pub(super) airport: &'a Arc<Airport>,
    /// Slots whose own definition has a problem: nothing more is said of them.
    broken: BTreeSet<String>,
}

impl Check<'_> {
    fn scenario(
        &mut self,
        path: &str,
        file: &ScenarioFile,
        rules: &dyn Fn(Standard) -> Arc<RuleSet>,
    ) -> (Scenario, Vec<Option<Entry>>) {
        check_format(&mut self.notes, "S003", &file.format);
        let standard = match &file.standard {
            Some(name) => check_standard(&mut self.notes, "S005", name).unwrap_or(self.airport.standard),
            None => self.airport.standard,
        };
        let seat = self.choice("seat", file.seat.as_ref(), Seat::ALL);
        let rank = self.rank(file.rank.as_ref());
        let operator = self.operator(file.operator.as_ref());
        let slips = self.slips(file.slips.as_ref());
        let difficulty = self.small(file.difficulty.as_ref(), 1..=5);
        let form = self.choice("form", file.form.as_ref(), Form::ALL);
        let callsign = file.callsign.as_ref().map(|entry| self.callsign(entry));
        let values = file.value.iter().filter_map(|(name, entry)| {
            let choice = check_choice(
                &mut self.notes,
                name.get_ref(),
                name.span(),
                entry,
                self.airport.layout.is_some(),
            );
            if choice.is_none() {
                self.broken.insert(name.get_ref().clone());
            }
            choice
        });
        let values: Vec<Choice> = values.collect();
        let briefing = self.template(&file.briefing);
        let rules = rules(standard);
        let exchanges: Vec<Option<Entry>> =
            file.exchange.iter().map(|entry| self.exchange(entry.get_ref(), entry.span(), &rules)).collect();
        let leads = self.leads(file);
        let mut exchanges = exchanges;
        for (entry, leads) in exchanges.iter_mut().zip(leads) {
            if let Some(entry) = entry {
                entry.leads = leads;
            }
        }
        if file.exchange.is_empty() {
            let problem = self.notes.problem("S013", file.title.span(), "the scenario has no exchanges");
            self.notes
                .add(problem.label("nothing happens in this flight").help("add a table `[[exchange]]`"));
        }
        let scenario = Scenario {
            id: Path::new(path).file_stem().unwrap_or_default().to_string_lossy().into_owned(),
            title: file.title.get_ref().clone(),
            briefing: briefing.unwrap_or_default(),
            airport: Arc::clone(self.airport),
            standard,
            seat,
            rank,
            operator,
            slips,
            difficulty,
            form,
            // Stands in for a callsign that has a problem, so that the rest can be looked at.
            callsign: callsign.map(|found| found.unwrap_or_else(|| "Whimbrel 214".to_owned())),
            values,
            exchanges: Vec::new(),
        };
        (scenario, exchanges)
    }

    /// What a key names, one of `all`; the first of them if it is left out or unknown.
    pub(super) fn choice<T: Copy>(
        &mut self,
        key: &str,
        name: Option<&Text>,
        all: [(&'static str, T); 2],
    ) -> T {
        let Some(name) = name else { return all[0].1 };
        if let Some((_, found)) = all.iter().find(|(known, _)| known == name.get_ref()) {
            return *found;
        }
        let title = format!("unknown {key} `{}`", name.get_ref());
        let problem = self.notes.problem("S005", name.span(), title);
        self.notes.add(problem.suggest(name.get_ref(), all.map(|(known, _)| known)));
        all[0].1
    }

    fn callsign(&mut self, entry: &CallsignEntry) -> Option<String> {
        let (telephony, flight) = (&entry.telephony, &entry.flight);
        let (name, number) = (telephony.get_ref().trim(), flight.get_ref().trim());
        let named = name.chars().any(char::is_alphabetic)
            && name.chars().all(|c| c.is_alphabetic() || matches!(c, ' ' | '-' | '\'' | '’'));
        if !named {
            let problem =
                self.notes.problem("S006", telephony.span(), format!("`{name}` is no operator's name"));
            self.notes.add(problem.help("write the name as it is spoken, for instance `Whimbrel`"));
        }
        let text = format!("{name} {number}");
        if !is_flight(number) || named && Callsign::parse(&text).is_none() {
            let problem =
                self.notes.problem("S006", flight.span(), format!("`{number}` is no flight number"));
            self.notes.add(
                problem.help(
                    "write one to four digits, then no, one or two letters, for instance `214` or `7D`",
                ),
            );
            return None;
        }
        named.then_some(text)
    }

    pub(super) fn template(&mut self, text: &Text) -> Option<Template> {
        match Template::parse(text.get_ref()) {
            Ok(template) => Some(template),
            Err(brace) => {
                let place = self.notes.within(text.span(), brace);
                let problem = self.notes.problem("S009", place, "a brace without its partner");
                self.notes.add(problem.help("a slot is written `{name}`"));
                None
            }
        }
    }

    /// A transmission without its blocked words.
    fn cut(&mut self, says: &Text, blocked: &Text) -> Option<Template> {
        let words = blocked.get_ref().trim();
        let cut = says.get_ref().replacen(words, &LOST.to_string(), 1);
        match Template::parse(&cut) {
            Ok(template) if !words.is_empty() && cut != *says.get_ref() => Some(template),
            _ => {
                let problem = self.notes.problem("S019", blocked.span(), "these words are not in `says`");
                self.notes
                    .add(problem.help("write a part of `says`, just as it stands there, slots and all"));
                None
            }
        }
    }

    fn exchange(&mut self, entry: &ExchangeEntry, span: Range<usize>, rules: &RuleSet) -> Option<Entry> {
        let cue = entry.cue.as_ref().map(|text| self.template(text));
        let unable = entry.unable.as_ref().map(|text| self.template(text));
        let (seat, radio) = self.duty(entry);
        let crew = entry.call.is_some()
            || entry.checklist.is_some()
            || entry.brief.is_some()
            || entry.speak_up.is_some()
            || entry.by.is_some();
        if let Some(after) = entry.after.as_ref().filter(|_| !crew) {
            let title = "a station speaks once the exchange before is over";
            let problem = self.notes.problem("S022", after.span(), title);
            self.notes.add(problem.help("take `after` out; only words of the crew begin by the clock"));
        }
        let turn = match (&entry.from, &entry.says, &entry.to, &entry.you_call) {
            (None, _, None, None) if crew => {
                self.crew_exchange(entry, span).map(|entry| EntryTurn::Crew(Box::new(entry)))
            }
            (Some(from), Some(says), None, None) => {
                let cut = entry.blocked.as_ref().map(|blocked| self.cut(says, blocked));
                let (station, says) = (self.station(from), self.template(says));
                Some((station, says)).and_then(|(station, says)| {
                    Some(EntryTurn::Station {
                        station: station?,
                        says: says?,
                        cut: cut.flatten(),
                        unable: unable.clone().flatten(),
                    })
                })
            }
            (None, None, Some(to), Some(call)) => {
                if let Some(blocked) = &entry.blocked {
                    let title = "only what a station says can be blocked";
                    let problem = self.notes.problem("S019", blocked.span(), title);
                    self.notes.add(problem.help("take it out, or put it beside `says`"));
                }
                let (station, phrase) = (self.station(to), self.phrase(call, rules));
                let with = entry.with.iter().map(|slot| slot.get_ref().clone()).collect();
                Some((station, phrase)).and_then(|(station, phrase)| {
                    let (station, phrase) = (station?, phrase?);
                    let addressed = rules.phrase(&phrase).is_some_and(|p| p.parts.contains(&Element::Unit));
                    Some(EntryTurn::Call { station, phrase, addressed, with })
                })
            }
            _ => {
                let title = "an exchange either speaks or calls";
                let problem = self.notes.problem("S011", span, title);
                self.notes.add(problem.help("write `from` and `says` for a station, `to` and `you_call` for the trainee's own call, or one of `call`, `checklist`, `brief`, `speak_up` for the crew"));
                None
            }
        };
        let names = |key| slots(key).into_iter().map(|(slot, _)| slot.to_owned()).collect();
        Some(Entry {
            cue: match cue {
                Some(cue) => Some(cue?),
                None => None,
            },
            turn: turn?,
            when: names(entry.when.as_ref()),
            unless: names(entry.unless.as_ref()),
            leads: Leads::default(),
            seat,
            radio,
        })
    }

    fn station(&mut self, id: &Text) -> Option<Station> {
        if let Some(station) = self.airport.station(id.get_ref()) {
            return Some(station.clone());
        }
        let title = format!("{} has no station `{}`", self.airport.name, id.get_ref());
        let problem = self.notes.problem("S008", id.span(), title);
        self.notes.add(problem.suggest(id.get_ref(), self.airport.stations.iter().map(|s| s.id.as_str())));
        None
    }

    fn phrase(&mut self, call: &Text, rules: &RuleSet) -> Option<String> {
        let known: Vec<&str> = rules.phrase_ids().filter(|id| id.starts_with("call.")).collect();
        if known.contains(&call.get_ref().as_str()) {
            return Some(call.get_ref().clone());
        }
        let problem = self.notes.problem("S010", call.span(), format!("unknown call `{}`", call.get_ref()));
        let full = format!("call.{}", call.get_ref());
        let near = if known.contains(&full.as_str()) { &full } else { call.get_ref() };
        self.notes.add(problem.suggest(near, known));
        None
    }

    /// Draws flights and reads every transmission in them as the judge will.
    fn flights(
        &mut self,
        file: &ScenarioFile,
        scenario: &Scenario,
        entries: &[Option<Entry>],
        rules: &RuleSet,
    ) {
        let drawn: Vec<Values> =
            (1..=FLIGHTS).filter_map(|seed| draw_values(scenario, scenario.standard, seed)).collect();
        if drawn.is_empty() {
            let problem =
                self.notes.problem("S016", file.airport.span(), "no flight fits the values of this scenario");
            self.notes.add(problem.label("nothing here has them all").help("let the values of `runway`, `sid`, `destination`, `stand` and `holding_point` belong together"));
            return;
        }
        let rare = rare(&scenario.airport);
        let known: BTreeSet<&str> =
            drawn.iter().flat_map(Values::slots).chain(rare.iter().map(String::as_str)).collect();
        let all: Vec<&Values> = drawn.iter().collect();
        self.slots(&file.briefing, &scenario.briefing, &known, &all);
        let names = Names::of(scenario, rules);
        for (source, entry) in file.exchange.iter().zip(entries) {
            let Some(entry) = entry else { continue };
            let here = source.get_ref();
            let conditions = slots(here.when.as_ref()).into_iter().chain(slots(here.unless.as_ref()));
            for (slot, place) in conditions {
                self.known(slot, place, &known);
            }
            let mut met: Vec<&Values> = drawn.iter().filter(|v| entry.is_met(|slot| v.has(slot))).collect();
            let seldom = met.is_empty() && entry.when.iter().any(|slot| rare.contains(slot));
            let later = seldom.then(|| later(scenario, entry)).flatten();
            met.extend(&later);
            if seldom && met.is_empty() {
                continue;
            }
            if met.is_empty() {
                let problem = self.notes.problem("S014", source.span(), "no flight reaches this exchange");
                self.notes.add(problem.help("look at its `when` and `unless`: no drawn flight fits them"));
                continue;
            }
            if let (Some(text), Some(cue)) = (&here.cue, &entry.cue) {
                self.slots(text, cue, &known, &met);
            }
            match &entry.turn {
                EntryTurn::Station { says, unable, .. } => {
                    for (text, template) in here.says.iter().zip([says]).chain(here.unable.iter().zip(unable))
                    {
                        if self.slots(text, template, &known, &met) {
                            self.transmission(text, template, &met, &names, rules);
                        }
                    }
                }
                EntryTurn::Crew(crew) => {
                    let texts = here.says.iter().chain(here.set.values());
                    let slip = here.slip.iter().flat_map(|s| [&s.get_ref().says, &s.get_ref().heard]);
                    for text in texts.chain(slip) {
                        if let Ok(template) = Template::parse(text.get_ref()) {
                            self.slots(text, &template, &known, &met);
                        }
                    }
                    let operator = self.book.operator(&scenario.operator).cloned().unwrap_or_default();
                    self.crew_values(source, crew, &operator, &met);
                }
                EntryTurn::Call { station, phrase, addressed, with } => {
                    let mut fine = true;
                    for slot in &here.with {
                        fine &= self.known(slot.get_ref(), slot.span(), &known)
                            && self.always(slot.get_ref(), slot.span(), &met);
                    }
                    if let (Some(values), Some(call), true) = (met.first(), &here.you_call, fine) {
                        let wanted = values.wanted(station, *addressed, with);
                        self.whole(call, phrase, &wanted, values.callsign(), rules);
                    }
                }
            }
        }
    }

    /// Notes parts that a call must have and that no slot of `with` gives.
    fn whole(
        &mut self,
        call: &Text,
        phrase: &str,
        wanted: &[(Element, String)],
        own: &Callsign,
        rules: &RuleSet,
    ) {
        let situation = Situation { callsign: own.clone(), shortened: false };
        let model = judge_call(rules, &situation, phrase, wanted, "").model;
        let judged = judge_call(rules, &situation, phrase, wanted, &model);
        let lacking = judged.findings.iter().filter(|finding| finding.fault == Fault::Missing);
        let lacking: Vec<&str> = lacking.map(|finding| finding.element.name()).collect();
        if !lacking.is_empty() {
            let title = format!("`{phrase}` needs {} as well", diagnostic::list(&lacking));
            let problem = self.notes.problem("S024", call.span(), title);
            self.notes.add(
                problem
                    .label(format!("without it no call is right by the rule set {}", rules.standard))
                    .help("name a slot for it in `with`, or take another call"),
            );
        }
    }

    /// True if every slot of the text is filled in each of the flights.
    fn slots(&mut self, text: &Text, template: &Template, known: &BTreeSet<&str>, met: &[&Values]) -> bool {
        let mut fine = true;
        for (slot, inside) in template.slots() {
            let place = self.notes.within(text.span(), inside);
            fine &= self.known(slot, place.clone(), known) && self.always(slot, place, met);
        }
        fine
    }

    fn known(&mut self, slot: &str, place: Range<usize>, known: &BTreeSet<&str>) -> bool {
        if known.contains(slot) || self.broken.contains(slot) {
            return known.contains(slot);
        }
        let problem = self.notes.problem("S009", place, format!("unknown slot `{slot}`"));
        let problem = problem.label("nothing of this name is drawn");
        self.notes.add(problem.suggest(slot, known.iter().copied()));
        false
    }

    fn always(&mut self, slot: &str, place: Range<usize>, met: &[&Values]) -> bool {
        if met.iter().all(|values| values.has(slot)) {
            return true;
        }
        let problem = self.notes.problem("S015", place, format!("`{slot}` is not drawn in every flight"));
        self.notes.add(
            problem.help(format!("add `when = '{slot}'` to this exchange, or write it without the slot")),
        );
        false
    }
}
