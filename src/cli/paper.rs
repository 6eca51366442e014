//! The command line of `paper`: declarations only.

use crate::paper::mark;
use clap::{Args, Subcommand};
use std::path::PathBuf;

pub(super) const PAPER: &str = "\
A paper is a TOML file: `hearback new paper` writes one, `hearback check` says what is wrong in it.

Examples:
  hearback new paper week-3.toml
  hearback check week-3.toml
  hearback paper items week-3.toml                        what is asked, with right replies
  hearback paper take week-3.toml --name 'Anna Holm'      sit it; writes week-3-anna-holm.jsonl
  hearback paper mark week-3.toml results/                every reply judged again
  hearback paper report week-3.toml results/ --html week-3.html";

const TAKE: &str = "\
The result file is written line by line: what was answered is on disk before the next item is
shown. If the sitting breaks off, the same command goes on with it; the clock has run on.
Exit status 0 handed in, 1 handed in and not passed, 130 stopped.";

const MARK: &str = "\
Every reply is judged again from what was typed; the score in a file is never trusted. A file that
was altered, is of another paper or was given twice is named and does not count: exit status 1.
With --key, files that the group's key did not seal do not count either.";

const OVERRULE: &str = "\
The ruling is written behind the last line of each file, with the reason, and travels with it.

Example:
  hearback paper overrule week-3.toml results/ --item 4 --finding 'callsign misplaced' \\
    --reason 'our operator says it first' --by 'M. Brandt'";

/// A paper and result files.
#[derive(Debug, Args)]
pub struct Marking {
    /// The paper
    pub paper: PathBuf,
    /// Result files, or folders with them (*.jsonl)
    #[arg(required = true)]
    pub results: Vec<PathBuf>,
    /// The file with the group's key
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
}

/// What to do with a graded paper.
#[derive(Debug, Subcommand)]
pub enum PaperCommand {
    /// Print the items of a paper with right replies, for whoever sets it
    Items {
        /// The paper
        paper: PathBuf,
        /// As this person gets them, where each gets other values
        #[arg(long, value_name = "NAME")]
        name: Option<String>,
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
    },
    /// Write a copy of a paper with its items drawn: they stay as they are whatever the grammar becomes
    Freeze {
        /// The paper
        paper: PathBuf,
        /// The copy
        #[arg(value_name = "NEW.toml")]
        to: PathBuf,
        /// Write over a file that is there
        #[arg(long)]
        force: bool,
    },
    /// Sit a paper
    #[command(after_help = TAKE)]
    Take {
        /// The paper
        paper: PathBuf,
        /// Who sits it; asked for at a terminal
        #[arg(long, value_name = "NAME")]
        name: Option<String>,
        /// The result file; made of the paper's name and the person's if left out
        #[arg(long, value_name = "FILE")]
        result: Option<PathBuf>,
        /// The file with the group's key, to seal the result
        #[arg(long, value_name = "FILE")]
        key: Option<PathBuf>,
        /// Plain lines instead of an editing prompt
        #[arg(long)]
        plain: bool,
    },
    /// Judge every reply of result files again, and say which files cannot be trusted
    #[command(after_help = MARK)]
    Mark {
        /// Paper and results
        #[command(flatten)]
        marking: Marking,
        /// One JSON object a person instead of a table
        #[arg(long)]
        json: bool,
    },
    /// What a group knows and does not: marks, items, statistics, what to train next
    Report {
        /// Paper and results
        #[command(flatten)]
        marking: Marking,
        /// One page with charts for a browser or a printer, into this file
        #[arg(long, value_name = "FILE")]
        html: Option<PathBuf>,
        /// Tables for a spreadsheet, into this folder
        #[arg(long, value_name = "DIR")]
        csv: Option<PathBuf>,
        /// Write over files that are there
        #[arg(long)]
        force: bool,
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
        /// The best first, with their places
        #[arg(long)]
        ranking: bool,
        /// Numbers instead of names
        #[arg(long)]
        pseudonyms: bool,
    },
    /// Take back a finding, with a reason
    #[command(after_help = OVERRULE)]
    Overrule {
        /// Paper and results
        #[command(flatten)]
        marking: Marking,
        /// The item, from 1
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
        item: u32,
        /// Element and fault, as `paper mark` names them
        #[arg(long, value_name = "FINDING", value_parser = finding)]
        finding: (crate::element::Element, crate::element::Fault),
        /// Why
        #[arg(long)]
        reason: String,
        /// Who says so
        #[arg(long, value_name = "NAME")]
        by: String,
    },
    /// Make a new key for a group, to seal its results
    Key {
        /// The file
        file: PathBuf,
    },
}

impl PaperCommand {
    /// True if its output is JSON.
    #[must_use]
    pub fn json(&self) -> bool {
        match self {
            Self::Items { json, .. } | Self::Mark { json, .. } | Self::Report { json, .. } => *json,
            _ => false,
        }
    }
}

fn finding(text: &str) -> Result<(crate::element::Element, crate::element::Fault), String> {
    mark::finding(text)
}
