//! `paper take`: a paper is sat, or gone on with.

use crate::diagnostic::{clean, count};
use crate::element::Verdict;
use crate::error::{Error, Result, exit};
use crate::feedback::label;
use crate::paper::Feedback;
use crate::paper::answering::Ended;
use crate::paper::batch::shown;
use crate::paper::exam::{Exam, plain};
use crate::paper::item::{Item, Task};
use crate::paper::mark::Marker;
use crate::paper::marked::Marked;
use crate::paper::opening::{duration, opening};
use crate::paper::report::mark as percent;
use crate::paper::result::{Event, FORMAT, Header, NAME, Taken, Writer, read};
use crate::paper::seal::Key;
use crate::paper::sit::Sitting;
use crate::paper::told::told_rows;
use crate::record::entry::PROGRAM;
use crate::record::keep::{Keeper, Place};
use crate::record::moment;
use crate::session::console::{Console, Input, Timing};
use crate::session::screen::{Row, Tone, hang};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What was asked for.
pub(super) struct Options<'a> {
    pub(super) name: Option<&'a str>,
    pub(super) result: Option<&'a Path>,
    pub(super) key: Option<Key>,
    pub(super) plain: bool,
    pub(super) styled: bool,
    /// Where the person's own attempts are kept.
    pub(super) place: &'a Place,
}

/// Sits the paper.
pub(super) fn run(
    exam: &Exam,
    path: &Path,
    options: &Options<'_>,
    grammar: &str,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let mut console = super::super::practise::console(options.plain, options.styled)?;
    let typed = console.now().is_some();
    let name = match options.name {
        Some(name) => checked(name)?,
        None if typed => asked(&mut *console, out)?,
        None => return Err(Error::Usage("say who sits the paper: --name 'Anna Holm'".to_owned())),
    };
    let base = options.result.map_or_else(|| default_file(path, &name), Path::to_owned);
    let spot = spot(exam, &base, &name, options.key.as_ref())?;
    let width = console.width();
    let (sitting, file) = (spot.sitting, spot.file);
    for row in opening(exam, &name, sitting, width) {
        writeln!(out, "{}", row.paint(options.styled))?;
    }
    out.flush()?;
    let (started, writer) = match &spot.before {
        Some(taken) => {
            let failed = |cause| Error::Create { path: file.clone(), cause };
            let writer = Writer::go_on(&file, taken.seal.clone(), taken.whole).map_err(failed)?;
            (taken.started, writer)
        }
        None => {
            if typed && !began(&mut *console, out)? {
                writeln!(err, "hearback: not begun; nothing was written")?;
                return Ok(exit::INTERRUPTED);
            }
            begin(exam, &file, &name, sitting, options, grammar)?
        }
    };
    let clock = moment::now;
    // The replies are practice too: the person's own record keeps them.
    let (rules, book) = (Arc::clone(&exam.rules), Arc::clone(&exam.book));
    let mut keeper = Keeper::open(options.place, rules, book, grammar.to_owned(), err);
    let mut sat =
        Sitting::new(exam, (&name, sitting), started, writer, (&mut *console, out), &clock, options.styled)
            .keeping(&mut keeper);
    let Some(reason) = sat.run(spot.before.as_ref())? else {
        return Ok(exit::INTERRUPTED);
    };
    let marker = Marker { exam, grammar, keyed: options.key.is_some() };
    let taken = read(&file, options.key.as_ref())
        .map_err(|reason| Error::Usage(format!("`{}`: {reason}", shown(&file))))?;
    let marked = marker.mark(&shown(&file), &taken);
    sat.close(reason, marked.mark)?;
    drop(sat);
    let width = console.width();
    let mut rows = result(exam, &marked);
    if exam.paper.conditions.feedback == Feedback::End {
        rows.extend(told(&marker.replay(&taken), width));
    }
    rows.push(Row::new());
    let text = format!("The result is in {}. Give it to whoever set the paper.", shown(&file));
    rows.extend(hang((Tone::Plain, ""), 0, Tone::Plain, &text, width));
    for row in rows {
        writeln!(out, "{}", row.paint(options.styled))?;
    }
    out.flush()?;
    Ok(if marked.passed { exit::DONE } else { exit::PROBLEMS })
}

/// The name of a person, as it can stand in a file.
fn checked(name: &str) -> Result<String> {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if name.is_empty() {
        return Err(Error::Usage("a name is wanted: who sits the paper?".to_owned()));
    }
    let fine = (1..=NAME).contains(&name.chars().count()) && clean(&name) == name;
    if fine {
        return Ok(name);
    }
    let problem = format!("a name in one line of up to {NAME} characters is wanted");
    Err(Error::Answer {
        name: "--name".to_owned(),
        given: clean(&name).chars().take(NAME).collect(),
        problem,
    })
}

fn asked(console: &mut dyn Console, out: &mut dyn Write) -> Result<String> {
    loop {
        match console.read(out, "Your name: ", None)? {
            Input::Line(line, _) => match checked(&line) {
                Ok(name) => return Ok(name),
                Err(problem) => console.show(out, &format!("  {problem}\n"))?,
            },
            Input::Wake => {}
            Input::Interrupt | Input::End => {
                return Err(Error::Usage("nobody sits the paper without a name".to_owned()));
            }
        }
    }
}

/// Waits until the person begins.
fn began(console: &mut dyn Console, out: &mut dyn Write) -> Result<bool> {
    loop {
        match console.read(out, "Enter begins, and starts the clock: ", None)? {
            Input::Line(..) => return Ok(true),
            Input::Wake => {}
            Input::Interrupt | Input::End => return Ok(false),
        }
    }
}

