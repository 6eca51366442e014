//! Opening a record: where it is, what is read only, what is damaged and set aside.

use super::schema::{self, APPLICATION, VERSION};
use super::{Record, Result, Trouble};
use rusqlite::types::Value;
use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior};
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long one program waits for another that writes.
const PATIENCE: Duration = Duration::from_secs(5);

/// `$XDG_DATA_HOME/hearback/record.db`, or the platform's place for such files.
#[must_use]
pub fn user_file() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let folders = etcetera::choose_base_strategy().ok()?;
    Some(folders.data_dir().join("hearback").join("record.db"))
}

/// A record that can be written, and what was set aside to begin it.
#[derive(Debug)]
pub struct Opened {
    /// The record.
    pub record: Record,
    /// Where a damaged file lies now.
    pub aside: Option<PathBuf>,
}

impl Record {
    /// Opens a record to write in it; begins one if there is none. A damaged file is set aside, as it is.
    ///
    /// # Errors
    /// [`Trouble::Newer`], [`Trouble::Foreign`], or what the system says.
    pub fn open(path: &Path) -> Result<Opened> {
        if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(|cause| Trouble::File { path: path.to_owned(), cause })?;
        }
        match retried(|| Self::writable(path)) {
            // A file that is neither called nor begins like a database is somebody's text: it stays where it is.
            Err(Trouble::Damaged { .. }) if is_something_else(path) => {
                Err(Trouble::Foreign { path: path.to_owned() })
            }
            Err(Trouble::Damaged { .. }) => {
                let aside = set_aside(path)?;
                let record = retried(|| Self::writable(path))?;
                Ok(Opened { record, aside })
            }
            opened => Ok(Opened { record: opened?, aside: None }),
        }
    }

    fn writable(path: &Path) -> Result<Self> {
        let fail = |cause| Trouble::of(path, cause);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut db = Connection::open_with_flags(path, flags).map_err(fail)?;
        db.busy_timeout(PATIENCE).map_err(fail)?;
        check(&db, path)?;
        if schema::version(&db).map_err(fail)? > VERSION {
            return Err(Trouble::Newer {
                path: path.to_owned(),
                version: schema::version(&db).map_err(fail)?,
            });
        }
        let mode: String =
            db.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0)).map_err(fail)?;
        debug_assert!(mode == "wal" || mode == "memory", "{mode}");
        db.pragma_update(None, "synchronous", "FULL").map_err(fail)?;
        db.pragma_update(None, "foreign_keys", true).map_err(fail)?;
        db.pragma_update(None, "secure_delete", true).map_err(fail)?;
        if schema::version(&db).map_err(fail)? < VERSION {
            let change = db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(fail)?;
            schema::migrate(&change).map_err(fail)?;
            change.commit().map_err(fail)?;
        }
        Ok(Self { db, path: path.to_owned(), newer: None })
    }

    /// Opens a record to read it and changes nothing; none if there is no such file, or nothing in it.
    ///
    /// # Errors
    /// [`Trouble::Damaged`], [`Trouble::Foreign`], or what the system says.
    pub fn read(path: &Path) -> Result<Option<Self>> {
        match path.metadata() {
            Ok(file) if file.is_file() && file.len() == 0 => return Ok(None),
            Ok(_) => {}
            Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(cause) => return Err(Trouble::File { path: path.to_owned(), cause }),
        }
        let record = match retried(|| Self::readable(path, false)) {
            // Beside a file in write-ahead mode SQLite wants to write, which a folder may forbid.
            Err(Trouble::Sql { .. }) => Self::readable(path, true)?,
            record => record?,
        };
        let version = schema::version(&record.db).map_err(|cause| Trouble::of(path, cause))?;
        Ok(match version {
            0 => None,
            version if version > VERSION => Some(Self { newer: Some(version), ..record }),
            version if version < VERSION => {
                let raised = Self::open(path).map(|opened| opened.record);
                // Where it cannot be raised to today's version it is read from a copy in memory.
                Some(raised.or_else(|_| record.copied())?)
            }
            _ => Some(record),
        })
    }

    /// The record of an earlier version as today's, in memory.
    fn copied(self) -> Result<Self> {
        let fail = |cause| Trouble::of(&self.path, cause);
        let mut copy = Connection::open_in_memory().map_err(fail)?;
        copy_into(&self.db, &mut copy).map_err(fail)?;
        Ok(Self { db: copy, path: self.path, newer: None })
    }

    fn readable(path: &Path, immutable: bool) -> Result<Self> {
        let fail = |cause| Trouble::of(path, cause);
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let db = if immutable {
            let mut uri = "file:".to_owned();
            for byte in path.to_string_lossy().bytes() {
                match byte {
                    b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' => {
                        uri.push(char::from(byte));
                    }
                    byte => uri.push_str(&format!("%{byte:02X}")),
                }
            }
            uri.push_str("?immutable=1");
            Connection::open_with_flags(uri, flags | OpenFlags::SQLITE_OPEN_URI)
        } else {
            Connection::open_with_flags(path, flags)
        }
        .map_err(fail)?;
        db.busy_timeout(PATIENCE).map_err(fail)?;
        check(&db, path)?;
        db.pragma_update(None, "mmap_size", 1i64 << 30).map_err(fail)?;
        Ok(Self { db, path: path.to_owned(), newer: None })
    }
}

