//! A whole flight without a trainee: everything that is said in it, and what the trainee owes each time.

use super::draw::{Exchange, Flight, Turn, draw, draw_values};
use super::event::{Action, Due, Event};
use super::play::Play;
use super::{EntryTurn, Scenario, Talk};
use crate::crew::{Channel, CrewBook};
use crate::element::{Standard, Verdict};
use crate::grammar::check::faults;
use crate::rules::RuleSet;
use std::sync::Arc;

/// A flight as it goes if every reply is the model.
#[derive(Debug)]
pub struct Script {
    /// The flight.
    pub flight: Flight,
    /// Its exchanges, in order.
    pub exchanges: Vec<Scene>,
    /// Exchanges of the scenario that this flight does not have.
    pub unreached: Vec<Unreached>,
}

/// One exchange.
#[derive(Debug)]
pub struct Scene {
    /// Its number in the flight, from 1.
    pub number: usize,
    /// Its number in the file, from 1.
    pub entry: usize,
    /// What it is, in a few words.
    pub title: String,
    /// Seconds after the exchange before began; none if it waits for that one's end.
    pub after: Option<f64>,
    /// What happens, in order.
    pub lines: Vec<Line>,
    /// What the station says if the trainee is unable.
    pub unable: Option<String>,
    /// The exchanges of the file that it leads to: after all, if no reply was right, if the trainee was unable.
    pub leads: [Option<usize>; 3],
    /// What another voice says wrongly in other flights of the scenario, and what is right.
    pub may_slip: Option<(String, String)>,
}

/// Something that happens in an exchange.
#[derive(Debug)]
pub enum Line {
    /// Something to be noticed.
    Cue(String),
    /// Somebody speaks.
    Says {
        /// Who.
        from: String,
        /// To whom.
        to: String,
        /// Where.
        channel: Channel,
        /// Megahertz, on the radio.
        frequency: Option<String>,
        /// What.
        text: String,
    },
    /// The trainee owes something; with it what the judge has against the model, which is nothing if all is well.
    Owes(Box<Due>, Vec<String>),
}

/// An exchange that only other flights of the scenario have.
#[derive(Debug)]
pub struct Unreached {
    /// Its number in the file, from 1.
    pub entry: usize,
    /// What it is.
    pub title: String,
    /// Its words, with slots where it has some.
    pub text: String,
    /// The flight has it, on a way that right replies do not take.
    pub drawn: bool,
    /// Slots of which one was not drawn.
    pub when: Vec<String>,
    /// Slots of which one was drawn.
    pub unless: Vec<String>,
}

/// Steps of a flight for each of its exchanges; a checklist has the most.
const STEPS: usize = 200;

