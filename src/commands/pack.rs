//! `pack`: checks a folder of content as `check` does, and makes one zip of it.

use super::check;
use crate::content::manifest::{MANIFEST, Manifest};
use crate::content::pack::{Pack, item};
use crate::content::{Content, Item, named, zip as zips};
use crate::diagnostic::{clean, count};
use crate::error::{Error, Result, exit};
use crate::grammar::sets::Sets;
use crate::machine;
use serde_json::json;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// What was asked for on the command line.
#[derive(Debug, Clone)]
pub struct Options {
    /// The folder.
    pub folder: PathBuf,
    /// The zip; named after id and version, in the folder one stands in, if left out.
    pub zip: Option<PathBuf>,
    /// Write over a file that is there.
    pub force: bool,
    /// What was made as one object.
    pub json: bool,
}

/// Makes a pack and returns the exit status; problems of the content go to `err`, and nothing is written then.
///
/// # Errors
/// The folder is no pack, or a file can't be read or written.
pub fn run(options: &Options, styled: bool, out: &mut dyn Write, err: &mut dyn Write) -> Result<u8> {
    let folder = &options.folder;
    if !folder.is_dir() {
        let cause = io::Error::from(if folder.exists() {
            io::ErrorKind::NotADirectory
        } else {
            io::ErrorKind::NotFound
        });
        return Err(Error::Read { path: folder.clone(), cause });
    }
    let pack = Pack::open(folder, &[])?;
    let refuse = |reason: String| Error::Pack { place: format!("content folder {}", named(&pack)), reason };
    let Some(manifest) = pack.manifest.clone() else {
        return Err(refuse(format!("has no `{MANIFEST}`: {}", Manifest::WANTED)));
    };
    if pack.items().next().is_none() {
        return Err(refuse("holds no scenario, airport, operator or grammar file".to_owned()));
    }
    let zip = options
        .zip
        .clone()
        .unwrap_or_else(|| PathBuf::from(format!("{}-{}.zip", manifest.id, manifest.version)));
    let beside = zip.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let (Ok(beside), Ok(folder)) = (fs::canonicalize(beside), fs::canonicalize(folder))
        && beside.starts_with(folder)
    {
        let shown = clean(&zip.to_string_lossy()).into_owned();
        return Err(refuse(format!(
            "`{shown}` would lie in it; name a file elsewhere, for instance `../{shown}`"
        )));
    }
    let contents = contents(&pack);
    let bytes = zips::write(&pack.files).map_err(Error::Internal)?;
    let content = Content::of(vec![pack])?;
    let sets = Sets::over(None, &content)?;
    let checked = check::Report::of(&[], &sets, &content)?;
    if checked.status() != exit::DONE {
        return if options.json { checked.json(out) } else { checked.text(styled, out, err) };
    }
    match zips::read(&bytes) {
        Ok(files) if files == content.packs()[0].files => {}
        _ => return Err(Error::Internal("the zip does not hold what was put into it".to_owned())),
    }
    save(&zip, &bytes, options.force)?;
    let unread: Vec<&str> = content.packs()[0]
        .files
        .iter()
        .map(|f| f.name.as_str())
        .filter(|name| item(name).is_none() && *name != MANIFEST)
        .collect();
    if options.json {
        let made = json!({
            "file": zip.to_string_lossy(), "id": manifest.id, "version": manifest.version, "bytes": bytes.len(),
            "unread": unread,
        });
        machine::write(&made, out)?;
        return Ok(exit::DONE);
    }
    writeln!(
        out,
        "{}: {} {}, {contents}, {} bytes",
        clean(&zip.to_string_lossy()),
        manifest.id,
        manifest.version,
        bytes.len()
    )?;
    if !unread.is_empty() {
        writeln!(out, "in it, and not read by hearback: {}", clean(&unread.join(", ")))?;
    }
    Ok(exit::DONE)
}

/// `1 scenario, 2 airports`: what a pack holds.
pub(super) fn contents(pack: &Pack) -> String {
    let counted = Item::ALL.map(|kind| (pack.count(kind), kind.name()));
    let parts: Vec<String> =
        counted.iter().filter(|(number, _)| *number > 0).map(|(number, name)| count(*number, name)).collect();
    if parts.is_empty() { "nothing".to_owned() } else { parts.join(", ") }
}

/// Writes beside the file, and puts it in its place when it is whole.
fn save(path: &Path, bytes: &[u8], force: bool) -> Result<()> {
    if path.exists() && !force {
        let cause = io::Error::new(io::ErrorKind::AlreadyExists, "it exists; `--force` writes over it");
        return Err(Error::Create { path: path.to_owned(), cause });
    }
    let mut beside = path.as_os_str().to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = PathBuf::from(beside);
    let write = || -> io::Result<()> {
        let mut file = OpenOptions::new().write(true).create_new(true).open(&beside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&beside, path)
    };
    write().map_err(|cause| {
        let _ = fs::remove_file(&beside);
        Error::Create { path: path.to_owned(), cause }
    })
}
