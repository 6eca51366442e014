//! `preview`: the script of a flight, with what the trainee owes at every point of it.

use crate::content::Content;
use crate::contract::RuleSets;
use crate::crew::Channel;
use crate::diagnostic::clean;
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::rules::RuleSet;
use crate::scenario::event::{Due, Skill};
use crate::scenario::load::{Library, Which};
use crate::scenario::script::{Line, Scene, Script, Unreached, script};
use crate::scenario::{Rank, Seat};
use crate::wrap::beside;
use serde_json::{Value, json};
use std::io::Write;
use std::sync::Arc;

/// What was asked for on the command line.
#[derive(Debug, Clone)]
pub struct Options {
    /// Which flight.
    pub which: Which,
    /// What the flight is drawn from.
    pub seed: u64,
    /// Another seat than the scenario's at the beginning.
    pub seat: Option<Seat>,
    /// A rule set other than the scenario's.
    pub standard: Option<Standard>,
    /// One JSON object instead of a page.
    pub json: bool,
}

/// Prints the script of a flight and returns the exit status.
///
/// # Errors
/// If there is no such scenario, if it has problems, or if the output fails.
pub fn run(options: &Options, sets: &dyn RuleSets, content: &Content, out: &mut dyn Write) -> Result<u8> {
    let rules = &|standard| -> Arc<RuleSet> { sets.get(standard) };
    let book = sets.crew().map_err(Error::Internal)?;
    let mut scenario = Library::new(rules, Arc::clone(&book)).with_content(content).which(&options.which)?;
    // What makes a flight harder is no part of what the author wrote.
    scenario.difficulty = 1;
    if options.seat.is_some_and(|seat| seat != scenario.seat) {
        scenario.change_seat();
    }
    let standard = options.standard.unwrap_or(scenario.standard);
    let script = script(&scenario, standard, options.seed, rules(standard), book).map_err(Error::Internal)?;
    if options.json {
        serde_json::to_writer(&mut *out, &object(&script, scenario.seat))
            .map_err(|e| Error::Write(e.into()))?;
        writeln!(out)?;
    } else {
        page(&script, scenario.seat, scenario.difficulty, out)?;
    }
    Ok(exit::DONE)
}

/// Columns of the labels.
const LABEL: usize = 14;

fn seat_name(seat: Seat) -> &'static str {
    Seat::ALL.iter().find(|(_, known)| *known == seat).map_or("", |(name, _)| name)
}

fn rank_name(rank: Rank) -> &'static str {
    Rank::ALL.iter().find(|(_, known)| *known == rank).map_or("", |(name, _)| name)
}

fn page(script: &Script, seat: Seat, difficulty: u8, out: &mut dyn Write) -> Result<()> {
    let flight = &script.flight;
    writeln!(out, "{}", clean(&flight.title))?;
    writeln!(
        out,
        "{}, seed {}, rule set {}; pilot {}, {}",
        clean(&flight.scenario),
        flight.seed,
        flight.standard,
        seat_name(seat),
        rank_name(flight.rank)
    )?;
    writeln!(out)?;
    beside(out, "", 0, &clean(&flight.briefing))?;
    if difficulty > 1 {
        let note = format!(
            "Difficulty {difficulty} of the flight is left out here: other aircraft, tuning, joined transmissions."
        );
        writeln!(out)?;
        beside(out, "", 0, &note)?;
    }
    for scene in &script.exchanges {
        show(scene, out)?;
    }
    if !script.unreached.is_empty() {
        writeln!(out, "\nNot in this script:")?;
    }
    for other in &script.unreached {
        let text = format!("{}, {}: {}", other.title, condition(other), other.text);
        beside(out, &format!("{:>3}", other.entry), 4, &clean(&text))?;
    }
    Ok(())
}

