//! Keeps the attempts of a session as they are judged; if that fails, says so once and lets the session go on.

use super::entry::{Entry, Origin};
use super::{Record, Result, moment};
use crate::rules::RuleSet;
use crate::scenario::draw::Flight;
use crate::scenario::event::Attempt;
use crate::session::console::Timing;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Takes attempts as they are judged.
pub trait Keep {
    /// Takes one, before which so many hints were asked for.
    fn keep(&mut self, flight: &Flight, attempt: &Attempt, timing: Timing, hints: u8);
}

/// Where attempts are kept, and whose they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The file; none if nothing is to be kept.
    pub file: Option<PathBuf>,
    /// The profile.
    pub profile: String,
}

/// Writes attempts to a record.
pub struct Keeper<'a> {
    record: Option<Record>,
    profile: String,
    rules: Arc<RuleSet>,
    grammar: String,
    err: &'a mut dyn Write,
}

impl<'a> Keeper<'a> {
    /// A keeper that writes to that place. Where it cannot, `err` gets one line, and nothing is kept.
    pub fn open(place: &Place, rules: Arc<RuleSet>, grammar: String, err: &'a mut dyn Write) -> Self {
        let record = place.file.as_deref().and_then(|file| match opened(file, err) {
            Ok(record) => Some(record),
            Err(trouble) => {
                let _ = writeln!(err, "hearback: {trouble}; this session is not recorded");
                None
            }
        });
        Self { record, profile: place.profile.clone(), rules, grammar, err }
    }

    /// The same with that record.
    #[must_use]
    pub fn with(self, record: Record) -> Self {
        Self { record: Some(record), ..self }
    }

    /// The record, unless it failed.
    #[must_use]
    pub fn end(self) -> Option<Record> {
        self.record
    }
}

/// Opens a record and says what was set aside for it.
///
/// # Errors
/// Those of [`Record::open`].
pub fn opened(file: &Path, err: &mut dyn Write) -> Result<Record> {
    let opened = Record::open(file)?;
    if let Some(aside) = opened.aside {
        let _ = writeln!(
            err,
            "hearback: the record `{}` is damaged and lies now in `{}`; a new one was begun",
            file.display(),
            aside.display()
        );
    }
    Ok(opened.record)
}

impl Keep for Keeper<'_> {
    fn keep(&mut self, flight: &Flight, attempt: &Attempt, timing: Timing, hints: u8) {
        let Some(record) = &mut self.record else { return };
        let origin =
            Origin { profile: &self.profile, rules: &self.rules, grammar: &self.grammar, now: moment::now() };
        if let Err(trouble) = record.add(&Entry::of(origin, flight, attempt, timing, hints)) {
            let _ = writeln!(self.err, "hearback: {trouble}; the rest of this session is not recorded");
            self.record = None;
        }
    }
}
