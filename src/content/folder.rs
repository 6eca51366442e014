//! Reads a folder with content into memory, under the rules of a zip.

use super::File;
use super::guard::{FILE_BYTES, Tally, bytes};
use super::zip::Refusal;
use crate::diagnostic::clean;
use crate::error::{Error, Result};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

/// All files below `root`, without hidden ones and without those in `skip`.
///
/// # Errors
/// The system's, or the first reason to refuse a file.
pub fn read(root: &Path, skip: &[PathBuf]) -> Result<Result<Vec<File>, Refusal>> {
    let mut walk = Walk { tally: Tally::default(), files: Vec::new(), skip };
    match walk.folder(root, "") {
        Ok(()) => {
            walk.files.sort_by(|a, b| a.name.cmp(&b.name));
            Ok(Ok(walk.files))
        }
        Err(Stop::Refused(refusal)) => Ok(Err(refusal)),
        Err(Stop::Failed(error)) => Err(error),
    }
}

enum Stop {
    Refused(Refusal),
    Failed(Error),
}

struct Walk<'a> {
    tally: Tally,
    files: Vec<File>,
    skip: &'a [PathBuf],
}

impl Walk<'_> {
    fn folder(&mut self, folder: &Path, inside: &str) -> Result<(), Stop> {
        let failed = |cause| Stop::Failed(Error::Read { path: folder.to_owned(), cause });
        let mut paths = Vec::new();
        for entry in fs::read_dir(folder).map_err(failed)? {
            let entry = entry.map_err(failed)?;
            paths.push((entry.file_name(), entry.path(), entry.file_type().map_err(failed)?));
        }
        paths.sort_by(|a, b| a.0.cmp(&b.0));
        for (name, path, kind) in paths {
            let name = name.to_string_lossy();
            if name.starts_with('.') || self.skip.contains(&path) {
                continue;
            }
            let name = if inside.is_empty() { name.into_owned() } else { format!("{inside}/{name}") };
            let refuse = |reason: String| {
                let entry = clean(&name).chars().take(120).collect();
                Stop::Refused(Refusal { entry: Some(entry), reason })
            };
            if kind.is_symlink() {
                return Err(refuse("is a symbolic link".to_owned()));
            }
            if !kind.is_dir() && !kind.is_file() {
                return Err(refuse("is neither a file nor a folder".to_owned()));
            }
            self.tally.name(&name, kind.is_dir()).map_err(refuse)?;
            if kind.is_dir() {
                self.folder(&path, &name)?;
                continue;
            }
            let mut content = Vec::new();
            let failed = |cause| Stop::Failed(Error::Read { path: path.clone(), cause });
            let file = fs::File::open(&path).map_err(failed)?;
            file.take(FILE_BYTES + 1).read_to_end(&mut content).map_err(failed)?;
            self.tally.size(content.len() as u64).map_err(refuse)?;
            bytes(&name, &content).map_err(refuse)?;
            self.files.push(File { name, bytes: content });
        }
        Ok(())
    }
}
