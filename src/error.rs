//! What can go wrong with files, the terminal and the command line, one line each; and the exit statuses.

use crate::diagnostic::{Diagnostic, count};
use crate::map::request::MapError;
use std::io;
use std::path::{Path, PathBuf};

/// Exit statuses of the program.
pub mod exit {
    /// All done; a learner's slips are no failure.
    pub const DONE: u8 = 0;
    /// Problems were found: a bad file, a bad line.
    pub const PROBLEMS: u8 = 1;
    /// Wrong usage, or a file or the system failed.
    pub const FAILED: u8 = 2;
    /// Stopped from the keyboard.
    pub const INTERRUPTED: u8 = 130;

    /// All of them, with what they mean, for the manual.
    pub const MEANINGS: [(u8, &str); 4] = [
        (DONE, "Done. A trainee's slips are no failure, nor is a reader that went away."),
        (PROBLEMS, "Problems were found: in a data file, in a line of input, in a pack."),
        (FAILED, "Wrong usage, or a file, the record or the system failed; one line says which."),
        (INTERRUPTED, "Stopped from the keyboard; what was practised so far is kept."),
    ];
}

/// A failure that ends a command.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A file cannot be read.
    #[error("failed to read `{}`: {cause}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// Nothing of this name is built in, and it is no file.
    #[error("no {what} `{name}`{help}")]
    Unknown {
        /// `scenario`, `airport` …
        what: &'static str,
        /// What was asked for.
        name: String,
        /// Begins with `;` if there is something to say.
        help: String,
    },
    /// A folder of grammar that is not laid out as one.
    #[error("grammar folder `{}`: {problem}", path.display())]
    Folder {
        /// The folder, or what is wrong in it.
        path: PathBuf,
        /// What is wrong, and what is allowed.
        problem: String,
    },
    /// A pack that is not taken, as a whole.
    #[error("{place}: {reason}")]
    Pack {
        /// The pack, and the entry in it, as they are shown.
        place: String,
        /// Why not.
        reason: String,
    },
    /// One name for several things.
    #[error("{0}")]
    Clash(String),
    /// A file that must not be overwritten.
    #[error("`{}` is there already: give another name; nothing was written", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// A file that is only written over when asked for.
    #[error("`{}` is there already: give another name, or `--force`; nothing was written", path.display())]
    Taken {
        /// The file.
        path: PathBuf,
    },
    /// A drawing that cannot be made as asked.
    #[error(transparent)]
    Map(#[from] MapError),
    /// A file cannot be made.
    #[error("failed to write `{}`: {cause}", path.display())]
    Create {
        /// The file.
        path: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// An answer that cannot be taken.
    #[error("{name}: `{given}` cannot be: {problem}")]
    Answer {
        /// The flag that answers.
        name: String,
        /// What was said.
        given: String,
        /// What is allowed.
        problem: String,
    },
    /// A folder without data files.
    #[error("no .toml file is in `{}` or below it", path.display())]
    Empty {
        /// The folder.
        path: PathBuf,
    },
    /// A folder whose changes nobody tells of.
    #[error("`{}`: {problem}", path.display())]
    Watch {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        problem: String,
    },
    /// Data files with problems.
    #[error("{} in the data files", count(.0.len(), "problem"))]
    Data(Vec<Diagnostic>),
    /// The output cannot be written.
    #[error("failed to write: {0}")]
    Write(#[from] io::Error),
    /// The record cannot be used.
    #[error(transparent)]
    Record(#[from] crate::record::Trouble),
    /// A command that does not say what it needs.
    #[error("{0}")]
    Usage(String),
    /// The prompt failed.
    #[error("failed to read from the terminal: {0}")]
    Terminal(String),
    /// A fault of the program itself.
    #[error("internal error, please report: {0}")]
    Internal(String),
}

impl Error {
    /// The exit status that belongs to the failure; a reader that went away is no failure.
    #[must_use]
    pub fn status(&self) -> u8 {
        match self {
            Self::Data(_) | Self::Pack { .. } | Self::Clash(_) => exit::PROBLEMS,
            Self::Write(cause) if cause.kind() == io::ErrorKind::BrokenPipe => exit::DONE,
            _ => exit::FAILED,
        }
    }

    /// The file or folder that it is about, if it is about one.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        match self {
            Self::Read { path, .. }
            | Self::Folder { path, .. }
            | Self::Exists { path }
            | Self::Taken { path }
            | Self::Create { path, .. }
            | Self::Empty { path }
            | Self::Watch { path, .. } => Some(path),
            Self::Record(trouble) => Some(trouble.path()),
            _ => None,
        }
    }

    /// True if the reader of the output went away: nothing is to be said.
    #[must_use]
    pub fn is_quiet(&self) -> bool {
        matches!(self, Self::Write(cause) if cause.kind() == io::ErrorKind::BrokenPipe)
    }
}

/// The result of a command.
pub type Result<T, E = Error> = std::result::Result<T, E>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failure_is_one_line_and_a_closed_pipe_is_none() {
        let cause = io::Error::new(io::ErrorKind::NotFound, "no such file");
        let error = Error::Read { path: "x.toml".into(), cause };
        assert_eq!(error.to_string(), "failed to read `x.toml`: no such file");
        assert_eq!(error.status(), exit::FAILED);
        let closed = Error::from(io::Error::from(io::ErrorKind::BrokenPipe));
        assert!(closed.is_quiet() && closed.status() == exit::DONE);
    }
}