/// Flies the flight of a seed with model replies and writes down what happens.
///
/// # Errors
/// What is in the way, if nothing can be drawn or the flight does not come to its end.
pub fn script(
    scenario: &Scenario,
    standard: Standard,
    seed: u64,
    rules: Arc<RuleSet>,
    book: Arc<CrewBook>,
) -> Result<Script, String> {
    let nothing = || format!("nothing can be drawn from `{}` with seed {seed}", scenario.id);
    // Other aircraft, and transmissions joined to one, are none of the author's.
    let scenario = &Scenario { difficulty: 1, ..scenario.clone() };
    let flight = draw(scenario, standard, seed).ok_or_else(nothing)?;
    let values = draw_values(scenario, standard, seed).ok_or_else(nothing)?;
    let met = |entry: &super::Entry| entry.is_met(|slot| values.has(slot));
    let numbered = || scenario.exchanges.iter().enumerate().map(|(n, entry)| (n + 1, entry));
    let entries: Vec<_> = numbered().filter(|(_, entry)| met(entry)).collect();
    let unreached = |scenes: &[Scene]| {
        let begun = |number: usize| scenes.iter().any(|scene| scene.entry == number);
        let others = numbered().filter(|(number, _)| !begun(*number));
        let others = others.map(|(number, entry)| Unreached {
            entry: number,
            title: title(&entry.turn),
            text: words(entry),
            drawn: met(entry),
            when: entry.when.clone(),
            unless: entry.unless.clone(),
        });
        others.collect()
    };
    let callsign = flight.callsign.written();
    let mut exchanges: Vec<Scene> = Vec::new();
    let mut play = Play::new(rules, flight.clone(), book);
    let mut actions = play.begin();
    let mut over = false;
    for _ in 0..STEPS * (flight.exchanges.len() + 1) {
        for action in actions {
            if let Action::Begin { number } = action {
                let Some((entry, written)) = entries.get(number - 1) else { continue };
                let drawn = flight.exchanges.get(number - 1);
                exchanges.push(scene(number, *entry, written, drawn));
                continue;
            }
            over |= matches!(action, Action::Finished);
            let line = match action {
                Action::Cue { text, .. } | Action::Happens { text } => Line::Cue(text),
                Action::Transmit { station, text } => Line::Says {
                    from: station.name,
                    to: callsign.clone(),
                    channel: Channel::Radio,
                    frequency: Some(station.frequency),
                    text,
                },
                Action::Voice { who, channel, text } => {
                    let (from, to) = who.split_once(" to ").unwrap_or((&who, "all"));
                    Line::Says { from: from.to_owned(), to: to.to_owned(), channel, frequency: None, text }
                }
                _ => continue,
            };
            if let Some(scene) = exchanges.last_mut() {
                scene.lines.push(line);
            }
        }
        if over {
            let unreached = unreached(&exchanges);
            return Ok(Script { flight, exchanges, unreached });
        }
        actions = match (play.due(), play.wake()) {
            (Some(due), _) => {
                let actions = play.step(Event::Reply(due.model.clone()));
                let against = actions.iter().find_map(|action| match action {
                    Action::Judged(attempt) if attempt.judgement.verdict != Verdict::Correct => {
                        Some(faults(&attempt.judgement))
                    }
                    _ => None,
                });
                if let Some(scene) = exchanges.iter_mut().rev().find(|scene| scene.number == due.exchange) {
                    scene.lines.push(Line::Owes(Box::new(due), against.unwrap_or_default()));
                }
                actions
            }
            (None, Some(wake)) => play.step(Event::Time(wake)),
            (None, None) => break,
        };
    }
    Err(format!("the flight of `{}` with seed {seed} does not come to its end", scenario.id))
}

fn scene(number: usize, entry: usize, written: &super::Entry, drawn: Option<&Exchange>) -> Scene {
    let mut scene = Scene {
        number,
        entry,
        title: title(&written.turn),
        after: None,
        lines: Vec::new(),
        unable: None,
        leads: [written.leads.then, written.leads.wrong, written.leads.unable].map(|to| to.map(|to| to + 1)),
        may_slip: None,
    };
    match drawn {
        Some(Exchange::Radio(radio)) => {
            if let Turn::Station { unable, .. } = &radio.turn
                && radio.duty.radio
            {
                scene.unable.clone_from(unable);
            }
        }
        Some(Exchange::Crew(crew)) => {
            scene.after = crew.after;
            if let EntryTurn::Crew(entry) = &written.turn
                && crew.slip.is_none()
            {
                let texts = |slip: &super::Slip<super::template::Template>| {
                    (slip.says.source().to_owned(), slip.heard.source().to_owned())
                };
                scene.may_slip = entry.slip.as_ref().map(texts);
            }
        }
        Some(Exchange::Other(_)) | None => {}
    }
    scene
}

/// What an exchange is, in a few words.
fn title(turn: &EntryTurn) -> String {
    match turn {
        EntryTurn::Station { station, .. } => format!("{} speaks", station.name),
        EntryTurn::Call { station, phrase, .. } => format!("{phrase} to {}", station.name),
        EntryTurn::Crew(crew) => match &crew.talk {
            Talk::Call { id, case: None } => format!("call {id}"),
            Talk::Call { id, case: Some(case) } => format!("call {id}, {case}"),
            Talk::Checklist { list, first, last } => format!("checklist {list}, items {first} to {last}"),
            Talk::Brief(id) => format!("briefing {id}"),
            Talk::SpeakUp { seconds, .. } => format!("speaking up, {seconds} s left"),
            Talk::Voice { by, .. } => format!("{} speaks", by.words()),
        },
    }
}

/// The words of an exchange that was not drawn: what is said, else what has happened.
fn words(entry: &super::Entry) -> String {
    let said = match &entry.turn {
        EntryTurn::Station { says, .. } => Some(says.source()),
        EntryTurn::Call { .. } => None,
        EntryTurn::Crew(crew) => match &crew.talk {
            Talk::Voice { says, .. } => Some(says.source()),
            _ => None,
        },
    };
    said.or(entry.cue.as_ref().map(super::template::Template::source)).unwrap_or_default().to_owned()
}
