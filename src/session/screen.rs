//! Lines on a screen: wrapped to its width, painted only where colour is wanted.

use crate::diagnostic::visible;
use crate::span::Span;
use anstyle::{AnsiColor, Effects, Style};
use std::ops::Range;
use unicode_width::UnicodeWidthChar;

/// The narrowest screen that is laid out for; narrower ones break lines by themselves.
const NARROWEST: usize = 24;

/// Columns that a text wants beside its label.
const ROOM: usize = 26;

/// How a piece of text is meant; each is also clear without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// Running text.
    #[default]
    Plain,
    /// A station speaks.
    Voice,
    /// Labels.
    Label,
    /// Right.
    Good,
    /// Understood, with a fault of form.
    Fair,
    /// Wrong or missing.
    Bad,
    /// What can be passed over.
    Faint,
}

impl Tone {
    fn style(self) -> Style {
        match self {
            Self::Plain => Style::new(),
            Self::Voice => AnsiColor::Cyan.on_default(),
            Self::Label => Style::new().effects(Effects::BOLD),
            Self::Good => AnsiColor::Green.on_default(),
            Self::Fair => AnsiColor::Yellow.on_default(),
            Self::Bad => AnsiColor::Red.on_default().effects(Effects::BOLD),
            Self::Faint => Style::new().effects(Effects::DIMMED),
        }
    }
}

/// One line: pieces with their tones.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Row(Vec<(Tone, String)>);

impl Row {
    /// An empty line.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A line of one piece.
    #[must_use]
    pub fn of(tone: Tone, text: impl Into<String>) -> Self {
        Self::new().and(tone, text)
    }

    /// The line with one more piece.
    #[must_use]
    pub fn and(mut self, tone: Tone, text: impl Into<String>) -> Self {
        self.0.push((tone, text.into()));
        self
    }

    /// The line as text, without blanks at its end.
    #[must_use]
    pub fn paint(&self, styled: bool) -> String {
        let mut out = String::new();
        let last = self.0.iter().rposition(|(_, text)| !text.trim_end().is_empty());
        for (n, (tone, text)) in self.0.iter().enumerate().take(last.map_or(0, |n| n + 1)) {
            let text = if Some(n) == last { text.trim_end() } else { text };
            let style = tone.style();
            if styled && *tone != Tone::Plain {
                out.push_str(&format!("{style}{text}{style:#}"));
            } else {
                out.push_str(text);
            }
        }
        out
    }
}

/// Columns of a text.
#[must_use]
pub fn columns(text: &str) -> usize {
    text.chars().map(wide).sum()
}

fn wide(c: char) -> usize {
    visible(c).width().unwrap_or(0)
}

/// Cuts a text into rows of at most `width` columns, at blanks where it can; byte ranges.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<Range<usize>> {
    let width = width.max(1);
    let mut rows = Vec::new();
    let (mut start, mut used) = (0, 0);
    let mut blank: Option<usize> = None;
    for (at, c) in text.char_indices() {
        let is_blank = visible(c) == ' ';
        if used + wide(c) > width && at > start {
            if is_blank {
                rows.push(start..at);
                (start, used, blank) = (at + c.len_utf8(), 0, None);
                continue;
            }
            let cut = blank.filter(|b| *b > start);
            let next = match cut {
                Some(cut) => {
                    rows.push(start..cut);
                    cut + text[cut..].chars().next().map_or(0, char::len_utf8)
                }
                None => {
                    rows.push(start..at);
                    at
                }
            };
            (start, blank) = (next, None);
            used = columns(&text[start..at]);
        }
        if is_blank {
            blank = Some(at);
        }
        used += wide(c);
    }
    if start < text.len() || rows.is_empty() {
        rows.push(start..text.len());
    }
    rows
}

/// A text under a hanging label: the label stands before the first row, blanks before the others.
/// Where the label leaves too little room it gets a row of its own, and the text is set two columns
/// deeper than the label, or than the blanks given for one.
#[must_use]
pub fn hang(label: (Tone, &str), column: usize, tone: Tone, text: &str, width: usize) -> Vec<Row> {
    let width = width.max(NARROWEST);
    let (label_tone, label) = label;
    let mut rows = Vec::new();
    let narrow = width < column + ROOM;
    let long = !narrow && columns(label) + 1 > column && !label.trim().is_empty() && column > 0;
    let lead = label.len() - label.trim_start().len();
    let indent = if narrow { column.min(lead + 2) } else { column };
    if narrow && !label.trim().is_empty() {
        rows.push(Row::of(label_tone, label.trim_end()));
    }
    if long {
        rows.push(Row::of(label_tone, label.trim_end()));
    }
    for range in wrap(text, width.saturating_sub(indent)) {
        let words: String = text[range].chars().map(visible).collect();
        if rows.is_empty() && !narrow {
            let gap = column.saturating_sub(columns(label));
            rows.push(Row::of(label_tone, label).and(Tone::Plain, " ".repeat(gap)).and(tone, words));
        } else {
            rows.push(Row::of(Tone::Plain, " ".repeat(indent)).and(tone, words));
        }
    }
    rows
}

