//! A stretch of text by byte offsets, its line and column, and values of a file with their place.

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Deserialize;
use std::borrow::{Borrow, Cow};
use std::ops::Deref;

/// A value of a data file with its place; to an editor it is the value alone.
#[derive(Debug, Clone, Deserialize, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[serde(transparent)]
pub struct Spanned<T>(toml::Spanned<T>);

impl<T> Spanned<T> {
    /// The value without its place.
    #[must_use]
    pub fn into_inner(self) -> T {
        self.0.into_inner()
    }
}

impl<T> Deref for Spanned<T> {
    type Target = toml::Spanned<T>;

    fn deref(&self) -> &toml::Spanned<T> {
        &self.0
    }
}

impl Borrow<str> for Spanned<String> {
    fn borrow(&self) -> &str {
        self.0.get_ref()
    }
}

impl<T: JsonSchema> JsonSchema for Spanned<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }

    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

/// Bytes `start..end` of a text; `end` is excluded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A span from byte offsets; texts longer than 4 GiB are never given to the engine.
    #[must_use]
    pub fn new(start: usize, end: usize) -> Self {
        let cut = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Self { start: cut(start), end: cut(end) }
    }

    /// The text under the span, empty if the span lies outside `text` or between characters.
    #[must_use]
    pub fn of(self, text: &str) -> &str {
        text.get(self.start as usize..self.end as usize).unwrap_or("")
    }

    /// The smallest span that covers both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// True if the two share a byte.
    #[must_use]
    pub fn overlaps(self, other: Self) -> bool {
        self.start < other.end && other.start < self.end
    }
}

/// Line and column, both from 1, of a byte offset; columns count characters.
///
/// ```
/// assert_eq!(hearback::span::line_column("a\nbé c", 5), (2, 3));
/// ```
#[must_use]
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let mut at = offset.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let before = &text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}
