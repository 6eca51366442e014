//! Result files: JSON Lines that are written while a paper is sat, each line on disk before the next item is shown.

use super::item::Item;
use super::seal::{Key, Seal};
use crate::element::{Element, Fault, Verdict};
use crate::record::moment;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::Path;

/// The number of the form of these files.
pub const FORMAT: u32 = 1;

/// The longest file that is read, in bytes.
pub const LARGEST: u64 = 8 * 1024 * 1024;

/// The longest line, in bytes.
pub const LONGEST: usize = 64 * 1024;

/// The longest reply and the longest name, in characters.
pub const REPLY: usize = 1000;
/// The longest name of a person, in characters.
pub const NAME: usize = 80;

/// One line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// When.
    #[serde(with = "moment")]
    pub at: Timestamp,
    /// What.
    pub event: Event,
}

/// What happens while a paper is sat, and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Event {
    /// The first line.
    Begin(Header),
    /// An item is shown.
    Item {
        /// Counted from 1.
        number: u32,
        /// As it was drawn.
        drawn: Item,
    },
    /// A line was typed.
    Typed {
        /// As it was typed; empty is silence.
        text: String,
        /// Milliseconds from the prompt to the first key.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first_key_ms: Option<u32>,
        /// Milliseconds from the prompt to Enter.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sent_ms: Option<u32>,
    },
    /// A hint was shown.
    Hint {},
    /// The time for the item was over.
    TimeOver {},
    /// The item was left.
    Skipped {},
    /// What the program said of the item. Marking judges again and does not trust it.
    Closed {
        /// The overall call.
        verdict: Verdict,
        /// From 0 to 100.
        score: u8,
    },
    /// The paper was taken up again after it had broken off.
    Resumed {},
    /// The last line of a sitting.
    End {
        /// Why.
        reason: Reason,
        /// Per cent, as the program said. Marking does not trust it.
        mark: f64,
    },
    /// A finding that the leader took back.
    Overruled {
        /// The item, from 1.
        number: u32,
        /// What the finding concerned.
        element: Element,
        /// What was the matter with it.
        fault: Fault,
        /// Why it was taken back.
        reason: String,
        /// Who took it back.
        by: String,
    },
}

/// Why a sitting ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reason {
    /// After the last item.
    Done,
    /// The time for the paper was over.
    Time,
    /// The person left.
    Left,
}

/// What a result file says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// The number of the form; 1.
    pub format: u32,
    /// The paper's title.
    pub title: String,
    /// The paper's fingerprint.
    pub paper: String,
    /// How many items it has.
    pub items: u32,
    /// Who.
    pub name: String,
    /// Which sitting, from 1.
    pub sitting: u32,
    /// Version of the program.
    pub program: String,
    /// Fingerprint of the grammar.
    pub grammar: String,
    /// Sealed with a group's key.
    pub sealed: bool,
}

/// A result file that is being written.
#[derive(Debug)]
pub struct Writer {
    file: File,
    seal: Seal,
}

impl Writer {
    /// A new file; one that is there is not touched.
    ///
    /// # Errors
    /// What the system says.
    pub fn create(path: &Path, key: Option<Key>) -> io::Result<Self> {
        let file = File::options().write(true).create_new(true).open(path)?;
        Ok(Self { file, seal: Seal::new(key) })
    }

    /// A file that broke off, to go on with: half a line at its end is cut away.
    ///
    /// # Errors
    /// What the system says.
    pub fn go_on(path: &Path, seal: Seal, whole: u64) -> io::Result<Self> {
        let mut file = File::options().write(true).open(path)?;
        file.set_len(whole)?;
        io::Seek::seek(&mut file, io::SeekFrom::End(0))?;
        Ok(Self { file, seal })
    }

    /// Writes a line; it is on disk when this returns.
    ///
    /// # Errors
    /// What the system says.
    pub fn write(&mut self, at: Timestamp, event: Event) -> io::Result<()> {
        let line = serde_json::to_string(&Line { at: moment::whole(at), event })?;
        let mut line = self.seal.add(&line);
        line.push('\n');
        self.file.write_all(line.as_bytes())?;
        self.file.sync_data()
    }
}

/// What a result file holds.
#[derive(Debug)]
pub struct Taken {
    /// What it says of itself.
    pub header: Header,
    /// When it was begun.
    pub started: Timestamp,
    /// All lines after the first.
    pub lines: Vec<Line>,
    /// The first line, counted from 1, whose check is wrong.
    pub broken: Option<usize>,
    /// The seal after the last line.
    pub seal: Seal,
    /// Bytes of whole lines.
    pub whole: u64,
    /// Bytes behind the last whole line: it broke off there.
    pub torn: bool,
}

