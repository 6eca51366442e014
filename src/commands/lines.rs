//! `grade` and `parse`: streams of JSON Lines.

use crate::bar::Bar;
use crate::batch;
use crate::error::{Error, Result, exit};
use std::fs::File;
use std::io::{self, IsTerminal, Write};
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
        if path.as_os_str() == "-" {
            if io::stdin().is_terminal() {
                writeln!(err, "reading JSON Lines from the keyboard; end with Ctrl-D")?;
            }
            failed += batch::run(&mut io::stdin().lock(), out, &work)?;
            continue;
        }
        let file = open(path)?;
        // The size of a pipe, or of a device, is not known.
        let size = file.metadata().ok().filter(std::fs::Metadata::is_file).map(|known| known.len());
        match size {
            None => failed += batch::run(&mut { file }, out, &work)?,
            Some(size) => {
                let bar = Bar::bytes(size).beside_output();
                failed += batch::run(&mut bar.reading(file), out, &work)?;
                bar.finish();
            }
        }
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
