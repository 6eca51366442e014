//! What programs read with `--json`: one object on standard output, and what went wrong as one object on standard error.

use crate::diagnostic::{Diagnostic, ordered};
use crate::error::{Error, Result};
use crate::record::Trouble;
use serde::Serialize;
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;

/// The number of the form of these objects; what is added to them does not change it.
pub const FORMAT: u32 = 1;

/// An object with the number of its form before all else.
#[derive(Serialize)]
struct Numbered<'a, T> {
    format: u32,
    #[serde(flatten)]
    object: &'a T,
}

/// Writes an object on one line, its form's number first.
///
/// # Errors
/// The output can't be written.
pub fn write<T: Serialize>(object: &T, out: &mut dyn Write) -> Result<()> {
    let text = serde_json::to_string(&Numbered { format: FORMAT, object })
        .map_err(|error| Error::Internal(error.to_string()))?;
    writeln!(out, "{text}")?;
    out.flush()?;
    Ok(())
}

/// A failure: what is wrong, and where, as far as that is known. Problems of data files are all there; the place is that
/// of the first.
#[must_use]
pub fn failure(error: &Error) -> Value {
    let (mut file, mut line, mut column) = (error.file().map(shown), None, None);
    let mut all = Value::Null;
    match error {
        Error::Data(found) => {
            let found = ordered(found);
            if let Some(first) = found.first() {
                let (at_line, at_column) = first.at();
                (file, line, column) =
                    (Some(first.path.clone()), Some(at_line as u64), Some(at_column as u64));
            }
            all = found.into_iter().map(problem).collect();
        }
        Error::Record(Trouble::Line { line: at, .. }) => line = Some(*at),
        _ => {}
    }
    let mut object =
        json!({ "format": FORMAT, "error": error.to_string(), "file": file, "line": line, "column": column });
    if !all.is_null() {
        object["problems"] = all;
    }
    object
}

/// A command line that cannot be taken.
#[must_use]
pub fn usage(message: &str) -> Value {
    let first = message.split("\n\nUsage:").next().unwrap_or(message);
    let words: Vec<&str> = first.trim_start_matches("error: ").split_whitespace().collect();
    json!({ "format": FORMAT, "error": words.join(" "), "file": null, "line": null, "column": null })
}

/// A problem of a data file.
#[must_use]
pub fn problem(found: &Diagnostic) -> Value {
    let (line, column) = found.at();
    json!({
        "code": found.code, "file": found.path, "line": line, "column": column, "title": found.title,
        "label": Some(&found.label).filter(|label| !label.is_empty()), "help": found.help,
    })
}

fn shown(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}
