//! `new`: asks a few questions and writes a commented file to begin with.

mod airport;
mod ask;
mod crew;
mod grammar;
mod layout;
mod paper;
mod scenario;

use super::check;
use crate::cli::StandardName;
use crate::cli::new::{NewCommand, NewFile};
use crate::content::Content;
use crate::diagnostic::clean;
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::grammar::sets::Sets;
use ask::Asker;
use std::fs;
use std::io::{BufRead, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// A file that is not written yet.
struct Draft {
    file: PathBuf,
    text: String,
    /// What to do next, one line each.
    next: Vec<String>,
}

/// Asks what is not known yet, writes the file, and says what to do next. Questions are shown on `err`, answers
/// are read from `answers`; `typed` tells that somebody types them.
///
/// # Errors
/// If the file is there already, if an answer can't be taken, or if what the answers make has problems: then
/// nothing is left behind.
pub fn run(
    command: &NewCommand,
    sets: &Sets,
    content: &Content,
    answers: &mut dyn BufRead,
    typed: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let to = match command {
        NewCommand::Scenario { to, .. }
        | NewCommand::Checklist { to, .. }
        | NewCommand::Operator { to, .. }
        | NewCommand::Grammar { to, .. }
        | NewCommand::Paper { to, .. }
        | NewCommand::Airport { to, .. } => to,
    };
    if let Some(file) = &to.file {
        refuse_existing(file)?;
    }
    let mut asker = Asker { answers, shown: err, defaults: to.defaults, echo: !typed };
    let draft = match command {
        NewCommand::Scenario { .. } => scenario::draft(command, to, sets, content, &mut asker)?,
        NewCommand::Checklist { .. } => crew::checklist(command, to, &mut asker)?,
        NewCommand::Operator { .. } => crew::operator(command, to, sets, &mut asker)?,
        NewCommand::Grammar { .. } => grammar::draft(command, to, &mut asker)?,
        NewCommand::Paper { .. } => paper::draft(command, to, sets, content, &mut asker)?,
        NewCommand::Airport { .. } => airport::draft(command, to, sets, &mut asker)?,
    };
    write(&draft, sets, content)?;
    let file = draft.file.to_string_lossy();
    writeln!(out, "written: {}", clean(&file))?;
    for line in &draft.next {
        writeln!(out, "{line}")?;
    }
    Ok(exit::DONE)
}

fn refuse_existing(file: &Path) -> Result<()> {
    // A link that leads nowhere is there too.
    if fs::symlink_metadata(file).is_ok() { Err(Error::Exists { path: file.to_owned() }) } else { Ok(()) }
}

/// The file: as it was given, else asked for.
fn place(to: &NewFile, asker: &mut Asker<'_>, default: &str) -> Result<PathBuf> {
    if let Some(file) = &to.file {
        return Ok(file.clone());
    }
    let toml = |text: &str| {
        let named = ask::line(text)?;
        if !named.ends_with(".toml") {
            return Err("a name that ends in .toml".to_owned());
        }
        if refuse_existing(Path::new(&named)).is_err() {
            return Err("this file is there already: another name".to_owned());
        }
        Ok(named)
    };
    asker.ask("FILE", "File", None, default, &toml).map(PathBuf::from)
}

/// Writes the file, unless it is there, and checks it; a file with problems is taken away again.
fn write(draft: &Draft, sets: &Sets, content: &Content) -> Result<()> {
    let path = &draft.file;
    let failed = |cause| Error::Create { path: path.clone(), cause };
    if let Some(folder) = path.parent().filter(|folder| *folder != Path::new("")) {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    let mut file = match fs::OpenOptions::new().write(true).create_new(true).open(path) {
        Err(cause) if cause.kind() == ErrorKind::AlreadyExists => {
            return Err(Error::Exists { path: path.clone() });
        }
        opened => opened.map_err(failed)?,
    };
    let done = file.write_all(draft.text.as_bytes()).map_err(failed);
    drop(file);
    let checked = done.and_then(|()| check::problems(std::slice::from_ref(path), sets, content));
    match checked {
        Ok(found) if found.is_empty() => Ok(()),
        other => {
            fs::remove_file(path).map_err(failed)?;
            other.and_then(|found| Err(Error::Data(found)))
        }
    }
}

/// A name as it can be typed at a shell.
fn typed(path: &Path) -> String {
    let text = path.to_string_lossy();
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '.' | '_' | '-' | '/' | '\\' | ':');
    if text.chars().all(plain) { text.into_owned() } else { format!("'{}'", clean(&text)) }
}

/// A list of texts as TOML writes it.
fn toml_list(items: &str) -> String {
    let items: Vec<String> = items.split(", ").map(ask::quoted).collect();
    format!("[{}]", items.join(", "))
}

fn standard_of(name: StandardName) -> Standard {
    match name {
        StandardName::Icao => Standard::Icao,
        StandardName::Eu => Standard::Eu,
        StandardName::Uk => Standard::Uk,
        StandardName::Us => Standard::Us,
    }
}

/// The folder of grammar that a file lies in, if it lies in a folder of that name there.
fn grammar_folder(file: &Path, inside: &str) -> Option<PathBuf> {
    let mut folder = file.parent()?;
    for part in inside.rsplit('/') {
        if folder.file_name()?.to_str()? != part {
            return None;
        }
        folder = folder.parent()?;
    }
    Some(if folder == Path::new("") { PathBuf::from(".") } else { folder.to_owned() })
}
