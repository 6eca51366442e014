//! A crew line of the machine contract: what is asked for, and its judgement.

use super::context::told;
use super::{CrewBook, Role, SpeakingUp, judge_briefing, judge_call, judge_item, judge_speaking_up};
use crate::diagnostic::nearest;
use crate::jsonline::{Field, Fields, shown};
use crate::judge::judgement::Judgement;
use memchr::memmem;
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// What a crew line has.
const CREW: [Field; 10] = [
    Field { name: "id", wanted: None },
    Field { name: "cue", wanted: None },
    Field { name: "checklist", wanted: None },
    Field { name: "item", wanted: None },
    Field { name: "role", wanted: None },
    Field { name: "values", wanted: None },
    Field { name: "operator", wanted: None },
    Field { name: "reply", wanted: Some("what the pilot says") },
    Field { name: "briefing", wanted: None },
    Field { name: "context", wanted: None },
];

/// True if the line asks for a call, a checklist item or a briefing.
#[must_use]
pub fn is_crew_line(line: &[u8]) -> bool {
    memmem::find(line, b"\"say\"").is_none()
        && [&b"\"cue\""[..], b"\"checklist\"", b"\"briefing\""]
            .iter()
            .any(|key| memmem::find(line, key).is_some())
}

/// Judges a crew line; with the judgement comes its id.
///
/// # Errors
/// What is wrong with the line, in plain words.
pub fn judge_line<'a>(book: &CrewBook, line: &'a [u8]) -> Result<(Option<&'a RawValue>, Judgement), String> {
    let input = Fields::read(&CREW, line)?;
    let reply = input.needed(7)?;
    let (cue, list) = (input.text(1)?, input.text(2)?);
    if let Some(id) = input.text(8)? {
        if cue.is_some() || list.is_some() {
            return Err("`briefing` excludes `cue` and `checklist`".to_owned());
        }
        let context = input.raw(9).map(|raw| serde_json::from_str(raw.get())).transpose();
        let context: Option<serde_json::Value> =
            context.map_err(|_| "`context` cannot be read".to_owned())?;
        let judged = briefing(book, &id, context.as_ref(), values(input.raw(5))?, &reply)?;
        return Ok((input.raw(0), judged));
    }
    let (first, second) = if cue.is_some() { ("call", "reply") } else { ("challenge", "response") };
    let role = match input.text(4)?.as_deref() {
        Some(name) if name == first => Role::First,
        Some(name) if name == second => Role::Second,
        None if cue.is_some() => Role::First,
        None => Role::Second,
        Some(other) => return Err(format!("unknown role `{}`: {first} or {second}", shown(other))),
    };
    let values = values(input.raw(5))?;
    let judged = match (cue, list) {
        (Some(_), Some(_)) => return Err("`cue` and `checklist` exclude each other".to_owned()),
        (Some(cue), None) => {
            let call =
                book.call(&cue).ok_or_else(|| unknown("call", &cue, book.calls().map(|c| c.id.as_str())))?;
            let name = input.text(6)?.unwrap_or_else(|| "default".into());
            let operator =
                book.operator(&name).ok_or_else(|| unknown("operator", &name, book.operator_ids()))?;
            judge_call(book, call, role, operator, &values, &reply)
                .ok_or_else(|| format!("`{}` wants no answer", call.id))?
        }
        (None, Some(id)) => {
            let list = book.checklist(&id).ok_or_else(|| unknown("checklist", &id, book.checklist_ids()))?;
            let count = list.items.len();
            let item = input.raw(3).and_then(|raw| raw.get().parse::<usize>().ok());
            item.and_then(|item| judge_item(book, list, item, role, &values, &reply))
                .ok_or_else(|| format!("`item` wants a number from 1 to {count}"))?
        }
        (None, None) => return Err("`cue`, `checklist` or `briefing` is missing".to_owned()),
    };
    Ok((input.raw(0), judged))
}

/// Judges a briefing, or a sentence of speaking up.
fn briefing(
    book: &CrewBook,
    id: &str,
    context: Option<&serde_json::Value>,
    mut values: BTreeMap<String, String>,
    reply: &str,
) -> Result<Judgement, String> {
    if id == "escalation" {
        return Ok(judge_speaking_up(book, &SpeakingUp::read(book, context, &values)?, reply));
    }
    let ids = || book.briefings().map(|b| b.id.as_str()).chain(["escalation"]);
    let briefing = book.briefing(id).ok_or_else(|| {
        format!("{}; there are {}", unknown("briefing", id, ids()), ids().collect::<Vec<_>>().join(", "))
    })?;
    told(book, briefing, context, &mut values)?;
    Ok(judge_briefing(book, briefing, &values, reply))
}

fn unknown<'a>(what: &str, name: &str, known: impl Iterator<Item = &'a str>) -> String {
    let near = nearest(name, known).map_or(String::new(), |near| format!("; did you mean `{near}`?"));
    format!("unknown {what} `{}`{near}", shown(name))
}

/// Values by name; numbers count as their text.
fn values(raw: Option<&RawValue>) -> Result<BTreeMap<String, String>, String> {
    let Some(raw) = raw.filter(|raw| raw.get() != "null") else { return Ok(BTreeMap::new()) };
    let wanted = || "`values` wants an object of texts or numbers, `{\"flap\":\"5\"}`".to_owned();
    let read: BTreeMap<String, serde_json::Value> = serde_json::from_str(raw.get()).map_err(|_| wanted())?;
    read.into_iter()
        .map(|(name, value)| match value {
            serde_json::Value::String(text) => Ok((name, text)),
            serde_json::Value::Number(number) => Ok((name, number.to_string())),
            _ => Err(wanted()),
        })
        .collect()
}
