//! Texts with `{slots}` in them.

use std::ops::Range;

/// A text with `{slots}`, cut into pieces.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Template {
    text: String,
    pieces: Vec<Piece>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    /// Bytes of the text that stand for themselves.
    Words(Range<usize>),
    /// Bytes of the text with their braces.
    Slot(Range<usize>),
}

/// A text that was filled, and where each part of it came from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filled {
    /// The text.
    pub text: String,
    /// Bytes of the filled text, bytes of the template, and whether the piece is a slot.
    origin: Vec<(Range<usize>, Range<usize>, bool)>,
}

impl Template {
    /// Cuts a text into pieces.
    ///
    /// # Errors
    /// The place of a brace that has no partner.
    pub fn parse(text: &str) -> Result<Self, Range<usize>> {
        let mut pieces = Vec::new();
        let mut at = 0;
        while let Some(found) = text[at..].find(['{', '}']) {
            let open = at + found;
            let close = text[open..].find('}').map(|n| open + n);
            let Some(close) = close.filter(|&c| c > open && !text[open + 1..c].contains('{')) else {
                return Err(open..open + 1);
            };
            if open > at {
                pieces.push(Piece::Words(at..open));
            }
            pieces.push(Piece::Slot(open..close + 1));
            at = close + 1;
        }
        if at < text.len() {
            pieces.push(Piece::Words(at..text.len()));
        }
        Ok(Self { text: text.to_owned(), pieces })
    }

    /// The text as it was written.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.text
    }

    /// The slots with their places, braces included.
    pub fn slots(&self) -> impl Iterator<Item = (&str, Range<usize>)> {
        self.pieces.iter().filter_map(|piece| match piece {
            Piece::Slot(range) => Some((self.text[range.start + 1..range.end - 1].trim(), range.clone())),
            Piece::Words(_) => None,
        })
    }

    /// The text with a value for each slot. Marker words that the author wrote before the slot and
    /// that the value begins with are said once: `runway {runway}` and `{runway}` are the same.
    #[must_use]
    pub fn fill(&self, value: impl Fn(&str) -> Option<String>) -> Filled {
        let mut out = Filled::default();
        for piece in &self.pieces {
            let start = out.text.len();
            match piece {
                Piece::Words(range) => {
                    out.text.push_str(&self.text[range.clone()]);
                    out.origin.push((start..out.text.len(), range.clone(), false));
                }
                Piece::Slot(range) => {
                    let name = self.text[range.start + 1..range.end - 1].trim();
                    let value = value(name).unwrap_or_else(|| name.to_owned());
                    out.text.push_str(&value[said_already(&out.text, &value)..]);
                    out.origin.push((start..out.text.len(), range.clone(), true));
                }
            }
        }
        out
    }
}

impl Filled {
    /// True if every byte of the filled text in `place` comes from slots.
    #[must_use]
    pub fn drawn(&self, place: Range<usize>) -> bool {
        let mut words = self.origin.iter().filter(|(_, _, slot)| !slot);
        words.all(|(here, _, _)| place.end <= here.start || here.end <= place.start)
    }

    /// Where bytes of the filled text stand in the template; the whole slot if they lie in one.
    #[must_use]
    pub fn origin(&self, place: Range<usize>) -> Range<usize> {
        let mut out: Option<Range<usize>> = None;
        for (here, there, slot) in &self.origin {
            if place.start < here.end && here.start < place.end {
                let part = if *slot {
                    there.clone()
                } else {
                    let start = there.start + place.start.saturating_sub(here.start);
                    let end = there.end - here.end.saturating_sub(place.end);
                    start..end
                };
                out = Some(out.map_or(part.clone(), |o| o.start.min(part.start)..o.end.max(part.end)));
            }
        }
        out.unwrap_or(0..0)
    }
}

/// Bytes at the beginning of `value` that `before` ends with already, in whole words.
fn said_already(before: &str, value: &str) -> usize {
    let Some(before) = before.strip_suffix(' ') else {
        return 0;
    };
    let ends = value.match_indices(' ').map(|(at, _)| at);
    ends.filter(|&at| {
        let lead = &value[..at];
        let cut = before.len().checked_sub(lead.len());
        cut.is_some_and(|cut| {
            before.get(cut..).is_some_and(|tail| tail.eq_ignore_ascii_case(lead))
                && (cut == 0 || !before.as_bytes()[cut - 1].is_ascii_alphanumeric())
        })
    })
    .max()
    .map_or(0, |at| at + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(name: &str) -> Option<String> {
        match name {
            "runway" => Some("runway two seven".into()),
            "level" => Some("flight level eight zero".into()),
            _ => None,
        }
    }

    #[test]
    fn marker_words_are_said_once() {
        for (template, expected) in [
            ("hold short of {runway}", "hold short of runway two seven"),
            ("hold short of runway {runway}", "hold short of runway two seven"),
            ("climb to flight level {level}", "climb to flight level eight zero"),
            ("Runway {runway}, airway {level}", "Runway two seven, airway flight level eight zero"),
            ("{runway}", "runway two seven"),
        ] {
            assert_eq!(Template::parse(template).unwrap().fill(value).text, expected);
        }
    }

    #[test]
    fn places_are_found_again_in_the_template() {
        let template = Template::parse("say {runway} wombat").unwrap();
        let filled = template.fill(value);
        let at = filled.text.find("wombat").unwrap();
        assert_eq!(filled.origin(at..at + 6), 13..19);
        assert_eq!(filled.origin(5..9), 4..12);
        assert!(filled.drawn(4..10) && !filled.drawn(0..10) && !filled.drawn(at..at + 6));
        assert_eq!(template.slots().collect::<Vec<_>>(), [("runway", 4..12)]);
    }

    #[test]
    fn a_lone_brace_is_pointed_at() {
        assert_eq!(Template::parse("a {b"), Err(2..3));
        assert_eq!(Template::parse("a } b"), Err(2..3));
        assert_eq!(Template::parse("{a{b}"), Err(0..1));
        assert!(Template::parse("é {b} é").is_ok());
    }
}
