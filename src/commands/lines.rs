//! `grade` and `parse`: streams of JSON Lines.

use crate::batch;
use crate::error::{Error, Result, exit};
use std::fs::File;
use std::io::{self, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};

/// Runs `work` over the lines of every file, or of standard input, and returns the exit status.
///
/// # Errors
/// A file can't be read, or the output can't be written.
pub fn run(
    files: &[PathBuf],
    out: &mut dyn Write,
    err: &mut dyn Write,
    work: impl Fn(&[u8], u64, &mut Vec<u8>) -> bool + Sync,
) -> Result<u8> {
    let mut failed = 0;
    let stdin = [PathBuf::from("-")];
    for path in if files.is_empty() { &stdin[..] } else { files } {
        let mut input: Box<dyn Read> = if path.as_os_str() == "-" {
            if io::stdin().is_terminal() {
                writeln!(err, "reading JSON Lines from the keyboard; end with Ctrl-D")?;
            }
            Box::new(io::stdin().lock())
        } else {
            Box::new(open(path)?)
        };
        failed += batch::run(&mut *input, out, &work)?;
    }
    Ok(if failed > 0 { exit::PROBLEMS } else { exit::DONE })
}

fn open(path: &Path) -> Result<File> {
    let fail = |cause| Error::Read { path: path.to_owned(), cause };
    let file = File::open(path).map_err(fail)?;
    if file.metadata().is_ok_and(|m| m.is_dir()) {
        return Err(fail(io::Error::from(io::ErrorKind::IsADirectory)));
    }
    Ok(file)
}
