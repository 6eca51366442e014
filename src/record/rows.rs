//! Attempts as rows of the tables, both ways.

use super::entry::{self, Earlier, Entry, Found, Part};
use super::{moment, unreadable as bad};
use crate::element::{Element, Severity, Standard, Verdict};
use rusqlite::{Connection, OptionalExtension, Row, Statement, Transaction, params};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Writes an attempt and all its rows; false if it is there already.
pub(super) fn insert(change: &Transaction<'_>, entry: &Entry) -> rusqlite::Result<bool> {
    let version = version(change, &entry.program, &entry.grammar)?;
    let mut add = change.prepare_cached(
        "INSERT INTO attempt (uid, at, profile, scenario, seed, exchange, standard, form, operator, channel, skill,
         phase, topic, verdict, score, accepted, first, first_key_ms, sent_ms, owed, station, callsign, call, judged_at,
         version, asked, reply, findings, basis, hints)
         VALUES (coalesce(?1, randomblob(16)), ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17,
         ?18, ?19, ?20, ?21, ?22, ?23, ?24, ?25, ?26, ?27, ?28, ?29, ?30) ON CONFLICT (uid) DO NOTHING",
    )?;
    let added = add.execute(params![
        uid(&entry.id),
        moment::text(entry.at),
        entry.profile,
        entry.scenario,
        entry.seed.to_string(),
        entry.exchange,
        entry.standard.name(),
        entry::form::name(entry.form),
        entry.operator,
        entry::channel::name(entry.channel),
        entry::skill::name(entry.skill),
        entry.phase.map(|phase| phase.name()),
        entry.topic,
        entry.verdict.name(),
        entry.score,
        entry.accepted,
        entry.first,
        entry.first_key_ms,
        entry.sent_ms,
        i64::try_from(entry.elements.len()).unwrap_or(i64::MAX),
        entry.station,
        entry.callsign,
        entry.call,
        moment::text(entry.judged_at),
        version,
        entry.asked,
        entry.reply,
        json(&entry.findings),
        json(&entry.basis),
        entry.hints,
    ])?;
    if added == 0 {
        return Ok(false);
    }
    let attempt = change.last_insert_rowid();
    insert_parts(change, attempt, entry.standard, &entry.elements)?;
    for (earlier, number) in entry.earlier.iter().zip(0i64..) {
        insert_earlier(change, attempt, number, earlier)?;
    }
    Ok(true)
}

/// Writes the elements of an attempt.
pub(super) fn insert_parts(
    change: &Transaction<'_>,
    attempt: i64,
    standard: Standard,
    parts: &[Part],
) -> rusqlite::Result<()> {
    let mut add = change.prepare_cached(
        "INSERT INTO owed (attempt, number, item, value, right, severity) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    for (part, number) in parts.iter().zip(0i64..) {
        let (topic, phrase) =
            (part.topic.as_deref().unwrap_or_default(), part.phrase.as_deref().unwrap_or_default());
        let item = known_or_new(
            change,
            "SELECT id FROM item WHERE standard = ?1 AND topic = ?2 AND element = ?3 AND phrase = ?4",
            "INSERT INTO item (standard, topic, element, phrase) VALUES (?1, ?2, ?3, ?4)",
            &[standard.name(), topic, part.element.name(), phrase],
        )?;
        let severity = part.severity.map(Severity::name);
        add.execute(params![attempt, number, item, part.value, part.right, severity])?;
    }
    Ok(())
}

/// Writes a judgement that another one takes the place of.
pub(super) fn insert_earlier(
    change: &Transaction<'_>,
    attempt: i64,
    number: i64,
    earlier: &Earlier,
) -> rusqlite::Result<()> {
    let version = version(change, &earlier.program, &earlier.grammar)?;
    let mut add = change.prepare_cached(
        "INSERT INTO earlier (attempt, number, judged_at, verdict, score, version, findings, elements)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    add.execute(params![
        attempt,
        number,
        moment::text(earlier.judged_at),
        earlier.verdict.name(),
        earlier.score,
        version,
        json(&earlier.findings),
        json(&earlier.elements),
    ])?;
    Ok(())
}

/// The row of a program with its grammar.
pub(super) fn version(change: &Transaction<'_>, program: &str, grammar: &str) -> rusqlite::Result<i64> {
    known_or_new(
        change,
        "SELECT id FROM version WHERE program = ?1 AND grammar = ?2",
        "INSERT INTO version (program, grammar) VALUES (?1, ?2)",
        &[program, grammar],
    )
}

fn known_or_new(change: &Transaction<'_>, find: &str, add: &str, values: &[&str]) -> rusqlite::Result<i64> {
    let values = || rusqlite::params_from_iter(values);
    let known = change.prepare_cached(find)?.query_row(values(), |row| row.get(0)).optional()?;
    match known {
        Some(id) => Ok(id),
        None => {
            change.prepare_cached(add)?.execute(values())?;
            Ok(change.last_insert_rowid())
        }
    }
}

/// The bytes of an id; none if it has no form of one, and then it gets a new one.
fn uid(id: &str) -> Option<Vec<u8>> {
    let digit = |at: usize| u8::from_str_radix(id.get(at..at + 2)?, 16).ok();
    (id.len() == 32).then(|| (0..32).step_by(2).map(digit).collect())?
}

pub(super) fn json<T: Serialize>(value: &T) -> String {
    serde_json::to_string(value).expect("lists of texts and numbers can be written")
}

/// Reads attempts by their row.
pub(super) struct Reader<'db> {
    attempt: Statement<'db>,
    parts: Statement<'db>,
    earlier: Statement<'db>,
}

