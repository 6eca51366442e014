//! The record: every judged attempt in one SQLite file, each written in one transaction.

pub mod again;
pub mod entry;
pub mod keep;
pub mod moment;
pub mod open;
mod rows;
pub mod schema;
pub mod transfer;

use crate::element::Severity;
use crate::session::hint::TOLD;
use entry::{Entry, Part};
use jiff::Timestamp;
pub(crate) use rows::{severity_of as severity, verdict};
use rusqlite::types::Type;
use rusqlite::{Connection, ErrorCode, OptionalExtension, Transaction, TransactionBehavior, params};
use std::io;
use std::path::{Path, PathBuf};

/// The profile of whoever names none.
pub const DEFAULT_PROFILE: &str = "default";

/// What can be wrong with a record; each in one line.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Trouble {
    /// It was written by a later version of the program.
    #[error(
        "the record `{}` was written by a newer hearback (version {version} of the record, this program knows {known}): it is read, never written",
        path.display(), known = schema::VERSION
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its version.
        version: i64,
    },
    /// It cannot be read as a database.
    #[error("the record `{}` is damaged ({cause}); it was left as it is", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        cause: rusqlite::Error,
    },
    /// It is something else: a database of another program, a text.
    #[error("`{}` is no record of hearback, and was left as it is", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The file or its folder cannot be used.
    #[error("the record `{}` cannot be used: {cause}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// SQLite failed.
    #[error("the record `{}` cannot be used: {cause}", path.display())]
    Sql {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        cause: rusqlite::Error,
    },
    /// A line of an exported record that cannot be read.
    #[error("`{}` line {line}: {problem}; nothing was imported", path.display())]
    Line {
        /// The file that is imported.
        path: PathBuf,
        /// From 1.
        line: u64,
        /// What is wrong, and what is allowed.
        problem: String,
    },
}

impl Trouble {
    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        match self {
            Self::Newer { path, .. }
            | Self::Damaged { path, .. }
            | Self::Foreign { path }
            | Self::File { path, .. }
            | Self::Sql { path, .. }
            | Self::Line { path, .. } => path,
        }
    }

    fn of(path: &Path, cause: rusqlite::Error) -> Self {
        let path = path.to_owned();
        match cause.sqlite_error_code() {
            Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => Self::Damaged { path, cause },
            _ => Self::Sql { path, cause },
        }
    }
}

/// The result of working with a record.
pub type Result<T, E = Trouble> = std::result::Result<T, E>;

/// An open record.
#[derive(Debug)]
pub struct Record {
    db: Connection,
    path: PathBuf,
    newer: Option<i64>,
}

/// One element that was owed once: what a schedule of practice is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// `STANDARD/TOPIC/ELEMENT`, for instance `icao/line-up/runway`; the topic is `any` where there is none.
    pub skill: String,
    /// When.
    pub at: Timestamp,
    /// It came back right, and was not read off a hint that shows a right reply.
    pub right: bool,
    /// How much it can hurt, if it did not; advice if it did after a smaller hint.
    pub severity: Option<Severity>,
}

impl Review {
    /// The same after so many hints, as the drill counts them.
    fn hinted(self, hints: u8) -> Self {
        let worst = match (hints, self.right) {
            (TOLD.., _) => Some(Severity::Minor),
            (1.., true) => Some(Severity::Advice),
            _ => None,
        };
        Self { right: self.right && hints < TOLD, severity: self.severity.or(worst), ..self }
    }
}

/// What to forget.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Forget {
    /// One profile only.
    pub profile: Option<String>,
    /// What is older than that only.
    pub before: Option<Timestamp>,
}

impl Record {
    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The version of a record that a newer program wrote: its tables may have changed.
    #[must_use]
    pub fn newer(&self) -> Option<i64> {
        self.newer
    }

    fn fail(&self) -> impl Fn(rusqlite::Error) -> Trouble + use<> {
        let path = self.path.clone();
        move |cause| Trouble::of(&path, cause)
    }

