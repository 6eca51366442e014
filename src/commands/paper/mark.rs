//! `paper mark` and `paper overrule`: result files are judged again; findings are taken back.

use super::{read_key, result_files};
use crate::bar::Bar;
use crate::cli::paper::Marking;
use crate::diagnostic::{clean, count};
use crate::element::{Element, Fault};
use crate::error::{Error, Result, exit};
use crate::paper::batch::{Unread, mark_all, shown};
use crate::paper::exam::Exam;
use crate::paper::mark::Marker;
use crate::paper::marked::{Marked, Weight};
use crate::paper::report::mark as percent;
use crate::paper::result::{Event, FORMAT, Writer, read};
use crate::paper::seal::Key;
use crate::record::moment;
use crate::wrap::{PAGE, lines};
use serde_json::json;
use std::io::Write;
use std::path::PathBuf;

/// Result files and the key.
pub(super) struct Given {
    pub(super) files: Vec<PathBuf>,
    pub(super) key: Option<Key>,
}

impl Given {
    /// What the command line names.
    pub(super) fn of(marking: &Marking) -> Result<Self> {
        let key = marking.key.as_deref().map(read_key).transpose()?;
        Ok(Self { files: result_files(&marking.results)?, key })
    }

    /// Marks all, with a bar.
    pub(super) fn mark(&self, exam: &Exam, grammar: &str, each: &mut dyn FnMut(Marked)) -> Vec<Unread> {
        let marker = Marker { exam, grammar, keyed: self.key.is_some() };
        let bar = Bar::of(self.files.len() as u64, "files");
        let unread = mark_all(marker, &self.files, self.key.as_ref(), &bar, each);
        bar.finish();
        unread
    }
}

/// A finding that is taken back.
pub(super) struct Ruling<'a> {
    pub(super) number: u32,
    pub(super) finding: (Element, Fault),
    pub(super) reason: &'a str,
    pub(super) by: &'a str,
}

/// Marks and prints a line for each file.
pub(super) fn mark(
    exam: &Exam,
    given: &Given,
    grammar: &str,
    as_json: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let (mut failed, mut refused, mut counted) = (Ok(()), 0usize, 0usize);
    let unread = given.mark(exam, grammar, &mut |marked| {
        counted += usize::from(marked.counts);
        refused += usize::from(marked.notices.iter().any(|notice| notice.weight == Weight::Refused));
        if failed.is_ok() {
            failed = if as_json { object(&marked, out) } else { row(&marked, out) };
        }
    });
    failed?;
    for Unread { file, reason } in &unread {
        if as_json {
            writeln!(out, "{}", json!({ "format": FORMAT, "file": file, "error": reason }))?;
        } else {
            writeln!(err, "hearback: `{file}` is not marked: {reason}")?;
        }
    }
    let bad = refused + unread.len();
    if !as_json {
        let counts = if counted == 1 { "counts" } else { "count" };
        writeln!(out, "{}: {counted} {counts}, {bad} refused", count(given.files.len(), "file"))?;
    }
    out.flush()?;
    Ok(if bad == 0 { exit::DONE } else { exit::PROBLEMS })
}

fn object(marked: &Marked, out: &mut dyn Write) -> Result<()> {
    let mut object = json!(marked);
    object["format"] = json!(FORMAT);
    // What turns the direction of writing stands in it as a number.
    let turning = |c: char| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let mut text = String::new();
    for c in object.to_string().chars() {
        if turning(c) { text.push_str(&format!("\\u{:04x}", u32::from(c))) } else { text.push(c) }
    }
    writeln!(out, "{text}")?;
    Ok(())
}

