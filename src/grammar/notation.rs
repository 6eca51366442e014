//! The notation of patterns: `words`, `[optional]`, `(a | b)`, `<slot>`, `<element:slot>`.

/// A parsed pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Node {
    /// One after the other.
    Sequence(Vec<Node>),
    /// One of them.
    Either(Vec<Node>),
    /// May be left out.
    Optional(Box<Node>),
    /// A word of the text, not yet folded.
    Word(String),
    /// A slot: element name (`_` for none) and slot name.
    Slot(String, String),
}

/// What is wrong with a pattern, and where: byte offsets into the pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotationError {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// The complaint, lower case, no full stop.
    pub message: String,
}

/// Parses one pattern.
///
/// # Errors
/// An unclosed or unexpected bracket, an empty group, a slot without a name, or a character that has
/// no place in a pattern.
pub fn parse(pattern: &str) -> Result<Node, NotationError> {
    parse_text(pattern, false)
}

/// Parses a template, in which commas stand for pauses.
///
/// # Errors
/// As [`parse`].
pub fn parse_template(template: &str) -> Result<Node, NotationError> {
    parse_text(template, true)
}

fn parse_text(pattern: &str, commas: bool) -> Result<Node, NotationError> {
    let mut parser = Parser { text: pattern, at: 0, commas };
    let node = parser.alternatives(None)?;
    if let Node::Sequence(items) = &node
        && items.is_empty()
    {
        return Err(NotationError { start: 0, end: pattern.len(), message: "this pattern is empty".into() });
    }
    Ok(node)
}

struct Parser<'a> {
    text: &'a str,
    at: usize,
    commas: bool,
}

impl Parser<'_> {
    fn error<T>(&self, start: usize, end: usize, message: impl Into<String>) -> Result<T, NotationError> {
        Err(NotationError { start, end: end.min(self.text.len()).max(start), message: message.into() })
    }

    fn alternatives(&mut self, close: Option<(char, usize)>) -> Result<Node, NotationError> {
        let mut either = Vec::new();
        let mut sequence = Vec::new();
        loop {
            let rest = &self.text[self.at..];
            let Some(c) = rest.chars().next() else {
                if let Some((want, opened)) = close {
                    return self.error(
                        opened,
                        opened + 1,
                        format!("this bracket is never closed by `{want}`"),
                    );
                }
                break;
            };
            let here = self.at;
            match c {
                c if c.is_whitespace() => self.at += c.len_utf8(),
                '(' | '[' => {
                    self.at += 1;
                    let want = if c == '(' { ')' } else { ']' };
                    let inner = self.alternatives(Some((want, here)))?;
                    if inner == Node::Sequence(Vec::new()) {
                        return self.error(here, self.at, "this group is empty");
                    }
                    sequence.push(if c == '[' { Node::Optional(Box::new(inner)) } else { inner });
                }
                ')' | ']' => {
                    if close.map(|p| p.0) != Some(c) {
                        return self.error(here, here + 1, format!("`{c}` closes nothing here"));
                    }
                    self.at += 1;
                    break;
                }
                '|' => {
                    if close.is_none() {
                        return self.error(here, here + 1, "alternatives stand in round brackets: `(a | b)`");
                    }
                    self.at += 1;
                    either.push(Node::Sequence(std::mem::take(&mut sequence)));
                }
                '<' => sequence.push(self.slot()?),
                '>' => return self.error(here, here + 1, "`>` closes nothing here"),
                c if c.is_alphanumeric() => {
                    let word: String = rest
                        .chars()
                        .take_while(|c| c.is_alphanumeric() || matches!(c, '\'' | '’' | '-'))
                        .collect();
                    self.at += word.len();
                    sequence.push(Node::Word(word));
                }
                '-' => self.at += 1,
                ',' if self.commas => {
                    self.at += 1;
                    sequence.push(Node::Word(",".to_owned()));
                }
                c => {
                    return self.error(
                        here,
                        here + c.len_utf8(),
                        format!("`{c}` has no meaning in a pattern"),
                    );
                }
            }
        }
        if either.is_empty() {
            return Ok(Node::Sequence(sequence));
        }
        either.push(Node::Sequence(sequence));
        if either.contains(&Node::Sequence(Vec::new())) {
            return self.error(
                close.map_or(0, |p| p.1),
                self.at,
                "one of these alternatives is empty; use `[…]`",
            );
        }
        Ok(Node::Either(either))
    }

    fn slot(&mut self) -> Result<Node, NotationError> {
        let open = self.at;
        let inside = &self.text[open + 1..];
        let end =
            inside.find(['<', '>', '(', ')', '[', ']', '|']).filter(|&end| inside[end..].starts_with('>'));
        let Some(length) = end.map(|end| end + 1) else {
            return self.error(open, open + 1, "this bracket is never closed by `>`");
        };
        let inner = &self.text[open + 1..open + length];
        self.at = open + length + 1;
        let (element, slot) = inner.split_once(':').unwrap_or((inner, inner));
        let named =
            |n: &str| !n.is_empty() && n.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-'));
        if !named(element) || !named(slot) {
            return self.error(open, self.at, "a slot is `<slot>` or `<element:slot>`");
        }
        Ok(Node::Slot(element.to_owned(), slot.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_alternatives_and_slots() {
        let node = parse("line up [and wait] (<runway> | at <x:point>)").unwrap();
        let Node::Sequence(items) = node else { panic!("a sequence") };
        assert_eq!(items.len(), 4);
        assert_eq!(items[0], Node::Word("line".into()));
        assert!(matches!(&items[2], Node::Optional(_)));
        assert!(matches!(&items[3], Node::Either(both) if both.len() == 2));
    }

    #[test]
    fn every_complaint_points_at_its_place() {
        for (pattern, start, end, message) in [
            ("", 0, 0, "this pattern is empty"),
            ("climb [to", 6, 7, "this bracket is never closed by `]`"),
            ("climb to)", 8, 9, "`)` closes nothing here"),
            ("climb | descend", 6, 7, "alternatives stand in round brackets: `(a | b)`"),
            ("climb <level", 6, 7, "this bracket is never closed by `>`"),
            ("climb <level [to <point>]", 6, 7, "this bracket is never closed by `>`"),
            ("climb (to <level>]", 17, 18, "`]` closes nothing here"),
            ("climb level>", 11, 12, "`>` closes nothing here"),
            ("climb < >", 6, 9, "a slot is `<slot>` or `<element:slot>`"),
            ("climb, to", 5, 6, "`,` has no meaning in a pattern"),
            ("climb ()", 6, 8, "this group is empty"),
            ("(climb | )", 0, 10, "one of these alternatives is empty; use `[…]`"),
        ] {
            assert_eq!(
                parse(pattern),
                Err(NotationError { start, end, message: message.into() }),
                "{pattern}"
            );
        }
    }
}