impl Taken {
    /// True if the sitting came to its end.
    #[must_use]
    pub fn ended(&self) -> Option<(Timestamp, Reason)> {
        self.lines.iter().find_map(|line| match line.event {
            Event::End { reason, .. } => Some((line.at, reason)),
            _ => None,
        })
    }
}

/// Reads a result file.
///
/// # Errors
/// Why it is none, in words, with the line.
pub fn read(path: &Path, key: Option<&Key>) -> Result<Taken, String> {
    let file = File::open(path).map_err(|cause| cause.to_string())?;
    let meta = file.metadata().map_err(|cause| cause.to_string())?;
    if !meta.is_file() {
        return Err("it is no file".to_owned());
    }
    if meta.len() > LARGEST {
        return Err(format!("it has {} MiB: {} are the most", meta.len() >> 20, LARGEST >> 20));
    }
    read_from(BufReader::new(file.take(LARGEST)), key)
}

/// What the first line of a result file says, whatever its check.
///
/// # Errors
/// As for [`read`].
pub fn read_header(path: &Path) -> Result<Header, String> {
    let file = File::open(path).map_err(|cause| cause.to_string())?;
    if !file.metadata().map_err(|cause| cause.to_string())?.is_file() {
        return Err("it is no file".to_owned());
    }
    let mut first = Vec::new();
    let mut from = BufReader::new(file).take(LONGEST as u64 + 1);
    from.read_until(b'\n', &mut first).map_err(|cause| cause.to_string())?;
    match read_from(&first[..], None) {
        Ok(taken) => Ok(taken.header),
        Err(reason) => Err(reason),
    }
}

/// Reads the lines of a result file.
///
/// # Errors
/// As for [`read`].
pub fn read_from(mut from: impl BufRead, key: Option<&Key>) -> Result<Taken, String> {
    let mut bytes = Vec::new();
    let mut number = 0;
    let mut taken: Option<Taken> = None;
    let mut seal = Seal::new(None);
    let (mut whole, mut torn, mut broken) = (0u64, false, None);
    loop {
        bytes.clear();
        let read = (&mut from)
            .take(LONGEST as u64 + 1)
            .read_until(b'\n', &mut bytes)
            .map_err(|cause| cause.to_string())?;
        if read == 0 {
            break;
        }
        number += 1;
        if read > LONGEST {
            return Err(format!("line {number} is longer than {} KiB", LONGEST >> 10));
        }
        if bytes.last() != Some(&b'\n') {
            torn = true;
            break;
        }
        let text = std::str::from_utf8(&bytes).map_err(|_| format!("line {number} is not UTF-8 text"))?;
        // An editor may have put a mark before the text, or blank lines between.
        let text = text.trim_start_matches('\u{feff}').trim_end_matches(['\r', '\n']);
        if text.trim().is_empty() && taken.is_some() {
            whole += read as u64;
            continue;
        }
        if number == 1 {
            // Whether it is sealed stands in the line itself; without the key only accidents show.
            let sealed = text.contains("\"sealed\":true");
            seal = Seal::new(key.filter(|_| sealed).cloned());
        }
        let Some((body, right, _)) = seal.take(text) else {
            return Err(match number {
                1 => "it is no result file: the first line has no check".to_owned(),
                _ => format!("line {number} has no check"),
            });
        };
        let line: Line = serde_json::from_str(&body).map_err(|error| {
            let what = crate::diagnostic::clean(&error.to_string()).chars().take(160).collect::<String>();
            format!("line {number} cannot be read: {what}")
        })?;
        if !right && broken.is_none() {
            broken = Some(number);
        }
        whole += read as u64;
        match (&mut taken, line.event) {
            (None, Event::Begin(header)) => {
                if header.format != FORMAT {
                    return Err(format!("it has format {}: this program reads {FORMAT}", header.format));
                }
                taken = Some(Taken {
                    header,
                    started: line.at,
                    lines: Vec::new(),
                    broken: None,
                    seal: Seal::new(None),
                    whole: 0,
                    torn: false,
                });
            }
            (None, _) => return Err("it is no result file: it does not begin with the paper".to_owned()),
            (Some(_), Event::Begin(_)) => return Err(format!("line {number}: a second beginning")),
            (Some(taken), event) => taken.lines.push(Line { at: line.at, event }),
        }
    }
    let taken = taken.ok_or_else(|| "it is empty".to_owned())?;
    Ok(Taken { broken, seal, whole, torn, ..taken })
}
