//! The command line of `record` and `progress`: declarations only.

use crate::record::{moment, transfer};
use clap::{Subcommand, ValueEnum};
use jiff::Timestamp;
use std::path::PathBuf;

pub(super) const PROGRESS: &str = "\
Only first replies count; what is said again after a question of the other voice was not
remembered. Accuracy is the share of owed elements that came back right, with the 95 %
interval after Wilson. Reply time is that to the first key: the median, and the middle half.

Examples:
  hearback progress --since 2026-03-01
  hearback progress --html progress.html
  hearback progress --json --profile anna";

const EXPORT: &str = "\
JSON Lines: {\"format\":1,\"attempt\":{…}}. CSV: one row an attempt, lists as JSON in their cells;
a cell that a spreadsheet would take for a formula begins with an apostrophe. Both come in again
with `hearback record import`, without loss.

Examples:
  hearback record export > record.jsonl
  hearback record export --format csv --profile anna > anna.csv";

const FORGET: &str = "\
Deletes for good, and leaves no trace in the file. Say what: --profile NAME, --all, --before DATE,
or --profile with --before. Exit status 2 if nobody can be asked and --yes is not there.

Examples:
  hearback record forget --profile anna
  hearback record forget --before 2026-01-01 --yes";

pub(super) fn date(text: &str) -> Result<Timestamp, String> {
    moment::parse_date(text)
}

/// How a record is written out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FormatName {
    /// One object a line
    Jsonl,
    /// For a spreadsheet
    Csv,
}

impl From<FormatName> for transfer::Format {
    fn from(name: FormatName) -> Self {
        match name {
            FormatName::Jsonl => Self::JsonLines,
            FormatName::Csv => Self::Csv,
        }
    }
}

/// What to do with the record.
#[derive(Debug, Subcommand)]
pub enum RecordCommand {
    /// Print where the record is
    Path {
        /// As one JSON object, with whether there is one
        #[arg(long)]
        json: bool,
    },
    /// Write every attempt, of all profiles or of the one that --profile names
    #[command(after_help = EXPORT)]
    Export {
        /// How it is written
        #[arg(long, value_name = "FORMAT", default_value = "jsonl")]
        format: FormatName,
    },
    /// Take in what `export` wrote, all of it or nothing; what is there already stays as it is
    Import {
        /// The file, JSON Lines or CSV
        file: PathBuf,
        /// The counts as one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Judge every kept reply again by today's grammar, say what changed, and keep both judgements
    JudgeAgain {
        /// One JSON object instead of a list
        #[arg(long)]
        json: bool,
    },
    /// Delete attempts, all that was typed included
    #[command(after_help = FORGET)]
    Forget {
        /// Of all profiles
        #[arg(long, conflicts_with = "profile")]
        all: bool,
        /// Only what was practised before that day (UTC): 2026-03-14
        #[arg(long, value_name = "DATE", value_parser = date)]
        before: Option<Timestamp>,
        /// Do not ask
        #[arg(long)]
        yes: bool,
        /// The count as one JSON object
        #[arg(long)]
        json: bool,
    },
}

impl RecordCommand {
    /// True if the results go to a program.
    #[must_use]
    pub fn json(&self) -> bool {
        match self {
            Self::Path { json }
            | Self::Import { json, .. }
            | Self::JudgeAgain { json }
            | Self::Forget { json, .. } => *json,
            Self::Export { .. } => false,
        }
    }
}
