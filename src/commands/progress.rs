//! `progress`: what the record says, on a page, as JSON, or as HTML.

use super::record::{file, reading};
use crate::error::{Error, Result, exit};
use crate::progress::{Report, html, json, text};
use crate::record::keep::Place;
use jiff::Timestamp;
use std::fs;
use std::io::Write;
use std::path::PathBuf;

/// What was asked for.
#[derive(Debug, Clone)]
pub struct Options {
    /// Write a page there.
    pub html: Option<PathBuf>,
    /// Write over a file that is there.
    pub force: bool,
    /// One JSON object.
    pub json: bool,
    /// Only what is not older.
    pub since: Option<Timestamp>,
    /// Colours and bold letters.
    pub styled: bool,
    /// No other characters in bars.
    pub ascii: bool,
}

/// Shows it and returns the exit status.
///
/// # Errors
/// There is no record, it cannot be read, or the output cannot be written.
pub fn run(options: &Options, place: &Place, out: &mut dyn Write, err: &mut dyn Write) -> Result<u8> {
    let file = file(place)?;
    let report = match reading(file, err)? {
        Some(record) => Report::of(&record, &place.profile, options.since)?,
        None => Report::empty(&place.profile, options.since),
    };
    if let Some(path) = &options.html {
        if path.exists() && !options.force {
            return Err(Error::Taken { path: path.clone() });
        }
        let page = html::page(&report);
        fs::write(path, page).map_err(|cause| Error::Create { path: path.clone(), cause })?;
        writeln!(out, "written: {}", path.display())?;
    } else if options.json {
        writeln!(out, "{}", json::object(&report))?;
    } else {
        let look = text::Look { styled: options.styled, ascii: options.ascii };
        write!(out, "{}", text::page(&report, look))?;
    }
    out.flush()?;
    Ok(exit::DONE)
}