    fn change(&mut self) -> rusqlite::Result<Transaction<'_>> {
        self.db.transaction_with_behavior(TransactionBehavior::Immediate)
    }

    /// Reads in the database itself.
    pub(crate) fn with<T>(&self, read: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T> {
        read(&self.db).map_err(self.fail())
    }

    /// Keeps an attempt with all its elements, in one transaction; false if it is there already.
    ///
    /// # Errors
    /// What SQLite says; nothing is kept then.
    pub fn add(&mut self, entry: &Entry) -> Result<bool> {
        Ok(self.add_all([entry])? == 1)
    }

    /// Keeps attempts, all in one transaction, and tells how many were not there yet.
    ///
    /// # Errors
    /// What SQLite says; nothing is kept then.
    pub fn add_all<'e>(&mut self, entries: impl IntoIterator<Item = &'e Entry>) -> Result<usize> {
        let fail = self.fail();
        let mut added = 0;
        let change = self.change().map_err(&fail)?;
        for entry in entries {
            added += usize::from(rows::insert(&change, entry).map_err(&fail)?);
        }
        change.commit().map_err(fail)?;
        Ok(added)
    }

    /// Calls `each` with every attempt, in the order in which they were kept, of one profile or of all.
    ///
    /// # Errors
    /// What SQLite says; `each` may fail too.
    pub fn each<E: From<Trouble>>(
        &self,
        profile: Option<&str>,
        mut each: impl FnMut(i64, Entry) -> std::result::Result<(), E>,
    ) -> std::result::Result<(), E> {
        let fail = self.fail();
        let mut reader = rows::Reader::new(&self.db).map_err(&fail)?;
        let mut ids = self
            .db
            .prepare("SELECT id FROM attempt WHERE ?1 IS NULL OR profile = ?1 ORDER BY id")
            .map_err(&fail)?;
        let ids = ids.query_map([profile], |row| row.get::<_, i64>(0)).map_err(&fail)?;
        for id in ids {
            let id = id.map_err(&fail)?;
            each(id, reader.entry(id).map_err(&fail)?)?;
        }
        Ok(())
    }

    /// Every attempt, of one profile or of all.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn entries(&self, profile: Option<&str>) -> Result<Vec<Entry>> {
        let mut out = Vec::new();
        self.each(profile, |_, entry| {
            out.push(entry);
            Ok::<_, Trouble>(())
        })?;
        Ok(out)
    }

    /// Every element that a first reply owed, oldest first. Corrections after a question of the others are left out:
    /// what has just been said again was not remembered.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn reviews(&self, profile: &str) -> Result<Vec<Review>> {
        let read = || {
            let mut found = self.db.prepare(
                "SELECT attempt.at, item.standard, item.topic, item.element, owed.right, owed.severity,
                 attempt.hints
                 FROM attempt JOIN owed ON owed.attempt = attempt.id JOIN item ON item.id = owed.item
                 WHERE attempt.profile = ?1 AND attempt.first
                 ORDER BY attempt.at, attempt.id, owed.number",
            )?;
            let rows = found.query_map([profile], |row| {
                let (standard, topic, element): (String, String, String) =
                    (row.get(1)?, row.get(2)?, row.get(3)?);
                let at: String = row.get(0)?;
                let severity: Option<String> = row.get(5)?;
                let review = Review {
                    skill: skill_key(&standard, &topic, &element),
                    at: moment::parse(&at).map_err(|problem| unreadable(0, problem))?,
                    right: row.get(4)?,
                    severity: severity.map(|name| rows::severity(5, &name)).transpose()?,
                };
                Ok(review.hinted(row.get(6)?))
            })?;
            rows.collect::<rusqlite::Result<Vec<_>>>()
        };
        read().map_err(self.fail())
    }

    /// Names of the profiles with the number of their attempts.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn profiles(&self) -> Result<Vec<(String, usize)>> {
        let read = || {
            let mut found =
                self.db.prepare("SELECT profile, count(*) FROM attempt GROUP BY profile ORDER BY profile")?;
            let rows = found.query_map([], |row| Ok((row.get(0)?, row.get::<_, i64>(1)?)))?;
            rows.map(|row| row.map(|(name, n)| (name, usize::try_from(n).unwrap_or(0)))).collect()
        };
        let read: rusqlite::Result<Vec<_>> = read();
        read.map_err(self.fail())
    }

    /// How many attempts `what` names.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn count(&self, what: &Forget) -> Result<usize> {
        let sql = format!("SELECT count(*) FROM attempt WHERE {NAMED}");
        let before = what.before.map(moment::text);
        let count: rusqlite::Result<i64> =
            self.db.query_row(&sql, params![what.profile, before], |row| row.get(0));
        count.map(|n| usize::try_from(n).unwrap_or(0)).map_err(self.fail())
    }

    /// Deletes what `what` names, and every trace of it in the file; tells how many attempts that were.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn forget(&mut self, what: &Forget) -> Result<usize> {
        let fail = self.fail();
        let before = what.before.map(moment::text);
        let delete = |change: Transaction<'_>| {
            let gone = change
                .execute(&format!("DELETE FROM attempt WHERE {NAMED}"), params![what.profile, before])?;
            change.execute("DELETE FROM item WHERE id NOT IN (SELECT item FROM owed)", [])?;
            change.commit()?;
            Ok(gone)
        };
        let gone = self.change().and_then(delete).map_err(&fail)?;
        self.db.execute_batch("VACUUM").map_err(&fail)?;
        // What was deleted still stands in the log until it is cut off.
        self.db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).optional().map_err(fail)?;
        Ok(gone)
    }
}

