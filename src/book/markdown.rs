//! The phrase book in Markdown, with a table of contents.

use super::rows::Row;
use super::side::Exchange;
use super::{Book, Entry, MEMORY, NOTATION, READING};
use crate::CAUTION;
use crate::element::Standard;
use std::io::{self, Write};

/// Writes the book.
///
/// # Errors
/// The output can't be written.
pub fn write(book: &Book, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "# {}\n", plain(&book.title()))?;
    writeln!(out, "> {}\n", plain(CAUTION))?;
    writeln!(out, "{}\n\n{}\n", plain(READING), plain(MEMORY))?;
    writeln!(out, "| written | means |\n|---|---|")?;
    for (pattern, meaning) in NOTATION {
        writeln!(out, "| {} | {meaning} |", code(pattern))?;
    }
    writeln!(out)?;
    for chapter in &book.chapters {
        writeln!(out, "- [{0}](#{1})", plain(chapter.phase.title()), chapter.phase.name())?;
        for section in &chapter.sections {
            writeln!(out, "  - [{0}](#topic-{1})", plain(&section.title), section.id)?;
        }
    }
    if !book.values.is_empty() {
        writeln!(out, "- [Values](#values)")?;
    }
    if !book.rules.is_empty() {
        writeln!(out, "- [Rules of form](#rules)")?;
    }
    writeln!(out)?;
    for chapter in &book.chapters {
        heading(2, chapter.phase.name(), chapter.phase.title(), out)?;
        for section in &chapter.sections {
            heading(3, &format!("topic-{}", section.id), &section.title, out)?;
            for entry in &section.entries {
                self::entry(entry, out)?;
            }
        }
    }
    if !book.values.is_empty() {
        heading(2, "values", "Values", out)?;
        writeln!(out, "| bracket | for instance |\n|---|---|")?;
        for (name, values) in &book.values {
            writeln!(out, "| {} | {} |", code(&format!("({name})")), plain(&values.join(" · ")))?;
        }
        writeln!(out)?;
    }
    if book.rules.is_empty() { Ok(()) } else { rules(book, out) }
}

/// A heading that the table of contents can point at.
fn heading(level: usize, anchor: &str, title: &str, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "<a id=\"{anchor}\"></a>\n\n{} {}\n", "#".repeat(level), plain(title))
}

fn entry(entry: &Entry, out: &mut dyn Write) -> io::Result<()> {
    let side = &entry.side;
    writeln!(out, "#### {}\n", code(&entry.id))?;
    writeln!(out, "{}\n", plain(side.who))?;
    if let Some((usual, others)) = side.patterns.split_first() {
        writeln!(out, "**{}**\n", code(usual))?;
        if !others.is_empty() {
            let others: Vec<String> = others.iter().map(|p| code(p)).collect();
            writeln!(out, "Heard as well: {}\n", others.join(" · "))?;
        }
    }
    if let Some(example) = &side.example {
        exchange(example, out)?;
        writeln!(out)?;
    }
    item("Parts in order", &side.parts, out)?;
    if !side.model.is_empty() {
        writeln!(out, "- **Answer:** {}", code(&side.model))?;
    }
    item("Must come back", &side.back, out)?;
    for wrong in &side.wrong {
        let same = side.example.as_ref().is_some_and(|right| right.station == wrong.exchange.station);
        let to = match wrong.exchange.station.as_ref().filter(|_| !same) {
            Some(station) => format!("“{}” → ", plain(station)),
            None => String::new(),
        };
        let (pilot, faults) = (plain(&wrong.exchange.pilot), plain(&wrong.faults));
        writeln!(out, "- **Wrong:** {to}“{pilot}” ({faults})")?;
    }
    for avoid in &side.avoid {
        let says: Vec<String> = avoid.says.iter().map(|s| code(s)).collect();
        let (says, better) = (says.join(" · "), plain(&avoid.better));
        writeln!(out, "- **Avoid:** {says}; instead: *{better}*. {}", plain(&avoid.why))?;
    }
    item("Why", &side.why, out)?;
    item("Source", &sources(&entry.sources), out)?;
    writeln!(out)?;
    if !entry.differences.is_empty() {
        writeln!(out, "| where the rule sets differ | in | |\n|---|---|---|")?;
        for row in &entry.differences {
            let mut key = row.key;
            for group in &row.groups {
                let lines: Vec<String> = group.lines.iter().map(|l| plain(l)).collect();
                writeln!(out, "| {key} | {} | {} |", group.names(), lines.join("<br>"))?;
                key = "";
            }
        }
        writeln!(out)?;
    }
    Ok(())
}

fn exchange(said: &Exchange, out: &mut dyn Write) -> io::Result<()> {
    if let Some(station) = &said.station {
        writeln!(out, "> **Station:** “{}”  ", plain(station))?;
    }
    match said.pilot.is_empty() {
        true => writeln!(out, "> **Pilot:** (silence)"),
        false => writeln!(out, "> **Pilot:** “{}”", plain(&said.pilot)),
    }
}

fn item(label: &str, text: &str, out: &mut dyn Write) -> io::Result<()> {
    if text.is_empty() { Ok(()) } else { writeln!(out, "- **{label}:** {}", plain(text)) }
}

/// The groups of a row in one line.
fn sources(row: &Row) -> String {
    match row.groups.as_slice() {
        [one] => one.lines.join(" "),
        several => {
            let said = several.iter().map(|g| format!("{}: {}", g.names(), g.lines.join(" ")));
            said.collect::<Vec<_>>().join(" · ")
        }
    }
}

fn rules(book: &Book, out: &mut dyn Write) -> io::Result<()> {
    let shown: &[Standard] = match &book.standard {
        Some(one) => std::slice::from_ref(one),
        None => &Standard::ALL,
    };
    heading(2, "rules", "Rules of form", out)?;
    let heads: Vec<&str> = shown.iter().map(|s| s.name()).collect();
    writeln!(out, "| rule | {} | why | source |", heads.join(" | "))?;
    writeln!(out, "|---|{}---|---|", ":-:|".repeat(shown.len()))?;
    for rule in &book.rules {
        let on: Vec<&str> = shown.iter().map(|&s| if rule.on[s as usize] { "yes" } else { "–" }).collect();
        let (why, source) = (plain(&sources(&rule.why)), plain(&sources(&rule.sources)));
        writeln!(out, "| {} | {} | {why} | {source} |", code(&rule.id), on.join(" | "))?;
    }
    Ok(())
}

/// Text in which nothing is taken for Markdown or HTML.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '#' | '|' | '~' => {
                out.push('\\');
                out.push(c);
            }
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            _ => out.push(c),
        }
    }
    out
}

/// Text as it is, in the letters of a typewriter; a bar is escaped for tables.
fn code(text: &str) -> String {
    format!("`{}`", text.replace('`', "'").replace('|', "\\|"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_the_language_are_escaped() {
        assert_eq!(plain("a|b [memory] <c>"), "a\\|b \\[memory\\] &lt;c&gt;");
        assert_eq!(code("a|`b"), "`a\\|'b`");
    }
}
