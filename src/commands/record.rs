//! `record`: where it is, out, in, judged again, forgotten.

use crate::bar::Bar;
use crate::cli::record::RecordCommand;
use crate::contract::RuleSets;
use crate::diagnostic::{clean, count};
use crate::error::{Error, Result, exit};
use crate::record::again::{Again, Change};
use crate::record::entry::{Entry, Found};
use crate::record::keep::{Place, opened};
use crate::record::{Forget, Record, moment, transfer};
use crate::wrap::{PAGE, lines};
use serde_json::json;
use std::io::{BufRead, Write};
use std::path::Path;

/// Does it and returns the exit status. `ask` is where somebody can answer.
///
/// # Errors
/// There is no record, it cannot be used, a file cannot be read, or the output cannot be written.
pub fn run(
    command: &RecordCommand,
    place: &Place,
    profile: Option<&str>,
    sets: &dyn RuleSets,
    ask: Option<Box<dyn BufRead + '_>>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let file = file(place)?;
    match command {
        RecordCommand::Path => writeln!(out, "{}", file.display())?,
        RecordCommand::Export { format } => match reading(file, err)? {
            Some(record) => {
                let bar = Bar::of(attempts(&record, profile)?, "attempts").beside_output();
                transfer::export(&record, profile, (*format).into(), &bar, out)?;
            }
            None => writeln!(err, "hearback: nothing is recorded in `{}` yet", file.display())?,
        },
        RecordCommand::Import { file: from } => {
            let size = std::fs::metadata(from).map_or(0, |file| file.len());
            let bar = Bar::bytes(size);
            let entries = transfer::read(from, &bar)?;
            bar.finish();
            let bar = Bar::of(entries.len() as u64, "attempts");
            let added = opened(file, err)?.add_all(entries.iter().inspect(|_| bar.advance(1)))?;
            bar.finish();
            let there = match entries.len() - added {
                0 => String::new(),
                n => format!(", {n} there already"),
            };
            writeln!(out, "{} imported{there}", count(added, "attempt"))?;
        }
        RecordCommand::JudgeAgain { json } => {
            let book = sets.crew().map_err(Error::Internal)?;
            let again = match writing(file)? {
                Some(mut record) => {
                    let bar = Bar::of(attempts(&record, profile)?, "replies");
                    record.judge_again(sets, &book, profile, moment::now(), &bar)?
                }
                None => Again::default(),
            };
            if *json { as_json(&again, out)? } else { as_text(&again, out)? }
        }
        RecordCommand::Forget { all, before, yes } => {
            if !all && before.is_none() && profile.is_none() {
                let what = "say what to forget: --profile NAME, --all or --before DATE";
                return Err(Error::Usage(what.to_owned()));
            }
            let what = Forget { profile: profile.map(str::to_owned), before: *before };
            return forget(file, &what, *yes, ask, out, err);
        }
    }
    out.flush()?;
    Ok(exit::DONE)
}

/// How many attempts there are, of one profile or of all.
fn attempts(record: &Record, profile: Option<&str>) -> Result<u64> {
    let what = Forget { profile: profile.map(str::to_owned), before: None };
    Ok(record.count(&what)? as u64)
}

/// The file of the record.
///
/// # Errors
/// It was said that there is none.
pub fn file(place: &Place) -> Result<&Path> {
    let none = || Error::Usage("the record is switched off: name one with --record FILE".to_owned());
    place.file.as_deref().ok_or_else(none)
}

/// The record, to read it; says so if it is newer than this program.
///
/// # Errors
/// It cannot be read.
pub fn reading(file: &Path, err: &mut dyn Write) -> Result<Option<Record>> {
    let record = Record::read(file)?;
    if let Some(version) = record.as_ref().and_then(Record::newer) {
        writeln!(
            err,
            "hearback: `{}` was written by a newer hearback (version {version} of the record); what this one understands is shown",
            file.display()
        )?;
    }
    Ok(record)
}