/// Attempts that are to be forgotten.
const NAMED: &str = "(?1 IS NULL OR profile = ?1) AND (?2 IS NULL OR at < ?2)";

/// A name for a profile, if that is one.
///
/// # Errors
/// What is allowed.
pub fn profile(name: &str) -> Result<String, String> {
    let long = name.chars().count() > 64;
    if name.trim().is_empty() || name.trim() != name || long || name.chars().any(char::is_control) {
        return Err("a profile has a name of 1 to 64 characters, without blanks around it".to_owned());
    }
    Ok(name.to_owned())
}

/// The name of a skill.
#[must_use]
pub fn skill_key(standard: &str, topic: &str, element: &str) -> String {
    format!("{standard}/{}/{element}", if topic.is_empty() { "any" } else { topic })
}

impl Part {
    /// `STANDARD/TOPIC/ELEMENT`.
    #[must_use]
    pub fn skill(&self, standard: crate::element::Standard) -> String {
        skill_key(standard.name(), self.topic.as_deref().unwrap_or_default(), self.element.name())
    }
}

/// A column whose text means nothing.
pub(crate) fn unreadable(column: usize, problem: String) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(column, Type::Text, problem.into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::load::Library;
    use crate::session::console::Script;
    use crate::session::{Look, Session};
    use keep::{Keeper, Place};

    /// Flies some exchanges and gives what was told beside the screen.
    fn fly(record: Record, lines: usize) -> (Option<Record>, String) {
        let rules = crate::rules::RuleSet::builtin(crate::element::Standard::Icao);
        let sets = |_| std::sync::Arc::clone(&rules);
        let book = crate::crew::CrewBook::builtin().unwrap();
        let scenario = Library::new(&sets, std::sync::Arc::clone(&book)).open("skerrow-departure").unwrap();
        let flight = crate::scenario::draw::draw(&scenario, scenario.standard, 4173).unwrap();
        let play = crate::scenario::play::Play::new(
            std::sync::Arc::clone(&rules),
            flight,
            std::sync::Arc::clone(&book),
        );
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let long = "roger ".repeat(400);
        let mut script = Script::of_lines(80, std::iter::repeat_n(long.as_str(), lines));
        let place = Place { file: None, profile: DEFAULT_PROFILE.to_owned() };
        let mut keeper = Keeper::open(&place, rules, book, String::new(), &mut err).with(record);
        Session::new(play, &mut script, &mut out, Look::default()).keeping(&mut keeper).run().unwrap();
        let record = keeper.end();
        (record, String::from_utf8(err).unwrap())
    }

    #[test]
    fn a_full_disk_is_told_once_and_practice_goes_on() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("record.db");
        let (record, told) = fly(Record::open(&file).unwrap().record, 3);
        assert_eq!(told, "");
        let record = record.expect("it is in order");
        let pages: i64 = record.db.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        record.db.pragma_update_and_check(None, "max_page_count", pages + 2, |_| Ok(())).unwrap();
        let (record, told) = fly(record, 20);
        assert!(record.is_none());
        assert_eq!(told.lines().count(), 1, "{told}");
        assert!(
            told.contains("database or disk is full; the rest of this session is not recorded"),
            "{told}"
        );
        let kept = Record::read(&file).unwrap().unwrap().entries(None).unwrap();
        assert!((3..20).contains(&kept.len()), "{}", kept.len());
        assert!(kept.iter().all(|entry| entry.first_key_ms == Some(1000) && entry.sent_ms == Some(4000)));
    }
}
