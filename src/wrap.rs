//! Running text in lines of a given width.

use std::io::{self, Write};
use unicode_width::UnicodeWidthStr;

/// Columns of a page for a terminal.
pub const PAGE: usize = 78;

/// The words of `text` in lines of at most `width` columns; a longer word stands alone, cut into pieces.
///
/// ```
/// assert_eq!(hearback::wrap::lines("hold short of runway two seven", 12), ["hold short", "of runway", "two seven"]);
/// ```
#[must_use]
pub fn lines(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut out: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.width() + 1 + word.width() > width {
            out.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        if word.width() <= width {
            line.push_str(word);
            continue;
        }
        for c in word.chars() {
            line.push(c);
            if line.width() > width {
                line.pop();
                out.push(std::mem::take(&mut line));
                line.push(c);
            }
        }
    }
    if !line.is_empty() {
        out.push(line);
    }
    out
}

/// Writes a title and, beneath it, its text in lines; nothing if there is no text.
///
/// # Errors
/// The output can't be written.
pub fn paragraph(out: &mut dyn Write, title: &str, text: &str) -> io::Result<()> {
    if text.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  {title}")?;
    for line in lines(text, PAGE - 5) {
        writeln!(out, "    {line}")?;
    }
    Ok(())
}

/// Writes `text` beside `label`: the label in the first line, every line beginning at column `indent`.
///
/// # Errors
/// The output can't be written.
pub fn beside(out: &mut dyn Write, label: &str, indent: usize, text: &str) -> io::Result<()> {
    let mut label = label;
    for line in lines(text, PAGE.saturating_sub(indent)) {
        let gap = indent.saturating_sub(label.width()).max(usize::from(!label.is_empty()));
        writeln!(out, "{label}{:gap$}{line}", "")?;
        label = "";
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_longer_than_asked_and_no_word_is_lost() {
        let text = "a  bb ccc dddd eeeeeeeeeeeeeee f";
        for width in 1..20 {
            let wrapped = lines(text, width);
            assert!(wrapped.iter().all(|l| l.width() <= width), "{wrapped:?}");
            assert_eq!(wrapped.concat().replace(' ', ""), text.replace(' ', ""));
        }
        assert!(lines("  ", 10).is_empty());
    }

    #[test]
    fn a_label_stands_once() {
        let mut out = Vec::new();
        beside(&mut out, "  Why", 8, &"word ".repeat(20)).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert!(text.starts_with("  Why   word word") && text.matches("Why").count() == 1);
        assert!(text.lines().nth(1).unwrap().starts_with("        word"));
    }
}