fn condition(other: &Unreached) -> String {
    if other.drawn {
        return "reached only if a reply is wrong, or the trainee unable".to_owned();
    }
    let key = |name: &str, slots: &[String]| match slots {
        [] => None,
        [slot] => Some(format!("{name} = '{slot}'")),
        slots => Some(format!("{name} = ['{}']", slots.join("', '"))),
    };
    let keys = [key("when", &other.when), key("unless", &other.unless)];
    keys.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn show(scene: &Scene, out: &mut dyn Write) -> Result<()> {
    let mut head = clean(&scene.title).into_owned();
    if let Some(after) = scene.after {
        head.push_str(&format!(", {after} s after the exchange before began"));
    }
    if scene.entry != scene.number {
        head.push_str(&format!(" (exchange {} of the file)", scene.entry));
    }
    writeln!(out)?;
    beside(out, &format!("{:>3}", scene.number), 4, &head)?;
    let mut put = |label: &str, text: &str| beside(out, &format!("    {label}"), LABEL, &clean(text));
    for line in &scene.lines {
        match line {
            Line::Cue(text) => put("cue", text)?,
            Line::Says { from, to, channel, frequency, text } => {
                let place = match frequency {
                    Some(frequency) => format!("{} {frequency}", channel.name()),
                    None => channel.name().to_owned(),
                };
                put("says", &format!("{from} to {to}, {place}: \"{text}\""))?;
            }
            Line::Owes(due, against) => {
                owes(due, &mut put)?;
                if !against.is_empty() {
                    put("BUT", &format!("the judge finds in this model: {}", against.join(", ")))?;
                }
            }
        }
    }
    if let Some(text) = &scene.unable {
        put("if unable", &format!("\"{text}\""))?;
    }
    let ways = ["then", "if wrong", "if unable"];
    for (label, to) in ways.iter().zip(scene.leads).filter_map(|(label, to)| Some((label, to?))) {
        put(label, &format!("on to exchange {to} of the file"))?;
    }
    if let Some((says, right)) = &scene.may_slip {
        put("may slip", &format!("with another seed: \"{says}\"; right is \"{right}\""))?;
    }
    Ok(())
}

/// Writes a label and its text.
type Put<'a> = dyn FnMut(&str, &str) -> std::io::Result<()> + 'a;

fn owes(due: &Due, put: &mut Put<'_>) -> Result<()> {
    let window = due.window.map_or(String::new(), |seconds| format!(" within {seconds} s"));
    if let Some((_, right)) = &due.slip {
        put("SLIP", &format!("what was just said is wrong; right is \"{right}\""))?;
        put("challenge", &format!("\"{}\"{window}", due.model))?;
    } else if due.model.is_empty() {
        put("you owe", "nothing: what was said is right, or nobody waits for an answer")?;
    } else {
        let items = match due.skill {
            Skill::ReadBack | Skill::RadioCall => owed(due).join("; "),
            skill => format!("{} {}{}{window}", skill_name(skill), due.asked, parts(due)),
        };
        let optional = if due.optional { ", may be left out" } else { "" };
        let place = if due.channel == Channel::Deck || due.channel == Channel::Radio {
            String::new()
        } else {
            format!(" ({})", due.channel.name())
        };
        put("you owe", &format!("{items}{place}{optional}"))?;
        put("model", &format!("\"{}\"", due.model))?;
    }
    Ok(())
}

/// What is due, for one: `call`, `response` …
fn skill_name(skill: Skill) -> &'static str {
    match skill {
        Skill::ReadBack => "read-back",
        Skill::RadioCall | Skill::Call => "call",
        Skill::Answer => "answer to",
        Skill::Challenge => "challenge",
        Skill::Response => "response",
        Skill::Briefing => "briefing",
        Skill::SpeakingUp => "speaking up,",
        Skill::Listening => "leave to others",
        Skill::Watching => "watching",
    }
}

/// The parts of a briefing or of speaking up, in brackets.
fn parts(due: &Due) -> String {
    if !matches!(due.skill, Skill::Briefing | Skill::SpeakingUp) {
        return String::new();
    }
    let parts: Vec<String> = owed(due);
    if parts.is_empty() { String::new() } else { format!(" ({})", parts.join("; ")) }
}

/// Elements and values that the judge would miss.
fn owed(due: &Due) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for finding in due.lacking.iter().filter(|f| !f.element.is_form()) {
        let value =
            finding.expected.as_deref().map(|value| crate::airport::value::written(finding.element, value));
        let name = finding.element.name().replace('_', " ");
        let text = match value.filter(|value| !value.is_empty()) {
            Some(value) => format!("{name} {value}"),
            None => name,
        };
        if !out.contains(&text) {
            out.push(text);
        }
    }
    out
}

fn object(script: &Script, seat: Seat) -> Value {
    let flight = &script.flight;
    json!({
        "format": 1,
        "scenario": flight.scenario,
        "seed": flight.seed,
        "standard": flight.standard.name(),
        "seat": seat_name(seat),
        "rank": rank_name(flight.rank),
        "title": flight.title,
        "briefing": flight.briefing,
        "exchanges": script.exchanges.iter().map(scene_object).collect::<Vec<_>>(),
        "unreached": script.unreached.iter().map(|other| json!({
            "entry": other.entry,
            "title": other.title,
            "text": other.text,
            "drawn": other.drawn,
            "when": other.when,
            "unless": other.unless,
        })).collect::<Vec<_>>(),
    })
}

fn scene_object(scene: &Scene) -> Value {
    let slip = |(says, right): &(String, String)| json!({ "says": says, "right": right });
    json!({
        "number": scene.number,
        "entry": scene.entry,
        "title": scene.title,
        "after": scene.after,
        "lines": scene.lines.iter().map(line_object).collect::<Vec<_>>(),
        "unable": scene.unable,
        "leads": { "then": scene.leads[0], "wrong": scene.leads[1], "unable": scene.leads[2] },
        "may_slip": scene.may_slip.as_ref().map(slip),
    })
}

fn line_object(line: &Line) -> Value {
    match line {
        Line::Cue(text) => json!({ "cue": text }),
        Line::Says { from, to, channel, frequency, text } => json!({
            "from": from,
            "to": to,
            "channel": channel.name(),
            "frequency": frequency,
            "says": text,
        }),
        Line::Owes(due, against) => json!({
            "owes": due.lacking.iter().filter(|f| !f.element.is_form()).map(|f| json!({
                "element": f.element.name(),
                "value": f.expected,
            })).collect::<Vec<_>>(),
            "skill": due.skill.name(),
            "asked": due.asked,
            "channel": due.channel.name(),
            "window": due.window,
            "optional": due.optional,
            "model": due.model,
            "slip": due.slip.as_ref().map(|(says, right)| json!({ "says": says, "right": right })),
            "against": against,
        }),
    }
}
