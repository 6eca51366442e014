//! The machine contract: one JSON object in, one out, for `grade` and `parse`.

use crate::callsign::Callsign;
use crate::element::Standard;
use crate::judge::judgement::{Finding, Judgement};
use crate::judge::{self, Situation};
use crate::parse::{self, Speaker};
use crate::rules::RuleSet;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::sync::Arc;

/// Rule sets by name.
pub trait RuleSets: Sync {
    /// The compiled rule set.
    fn get(&self, standard: Standard) -> Arc<RuleSet>;
}

/// The rule sets that the binary carries.
#[derive(Debug, Clone, Copy, Default)]
pub struct Builtin;

impl RuleSets for Builtin {
    fn get(&self, standard: Standard) -> Arc<RuleSet> {
        RuleSet::builtin(standard)
    }
}

#[derive(Deserialize)]
struct GradeLine<'a> {
    #[serde(borrow, default)]
    id: Option<&'a RawValue>,
    #[serde(default)]
    standard: Option<Cow<'a, str>>,
    #[serde(borrow, default)]
    callsign: Option<Cow<'a, str>>,
    #[serde(borrow)]
    say: Cow<'a, str>,
    #[serde(borrow)]
    reply: Cow<'a, str>,
}

#[derive(Deserialize)]
struct ParseLine<'a> {
    #[serde(borrow, default)]
    id: Option<&'a RawValue>,
    #[serde(default)]
    standard: Option<Cow<'a, str>>,
    #[serde(borrow)]
    text: Cow<'a, str>,
    #[serde(default)]
    speaker: Option<Cow<'a, str>>,
}

#[derive(Deserialize)]
struct OnlyId<'a> {
    #[serde(borrow, default)]
    id: Option<&'a RawValue>,
}

#[derive(Serialize)]
struct GradeOut<'a> {
    id: Option<&'a RawValue>,
    verdict: &'static str,
    score: u8,
    findings: Vec<FindingOut<'a>>,
    model: &'a str,
}

#[derive(Serialize)]
struct FindingOut<'a> {
    element: &'static str,
    fault: &'static str,
    severity: &'static str,
    expected: Option<&'a str>,
    given: Option<&'a str>,
    span: Option<[u32; 2]>,
    rule: &'a str,
}

#[derive(Serialize)]
struct ParseOut<'a> {
    id: Option<&'a RawValue>,
    callsign: Option<&'a str>,
    elements: Vec<ElementOut<'a>>,
    unparsed: Vec<[u32; 2]>,
}

#[derive(Serialize)]
struct ElementOut<'a> {
    element: &'static str,
    value: &'a str,
    text: &'a str,
    span: [u32; 2],
}

#[derive(Serialize)]
struct ErrorOut<'a> {
    id: Option<&'a RawValue>,
    error: String,
    line: u64,
}

impl<'a> From<&'a Finding> for FindingOut<'a> {
    fn from(f: &'a Finding) -> Self {
        Self {
            element: f.element.name(),
            fault: f.fault.name(),
            severity: f.severity.name(),
            expected: f.expected.as_deref(),
            given: f.given.as_deref(),
            span: f.span.map(|s| [s.start, s.end]),
            rule: &f.rule,
        }
    }
}

fn write<T: Serialize>(out: &mut Vec<u8>, value: &T) {
    // Writing to memory can't fail, and every value here can be serialised.
    let _ = serde_json::to_writer(&mut *out, value);
    out.push(b'\n');
}

fn refuse(line: &[u8], number: u64, error: String, out: &mut Vec<u8>) -> bool {
    let id = serde_json::from_slice::<OnlyId<'_>>(line).ok().and_then(|o| o.id);
    write(out, &ErrorOut { id, error, line: number });
    true
}

fn standard(name: Option<&str>) -> Result<Standard, String> {
    let name = name.unwrap_or("icao");
    Standard::parse(name)
        .ok_or_else(|| format!("unknown standard `{}`: icao, eu, uk or us", name.escape_debug()))
}

/// A message of serde_json without its place in the line, which is always line 1.
fn message(error: &serde_json::Error) -> String {
    let text = error.to_string();
    match text.rsplit_once(" at line 1") {
        Some((head, tail)) => format!("{head}{}", tail.replace(" column ", " at column ")),
        None => text,
    }
}

fn check_length(line: &[u8]) -> Result<(), String> {
    if line.len() > crate::batch::LONGEST_LINE {
        return Err(format!("the line is longer than {} bytes", crate::batch::LONGEST_LINE));
    }
    Ok(())
}

/// Grades one line; true if it was refused.
pub fn grade_line(sets: &dyn RuleSets, line: &[u8], number: u64, out: &mut Vec<u8>) -> bool {
    match grade(sets, line, out) {
        Ok(()) => false,
        Err(error) => refuse(line, number, error, out),
    }
}

fn grade(sets: &dyn RuleSets, line: &[u8], out: &mut Vec<u8>) -> Result<(), String> {
    check_length(line)?;
    let input: GradeLine<'_> = serde_json::from_slice(line).map_err(|e| message(&e))?;
    let rules = sets.get(standard(input.standard.as_deref())?);
    let callsign = match &input.callsign {
        Some(text) => {
            Callsign::parse(text).ok_or_else(|| format!("`{}` is not a callsign", text.escape_debug()))?
        }
        None => judge::addressed(&rules, &input.say)
            .ok_or("`callsign` is missing, and the transmission names none")?,
    };
    let situation = Situation { callsign, shortened: false };
    let judged = judge::judge_findings(&rules, &situation, &input.say, &input.reply);
    write_judgement(input.id, &judged, out);
    Ok(())
}

fn write_judgement(id: Option<&RawValue>, judged: &Judgement, out: &mut Vec<u8>) {
    let findings = judged.findings.iter().map(FindingOut::from).collect();
    write(
        out,
        &GradeOut { id, verdict: judged.verdict.name(), score: judged.score, findings, model: &judged.model },
    );
}

/// Parses one line; true if it was refused.
pub fn parse_line(sets: &dyn RuleSets, line: &[u8], number: u64, out: &mut Vec<u8>) -> bool {
    match parse(sets, line, out) {
        Ok(()) => false,
        Err(error) => refuse(line, number, error, out),
    }
}

fn parse(sets: &dyn RuleSets, line: &[u8], out: &mut Vec<u8>) -> Result<(), String> {
    check_length(line)?;
    let input: ParseLine<'_> = serde_json::from_slice(line).map_err(|e| message(&e))?;
    let rules = sets.get(standard(input.standard.as_deref())?);
    let speaker = match input.speaker.as_deref() {
        None | Some("controller") => Speaker::Controller,
        Some("pilot") => Speaker::Pilot,
        Some(other) => {
            return Err(format!("unknown speaker `{}`: controller or pilot", other.escape_debug()));
        }
    };
    let reading = parse::read(&rules, &input.text, speaker);
    let elements = reading
        .items
        .iter()
        .map(|i| ElementOut {
            element: i.element.name(),
            value: &i.value,
            text: i.span.of(&input.text),
            span: [i.span.start, i.span.end],
        })
        .collect();
    let unparsed = reading.unparsed.iter().map(|s| [s.start, s.end]).collect();
    write(out, &ParseOut { id: input.id, callsign: reading.callsign.as_deref(), elements, unparsed });
    Ok(())
}