/// True for a file that neither its name nor its first bytes call a database.
fn is_something_else(path: &Path) -> bool {
    let named =
        path.extension().is_some_and(|end| ["db", "sqlite", "sqlite3"].iter().any(|known| end == *known));
    let mut first = [0u8; 16];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut first));
    !named && (read.is_err() || &first != b"SQLite format 3\0")
}

/// Tables, rows and version of a database into an empty one, which is then raised to today's version.
fn copy_into(from: &Connection, to: &mut Connection) -> rusqlite::Result<()> {
    let change = to.transaction()?;
    let mut parts =
        from.prepare("SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid")?;
    let mut parts = parts.query([])?;
    while let Some(part) = parts.next()? {
        let (kind, name): (String, String) = (part.get(0)?, part.get(1)?);
        change.execute_batch(&part.get::<_, String>(2)?)?;
        if kind != "table" {
            continue;
        }
        let name = name.replace('"', "\"\"");
        let mut rows = from.prepare(&format!("SELECT * FROM \"{name}\""))?;
        let columns = rows.column_count();
        let places = vec!["?"; columns].join(", ");
        let mut add = change.prepare(&format!("INSERT INTO \"{name}\" VALUES ({places})"))?;
        let mut rows = rows.query([])?;
        while let Some(row) = rows.next()? {
            let cells =
                (0..columns).map(|at| row.get::<_, Value>(at)).collect::<rusqlite::Result<Vec<_>>>()?;
            add.execute(rusqlite::params_from_iter(cells))?;
        }
    }
    change.pragma_update(None, "user_version", schema::version(from)?)?;
    schema::migrate(&change)?;
    change.commit()
}

/// Looks whether a file is a record at all.
fn check(db: &Connection, path: &Path) -> Result<()> {
    let fail = |cause| Trouble::of(path, cause);
    let tables: i64 =
        db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(fail)?;
    if tables > 0 && schema::application(db).map_err(fail)? != APPLICATION {
        return Err(Trouble::Foreign { path: path.to_owned() });
    }
    Ok(())
}

/// Tries again while another program has the file: switching a new file to write-ahead mode does not wait by itself.
fn retried<T>(attempt: impl Fn() -> Result<T>) -> Result<T> {
    let begin = Instant::now();
    loop {
        match attempt() {
            Err(Trouble::Sql { cause, .. }) if busy(&cause) && begin.elapsed() < PATIENCE => {
                std::thread::sleep(Duration::from_millis(5));
            }
            done => return done,
        }
    }
}

fn busy(cause: &rusqlite::Error) -> bool {
    matches!(cause.sqlite_error_code(), Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked))
}

/// Gives a damaged file another name, with what belongs to it, and says which; none if it is there no more.
fn set_aside(path: &Path) -> Result<Option<PathBuf>> {
    let fail = |cause| Trouble::File { path: path.to_owned(), cause };
    // Another program may have set it aside meanwhile and begun a new one.
    if is_sound(path) {
        return Ok(None);
    }
    let beside = |to: &str| {
        let mut name = path.as_os_str().to_owned();
        name.push(to);
        PathBuf::from(name)
    };
    let free = |n: &u32| !beside(&format!(".damaged-{n}")).exists();
    let number = (1..).find(free).unwrap_or(u32::MAX);
    let aside = beside(&format!(".damaged-{number}"));
    fs::rename(path, &aside).map_err(fail)?;
    for part in ["-wal", "-shm"] {
        if beside(part).exists() {
            fs::rename(beside(part), beside(&format!(".damaged-{number}{part}"))).map_err(fail)?;
        }
    }
    Ok(Some(aside))
}

/// True if the file has the head of a database whose tables can be read.
fn is_sound(path: &Path) -> bool {
    let mut head = [0; 16];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut head));
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let tables = |db: Connection| db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0));
    read.is_ok()
        && &head == b"SQLite format 3\0"
        && Connection::open_with_flags(path, flags).and_then(tables).is_ok_and(|n: i64| n >= 0)
}
