//! What a line tells of the moment: values, the time left, a step, calls that were not answered.

use super::book::CrewBook;
use super::briefing::Briefing;
use super::duration::durations;
use super::said::Values;
use super::scan::Heard;
use serde_json::Value;

/// A moment in which one pilot must stop the other.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SpeakingUp {
    /// Seconds until it is too late.
    pub seconds: Option<f64>,
    /// The step that is asked for, from 1 to 4.
    pub level: Option<usize>,
    /// Calls that were not answered.
    pub unanswered: u32,
    /// What the instruments show, and who is spoken to.
    pub values: Values,
}

impl SpeakingUp {
    /// The step that the moment asks for, from 0; none if nothing tells.
    pub(super) fn step(&self, book: &CrewBook) -> Option<usize> {
        let steps = &book.ladder.steps;
        let by_time = self.seconds.map(|left| {
            steps.iter().rposition(|step| step.within.is_some_and(|seconds| left < seconds)).unwrap_or(0)
        });
        let by_level = self.level.and_then(|level| level.checked_sub(1));
        let by_silence = match self.unanswered {
            0 => None,
            1 => Some(1),
            _ => Some(steps.len() - 1),
        };
        let last = steps.len() - 1;
        by_level.or(by_time).max(by_silence).map(|step| step.min(last))
    }

    /// The moment as a line tells it: an object, or words.
    ///
    /// # Errors
    /// What the line says in a way that cannot be read, in plain words.
    pub fn read(book: &CrewBook, context: Option<&Value>, values: &Values) -> Result<Self, String> {
        let mut out = Self::default();
        let mut known = values.clone();
        match context {
            None | Some(Value::Null) => {}
            Some(Value::String(text)) => out.words(book, text, &mut known),
            Some(Value::Object(map)) => {
                for (name, value) in map {
                    let text = plain(name, value)?;
                    // A flight level is a value; anything else is a step.
                    let height =
                        text.contains(|c: char| c.is_ascii_digit()) && text.trim().parse::<f64>().is_err();
                    if name == "level" && !height {
                        out.level = step(book, &text)?;
                    } else {
                        known.entry(name.clone()).or_insert(text);
                    }
                }
            }
            Some(_) => return Err("`context` wants text or an object".to_owned()),
        }
        let count = |name: &str, known: &mut Values| -> Result<Option<f64>, String> {
            let Some(text) = known.remove(name).filter(|t| !t.trim().is_empty()) else { return Ok(None) };
            let number = text.trim().parse::<f64>().ok().filter(|n| n.is_finite() && *n >= 0.0);
            number.map(Some).ok_or_else(|| format!("`{name}` wants a number, `{{\"{name}\":2}}`"))
        };
        out.seconds = count("seconds", &mut known)?.or(out.seconds);
        if let Some(unanswered) = count("unanswered", &mut known)? {
            out.unanswered = if unanswered >= 2.0 { 2 } else { u32::from(unanswered >= 1.0) };
        }
        out.values = known;
        Ok(out)
    }

    /// Reads words: "8 s", "20 seconds to impact", "level 3", "challenge", "no answer twice", "speed 165".
    fn words(&mut self, book: &CrewBook, text: &str, values: &mut Values) {
        let heard = Heard::new(&book.talk, text);
        let any = |from: usize, words: &[&str]| words.iter().any(|word| heard.is(from, word));
        let count = heard.toks.len();
        let number = |at: usize| heard.number(at, heard.run(at)).and_then(|n| n.parse::<f64>().ok());
        for at in 0..count {
            let end = heard.run(at);
            if end > at && any(end, &["s", "sec", "secs", "second", "seconds"]) {
                self.seconds = self.seconds.or(number(at));
            }
            let named = any(at, &["level", "step"]) && (at == 0 || !heard.is(at - 1, "flight"));
            if named && let Some(level) = number(at + 1) {
                let steps = 1..=book.ladder.steps.len();
                self.level =
                    self.level.or(steps.into_iter().find(|step| step.to_string() == level.to_string()));
            }
            let step = book.ladder.steps.iter().position(|step| heard.is(at, &step.id));
            let alone = count <= 3 || at > 0 && any(at - 1, &["level", "step"]);
            if let Some(step) = step.filter(|_| alone) {
                self.level = self.level.or(Some(step + 1));
            }
        }
        let unit = |to: usize| any(to - 1, &["minutes", "hour", "half"]);
        let minutes = durations(&heard).into_iter().find(|d| unit(d.to));
        self.seconds = self.seconds.or(minutes.map(|d| f64::from(d.minutes) * 60.0));
        let answer = |k: usize| {
            any(k, &["answer", "answered", "answers", "reply", "response", "reaction", "react"])
                && heard.negated(k)
        };
        let silent = (0..count).any(|k| any(k, &["unanswered", "ignored", "unheeded"]) || answer(k));
        let twice = (0..count).any(|k| {
            any(k, &["twice", "second"])
                || number(k) == Some(2.0) && !any(heard.run(k), &["s", "seconds", "minutes"])
        });
        if silent {
            self.unanswered = if twice { 2 } else { 1 };
        }
        book.ladder.told_in(&heard, values);
    }
}

