//! `phrasebook`: the phrases of a flight, written for a terminal, in Markdown or as a page to print.

use crate::book::{self, Book, Wanted};
use crate::cli::PageFormat;
use crate::contract::RuleSets;
use crate::diagnostic;
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::machine;
use crate::rules::Phase;
use std::io::Write;

/// What to print, and how.
#[derive(Debug, Clone)]
pub struct Options {
    /// One phase of flight.
    pub phase: Option<Phase>,
    /// One topic.
    pub topic: Option<String>,
    /// One rule set's own wording.
    pub standard: Option<Standard>,
    /// How it is written.
    pub format: PageFormat,
}

/// Writes the book and returns the exit status.
///
/// # Errors
/// [`Error::Unknown`] if there is no topic of that name, or the output can't be written.
pub fn run(options: &Options, sets: &dyn RuleSets, out: &mut dyn Write) -> Result<u8> {
    let topic = options.topic.as_deref();
    let wanted = Wanted { standard: options.standard, phase: options.phase, topic };
    let book = Book::of(sets, &wanted);
    if let Some(topic) = topic.filter(|_| book.chapters.is_empty()) {
        let known = book::topics(sets);
        let known: Vec<&str> = known.iter().map(|t| t.id.as_str()).collect();
        let help = match known.contains(&topic) {
            true => Some("none of its phrases is in this rule set".to_owned()),
            false => diagnostic::suggestion(topic, &known),
        };
        let help = help.map_or_else(String::new, |help| format!("; {help}"));
        return Err(Error::Unknown { what: "topic", name: diagnostic::clean(topic).into_owned(), help });
    }
    match options.format {
        PageFormat::Text => book::text::write(&book, out)?,
        PageFormat::Markdown => book::markdown::write(&book, out)?,
        PageFormat::Json => machine::write(&book, out)?,
        PageFormat::Html => out.write_all(book::html::page(&book).as_bytes())?,
    }
    Ok(exit::DONE)
}
