//! Questions of `new`: answered by a flag, at the prompt, or by what comes through a pipe.

use crate::diagnostic::clean;
use crate::error::{Error, Result};
pub(super) use crate::scenario::phases::quoted;
use std::io::{BufRead, Write};

/// What an answer becomes, or what is allowed instead.
pub(super) type Checked = std::result::Result<String, String>;

/// Asks questions.
pub(super) struct Asker<'a> {
    pub(super) answers: &'a mut dyn BufRead,
    pub(super) shown: &'a mut dyn Write,
    /// Takes the default for everything that no flag answers.
    pub(super) defaults: bool,
    /// Shows the answers too: they come from a pipe.
    pub(super) echo: bool,
}

impl Asker<'_> {
    /// The answer to a question: what the flag says, else what is typed; nothing typed is the default.
    pub(super) fn ask(
        &mut self,
        flag: &str,
        question: &str,
        given: Option<&str>,
        default: &str,
        check: &dyn Fn(&str) -> Checked,
    ) -> Result<String> {
        let wrong = |text: &str, problem: String| Error::Answer {
            name: flag.to_owned(),
            given: clean(text).into_owned(),
            problem,
        };
        if let Some(given) = given {
            return check(given.trim()).map_err(|problem| wrong(given, problem));
        }
        let mut refused: Option<Error> = None;
        while !self.defaults {
            write!(self.shown, "{question} [{}]: ", clean(default))?;
            self.shown.flush()?;
            let mut line = Vec::new();
            let read = self.answers.read_until(b'\n', &mut line);
            if read.map_err(|cause| Error::Terminal(cause.to_string()))? == 0 {
                writeln!(self.shown)?;
                break;
            }
            let line = String::from_utf8_lossy(&line);
            let line = line.trim();
            if self.echo {
                writeln!(self.shown, "{}", clean(line))?;
            }
            if line.is_empty() {
                refused = None;
                break;
            }
            match check(line) {
                Ok(answer) => return Ok(answer),
                Err(problem) => {
                    writeln!(self.shown, "  {problem}")?;
                    refused = Some(wrong(line, problem));
                }
            }
        }
        match refused {
            // The answers came to their end with one that cannot be taken.
            Some(error) => Err(error),
            None => check(default).map_err(|problem| wrong(default, problem)),
        }
    }
}

/// A line of text.
pub(super) fn line(text: &str) -> Checked {
    let fine = !text.is_empty() && !text.chars().any(char::is_control);
    if fine { Ok(text.to_owned()) } else { Err("some words in one line".to_owned()) }
}

/// A name as files use it: small letters, digits and hyphens.
pub(super) fn id(text: &str) -> Checked {
    let inside = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let fine = text.starts_with(|c: char| c.is_ascii_lowercase()) && text.chars().all(inside);
    if fine {
        Ok(text.to_owned())
    } else {
        Err("small letters, digits and hyphens, a letter first".to_owned())
    }
}

/// One of a few words.
pub(super) fn one_of(text: &str, allowed: &[&str]) -> Checked {
    let found = allowed.iter().find(|known| known.eq_ignore_ascii_case(text));
    found.map(|known| (*known).to_owned()).ok_or_else(|| crate::diagnostic::list(allowed))
}

/// A whole number in a range.
pub(super) fn number(text: &str, from: i64, to: i64) -> Checked {
    let found = text.replace(',', "").parse::<i64>().ok().filter(|n| (from..=to).contains(n));
    found.map(|n| n.to_string()).ok_or_else(|| format!("a whole number from {from} to {to}"))
}

/// Texts with commas between them.
pub(super) fn list(text: &str, check: &dyn Fn(&str) -> Checked) -> Checked {
    let items = text.split(',').map(str::trim).filter(|item| !item.is_empty());
    let items = items.map(check).collect::<std::result::Result<Vec<_>, _>>()?;
    if items.is_empty() { Err("one at least".to_owned()) } else { Ok(items.join(", ")) }
}

/// A name made of words: `My flight` is `my-flight`.
pub(super) fn slug(text: &str) -> String {
    let small: String =
        text.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    let parts: Vec<&str> = small.split('-').filter(|part| !part.is_empty()).collect();
    let name = parts.join("-");
    if name.starts_with(|c: char| c.is_ascii_lowercase()) { name } else { format!("my-{name}") }
}
