//! The seal of a result file: each line carries a check of itself and of all before it, keyed where a group has a key.

use super::hexadecimal;
use hmac::{Hmac, KeyInit, Mac};
use sha2::{Digest, Sha256};
use std::fmt;

/// Hexadecimal digits of a check: 128 bits.
const DIGITS: usize = 32;

/// What stands before the check of a line, and after it.
const OPEN: &str = ",\"check\":\"";
const CLOSE: &str = "\"}";

/// The shortest key, in bytes.
pub const SHORTEST: usize = 16;

/// A group's key.
#[derive(Clone)]
pub struct Key(Vec<u8>);

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Key(…)")
    }
}

impl Key {
    /// The key of a file: all of it, without blanks at its ends.
    ///
    /// # Errors
    /// If it is too short.
    pub fn of(bytes: &[u8]) -> Result<Self, String> {
        let bytes = bytes.trim_ascii();
        if bytes.len() < SHORTEST {
            return Err(format!(
                "a key has {SHORTEST} characters or more; `hearback paper key FILE` makes one"
            ));
        }
        Ok(Self(bytes.to_vec()))
    }

    /// A new key by chance, as text.
    ///
    /// # Errors
    /// If the system has no chance to give.
    pub fn new_text() -> Result<String, String> {
        let mut bytes = [0u8; 32];
        getrandom::fill(&mut bytes).map_err(|error| error.to_string())?;
        Ok(hexadecimal(&bytes))
    }
}

/// The checks of a file's lines, one after another.
#[derive(Debug, Clone)]
pub struct Seal {
    key: Option<Key>,
    last: String,
}

impl Seal {
    /// Before the first line. Without a key a check shows accidents only.
    #[must_use]
    pub fn new(key: Option<Key>) -> Self {
        Self { key, last: String::new() }
    }

    /// The check of all lines so far.
    #[must_use]
    pub fn last(&self) -> &str {
        &self.last
    }

    /// The check of a line that comes next, and of all before it.
    fn check(&self, line: &str) -> String {
        let mut check = match &self.key {
            Some(key) => match Hmac::<Sha256>::new_from_slice(&key.0) {
                Ok(mut mac) => {
                    mac.update(self.last.as_bytes());
                    mac.update(b"\n");
                    mac.update(line.as_bytes());
                    hexadecimal(&mac.finalize().into_bytes())
                }
                // A key of any length will do.
                Err(_) => String::new(),
            },
            None => {
                let mut sum = Sha256::new();
                sum.update(self.last.as_bytes());
                sum.update(b"\n");
                sum.update(line.as_bytes());
                hexadecimal(&sum.finalize())
            }
        };
        check.truncate(DIGITS);
        check
    }

    /// The line with its check in it, as its last field.
    #[must_use]
    pub fn add(&mut self, line: &str) -> String {
        self.last = self.check(line);
        let body = line.strip_suffix('}').unwrap_or(line);
        format!("{body}{OPEN}{}{CLOSE}", self.last)
    }

    /// The line without its check, and whether that is right; none if it has none. What comes after a line whose
    /// check is wrong is checked by that one.
    pub fn take<'l>(&mut self, line: &'l str) -> Option<(String, bool, &'l str)> {
        let (body, rest) = line.rsplit_once(OPEN)?;
        let check = rest.strip_suffix(CLOSE)?;
        let body = format!("{body}}}");
        let right = same(&self.check(&body), check);
        check.clone_into(&mut self.last);
        Some((body, right, check))
    }
}

/// Compares without telling by the time how much is the same.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |all, (a, b)| all | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4231, test case 2: key "Jefe", data "what do ya want for nothing?". The seal's data begin with the check before
    /// and a line end, so the case is taken with the crate alone.
    #[test]
    fn the_code_is_that_of_the_standard() {
        let mut mac = Hmac::<Sha256>::new_from_slice(b"Jefe").expect("a key");
        mac.update(b"what do ya want for nothing?");
        let code = hexadecimal(&mac.finalize().into_bytes());
        assert_eq!(code, "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843");
    }

    #[test]
    fn an_edit_shows_from_its_line_on_and_only_there() {
        let key = Key::of(b"a key for this test only").expect("a key");
        let lines = ["{\"a\":1}", "{\"a\":2}", "{\"a\":3}"];
        let mut seal = Seal::new(Some(key.clone()));
        let sealed: Vec<String> = lines.iter().map(|line| seal.add(line)).collect();
        let read = |lines: &[String], key: Option<Key>| -> Vec<bool> {
            let mut seal = Seal::new(key);
            lines.iter().map(|line| seal.take(line).expect("a check").1).collect()
        };
        assert_eq!(read(&sealed, Some(key.clone())), [true, true, true]);
        assert_eq!(read(&sealed, None), [false, false, false]);
        let mut edited = sealed.clone();
        edited[1] = edited[1].replace('2', "4");
        assert_eq!(read(&edited, Some(key.clone()))[..2], [true, false]);
        let mut shorter = sealed;
        shorter.remove(1);
        assert_eq!(read(&shorter, Some(key)), [true, false]);
        assert!(Key::of(b" short ").is_err());
    }
}