impl<'db> Reader<'db> {
    pub(super) fn new(db: &'db Connection) -> rusqlite::Result<Self> {
        Ok(Self {
            attempt: db.prepare(
                "SELECT lower(hex(uid)), at, profile, scenario, seed, exchange, standard, form, operator, channel,
                 skill, phase, topic, verdict, score, accepted, first, first_key_ms, sent_ms, station, callsign, call,
                 judged_at, program, grammar, asked, reply, findings, basis, hints
                 FROM attempt JOIN version ON version.id = attempt.version WHERE attempt.id = ?1",
            )?,
            parts: db.prepare(
                "SELECT element, value, phrase, topic, right, severity FROM owed JOIN item ON item.id = owed.item
                 WHERE attempt = ?1 ORDER BY number",
            )?,
            earlier: db.prepare(
                "SELECT judged_at, verdict, score, findings, elements, program, grammar
                 FROM earlier JOIN version ON version.id = earlier.version WHERE attempt = ?1 ORDER BY number",
            )?,
        })
    }

    pub(super) fn entry(&mut self, id: i64) -> rusqlite::Result<Entry> {
        let elements: Vec<Part> = self.parts.query_map([id], part)?.collect::<rusqlite::Result<_>>()?;
        let earlier = self.earlier.query_map([id], earlier)?.collect::<rusqlite::Result<_>>()?;
        self.attempt.query_row([id], |row| {
            Ok(Entry {
                id: row.get(0)?,
                at: parsed(row, 1, moment::parse)?,
                profile: row.get(2)?,
                scenario: row.get(3)?,
                seed: parsed(row, 4, |text| text.parse().map_err(|_| format!("no seed `{text}`")))?,
                exchange: row.get(5)?,
                standard: parsed(row, 6, |text| named("rule set", text, Standard::parse))?,
                form: parsed(row, 7, entry::form::parse)?,
                operator: row.get(8)?,
                channel: parsed(row, 9, entry::channel::parse)?,
                skill: parsed(row, 10, entry::skill::parse)?,
                phase: optional(row, 11, entry::phase::parse)?,
                topic: row.get(12)?,
                verdict: parsed(row, 13, verdict)?,
                score: row.get(14)?,
                accepted: row.get(15)?,
                first: row.get(16)?,
                first_key_ms: row.get(17)?,
                sent_ms: row.get(18)?,
                station: row.get(19)?,
                callsign: row.get(20)?,
                call: row.get(21)?,
                judged_at: parsed(row, 22, moment::parse)?,
                program: row.get(23)?,
                grammar: row.get(24)?,
                asked: row.get(25)?,
                reply: row.get(26)?,
                findings: parsed(row, 27, from_json::<Vec<Found>>)?,
                basis: parsed(row, 28, from_json)?,
                hints: row.get(29)?,
                elements: elements.clone(),
                earlier: Vec::clone(&earlier),
            })
        })
    }
}

fn part(row: &Row<'_>) -> rusqlite::Result<Part> {
    let name = |at: usize| row.get::<_, String>(at).map(|text| Some(text).filter(|text| !text.is_empty()));
    Ok(Part {
        element: parsed(row, 0, |text| named("element", text, Element::parse))?,
        value: row.get(1)?,
        phrase: name(2)?,
        topic: name(3)?,
        right: row.get(4)?,
        severity: row.get::<_, Option<String>>(5)?.map(|text| severity(5, &text)).transpose()?,
    })
}

fn earlier(row: &Row<'_>) -> rusqlite::Result<Earlier> {
    Ok(Earlier {
        judged_at: parsed(row, 0, moment::parse)?,
        verdict: parsed(row, 1, verdict)?,
        score: row.get(2)?,
        findings: parsed(row, 3, from_json)?,
        elements: parsed(row, 4, from_json)?,
        program: row.get(5)?,
        grammar: row.get(6)?,
    })
}

/// A column of text as what it stands for.
fn parsed<T>(row: &Row<'_>, at: usize, parse: impl Fn(&str) -> Result<T, String>) -> rusqlite::Result<T> {
    let text = row.get_ref(at)?.as_str().map_err(|e| bad(at, e.to_string()))?;
    parse(text).map_err(|problem| bad(at, problem))
}

fn optional<T>(
    row: &Row<'_>,
    at: usize,
    parse: impl Fn(&str) -> Result<T, String>,
) -> rusqlite::Result<Option<T>> {
    let text = row.get_ref(at)?.as_str_or_null().map_err(|e| bad(at, e.to_string()))?;
    text.map(parse).transpose().map_err(|problem| bad(at, problem))
}

fn from_json<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

fn named<T>(what: &str, text: &str, parse: impl Fn(&str) -> Option<T>) -> Result<T, String> {
    parse(text).ok_or_else(|| format!("no {what} `{text}`"))
}

/// The verdict of that name.
pub(crate) fn verdict(text: &str) -> Result<Verdict, String> {
    [Verdict::Correct, Verdict::Nonstandard, Verdict::Incomplete, Verdict::Incorrect]
        .into_iter()
        .find(|verdict| verdict.name() == text)
        .ok_or_else(|| format!("no verdict `{text}`"))
}

pub(super) fn severity(at: usize, text: &str) -> rusqlite::Result<Severity> {
    severity_of(text).ok_or_else(|| bad(at, format!("no severity `{text}`")))
}

/// The severity of that name.
pub(crate) fn severity_of(text: &str) -> Option<Severity> {
    [Severity::Advice, Severity::Minor, Severity::Major, Severity::Critical]
        .into_iter()
        .find(|severity| severity.name() == text)
}
