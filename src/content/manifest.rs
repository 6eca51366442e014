//! `pack.toml`: what a pack says of itself.

use crate::airport::check::check_format;
use crate::airport::schema::{Number, Text};
use crate::diagnostic::{self, Diagnostic, Findings};
use serde::Deserialize;

/// Codes of problems in manifests, with what each means.
pub const CODES: &[(&str, &str)] = &[
    ("P001", "the file is empty or not UTF-8 text"),
    ("P002", "the file is not TOML, or has a key or a type that manifests do not have"),
    ("P003", "the file is written for another version of the program"),
    ("P004", "a value that is not allowed"),
    ("P005", "the pack needs a newer program"),
    ("P006", "it replaces what is not in the pack"),
];

/// Name of the file.
pub const MANIFEST: &str = "pack.toml";
/// What is built in, in `builtin/name`.
pub const BUILTIN: &str = "builtin";

/// The file as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ManifestFile {
    format: Number,
    id: Text,
    title: Text,
    version: Text,
    author: Text,
    licence: Text,
    needs: Option<Text>,
    #[serde(default)]
    replaces: Vec<Text>,
}

/// What a pack says of itself, checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Manifest {
    /// Its name in `packid/name`.
    pub id: String,
    /// One line for lists.
    pub title: String,
    /// Its own version.
    pub version: String,
    /// Who made it.
    pub author: String,
    /// Under which terms it may be used.
    pub licence: String,
    /// Names of its own that take the place of others.
    pub replaces: Vec<String>,
}

impl Manifest {
    /// What must be in it.
    pub const WANTED: &'static str = "a file with format = 1, id, title, version, author and licence";
}

/// Reads a manifest; `names` are those that the pack has content of.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read_manifest(path: &str, bytes: &[u8], names: &[String]) -> Result<Manifest, Vec<Diagnostic>> {
    let source = diagnostic::text("P001", path, bytes).map_err(|problem| vec![*problem])?;
    let broken = diagnostic::syntax("P002", path, &source);
    if !broken.is_empty() {
        return Err(broken);
    }
    let file: ManifestFile = toml::from_str(&source)
        .map_err(|error| vec![diagnostic::from_toml(path, &source, &error, "P002")])?;
    let mut notes = Findings::new(path, &source);
    check_format(&mut notes, "P003", &file.format);
    let id = file.id.get_ref();
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    let allowed = id.bytes().all(plain) && id.starts_with(|c: char| c.is_ascii_lowercase()) && id.len() <= 40;
    if !allowed || id == BUILTIN {
        let problem = notes.problem("P004", file.id.span(), format!("`{id}` is no id of a pack"));
        let help = format!(
            "write 1 to 40 small letters, digits and hyphens, a letter first, for instance `our-club`; `{BUILTIN}` is taken"
        );
        notes.add(problem.help(help));
    }
    let texts = [("title", &file.title), ("author", &file.author), ("licence", &file.licence)];
    for (key, text) in texts {
        let words = text.get_ref();
        if words.trim().is_empty() || words.chars().count() > 200 || words.contains(['\n', '\r']) {
            let problem = notes.problem("P004", text.span(), format!("`{key}` is no line of text"));
            notes.add(problem.help("write one line of 1 to 200 characters"));
        }
    }
    if numbers(file.version.get_ref()).is_none() {
        let title = format!("`{}` is no version", file.version.get_ref());
        let problem = notes.problem("P004", file.version.span(), title);
        notes.add(problem.help("write one to three numbers with points between them, for instance `1.2`"));
    }
    if let Some(needs) = &file.needs {
        let here = env!("CARGO_PKG_VERSION");
        let title = match numbers(needs.get_ref()) {
            None => Some(("P004", format!("`{}` is no version", needs.get_ref()))),
            Some(wanted) if numbers(here) < Some(wanted) => {
                Some(("P005", format!("the pack needs hearback {} or later", needs.get_ref())))
            }
            Some(_) => None,
        };
        if let Some((code, title)) = title {
            let problem = notes.problem(code, needs.span(), title);
            let help =
                format!("this is hearback {here}; `needs` is the earliest version the pack works with");
            notes.add(problem.help(help));
        }
    }
    for name in &file.replaces {
        if !names.contains(name.get_ref()) {
            let title = format!("the pack has nothing of the name `{}`", name.get_ref());
            let problem = notes.problem("P006", name.span(), title).label("replaces nothing");
            notes.add(problem.suggest(name.get_ref(), names.iter().map(String::as_str)));
        }
    }
    if !notes.found.is_empty() {
        return Err(notes.found);
    }
    Ok(Manifest {
        id: id.clone(),
        title: file.title.into_inner(),
        version: file.version.into_inner(),
        author: file.author.into_inner(),
        licence: file.licence.into_inner(),
        replaces: file.replaces.into_iter().map(|name| name.get_ref().clone()).collect(),
    })
}

/// The numbers of a version.
fn numbers(version: &str) -> Option<[u32; 3]> {
    let mut out = [0; 3];
    let parts: Vec<&str> = version.split('.').collect();
    for (at, part) in parts.iter().enumerate() {
        let digits = !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        *out.get_mut(at)? = part.parse().ok().filter(|_| digits)?;
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_are_numbers_with_points() {
        assert_eq!(numbers("1.2"), Some([1, 2, 0]));
        assert!(numbers("0.10.0") > numbers("0.9.3"));
        for none in ["", "1.", "v1", "1.2.3.4", "1.-2", "+1", "99999999999"] {
            assert_eq!(numbers(none), None, "{none}");
        }
    }
}
