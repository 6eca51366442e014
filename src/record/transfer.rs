//! The record as JSON Lines and as CSV, out and in again without loss.

use super::entry::Entry;
use super::rows::json;
use super::{Record, Trouble};
use crate::bar::Progress;
use crate::error::{Error, Result};
use crate::session::hint::TOLD;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::fs;
use std::io::Write;
use std::path::Path;

/// The number of the form in which attempts are written.
pub const FORMAT: u32 = 1;

/// How a record is written out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// One object a line.
    JsonLines,
    /// One row an attempt, lists as JSON in their cells.
    Csv,
}

#[derive(Serialize)]
struct LineOut<'a> {
    format: u32,
    attempt: &'a Entry,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LineIn {
    format: u32,
    attempt: Entry,
}

/// What a cell holds.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Cell {
    Text,
    /// Text; empty is none.
    Maybe,
    /// A number, `true`, `false`, or a list; empty is none.
    Json,
}

/// The columns after `format`, which are the fields of an attempt.
const COLUMNS: [(&str, Cell); 33] = [
    ("id", Cell::Text),
    ("at", Cell::Text),
    ("profile", Cell::Text),
    ("scenario", Cell::Text),
    ("seed", Cell::Json),
    ("exchange", Cell::Json),
    ("standard", Cell::Text),
    ("form", Cell::Text),
    ("operator", Cell::Text),
    ("channel", Cell::Text),
    ("skill", Cell::Text),
    ("phase", Cell::Maybe),
    ("topic", Cell::Maybe),
    ("station", Cell::Text),
    ("callsign", Cell::Text),
    ("asked", Cell::Text),
    ("call", Cell::Json),
    ("reply", Cell::Text),
    ("verdict", Cell::Text),
    ("score", Cell::Json),
    ("findings", Cell::Json),
    ("accepted", Cell::Json),
    ("first", Cell::Json),
    ("first_key_ms", Cell::Json),
    ("sent_ms", Cell::Json),
    ("hints", Cell::Json),
    ("elements", Cell::Json),
    ("basis", Cell::Json),
    ("judged_at", Cell::Text),
    ("program", Cell::Text),
    ("grammar", Cell::Text),
    ("earlier", Cell::Json),
    // The last column: a row that was cut off has one too few.
    ("end", Cell::Text),
];

/// Columns that files of earlier versions do not have.
const LATER: [&str; 1] = ["hints"];

/// What stands in the last column.
const END: &str = "end";

/// Writes every attempt, of one profile or of all; each is a step of `progress`.
///
/// # Errors
/// The record cannot be read, or the output cannot be written.
pub fn export(
    record: &Record,
    profile: Option<&str>,
    format: Format,
    progress: &dyn Progress,
    out: &mut dyn Write,
) -> Result<()> {
    match format {
        Format::JsonLines => record.each(profile, |_, entry| {
            progress.advance(1);
            let line = json(&LineOut { format: FORMAT, attempt: &entry });
            writeln!(out, "{line}")?;
            Ok::<_, Error>(())
        }),
        Format::Csv => {
            let mut rows = csv::Writer::from_writer(out);
            let head = std::iter::once("format").chain(COLUMNS.iter().map(|(name, _)| *name));
            rows.write_record(head).map_err(unwritten)?;
            record.each(profile, |_, entry| {
                progress.advance(1);
                rows.write_record(cells(&entry)).map_err(unwritten)
            })?;
            rows.flush()?;
            Ok(())
        }
    }
}

fn unwritten(error: csv::Error) -> Error {
    match error.into_kind() {
        csv::ErrorKind::Io(cause) => Error::Write(cause),
        other => Error::Internal(format!("{other:?}")),
    }
}

fn cells(entry: &Entry) -> Vec<String> {
    let Ok(Value::Object(fields)) = serde_json::to_value(entry) else { return Vec::new() };
    let cell = |name: &str| match name {
        "findings" => json(&entry.findings),
        "elements" => json(&entry.elements),
        "earlier" => json(&entry.earlier),
        "basis" => json(&entry.basis),
        END => END.to_owned(),
        name => match fields.get(name) {
            None | Some(Value::Null) => String::new(),
            Some(Value::String(text)) => guarded(text),
            Some(other) => other.to_string(),
        },
    };
    std::iter::once(FORMAT.to_string()).chain(COLUMNS.iter().map(|(name, _)| cell(name))).collect()
}

/// A spreadsheet takes what begins like a formula for one; an apostrophe before it makes it text again.
fn guarded(text: &str) -> String {
    let mark = if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\'']) { "'" } else { "" };
    format!("{mark}{text}")
}