fn row(marked: &Marked, out: &mut dyn Write) -> Result<()> {
    let name: String = clean(&marked.name).chars().take(28).collect();
    let what = match (marked.counts, marked.passed) {
        (false, _) => "does not count",
        (true, true) => "passed",
        (true, false) => "not passed",
    };
    let right = marked.items.iter().filter(|item| item.is_right()).count();
    let of = format!("{right}/{}", marked.items.len());
    writeln!(out, "{name:28}  {:>5} %  {of:>7}  {what:14}  {}", percent(marked.mark), marked.file)?;
    for (number, element, fault) in &marked.outright {
        writeln!(out, "    item {number}: {} {} fails the paper", element.name(), fault.name())?;
    }
    for item in marked.items.iter().filter(|item| !item.overruled.is_empty()) {
        for ruling in &item.overruled {
            let text = format!(
                "item {}: {} {} overruled by {}: {}",
                item.number,
                ruling.element.name(),
                ruling.fault.name(),
                clean(&ruling.by),
                clean(&ruling.reason)
            );
            paragraph(&text, out)?;
        }
    }
    for notice in &marked.notices {
        let weight = if notice.weight == Weight::Refused { "refused: " } else { "" };
        paragraph(&format!("{weight}{}", notice.text), out)?;
    }
    Ok(())
}

fn paragraph(text: &str, out: &mut dyn Write) -> Result<()> {
    for line in lines(text, PAGE - 4) {
        writeln!(out, "    {line}")?;
    }
    Ok(())
}

/// Writes a ruling into every file that has the finding.
pub(super) fn overrule(
    exam: &Exam,
    given: &Given,
    ruling: &Ruling<'_>,
    grammar: &str,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    for (flag, text) in [("--reason", ruling.reason), ("--by", ruling.by)] {
        let fine = (1..=300).contains(&text.trim().chars().count()) && clean(text) == text;
        if !fine {
            let problem = "one line of up to 300 characters is wanted".to_owned();
            let given = clean(text).chars().take(40).collect();
            return Err(Error::Answer { name: flag.to_owned(), given, problem });
        }
    }
    if usize::try_from(ruling.number).unwrap_or(usize::MAX) > exam.slots.len() {
        let problem = format!("the paper has {}", count(exam.slots.len(), "item"));
        return Err(Error::Answer { name: "--item".to_owned(), given: ruling.number.to_string(), problem });
    }
    let marker = Marker { exam, grammar, keyed: given.key.is_some() };
    let (element, fault) = ruling.finding;
    let (mut done, mut bad) = (0usize, 0usize);
    for path in &given.files {
        let file = shown(path);
        let taken = match read(path, given.key.as_ref()) {
            Ok(taken) => taken,
            Err(reason) => {
                bad += 1;
                writeln!(err, "hearback: `{file}`: {reason}")?;
                continue;
            }
        };
        let marked = marker.mark(&file, &taken);
        let blind = taken.header.sealed && given.key.is_none();
        let refused = marked.notices.iter().find(|notice| notice.weight == Weight::Refused);
        if blind || refused.is_some() {
            bad += 1;
            let why = refused.map_or("it is sealed: --key names the group's key", |notice| &notice.text);
            writeln!(err, "hearback: `{file}` is left as it is: {why}")?;
            continue;
        }
        let item = marked.items.iter().find(|item| item.number == ruling.number);
        let has =
            item.is_some_and(|item| item.findings.iter().any(|f| (f.element, f.fault) == (element, fault)));
        if !has {
            continue;
        }
        let failed = |cause| Error::Create { path: path.clone(), cause };
        let mut writer = Writer::go_on(path, taken.seal, taken.whole).map_err(failed)?;
        let event = Event::Overruled {
            number: ruling.number,
            element,
            fault,
            reason: ruling.reason.trim().to_owned(),
            by: ruling.by.trim().to_owned(),
        };
        writer.write(moment::now(), event).map_err(failed)?;
        done += 1;
        writeln!(out, "overruled in {file}: item {}, {} {}", ruling.number, element.name(), fault.name())?;
    }
    if done == 0 && bad == 0 {
        writeln!(
            err,
            "hearback: no file has \"{} {}\" in item {}",
            element.name(),
            fault.name(),
            ruling.number
        )?;
    }
    out.flush()?;
    Ok(if done == 0 || bad > 0 { exit::PROBLEMS } else { exit::DONE })
}
