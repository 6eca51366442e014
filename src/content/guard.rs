//! What a pack may not be: names, sizes, counts and nesting that are refused, each with its reason.

use crate::diagnostic::clean;
use std::collections::HashMap;

/// The most files in a pack.
pub const FILES: usize = 2_000;
/// The most bytes in one file: 2 MiB.
pub const FILE_BYTES: u64 = 2 << 20;
/// The most bytes in all files: 64 MiB.
pub const ALL_BYTES: u64 = 64 << 20;
/// The most parts of a name: folders and the file itself.
pub const DEPTH: usize = 6;
/// The most bytes in a name.
const NAME_BYTES: usize = 200;
/// The most that brackets or dotted keys of a data file nest.
const NESTED: usize = 16;

/// Why something is refused; a sentence without a beginning, of what is already named.
pub type Reason = String;

/// What was let in so far: how much, and under which names.
#[derive(Debug, Default)]
pub struct Tally {
    bytes: u64,
    files: usize,
    /// Names of files and of the folders they lie in, in lower case, with how they are written.
    names: HashMap<String, (String, bool)>,
}

impl Tally {
    /// Lets a name in.
    ///
    /// # Errors
    /// It is no sound name, it came before, or there are too many.
    pub fn name(&mut self, name: &str, is_folder: bool) -> Result<(), Reason> {
        sound(name)?;
        self.files += 1;
        if self.files > FILES {
            return Err(format!("a pack holds {FILES} files at most"));
        }
        let parts: Vec<&str> = name.split('/').collect();
        for end in 1..=parts.len() {
            let here = parts[..end].join("/");
            let folder = is_folder || end < parts.len();
            let key = here.to_lowercase();
            match self.names.get(&key) {
                None => {
                    self.names.insert(key, (here, folder));
                }
                Some((before, _)) if *before != here => {
                    return Err(format!("differs from `{}` only by case", clean(before)));
                }
                Some((_, before)) if *before && folder => {}
                Some((_, before)) if *before != folder => {
                    return Err(format!("`{}` is a file and a folder as well", clean(&here)));
                }
                Some(_) => return Err("stands twice".to_owned()),
            }
        }
        Ok(())
    }

    /// Lets so many bytes in.
    ///
    /// # Errors
    /// The file, or all together, is too big.
    pub fn size(&mut self, bytes: u64) -> Result<(), Reason> {
        if bytes > FILE_BYTES {
            return Err(format!("is larger than {} MiB", FILE_BYTES >> 20));
        }
        self.bytes += bytes;
        if self.bytes > ALL_BYTES {
            return Err(format!("makes more than {} MiB in all", ALL_BYTES >> 20));
        }
        Ok(())
    }
}

/// Whether a name may stand in a pack: parts between slashes, below the pack, the same on every system.
///
/// # Errors
/// Why not.
pub fn sound(name: &str) -> Result<(), Reason> {
    let says = |reason: &str| Err(reason.to_owned());
    if name.is_empty() {
        return says("has no name");
    }
    if name.contains('\0') {
        return says("has a NUL character in its name");
    }
    if name.chars().any(char::is_control) || clean(name) != name {
        return says("has characters in its name that cannot be seen");
    }
    if name.contains('\\') {
        return says("has a backslash in its name; folders are parted by `/`");
    }
    if name.starts_with('/') {
        return says("is an absolute path");
    }
    let mut first = name.chars();
    if first.next().is_some_and(|c| c.is_ascii_alphabetic()) && first.next() == Some(':') {
        return says("begins with a drive letter");
    }
    if name.split('/').any(|part| part == "..") {
        return says("leads out of the pack with `..`");
    }
    if name.split('/').any(|part| part.is_empty() || part == ".") {
        return says("has an empty part in its name");
    }
    if name.contains([':', '*', '?', '"', '<', '>', '|'])
        || name.split('/').any(|part| part.ends_with(['.', ' ']) || part.starts_with(' '))
    {
        return says("has a name that not every system can hold");
    }
    if name.split('/').count() > DEPTH {
        return Err(format!("lies deeper than {DEPTH} levels"));
    }
    if name.len() > NAME_BYTES {
        return Err(format!("has a name longer than {NAME_BYTES} bytes"));
    }
    Ok(())
}

