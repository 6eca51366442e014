//! Tables of the record, and how a record of one version becomes one of the next.

use rusqlite::{Connection, Transaction};

/// Marks the file as a record of this program: `hear` in ASCII.
pub(super) const APPLICATION: i32 = 0x6865_6172;

/// What makes each version of the one before; the first makes it of nothing.
const STEPS: [&str; 2] = [VERSION_1, VERSION_2];

/// The version that this program writes.
pub const VERSION: i64 = STEPS.len() as i64;

const VERSION_1: &str = "
-- What judged: the program, and the fingerprint of its grammar.
CREATE TABLE version (
  id INTEGER PRIMARY KEY,
  program TEXT NOT NULL,
  grammar TEXT NOT NULL,
  UNIQUE (program, grammar)
) STRICT;

-- One judged attempt. Moments are UTC, RFC 3339 with milliseconds. Lists are JSON.
CREATE TABLE attempt (
  id INTEGER PRIMARY KEY,
  uid BLOB NOT NULL UNIQUE CHECK (length(uid) = 16),
  at TEXT NOT NULL,
  profile TEXT NOT NULL,
  scenario TEXT NOT NULL,
  seed TEXT NOT NULL,
  exchange INTEGER NOT NULL,
  standard TEXT NOT NULL,
  form TEXT NOT NULL,
  operator TEXT NOT NULL,
  channel TEXT NOT NULL,
  skill TEXT NOT NULL,
  phase TEXT,
  topic TEXT,
  verdict TEXT NOT NULL,
  score INTEGER NOT NULL,
  accepted INTEGER NOT NULL,
  first INTEGER NOT NULL,
  first_key_ms INTEGER,
  sent_ms INTEGER,
  -- How many elements were owed: so many rows of `owed` belong to it.
  owed INTEGER NOT NULL,
  station TEXT NOT NULL,
  callsign TEXT NOT NULL,
  call INTEGER NOT NULL,
  judged_at TEXT NOT NULL,
  version INTEGER NOT NULL REFERENCES version,
  asked TEXT NOT NULL,
  reply TEXT NOT NULL,
  findings TEXT NOT NULL,
  basis TEXT NOT NULL
) STRICT;

-- What can be owed: an element of a phrase of a topic, in a rule set. Empty is none.
CREATE TABLE item (
  id INTEGER PRIMARY KEY,
  standard TEXT NOT NULL,
  topic TEXT NOT NULL,
  element TEXT NOT NULL,
  phrase TEXT NOT NULL,
  UNIQUE (standard, topic, element, phrase)
) STRICT;

-- One element that was owed in an attempt, and whether it came back right.
CREATE TABLE owed (
  attempt INTEGER NOT NULL REFERENCES attempt ON DELETE CASCADE,
  number INTEGER NOT NULL,
  item INTEGER NOT NULL REFERENCES item,
  value TEXT NOT NULL,
  right INTEGER NOT NULL,
  severity TEXT,
  PRIMARY KEY (attempt, number)
) STRICT, WITHOUT ROWID;

-- Judgements that others took the place of.
CREATE TABLE earlier (
  attempt INTEGER NOT NULL REFERENCES attempt ON DELETE CASCADE,
  number INTEGER NOT NULL,
  judged_at TEXT NOT NULL,
  verdict TEXT NOT NULL,
  score INTEGER NOT NULL,
  version INTEGER NOT NULL REFERENCES version,
  findings TEXT NOT NULL,
  elements TEXT NOT NULL,
  PRIMARY KEY (attempt, number)
) STRICT, WITHOUT ROWID;

-- The same for people: one row for each owed element, with its skill.
CREATE VIEW element AS
SELECT owed.attempt, owed.number, item.element, owed.value, item.phrase, item.topic, item.standard,
  item.standard || '/' || iif(item.topic = '', 'any', item.topic) || '/' || item.element AS skill,
  owed.right, owed.severity
FROM owed JOIN item ON item.id = owed.item;
";

const VERSION_2: &str = "
-- Hints that were asked for before the reply; the third is a right reply.
ALTER TABLE attempt ADD COLUMN hints INTEGER NOT NULL DEFAULT 0 CHECK (hints BETWEEN 0 AND 3);
";

/// The version of a file; 0 is one without tables.
pub(super) fn version(db: &Connection) -> rusqlite::Result<i64> {
    db.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// The program that a file belongs to.
pub(super) fn application(db: &Connection) -> rusqlite::Result<i32> {
    db.pragma_query_value(None, "application_id", |row| row.get(0))
}

/// Brings a record to today's version, within a transaction.
pub(super) fn migrate(change: &Transaction<'_>) -> rusqlite::Result<()> {
    let from = version(change)?;
    for (step, number) in STEPS.iter().zip(1i64..).filter(|(_, number)| *number > from) {
        change.execute_batch(step)?;
        change.pragma_update(None, "application_id", APPLICATION)?;
        change.pragma_update(None, "user_version", number)?;
    }
    Ok(())
}