/// Reads attempts from a file that `export` wrote; JSON Lines begin with `{`. Its bytes are the steps
/// of `progress`.
///
/// # Errors
/// The file cannot be read, or [`Trouble::Line`] for the first line that is not in order.
pub fn read(path: &Path, progress: &dyn Progress) -> Result<Vec<Entry>> {
    let bytes = fs::read(path).map_err(|cause| Error::Read { path: path.to_owned(), cause })?;
    let bad = |line: u64, problem: String| Trouble::Line { path: path.to_owned(), line, problem };
    let text = std::str::from_utf8(&bytes).map_err(|error| {
        let line = bytes[..error.valid_up_to()].iter().filter(|b| **b == b'\n').count();
        bad(line as u64 + 1, "this is no UTF-8 text".to_owned())
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        // A record without attempts, as JSON Lines.
        Ok(Vec::new())
    } else if text.trim_start().starts_with('{') {
        let lines = text.split('\n').zip(1..).filter(|(line, _)| !line.trim().is_empty());
        let read = lines.map(|(line, number)| {
            progress.advance(line.len() as u64 + 1);
            json_line(line).map_err(|problem| bad(number, problem))
        });
        Ok(read.collect::<Result<_, Trouble>>()?)
    } else {
        Ok(csv_rows(text, progress).map_err(|(line, problem)| bad(line, problem))?)
    }
}

fn json_line(line: &str) -> Result<Entry, String> {
    let line: LineIn = serde_json::from_str(line).map_err(|error| error.to_string())?;
    known(line.format)?;
    sound(line.attempt)
}

fn known(format: u32) -> Result<(), String> {
    match format {
        FORMAT => Ok(()),
        newer if newer > FORMAT => {
            Err(format!("format {newer} is newer than this program, which knows {FORMAT}"))
        }
        other => Err(format!("there is no format {other}; {FORMAT} is known")),
    }
}

/// What no attempt can be without.
fn sound(entry: Entry) -> Result<Entry, String> {
    let digits = entry.id.len() == 32 && entry.id.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    if !digits && !entry.id.is_empty() {
        return Err("`id` wants 32 hexadecimal digits, or nothing".to_owned());
    }
    if entry.hints > TOLD {
        return Err(format!("`hints` wants a number from 0 to {TOLD}"));
    }
    super::profile(&entry.profile)?;
    Ok(entry)
}

fn csv_rows(text: &str, progress: &dyn Progress) -> Result<Vec<Entry>, (u64, String)> {
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    let head = rows.headers().map_err(|error| (1, error.to_string()))?.clone();
    let wanted = std::iter::once("format").chain(COLUMNS.iter().map(|(name, _)| *name));
    for name in wanted.filter(|name| !LATER.contains(name)) {
        if !head.iter().any(|known| known == name) {
            return Err((
                1,
                format!("there is no column `{name}`: this is no record that hearback exported"),
            ));
        }
    }
    if let Some(other) = head.iter().find(|name| *name != "format" && COLUMNS.iter().all(|c| c.0 != *name)) {
        return Err((1, format!("unknown column `{}`", other.escape_debug())));
    }
    let mut out = Vec::new();
    let mut done = 0;
    for row in rows.records() {
        let row = row.map_err(|error| {
            let line = error.position().map_or(0, csv::Position::line);
            (line, "the row does not have as many cells as there are columns".to_owned())
        })?;
        let line = row.position().map_or(0, csv::Position::line);
        let at = row.position().map_or(done, csv::Position::byte);
        progress.advance(at - std::mem::replace(&mut done, at));
        out.push(csv_row(&head, &row).map_err(|problem| (line, problem))?);
    }
    Ok(out)
}

fn csv_row(head: &csv::StringRecord, row: &csv::StringRecord) -> Result<Entry, String> {
    let mut fields = Map::new();
    for (name, cell) in head.iter().zip(row) {
        let text = cell.strip_prefix('\'').unwrap_or(cell);
        let kind = COLUMNS.iter().find(|(known, _)| *known == name).map(|(_, kind)| *kind);
        match kind {
            None => known(cell.parse().map_err(|_| format!("`format` wants {FORMAT}"))?)?,
            Some(_) if name == END => {
                if text != END {
                    return Err("the row does not end as it should".to_owned());
                }
            }
            Some(Cell::Text) => drop(fields.insert(name.to_owned(), text.into())),
            Some(_) if cell.is_empty() => drop(fields.insert(name.to_owned(), Value::Null)),
            Some(Cell::Maybe) => drop(fields.insert(name.to_owned(), text.into())),
            Some(Cell::Json) => {
                let value = serde_json::from_str(cell).map_err(|error| format!("`{name}`: {error}"))?;
                fields.insert(name.to_owned(), value);
            }
        }
    }
    sound(serde_json::from_value(Value::Object(fields)).map_err(|error| error.to_string())?)
}