/// Whether the bytes of a file may stand in a pack, whatever they say.
///
/// # Errors
/// Why not.
pub fn bytes(name: &str, bytes: &[u8]) -> Result<(), Reason> {
    let zip = [&b"PK\x03\x04"[..], b"PK\x05\x06", b"PK\x07\x08"].iter().any(|mark| bytes.starts_with(mark));
    if zip || name.to_lowercase().ends_with(".zip") {
        return Err("is a zip inside a pack".to_owned());
    }
    match name.ends_with(".toml").then(|| too_deep(bytes)).flatten() {
        Some(line) => Err(format!("nests deeper than {NESTED} levels in line {line}")),
        None => Ok(()),
    }
}

/// The line in which brackets or dotted keys nest too deep. Strings and comments are passed over; where a string
/// has no end the reader of TOML stops as well.
fn too_deep(bytes: &[u8]) -> Option<usize> {
    let (mut line, mut open, mut dots, mut at) = (1, 0_usize, 0, 0);
    while at < bytes.len() {
        match bytes[at] {
            b'\n' => (line, dots) = (line + 1, 0),
            b'#' => {
                while bytes.get(at + 1).is_some_and(|b| *b != b'\n') {
                    at += 1;
                }
            }
            quote @ (b'\'' | b'"') => {
                let long = bytes[at..].starts_with(&[quote; 3]);
                let width = if long { 3 } else { 1 };
                at += width;
                while at < bytes.len() && !bytes[at..].starts_with(&[quote; 3][..width]) {
                    match bytes[at] {
                        // A string on one line that has no end ends with the line.
                        b'\n' if !long => break,
                        b'\n' => line += 1,
                        b'\\' if quote == b'"' && bytes.get(at + 1) != Some(&b'\n') => at += 1,
                        _ => {}
                    }
                    at += 1;
                }
                if bytes.get(at) == Some(&quote) {
                    // Up to two more quotes before the last three belong to a long string.
                    let more = bytes[at + width..].iter().take_while(|b| **b == quote).count();
                    at += width + if long { more.min(2) } else { 0 };
                }
                continue;
            }
            b'[' | b'{' => (open, dots) = (open + 1, 0),
            b']' | b'}' => (open, dots) = (open.saturating_sub(1), 0),
            b',' | b'=' => dots = 0,
            b'.' => dots += 1,
            _ => {}
        }
        if open > NESTED || dots > NESTED {
            return Some(line);
        }
        at += 1;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nesting_is_told_from_brackets_in_text() {
        assert_eq!(too_deep(b"a = 1\nb = '[[[[[[[[[[[[[[[[[[[[[['\n# [[[[[[[[[[[[[[[[[[[[[[\n"), None);
        assert_eq!(too_deep(b"a = \"\\\"[[[[[[[[[[[[[[[[[[[[[[\"\n"), None);
        assert_eq!(too_deep(b"a = '''\n[[[[[[[[[[[[[[[[[[[[[[[[\n'''\n"), None);
        assert_eq!(too_deep(format!("a = 1\nb = {}", "[".repeat(17)).as_bytes()), Some(2));
        assert_eq!(too_deep(format!("a = 'open\nb = {}", "{a=".repeat(17)).as_bytes()), Some(2));
        assert_eq!(too_deep(format!("[{}a]", "a.".repeat(17)).as_bytes()), Some(1));
        assert_eq!(too_deep("[[[[\"\\".as_bytes()), None);
        let deep = "[".repeat(17);
        assert_eq!(too_deep(format!("a = \"open\\\nb = {deep}").as_bytes()), Some(2));
        assert_eq!(too_deep(format!("a = ['''x'''', {deep}").as_bytes()), Some(1));
        assert_eq!(too_deep(format!("a = \"\"\"x\\\n y\"\"\"\"\"\nb = {deep}").as_bytes()), Some(3));
        assert_eq!(too_deep(format!("a = ''\nb = {deep}").as_bytes()), Some(2));
    }

    #[test]
    fn a_folder_may_be_named_and_filled_but_not_a_file() {
        let mut tally = Tally::default();
        assert_eq!(tally.name("a", true), Ok(()));
        assert_eq!(tally.name("a/b.toml", false), Ok(()));
        assert_eq!(tally.name("a/c.toml", false), Ok(()));
        assert_eq!(tally.name("a/b.toml/d", false), Err("`a/b.toml` is a file and a folder as well".into()));
        assert_eq!(tally.name("A/d.toml", false), Err("differs from `a` only by case".into()));
    }
}
