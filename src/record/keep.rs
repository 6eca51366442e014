//! Keeps the attempts of a session as they are judged; if that fails, says so once and lets the session go on.

use super::entry::{Entry, Origin};
use super::{Record, Result, moment};
use crate::crew::CrewBook;
use crate::rules::RuleSet;
use crate::scenario::draw::Flight;
use crate::scenario::event::Attempt;
use crate::session::console::Timing;
use crate::session::hint::TOLD;
use std::collections::BTreeMap;
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
    book: Arc<CrewBook>,
    grammar: String,
    touched: BTreeMap<String, bool>,
    err: &'a mut dyn Write,
}

impl<'a> Keeper<'a> {
    /// A keeper that writes to that place. Where it cannot, `err` gets one line, and nothing is kept.
    pub fn open(
        place: &Place,
        rules: Arc<RuleSet>,
        book: Arc<CrewBook>,
        grammar: String,
        err: &'a mut dyn Write,
    ) -> Self {
        let record = place.file.as_deref().and_then(|file| match opened(file, err) {
            Ok(record) => Some(record),
            Err(trouble) => {
                let _ = writeln!(err, "hearback: {trouble}; this session is not recorded");
                None
            }
        });
        Self { record, profile: place.profile.clone(), rules, book, grammar, touched: BTreeMap::new(), err }
    }

    /// The same with that record.
    #[must_use]
    pub fn with(self, record: Record) -> Self {
        Self { record: Some(record), ..self }
    }

    /// The skills that first replies owed so far, and whether each came back right whenever it was owed.
    #[must_use]
    pub fn touched(&self) -> &BTreeMap<String, bool> {
        &self.touched
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
        let origin = Origin {
            profile: &self.profile,
            rules: &self.rules,
            book: &self.book,
            grammar: &self.grammar,
            now: moment::now(),
        };
        let entry = Entry::of(origin, flight, attempt, timing, hints);
        for part in entry.elements.iter().filter(|_| entry.first) {
            *self.touched.entry(part.skill(entry.standard)).or_insert(true) &= part.right && hints < TOLD;
        }
        if let Err(trouble) = record.add(&entry) {
            let _ = writeln!(self.err, "hearback: {trouble}; the rest of this session is not recorded");
            self.record = None;
        }
    }
}