/// The values of a briefing that a context tells: those of an object, or "name: value" and numbers of a text.
///
/// # Errors
/// What the context says in a way that cannot be read, in plain words.
pub(super) fn told(
    book: &CrewBook,
    briefing: &Briefing,
    context: Option<&Value>,
    values: &mut Values,
) -> Result<(), String> {
    match context {
        None | Some(Value::Null) => Ok(()),
        Some(Value::Object(map)) => {
            for (name, value) in map {
                values.entry(name.clone()).or_insert(plain(name, value)?);
            }
            Ok(())
        }
        Some(Value::String(text)) => {
            let names: Vec<&str> = briefing.parts.iter().flat_map(super::BriefingPart::values).collect();
            labelled(text, &names, values);
            let heard = Heard::new(&book.talk, text);
            briefing.parts.iter().for_each(|part| part.told_in(&heard, values));
            Ok(())
        }
        Some(_) => Err("`context` wants text or an object".to_owned()),
    }
}

/// Values written as "name: value" or "name=value", each up to the next name, a semicolon or a new line.
fn labelled(text: &str, names: &[&str], values: &mut Values) {
    let mut places: Vec<(usize, usize, &str)> = Vec::new();
    for (at, mark) in text.char_indices().filter(|(_, c)| matches!(c, ':' | '=')) {
        let before = text[..at].trim_end();
        let start = before
            .rfind(|c: char| !c.is_alphanumeric() && c != '_')
            .map_or(0, |k| k + before[k..].chars().next().map_or(1, char::len_utf8));
        let word = before[start..].to_lowercase();
        if let Some(name) = names.iter().find(|name| **name == word) {
            places.push((start, at + mark.len_utf8(), name));
        }
    }
    for (n, (_, from, name)) in places.iter().enumerate() {
        let end = places.get(n + 1).map_or(text.len(), |next| next.0);
        let value = text[*from..end].split([';', '\n']).next().unwrap_or("");
        let value = value.trim_matches(|c: char| c.is_whitespace() || matches!(c, ',' | '.'));
        if !value.is_empty() {
            values.entry((*name).to_owned()).or_insert_with(|| value.to_owned());
        }
    }
}

/// The step of that number or name, from 1; none of no text.
fn step(book: &CrewBook, text: &str) -> Result<Option<usize>, String> {
    let steps = &book.ladder.steps;
    let text = text.trim();
    let number = text.parse::<usize>().ok().filter(|n| (1..=steps.len()).contains(n));
    let named = || steps.iter().position(|step| step.id.eq_ignore_ascii_case(text)).map(|at| at + 1);
    if text.is_empty() {
        return Ok(None);
    }
    let ids: Vec<&str> = steps.iter().map(|step| step.id.as_str()).collect();
    let wanted = || format!("`level` wants 1 to {}, or {}", steps.len(), ids.join(", "));
    number.or_else(named).map(Some).ok_or_else(wanted)
}

/// A text or a number of an object.
fn plain(name: &str, value: &Value) -> Result<String, String> {
    match value {
        Value::String(text) => Ok(text.clone()),
        Value::Number(number) => Ok(number.to_string()),
        Value::Null => Ok(String::new()),
        _ => Err(format!("`{}` in `context` wants text or a number", crate::jsonline::shown(name))),
    }
}
