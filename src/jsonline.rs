//! One line of JSON with named fields: which are there, which are misspelt, and messages in plain words.

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, Visitor};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::fmt;

/// A field that a line can have.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field {
    /// The key.
    pub(crate) name: &'static str,
    /// What it holds, if the line cannot do without it.
    pub(crate) wanted: Option<&'static str>,
}

/// The fields of one line, as they are read.
pub(crate) struct Fields<'a, const N: usize> {
    known: &'static [Field; N],
    values: [Option<&'a RawValue>; N],
    twice: Option<&'static str>,
    unknown: Vec<Cow<'a, str>>,
}

#[derive(Deserialize)]
struct Str<'a>(#[serde(borrow)] Cow<'a, str>);

impl<'a, const N: usize> Fields<'a, N> {
    /// The fields of an object.
    ///
    /// # Errors
    /// What is wrong with the line, in plain words.
    pub(crate) fn read(known: &'static [Field; N], line: &'a [u8]) -> Result<Self, String> {
        let mut fields = Self::none(known);
        fields.fill(line).map_err(|error| fault(line, &error))?;
        if let Some(name) = fields.twice {
            return Err(format!("`{name}` is there twice"));
        }
        if let Some((unknown, near)) = fields.misspelt() {
            return Err(format!("unknown key `{}`; did you mean `{near}`?", shown(unknown)));
        }
        for (field, value) in known.iter().zip(&fields.values) {
            if let (Some(what), None) = (field.wanted, value) {
                return Err(format!("`{}` is missing: {what}", field.name));
            }
        }
        Ok(fields)
    }

    /// The value of the first field, even if the rest of the line cannot be read.
    pub(crate) fn first(known: &'static [Field; N], line: &'a [u8]) -> Option<&'a RawValue> {
        let mut fields = Self::none(known);
        let _ = fields.fill(line);
        fields.values[0]
    }

    fn none(known: &'static [Field; N]) -> Self {
        Self { known, values: [None; N], twice: None, unknown: Vec::new() }
    }

    fn fill(&mut self, line: &'a [u8]) -> serde_json::Result<()> {
        // Text that is known to be UTF-8 is not checked again field by field.
        match std::str::from_utf8(line) {
            Ok(line) => self.fill_from(serde_json::Deserializer::from_str(line)),
            Err(_) => self.fill_from(serde_json::Deserializer::from_slice(line)),
        }
    }

    fn fill_from<R: serde_json::de::Read<'a>>(
        &mut self,
        mut reader: serde_json::Deserializer<R>,
    ) -> serde_json::Result<()> {
        self.deserialize(&mut reader)?;
        reader.end()
    }

    /// An unknown key that looks like a known one which is not there.
    fn misspelt(&self) -> Option<(&str, &'static str)> {
        let absent = || self.known.iter().zip(&self.values).filter(|(_, value)| value.is_none());
        self.unknown.iter().find_map(|key| {
            let plain: String =
                key.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).take(40).collect();
            absent()
                .map(|(field, _)| (strsim::osa_distance(&plain, field.name), field))
                // A short optional key is near to too many others: there only its letters in another case.
                .filter(|(distance, field)| {
                    *distance <= field.name.len() / 4 + usize::from(field.wanted.is_some())
                })
                .min_by_key(|(distance, _)| *distance)
                .map(|(_, field)| (&**key, field.name))
        })
    }

    /// The value as it stands; `null` is a value.
    pub(crate) fn raw(&self, at: usize) -> Option<&'a RawValue> {
        self.values[at]
    }

    /// The text of a field; none if the field is not there, or if it is `null` and may be left out.
    ///
    /// # Errors
    /// It is something else than text.
    pub(crate) fn text(&self, at: usize) -> Result<Option<Cow<'a, str>>, String> {
        let Some(value) = self.values[at] else { return Ok(None) };
        let Field { name, wanted } = self.known[at];
        if wanted.is_none() && value.get() == "null" {
            return Ok(None);
        }
        if !value.get().starts_with('"') {
            return Err(format!("`{name}` wants text in quotes, not {}", kind(value.get().as_bytes())));
        }
        if let Some(plain) = value.get().strip_prefix('"').and_then(|text| text.strip_suffix('"'))
            && memchr::memchr(b'\\', plain.as_bytes()).is_none()
        {
            return Ok(Some(Cow::Borrowed(plain)));
        }
        match serde_json::from_str::<Str<'a>>(value.get()) {
            Ok(text) => Ok(Some(text.0)),
            Err(_) => Err(format!("`{name}` has an escape that is no character")),
        }
    }

    /// The text of a field that the line cannot do without.
    ///
    /// # Errors
    /// It is something else than text.
    pub(crate) fn needed(&self, at: usize) -> Result<Cow<'a, str>, String> {
        self.text(at).map(Option::unwrap_or_default)
    }
}

impl<'a, const N: usize> DeserializeSeed<'a> for &mut Fields<'a, N> {
    type Value = ();

    fn deserialize<D: Deserializer<'a>>(self, reader: D) -> Result<(), D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'a, const N: usize> Visitor<'a> for &mut Fields<'a, N> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<M: MapAccess<'a>>(self, mut map: M) -> Result<(), M::Error> {
        while let Some(Str(key)) = map.next_key::<Str<'a>>()? {
            let Some(at) = self.known.iter().position(|field| field.name == key) else {
                map.next_value::<IgnoredAny>()?;
                if self.unknown.len() < 64 {
                    self.unknown.push(key);
                }
                continue;
            };
            let value = map.next_value::<&RawValue>()?;
            if self.values[at].replace(value).is_some() {
                self.twice = Some(self.known[at].name);
            }
        }
        Ok(())
    }
}

/// What somebody wrote, in a message: no control characters, not too long.
pub(crate) fn shown(key: &str) -> String {
    let short: String = key.chars().take(40).collect();
    short.escape_debug().to_string()
}

/// What kind of value begins here.
fn kind(value: &[u8]) -> &'static str {
    match value.iter().find(|b| !b.is_ascii_whitespace()) {
        Some(b'[') => "a list",
        Some(b'{') => "an object",
        Some(b'"') => "text",
        Some(b't' | b'f') => "`true` or `false`",
        Some(b'n') => "`null`",
        _ => "a number",
    }
}

/// Why a line cannot be read.
fn fault(line: &[u8], error: &serde_json::Error) -> String {
    use serde_json::error::Category;
    let first = line.iter().find(|b| !b.is_ascii_whitespace());
    let column = error.column();
    match error.classify() {
        _ if matches!(first, Some(b'[' | b'"')) => {}
        _ if std::str::from_utf8(line).is_err() => {
            let place = std::str::from_utf8(line).err().map_or(0, |e| e.valid_up_to());
            return format!("not UTF-8 text at byte {}", place + 1);
        }
        Category::Data => {}
        Category::Eof => return "not valid JSON: the line ends too early".to_owned(),
        _ => {
            let text = error.to_string();
            let what = text.split(" at line ").next().unwrap_or("");
            return match what {
                "expected ident" | "expected value" => format!("not valid JSON at column {column}"),
                "trailing characters" => {
                    format!(
                        "not valid JSON at column {column}: one object a line is wanted, something follows it"
                    )
                }
                _ => format!("not valid JSON at column {column}: {what}"),
            };
        }
    }
    format!("an object is wanted, `{{…}}`, not {}", kind(line))
}