/// A text with marks under stretches of it: a sign and a line as long as the stretch.
#[must_use]
pub fn marked(text: &str, marks: &[(Span, char)], indent: usize, width: usize) -> Vec<Row> {
    let width = width.max(NARROWEST);
    let mut rows = Vec::new();
    let lead = " ".repeat(indent);
    let pieces = wrap(text, width.saturating_sub(indent));
    let last = marks.iter().map(|(span, _)| span.end as usize).max().unwrap_or(0);
    // Marks that overlap stand in rows of their own.
    let mut layers: Vec<Vec<(Span, char)>> = Vec::new();
    for mark in marks {
        match layers.iter_mut().find(|l| l.iter().all(|m| !m.0.overlaps(mark.0))) {
            Some(layer) => layer.push(*mark),
            None => layers.push(vec![*mark]),
        }
    }
    for range in &pieces {
        if range.start > last && rows.len() > 6 {
            let rest = text[range.start..].chars().count();
            rows.push(Row::of(Tone::Faint, format!("{lead}... {rest} more characters")));
            break;
        }
        let line: String = text[range.clone()].chars().map(visible).collect();
        rows.push(Row::of(Tone::Plain, format!("{lead}{line}")));
        let mut hit = false;
        for layer in &layers {
            let under = underline(text, range, layer);
            if !under.is_empty() {
                hit = true;
                rows.push(Row::of(Tone::Bad, format!("{lead}{under}")));
            }
        }
        if !hit && marks.is_empty() && rows.len() > 6 {
            break;
        }
    }
    rows
}

/// The marks under one row of a text, without trailing blanks.
fn underline(text: &str, range: &std::ops::Range<usize>, marks: &[(Span, char)]) -> String {
    let mut under = String::new();
    for (at, c) in text[range.clone()].char_indices() {
        let at = range.start + at;
        let mark = marks.iter().find(|(span, _)| (span.start as usize..span.end as usize).contains(&at));
        for n in 0..wide(c) {
            under.push(match mark {
                Some((span, sign)) if n == 0 && at == (span.start as usize).max(range.start) => *sign,
                Some(_) => '-',
                None => ' ',
            });
        }
    }
    under.truncate(under.trim_end().len());
    under
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str, width: usize) -> Vec<&str> {
        wrap(text, width).into_iter().map(|r| &text[r]).collect()
    }

    #[test]
    fn rows_end_at_blanks_and_long_words_are_cut() {
        assert_eq!(texts("one two three", 7), ["one two", "three"]);
        assert_eq!(texts("abcdefgh ij", 4), ["abcd", "efgh", "ij"]);
        assert_eq!(texts("", 4), [""]);
        assert_eq!(texts("漢字漢字", 4), ["漢字", "漢字"]);
        for width in 1..30 {
            for row in texts("a bb ccc dddd  eeeee ffffff\tggggggg", width) {
                assert!(columns(row) <= width, "{row:?} at {width}");
            }
        }
    }

    #[test]
    fn marks_stand_under_their_words_in_every_row() {
        let text = "squawk 4412 whimbrel 214";
        let rows = marked(text, &[(Span::new(7, 11), '1'), (Span::new(12, 24), '2')], 2, 24);
        let shown: Vec<String> = rows.iter().map(|r| r.paint(false)).collect();
        assert_eq!(shown, ["  squawk 4412 whimbrel", "         1--- 2-------", "  214", "  2--"]);
    }

    #[test]
    fn marks_that_overlap_stand_in_two_rows() {
        let rows = marked("sqawk 4412", &[(Span::new(0, 10), '1'), (Span::new(6, 10), '2')], 0, 40);
        let shown: Vec<String> = rows.iter().map(|r| r.paint(false)).collect();
        assert_eq!(shown, ["sqawk 4412", "1---------", "      2---"]);
    }

    #[test]
    fn a_label_hangs_or_gets_its_own_row() {
        let shown = |width| -> Vec<String> {
            hang(
                (Tone::Label, "Tower 118.705"),
                16,
                Tone::Voice,
                "Whimbrel two one four, line up and wait runway two seven",
                width,
            )
            .iter()
            .map(|r| r.paint(false))
            .collect()
        };
        assert_eq!(shown(60)[0], "Tower 118.705   Whimbrel two one four, line up and wait");
        assert_eq!(
            shown(40),
            ["Tower 118.705", "  Whimbrel two one four, line up and", "  wait runway two seven"]
        );
    }

    #[test]
    fn escapes_never_reach_the_screen() {
        let rows = marked("\u{1b}[2J\u{7}x", &[(Span::new(0, 1), '1')], 0, 40);
        assert!(rows.iter().all(|r| !r.paint(false).contains(['\u{1b}', '\u{7}'])));
    }
}