/// The record, to change what is in it; none if there is nothing.
fn writing(file: &Path) -> Result<Option<Record>> {
    // What cannot be read is reported, not set aside: nothing new is to be kept.
    match Record::read(file)? {
        Some(read) => {
            drop(read);
            Ok(Some(Record::open(file)?.record))
        }
        None => Ok(None),
    }
}

fn forget(
    file: &Path,
    what: &Forget,
    yes: bool,
    ask: Option<Box<dyn BufRead + '_>>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let whose = match &what.profile {
        Some(name) => format!("of profile `{}`", clean(name)),
        None => "of all profiles".to_owned(),
    };
    let before = what.before.map_or(String::new(), |date| format!(" before {}", &moment::text(date)[..10]));
    let Some(mut record) = writing(file)? else {
        writeln!(out, "nothing is recorded in `{}`", file.display())?;
        out.flush()?;
        return Ok(exit::DONE);
    };
    let found = record.count(what)?;
    if !yes {
        let Some(mut ask) = ask else {
            let what = "nobody can be asked here: add --yes to forget without a question";
            return Err(Error::Usage(what.to_owned()));
        };
        write!(err, "Forget {} {whose}{before} for good: yes or no [no]? ", count(found, "attempt"))?;
        err.flush()?;
        let mut answer = String::new();
        ask.read_line(&mut answer).map_err(|e| Error::Terminal(e.to_string()))?;
        if !matches!(answer.trim().to_lowercase().as_str(), "yes" | "y") {
            writeln!(out, "nothing was forgotten")?;
            out.flush()?;
            return Ok(exit::DONE);
        }
    }
    let gone = record.forget(what)?;
    writeln!(out, "{} {whose}{before} forgotten", count(gone, "attempt"))?;
    out.flush()?;
    Ok(exit::DONE)
}

fn as_json(again: &Again, out: &mut dyn Write) -> Result<()> {
    let side = |entry: &Entry| {
        json!({
            "verdict": entry.verdict, "score": entry.score, "findings": entry.findings,
            "program": entry.program, "grammar": entry.grammar,
        })
    };
    let change = |change: &Change| {
        let Change { before, after, .. } = change;
        json!({
            "id": before.id, "at": moment::text(before.at), "profile": before.profile, "standard": before.standard,
            "asked": before.asked, "reply": before.reply, "before": side(before), "after": side(after),
        })
    };
    let changed: Vec<_> = again.changed.iter().map(change).collect();
    let all = json!({
        "format": 1, "judged": again.judged, "apart": again.apart, "unknown": again.unknown, "changed": changed,
    });
    writeln!(out, "{all}")?;
    Ok(())
}

fn as_text(again: &Again, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "{} judged again, {} changed", replies(again.judged), again.changed.len())?;
    if again.apart > 0 {
        writeln!(
            out,
            "{} left as is: another voice was watched or left alone, no grammar judges that",
            replies(again.apart)
        )?;
    }
    if again.unknown > 0 {
        writeln!(out, "{} left as is: this grammar does not have what was due", replies(again.unknown))?;
    }
    for Change { before, after, .. } in &again.changed {
        let at = moment::text(before.at);
        writeln!(
            out,
            "\n{} {}  {}  {} -> {}",
            &at[..10],
            &at[11..16],
            before.standard,
            before.verdict.name(),
            after.verdict.name()
        )?;
        for (label, text) in [
            ("asked", before.asked.clone()),
            ("typed", before.reply.clone()),
            ("was", findings(&before.findings)),
            ("is", findings(&after.findings)),
        ] {
            for (n, line) in lines(&clean(&text), PAGE - 9).iter().enumerate() {
                writeln!(out, "  {:5}  {line}", if n == 0 { label } else { "" })?;
            }
        }
    }
    Ok(())
}

fn replies(number: usize) -> String {
    if number == 1 { "1 reply".to_owned() } else { format!("{number} replies") }
}

fn findings(found: &[Found]) -> String {
    let one = |f: &Found| format!("{} {}", f.element, f.fault.name());
    match found {
        [] => "nothing found".to_owned(),
        found => found.iter().map(one).collect::<Vec<_>>().join(", "),
    }
}
