//! The machine contract: one JSON object in, one out, for `grade` and `parse`.

use crate::callsign::Callsign;
use crate::crew::CrewBook;
use crate::element::Standard;
use crate::jsonline::{Field, Fields, shown};
use crate::judge::judgement::{Finding, Form, Judgement};
use crate::judge::{self, Situation};
use crate::parse::{self, Speaker};
use crate::rules::RuleSet;
use serde::Serialize;
use serde_json::value::RawValue;
use std::sync::Arc;

/// Rule sets by name.
pub trait RuleSets: Sync {
    /// The compiled rule set.
    fn get(&self, standard: Standard) -> Arc<RuleSet>;

    /// The words of the crew.
    ///
    /// # Errors
    /// What is wrong with the built-in ones; a test keeps that from happening.
    fn crew(&self) -> Result<Arc<CrewBook>, String> {
        CrewBook::builtin()
    }

    /// The fingerprint of all files of the grammar: SHA-256, hexadecimal.
    fn fingerprint(&self) -> String {
        crate::grammar::fingerprint(crate::grammar::builtin_files().iter().map(|f| (f.0, f.1.as_bytes())))
    }
}

/// The rule sets that the binary carries.
#[derive(Debug, Clone, Copy, Default)]
pub struct Builtin;

impl RuleSets for Builtin {
    fn get(&self, standard: Standard) -> Arc<RuleSet> {
        RuleSet::builtin(standard)
    }
}

const ID: Field = Field { name: "id", wanted: None };
const STANDARD: Field = Field { name: "standard", wanted: None };

/// What a line of `grade` has.
const GRADE: [Field; 5] = [
    ID,
    STANDARD,
    Field { name: "callsign", wanted: None },
    Field { name: "say", wanted: Some("what the station says") },
    Field { name: "reply", wanted: Some("what the pilot says back") },
];

/// What a line of `parse` has.
const PARSE: [Field; 4] = [
    ID,
    STANDARD,
    Field { name: "text", wanted: Some("the transmission to read") },
    Field { name: "speaker", wanted: None },
];

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
    write(out, &ErrorOut { id: Fields::first(&[ID], line), error, line: number });
    true
}

fn standard(name: Option<&str>) -> Result<Standard, String> {
    let Some(name) = name else { return Ok(Standard::Icao) };
    Standard::ALL
        .into_iter()
        .find(|standard| standard.name().eq_ignore_ascii_case(name))
        .ok_or_else(|| format!("unknown standard `{}`: icao, eu, uk or us", shown(name)))
}

fn callsign(rules: &RuleSet, written: Option<&str>, say: &str) -> Result<Callsign, String> {
    match written {
        Some(text) if text.trim().is_empty() => {
            Err("`callsign` is empty; leave it out to take the one that the station says".to_owned())
        }
        Some(text) => Callsign::parse(text).ok_or_else(|| format!("`{}` is not a callsign", shown(text))),
        None => judge::addressed(rules, say)
            .ok_or_else(|| "`callsign` is missing, and the transmission names none".to_owned()),
    }
}

fn check_length(line: &[u8]) -> Result<(), String> {
    if line.len() > crate::batch::LONGEST_LINE {
        return Err(format!("the line is longer than {} bytes", crate::batch::LONGEST_LINE));
    }
    Ok(())
}

/// Grades one line; true if it was refused.
pub fn grade_line(sets: &dyn RuleSets, form: Form, line: &[u8], number: u64, out: &mut Vec<u8>) -> bool {
    match grade(sets, form, line, out) {
        Ok(()) => false,
        Err(error) => refuse(line, number, error, out),
    }
}

fn grade(sets: &dyn RuleSets, form: Form, line: &[u8], out: &mut Vec<u8>) -> Result<(), String> {
    check_length(line)?;
    if crate::crew::is_crew_line(line) {
        let (id, judged) = crate::crew::judge_line(&*sets.crew()?, line)?;
        write_judgement(id, &judged.counted(form), out);
        return Ok(());
    }
    let input = Fields::read(&GRADE, line)?;
    let (say, reply) = (input.needed(3)?, input.needed(4)?);
    let rules = sets.get(standard(input.text(1)?.as_deref())?);
    let callsign = callsign(&rules, input.text(2)?.as_deref(), &say)?;
    let situation = Situation { callsign, shortened: false };
    let judged = judge::judge_findings(&rules, &situation, &say, &reply).counted(form);
    write_judgement(input.raw(0), &judged, out);
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
    let input = Fields::read(&PARSE, line)?;
    let text = input.needed(2)?;
    let rules = sets.get(standard(input.text(1)?.as_deref())?);
    let speaker = match input.text(3)?.as_deref() {
        None => Speaker::Controller,
        Some(name) if name.eq_ignore_ascii_case("controller") => Speaker::Controller,
        Some(name) if name.eq_ignore_ascii_case("pilot") => Speaker::Pilot,
        Some(other) => return Err(format!("unknown speaker `{}`: controller or pilot", shown(other))),
    };
    let reading = parse::read(&rules, &text, speaker);
    let elements = reading
        .items
        .iter()
        .map(|i| ElementOut {
            element: i.element.name(),
            value: &i.value,
            text: i.span.of(&text),
            span: [i.span.start, i.span.end],
        })
        .collect();
    let unparsed = reading.unparsed.iter().map(|s| [s.start, s.end]).collect();
    write(out, &ParseOut { id: input.raw(0), callsign: reading.callsign.as_deref(), elements, unparsed });
    Ok(())
}
