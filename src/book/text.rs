//! The phrase book for a terminal: 80 columns, no colour.

use super::side::Exchange;
use super::{Book, Chapter, Entry, MEMORY, NOTATION, READING, RuleRow, rows::Row};
use crate::CAUTION;
use crate::element::Standard;
use crate::wrap::{self, PAGE, beside};
use std::io::{self, Write};
use unicode_width::UnicodeWidthStr;

/// Where the text of an entry begins.
const TEXT: usize = 13;

/// Writes the book.
///
/// # Errors
/// The output can't be written.
pub fn write(book: &Book, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}", book.title())?;
    writeln!(out)?;
    for line in wrap::lines(CAUTION, PAGE) {
        writeln!(out, "{line}")?;
    }
    writeln!(out)?;
    for (pattern, meaning) in NOTATION {
        writeln!(out, "  {pattern:<16}{meaning}")?;
    }
    writeln!(out)?;
    for text in [READING, MEMORY] {
        for line in wrap::lines(text, PAGE) {
            writeln!(out, "{line}")?;
        }
    }
    for chapter in &book.chapters {
        self::chapter(chapter, out)?;
    }
    if !book.values.is_empty() {
        ruled("Values", '=', out)?;
        for (name, values) in &book.values {
            writeln!(out, "  ({name})")?;
            beside(out, "", 4, &values.join(" · "))?;
        }
    }
    if book.rules.is_empty() { Ok(()) } else { rules(book, out) }
}

fn chapter(chapter: &Chapter, out: &mut dyn Write) -> io::Result<()> {
    ruled(chapter.phase.title(), '=', out)?;
    for (k, section) in chapter.sections.iter().enumerate() {
        if k > 0 {
            writeln!(out)?;
        }
        ruled_line(&section.title, '-', out)?;
        for entry in &section.entries {
            self::entry(entry, out)?;
        }
    }
    Ok(())
}

/// A heading with an empty line on either side.
fn ruled(title: &str, line: char, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out)?;
    ruled_line(title, line, out)?;
    writeln!(out)
}

fn ruled_line(title: &str, line: char, out: &mut dyn Write) -> io::Result<()> {
    let rest = PAGE.saturating_sub(title.width() + 4).max(2);
    writeln!(out, "{line}{line} {title} {}", line.to_string().repeat(rest))
}

fn entry(entry: &Entry, out: &mut dyn Write) -> io::Result<()> {
    let side = &entry.side;
    writeln!(out)?;
    writeln!(out, "{}", entry.id)?;
    writeln!(out, "  {}", side.who)?;
    for (k, pattern) in side.patterns.iter().enumerate() {
        if k == 1 {
            writeln!(out, "  Heard as well")?;
        }
        let mut lines = wrap::lines(pattern, PAGE - 6).into_iter();
        if let Some(first) = lines.next() {
            writeln!(out, "    {first}")?;
        }
        for line in lines {
            writeln!(out, "      {line}")?;
        }
    }
    labelled("Parts", &side.parts, out)?;
    if let Some(example) = &side.example {
        exchange(example, out)?;
    }
    labelled("Answer", &side.model, out)?;
    labelled("Must have", &side.back, out)?;
    for wrong in &side.wrong {
        let same = side.example.as_ref().is_some_and(|right| right.station == wrong.exchange.station);
        if let Some(station) = wrong.exchange.station.as_ref().filter(|_| !same) {
            labelled("Wrong  to", &format!("“{station}”"), out)?;
            labelled("", &format!("“{}”", wrong.exchange.pilot), out)?;
        } else {
            labelled("Wrong", &format!("“{}”", wrong.exchange.pilot), out)?;
        }
        labelled("", &format!("→ {}", wrong.faults), out)?;
    }
    for avoid in &side.avoid {
        labelled("Avoid", &avoid.says.join(" · "), out)?;
        labelled("", &format!("→ instead: {}. {}", avoid.better, avoid.why), out)?;
    }
    labelled("Why", &side.why, out)?;
    row("Source", &entry.sources, out)?;
    if !entry.differences.is_empty() {
        writeln!(out, "  Where the rule sets differ")?;
        for difference in &entry.differences {
            writeln!(out, "    {}", difference.key)?;
            groups(difference, 6, out)?;
        }
    }
    Ok(())
}

fn labelled(label: &str, text: &str, out: &mut dyn Write) -> io::Result<()> {
    beside(out, &format!("  {label}"), TEXT, text)
}

fn exchange(said: &Exchange, out: &mut dyn Write) -> io::Result<()> {
    if let Some(station) = &said.station {
        labelled("Station", &format!("“{station}”"), out)?;
    }
    match said.pilot.is_empty() {
        true => labelled("Pilot", "(silence)", out),
        false => labelled("Pilot", &format!("“{}”", said.pilot), out),
    }
}

/// A row on one line if all agree, else a line for each group.
fn row(label: &str, row: &Row, out: &mut dyn Write) -> io::Result<()> {
    match row.groups.as_slice() {
        [one] => labelled(label, &one.lines.join(" "), out),
        several => {
            let mut label = label;
            for group in several {
                let text = format!("{}: {}", group.names(), group.lines.join(" "));
                labelled(label, &text, out)?;
                label = "";
            }
            Ok(())
        }
    }
}

/// The groups of a row, names of the sets beside what they say.
pub(super) fn groups(row: &Row, indent: usize, out: &mut dyn Write) -> io::Result<()> {
    let widest = row.groups.iter().map(|g| g.names().width()).max().unwrap_or(0);
    let text = indent + widest + 2;
    for group in &row.groups {
        let mut label = format!("{:indent$}{}", "", group.names());
        for line in &group.lines {
            beside(out, &label, text, line)?;
            label.clear();
        }
    }
    Ok(())
}

fn rules(book: &Book, out: &mut dyn Write) -> io::Result<()> {
    ruled("Rules of form", '=', out)?;
    let shown: &[Standard] = match &book.standard {
        Some(one) => std::slice::from_ref(one),
        None => &Standard::ALL,
    };
    let heads: String = shown.iter().map(|s| format!("{:<6}", s.name())).collect();
    writeln!(out, "  {:<30}{}", "", heads.trim_end())?;
    for rule in &book.rules {
        writeln!(out, "  {:<30}{}", rule.id, states(rule, shown))?;
        row_or_groups(&rule.why, out)?;
        row_or_groups(&rule.sources, out)?;
    }
    Ok(())
}

/// `yes` or `-` for each set, in columns.
pub(super) fn states(rule: &RuleRow, shown: &[Standard]) -> String {
    let states = shown.iter().map(|&s| format!("{:<6}", if rule.on[s as usize] { "yes" } else { "-" }));
    states.collect::<String>().trim_end().to_owned()
}

fn row_or_groups(row: &Row, out: &mut dyn Write) -> io::Result<()> {
    match row.groups.as_slice() {
        [one] => beside(out, "", 4, &one.lines.join(" ")),
        _ => groups(row, 4, out),
    }
}