/// Where the result is written: in the folder that one is in, under the paper's name and the person's.
fn default_file(paper: &Path, name: &str) -> PathBuf {
    let stem =
        paper.file_stem().map_or_else(|| "paper".to_owned(), |stem| stem.to_string_lossy().into_owned());
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let parts: Vec<&str> = plain.split('-').filter(|part| !part.is_empty()).collect();
    PathBuf::from(format!("{stem}-{}.jsonl", parts.join("-")))
}

struct Spot {
    file: PathBuf,
    sitting: u32,
    /// What is there already, to go on with.
    before: Option<Taken>,
}

/// The first sitting that is not over.
fn spot(exam: &Exam, base: &Path, name: &str, key: Option<&Key>) -> Result<Spot> {
    let usage = |text: String| Err(Error::Usage(text));
    for sitting in 1..=exam.paper.conditions.sittings {
        let file = numbered(base, sitting);
        if !file.exists() {
            return Ok(Spot { file, sitting, before: None });
        }
        let here = shown(&file);
        let taken = match read(&file, key) {
            Ok(taken) => taken,
            Err(reason) => return usage(format!("`{here}` is in the way: {reason}")),
        };
        if taken.header.paper != exam.paper.fingerprint {
            return usage(format!(
                "`{here}` is of another paper, or of this one before it was changed: name another with --result"
            ));
        }
        if plain(&taken.header.name) != plain(name) {
            let other = clean(&taken.header.name).into_owned();
            return usage(format!("`{here}` is {other}'s: name another with --result"));
        }
        if taken.ended().is_some() {
            continue;
        }
        if taken.header.sealed != key.is_some() {
            let what = if key.is_some() {
                "was begun without a key"
            } else {
                "was begun with a key: --key names it"
            };
            return usage(format!("`{here}` {what}"));
        }
        if let Some(line) = taken.broken {
            return usage(format!(
                "`{here}` was changed from line {line} on, or the key is another: it cannot be gone on with"
            ));
        }
        return Ok(Spot { file, sitting, before: Some(taken) });
    }
    let sittings = count(usize::try_from(exam.paper.conditions.sittings).unwrap_or(1), "sitting");
    usage(format!("{} has sat this paper: it allows {sittings}, and `{}` is there", clean(name), shown(base)))
}

/// The file of a sitting.
fn numbered(base: &Path, sitting: u32) -> PathBuf {
    if sitting == 1 {
        return base.to_owned();
    }
    let stem = base.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let end = base.extension().map_or_else(|| "jsonl".to_owned(), |end| end.to_string_lossy().into_owned());
    base.with_file_name(format!("{stem}-{sitting}.{end}"))
}

fn begin(
    exam: &Exam,
    file: &Path,
    name: &str,
    sitting: u32,
    options: &Options<'_>,
    grammar: &str,
) -> Result<(jiff::Timestamp, Writer)> {
    let failed = |cause| Error::Create { path: file.to_owned(), cause };
    let mut writer = Writer::create(file, options.key.clone()).map_err(failed)?;
    let started = moment::now();
    let header = Header {
        format: FORMAT,
        title: exam.paper.title.clone(),
        paper: exam.paper.fingerprint.clone(),
        items: u32::try_from(exam.slots.len()).unwrap_or(u32::MAX),
        name: name.to_owned(),
        sitting,
        program: PROGRAM.to_owned(),
        grammar: grammar.to_owned(),
        sealed: options.key.is_some(),
    };
    writer.write(started, Event::Begin(header)).map_err(failed)?;
    Ok((started, writer))
}

/// The mark, what fails outright, and each skill.
fn result(exam: &Exam, marked: &Marked) -> Vec<Row> {
    let paper = &exam.paper;
    let mut rows = vec![Row::new()];
    let tone = if marked.passed { Tone::Good } else { Tone::Bad };
    let passed = if marked.passed { "passed" } else { "not passed" };
    let text = format!(
        "{}: {} %, {} % to pass; {}",
        passed,
        percent(marked.mark),
        paper.pass_mark,
        duration(u64::from(marked.seconds))
    );
    rows.push(Row::of(tone, text));
    for (number, element, fault) in &marked.outright {
        rows.push(Row::of(
            Tone::Bad,
            format!("  item {number}: {} {} fails the paper", label(*element), fault.name()),
        ));
    }
    let mut skills: Vec<(&str, u32, u32)> = Vec::new();
    for item in &marked.items {
        let score = u32::from(item.score);
        match skills.iter_mut().find(|skill| skill.0 == item.title) {
            Some(skill) => {
                skill.1 += score;
                skill.2 += 1;
            }
            None => skills.push((&item.title, score, 1)),
        }
    }
    let widest = skills.iter().map(|skill| skill.0.chars().count()).max().unwrap_or(0).min(44);
    for (title, score, items) in skills {
        let title: String = title.chars().take(widest).collect();
        let items_text = count(usize::try_from(items).unwrap_or(0), "item");
        let share = percent(f64::from(score) / f64::from(items));
        rows.push(Row::of(Tone::Plain, format!("  {title:widest$}  {share:>4} %  {items_text}")));
    }
    rows
}

/// What was wrong, item by item.
fn told(replayed: &[(Item, Ended)], width: usize) -> Vec<Row> {
    let mut rows = Vec::new();
    for (number, (item, ended)) in (1..).zip(replayed) {
        let judgement = &ended.answer.judgement;
        if ended.answered && judgement.verdict == Verdict::Correct {
            continue;
        }
        rows.push(Row::new());
        let asked = match item.task {
            Task::ReadBack { .. } => format!("\"{}\"", item.asked()),
            _ => item.asked().to_owned(),
        };
        rows.extend(hang((Tone::Label, &format!("{number:>3}")), 4, Tone::Voice, &asked, width));
        rows.extend(told_rows(item, ended, Timing::default(), width));
    }
    rows
}
