//! `record`: where it is, out, in, judged again, forgotten.

use crate::bar::Bar;
use crate::cli::record::RecordCommand;
use crate::contract::RuleSets;
use crate::diagnostic::{clean, count};
use crate::error::{Error, Result, exit};
use crate::machine;
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
        RecordCommand::Path { json: false } => writeln!(out, "{}", file.display())?,
        RecordCommand::Path { json: true } => {
            let object = json!({ "file": file.to_string_lossy(), "exists": file.exists() });
            machine::write(&object, out)?;
        }
        RecordCommand::Export { format } => match reading(file, err)? {
            Some(record) => {
                let bar = Bar::of(attempts(&record, profile)?, "attempts").beside_output();
                transfer::export(&record, profile, (*format).into(), &bar, out)?;
            }
            None => writeln!(err, "hearback: nothing is recorded in `{}` yet", file.display())?,
        },
        RecordCommand::Import { file: from, json } => {
            let size = std::fs::metadata(from).map_or(0, |file| file.len());
            let bar = Bar::bytes(size);
            let entries = transfer::read(from, &bar)?;
            bar.finish();
            let bar = Bar::of(entries.len() as u64, "attempts");
            let added = opened(file, err)?.add_all(entries.iter().inspect(|_| bar.advance(1)))?;
            bar.finish();
            let there = entries.len() - added;
            if *json {
                machine::write(&json!({ "imported": added, "there_already": there }), out)?;
                return Ok(exit::DONE);
            }
            let there = match there {
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
        RecordCommand::Forget { all, before, yes, json } => {
            if !all && before.is_none() && profile.is_none() {
                let what = "say what to forget: --profile NAME, --all or --before DATE";
                return Err(Error::Usage(what.to_owned()));
            }
            let what = Forget { profile: profile.map(str::to_owned), before: *before };
            let gone = forget(file, &what, *yes, ask, err)?;
            if *json {
                machine::write(&json!({ "forgotten": gone.unwrap_or(0) }), out)?;
            } else {
                writeln!(out, "{}", forgotten(file, &what, gone))?;
            }
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

/// Forgets, after a question if nobody has said yes; tells how many attempts that were, or none if nobody says yes
/// or nothing is recorded.
fn forget(
    file: &Path,
    what: &Forget,
    yes: bool,
    ask: Option<Box<dyn BufRead + '_>>,
    err: &mut dyn Write,
) -> Result<Option<usize>> {
    let Some(mut record) = writing(file)? else { return Ok(None) };
    if !yes {
        let found = record.count(what)?;
        let Some(mut ask) = ask else {
            let what = "nobody can be asked here: add --yes to forget without a question";
            return Err(Error::Usage(what.to_owned()));
        };
        write!(err, "Forget {} {} for good: yes or no [no]? ", count(found, "attempt"), whose(what))?;
        err.flush()?;
        let mut answer = String::new();
        ask.read_line(&mut answer).map_err(|e| Error::Terminal(e.to_string()))?;
        if !matches!(answer.trim().to_lowercase().as_str(), "yes" | "y") {
            return Ok(None);
        }
    }
    Ok(Some(record.forget(what)?))
}

/// What became of it, in words.
fn forgotten(file: &Path, what: &Forget, gone: Option<usize>) -> String {
    match gone {
        Some(gone) => format!("{} {} forgotten", count(gone, "attempt"), whose(what)),
        None if file.exists() => "nothing was forgotten".to_owned(),
        None => format!("nothing is recorded in `{}`", file.display()),
    }
}

/// Whose attempts are to be forgotten, and which.
fn whose(what: &Forget) -> String {
    let whose = match &what.profile {
        Some(name) => format!("of profile `{}`", clean(name)),
        None => "of all profiles".to_owned(),
    };
    let before = what.before.map_or(String::new(), |date| format!(" before {}", &moment::text(date)[..10]));
    format!("{whose}{before}")
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
