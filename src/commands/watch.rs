//! `check --watch`: checks files again whenever one of them changes.

use super::check;
use crate::content::Content;
use crate::diagnostic::{self, clean};
use crate::error::{Error, Result};
use crate::grammar::sets::Sets;
use notify::{Config, Event, EventKind, PollWatcher, RecommendedWatcher, RecursiveMode, Watcher};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

/// An editor writes a file in several steps: wait until nothing has happened for so long …
const QUIET: Duration = Duration::from_millis(120);

/// … but no longer than this.
const LONGEST: Duration = Duration::from_secs(1);

/// How often files are looked at where the system does not tell of changes.
const POLL: Duration = Duration::from_millis(500);

/// Checks `files`, and checks them again after every change of theirs, until the program is stopped. Grammar
/// and content of one's own are read anew each time.
///
/// # Errors
/// A file isn't there at the beginning, nothing can be watched, or the output can't be written.
pub fn run(
    files: &[PathBuf],
    grammar: Option<&Path>,
    content: &[PathBuf],
    styled: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let (to, changes) = channel();
    let mut watcher = watcher(to)?;
    let own = content.iter().filter(|place| place.is_dir());
    let own = own.map(|place| (place.clone(), RecursiveMode::Recursive));
    for (folder, mode) in places(files, grammar)?.into_iter().chain(own) {
        watcher.watch(&folder, mode).map_err(|cause| failed(&folder, &cause))?;
    }
    let names = files.iter().map(PathBuf::as_path).chain(grammar).map(shown);
    writeln!(err, "watching {}; Ctrl-C ends", and(&names.collect::<Vec<_>>()))?;
    loop {
        match once(files, grammar, content, styled, out, err) {
            Ok(_) => {}
            Err(error @ Error::Write(_)) => return Err(error),
            Err(Error::Data(problems)) => write!(err, "{}", diagnostic::render(&problems, styled))?,
            Err(error) => writeln!(err, "hearback: {error}")?,
        }
        out.flush()?;
        err.flush()?;
        let changed: Vec<String> = wait(&changes)?.iter().map(|path| shown(path)).collect();
        writeln!(err, "\n{} changed", and(&changed))?;
    }
}

fn shown(path: &Path) -> String {
    let path = path.strip_prefix(".").unwrap_or(path);
    clean(&path.to_string_lossy()).into_owned()
}

fn and(names: &[String]) -> String {
    match names {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => names.concat(),
    }
}

fn once(
    files: &[PathBuf],
    grammar: Option<&Path>,
    content: &[PathBuf],
    styled: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let content = Content::open(content)?;
    let sets = Sets::over(grammar, &content)?;
    check::Report::of(files, &sets, &content)?.text(styled, out, err)
}

/// Folders to watch. A file is watched by its folder, since an editor may put another in its place; airports may
/// lie beside a scenario.
fn places(files: &[PathBuf], grammar: Option<&Path>) -> Result<BTreeMap<PathBuf, RecursiveMode>> {
    let mut places = BTreeMap::new();
    for file in files {
        let there = std::fs::metadata(file).map_err(|cause| Error::Read { path: file.clone(), cause })?;
        if there.is_dir() {
            places.insert(file.clone(), RecursiveMode::Recursive);
            continue;
        }
        let folder = match file.parent() {
            Some(parent) if parent != Path::new("") => parent.to_path_buf(),
            _ => PathBuf::from("."),
        };
        let airports = Some(folder.join("airports")).filter(|airports| airports.is_dir());
        for folder in airports.into_iter().chain([folder]) {
            places.entry(folder).or_insert(RecursiveMode::NonRecursive);
        }
    }
    places.extend(grammar.map(|folder| (folder.to_path_buf(), RecursiveMode::Recursive)));
    Ok(places)
}

fn failed(folder: &Path, cause: &notify::Error) -> Error {
    let problem = format!("its changes can't be watched: {cause}");
    Error::Watch { path: folder.to_path_buf(), problem }
}

/// What the system tells of changes; where it tells nothing, what looking at the files again and again finds.
fn watcher(to: Sender<PathBuf>) -> Result<Box<dyn Watcher>> {
    let again = to.clone();
    let told = RecommendedWatcher::new(move |event| tell(&to, event), Config::default());
    if let Ok(watcher) = told {
        return Ok(Box::new(watcher));
    }
    let config = Config::default().with_poll_interval(POLL);
    match PollWatcher::new(move |event| tell(&again, event), config) {
        Ok(watcher) => Ok(Box::new(watcher)),
        Err(cause) => Err(failed(Path::new("."), &cause)),
    }
}

/// Passes on which data files changed. Reading a file is no change: the check itself reads.
fn tell(to: &Sender<PathBuf>, event: notify::Result<Event>) {
    let Ok(Event { kind, paths, .. }) = event else { return };
    let data = |path: &PathBuf| {
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        !hidden && path.extension().is_some_and(|e| e == "toml")
    };
    if !matches!(kind, EventKind::Access(_)) {
        for path in paths.into_iter().filter(data) {
            // Nobody listens any more once the command has failed.
            let _ = to.send(path);
        }
    }
}

/// Waits for a change, and until the writing is over; gives the files.
fn wait(changes: &Receiver<PathBuf>) -> Result<BTreeSet<PathBuf>> {
    let gone = || Error::Internal("the watcher has ended".to_owned());
    let mut changed = BTreeSet::from([changes.recv().map_err(|_| gone())?]);
    let begun = Instant::now();
    while begun.elapsed() < LONGEST
        && let Ok(path) = changes.recv_timeout(QUIET)
    {
        changed.insert(path);
    }
    Ok(changed)
}
