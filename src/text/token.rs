//! Text → atoms: words, digits, letters and decimal marks with their places.

use super::lexicon::{Entry, Lexicon, WordId};
use super::{FOLD_START, fold_byte};
use crate::span::Span;

/// What an atom is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Kind {
    /// A word; in the vocabulary if its number is not 0.
    Word,
    /// One digit.
    Digit,
    /// One letter, spelt or typed.
    Letter,
    /// *decimal*, *point* or a typed mark between digits.
    Decimal,
    /// *hundred*.
    Hundred,
    /// *thousand*.
    Thousand,
}

/// The smallest piece of a transmission.
///
/// Atoms are in the order of the text, and every letter or digit of the text lies under exactly one
/// word; a word such as *fourteen* or *takeoff* makes several atoms that share its span.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Atom {
    /// Identity of the word (letters folded); of no use for digits.
    pub hash: u64,
    /// Place in the text.
    pub span: Span,
    /// Vocabulary word, 0 if none.
    pub word: WordId,
    /// Vocabulary word it would be if one slip of the keyboard is forgiven, 0 if none.
    pub slip: WordId,
    /// How it was said or typed.
    pub flags: u16,
    /// What it is.
    pub kind: Kind,
    /// The digit 0–9 or the letter A–Z.
    pub value: u8,
}

/// Punctuation stands before the atom.
pub const BREAK: u16 = 1;
/// No space before the atom: part of one typed token.
pub const GLUED: u16 = 1 << 1;
/// A typed digit, letter or mark.
pub const TYPED: u16 = 1 << 2;
/// Part of a number said in group form (*fourteen*, *fifty-two*).
pub const GROUP: u16 = 1 << 3;
/// *oh* for zero.
pub const OH: u16 = 1 << 4;
/// Said by *double* or *triple*.
pub const MULTIPLE: u16 = 1 << 5;
/// The zero of *twenty*, *thirty* …, open to a unit that follows.
const OPEN_ZERO: u16 = 1 << 6;
/// Further atom of the same word.
pub const SAME_WORD: u16 = 1 << 7;
/// Typed with a capital letter.
pub const CAPITAL: u16 = 1 << 8;
/// A filler: carries nothing.
pub const FILLER: u16 = 1 << 9;
/// The decimal mark said as *point*.
pub const POINT: u16 = 1 << 10;
/// A greeting or courtesy; always a filler too.
pub const GREETING: u16 = 1 << 11;

impl Atom {
    /// True if all bits of `flag` are set.
    #[inline]
    #[must_use]
    pub fn is(&self, flag: u16) -> bool {
        self.flags & flag == flag
    }
}

/// Splits `text` into atoms, written to `atoms`, which is cleared first. Never fails: what is neither
/// letter nor digit only separates.
pub fn tokenize(lexicon: &Lexicon, text: &str, atoms: &mut Vec<Atom>) {
    atoms.clear();
    let bytes = text.as_bytes();
    let mut scan = Scan { lexicon, text, atoms, pending: BREAK, multiple: 0 };
    let mut i = 0;
    while i < bytes.len() {
        let byte = bytes[i];
        if byte.is_ascii_alphabetic() {
            i = scan.word(i);
        } else if byte.is_ascii_digit() {
            i = scan.digits(i);
        } else if byte < 0x80 {
            match byte {
                b'.' if scan.is_mark(i) => scan.mark(i),
                // A time may be written so.
                b':' if i > 0
                    && bytes[i - 1].is_ascii_digit()
                    && bytes.get(i + 1).is_some_and(u8::is_ascii_digit) =>
                {
                    scan.pending &= !GLUED;
                }
                b'.' | b',' | b';' | b':' | b'?' | b'!' | b'(' | b')' | b'\n' => {
                    scan.pending = (scan.pending | BREAK) & !GLUED;
                }
                b'-' | b'/' => scan.pending &= !GLUED,
                _ => scan.pending &= !GLUED,
            }
            i += 1;
        } else {
            let c = text[i..].chars().next().unwrap_or(' ');
            if c.is_alphabetic() {
                i = scan.word(i);
            } else {
                scan.pending &= !GLUED;
                i += c.len_utf8();
            }
        }
    }
}

/// The small letter of each byte that is a letter; else 0.
const LETTERS: [u8; 256] = {
    let mut out = [0; 256];
    let mut letter = b'a';
    while letter <= b'z' {
        out[letter as usize] = letter;
        out[letter.to_ascii_uppercase() as usize] = letter;
        letter += 1;
    }
    out
};

struct Scan<'a> {
    lexicon: &'a Lexicon,
    text: &'a str,
    atoms: &'a mut Vec<Atom>,
    /// Flags for the next atom.
    pending: u16,
    multiple: u8,
}

impl Scan<'_> {
    fn push(&mut self, kind: Kind, value: u8, word: WordId, hash: u64, span: Span, flags: u16) {
        let word = match kind {
            Kind::Digit => self.lexicon.digits[usize::from(value)],
            Kind::Hundred => self.lexicon.hundred,
            Kind::Thousand => self.lexicon.thousand,
            Kind::Word | Kind::Letter | Kind::Decimal => word,
        };
        let flags = flags | self.pending;
        self.pending = SAME_WORD;
        self.atoms.push(Atom { hash, span, word, slip: 0, flags, kind, value });
    }

    fn done(&mut self) {
        self.pending = GLUED;
    }

    /// A word from byte `start`; returns where it ends.
    fn word(&mut self, start: usize) -> usize {
        let bytes = self.text.as_bytes();
        let mut end = start;
        let mut hash = FOLD_START;
        let mut ascii = true;
        while end < bytes.len() {
            let byte = bytes[end];
            let letter = LETTERS[usize::from(byte)];
            if letter != 0 {
                hash = fold_byte(hash, letter);
                end += 1;
            } else if byte == b'\'' && end + 1 < bytes.len() && bytes[end + 1].is_ascii_alphabetic() {
                end += 1;
            } else if byte >= 0x80 {
                let c = self.text[end..].chars().next().unwrap_or(' ');
                if !(c.is_alphabetic() || c == '’') {
                    break;
                }
                ascii = false;
                end += c.len_utf8();
            } else {
                break;
            }
        }
        let text = &self.text[start..end];
        if !ascii {
            hash = super::fold(text);
        }
        let span = Span::new(start, end);
        let capital = if bytes[start].is_ascii_uppercase() { CAPITAL } else { 0 };
        if end - start == 1 && ascii {
            let letter = bytes[start].to_ascii_uppercase();
            let word = match self.lexicon.get(hash) {
                Some(Entry::Words([id, ..], 1)) => id,
                _ => 0,
            };
            let filler = self.lexicon.filler(word);
            self.push(Kind::Letter, letter, word, hash, span, TYPED | capital | filler);
            self.multiple = 0;
            self.done();
            return end;
        }
        match self.lexicon.get(hash) {
            Some(entry) => self.entry(entry, text, hash, span, capital),
            None => self.unknown(text, hash, span, capital),
        }
        self.done();
        end
    }

    fn unknown(&mut self, text: &str, hash: u64, span: Span, capital: u16) {
        if let Some(rest) = text.strip_prefix(['f', 'F']).and_then(|t| t.strip_prefix(['l', 'L'])) {
            // "FL" before digits
            if rest.is_empty() {
                for word in ["flight", "level"] {
                    let id = self.lexicon.find(word).unwrap_or(0);
                    self.push(Kind::Word, 0, id, super::fold(word), span, TYPED | capital);
                }
                return;
            }
        }
        self.multiple = 0;
        // "UL9", "UL niner": the two letters of an airway.
        let after = self.text.as_bytes().get(span.end as usize).copied().unwrap_or(b' ');
        let upper = after != b'-' && text.bytes().all(|b| b.is_ascii_uppercase());
        if text.len() == 2 && (upper || after.is_ascii_digit()) {
            for (k, byte) in text.bytes().enumerate().filter(|b| b.1.is_ascii_alphabetic()) {
                let at = span.start as usize + k;
                let lower = byte.to_ascii_lowercase();
                let word = match self.lexicon.get(fold_byte(FOLD_START, lower)) {
                    Some(Entry::Words([id, ..], 1)) => id,
                    _ => 0,
                };
                let letter = byte.to_ascii_uppercase();
                let span = Span::new(at, at + 1);
                self.push(Kind::Letter, letter, word, fold_byte(FOLD_START, lower), span, TYPED | capital);
                self.done();
            }
            return;
        }
        match self.lexicon.slip(text, hash) {
            Some(Entry::Words([id, ..], 1)) => {
                self.push(Kind::Word, 0, 0, hash, span, capital);
                if let Some(last) = self.atoms.last_mut() {
                    last.slip = id;
                }
            }
            Some(Entry::Words(ids, n)) => {
                for &id in &ids[..n as usize] {
                    self.push(Kind::Word, 0, 0, hash, span, capital);
                    if let Some(last) = self.atoms.last_mut() {
                        last.slip = id;
                    }
                }
            }
            _ => self.push(Kind::Word, 0, 0, hash, span, capital),
        }
    }

    fn entry(&mut self, entry: Entry, text: &str, hash: u64, span: Span, capital: u16) {
        match entry {
            Entry::Words(ids, n) => {
                for &id in &ids[..n as usize] {
                    let filler = self.lexicon.filler(id);
                    self.push(Kind::Word, 0, id, hash, span, capital | filler);
                }
            }
            Entry::Digit(digit, _) => {
                if digit != 0
                    && self.multiple == 0
                    && self.pending & BREAK == 0
                    && let Some(last) = self.atoms.last_mut()
                    && last.is(OPEN_ZERO)
                {
                    last.value = digit;
                    last.word = self.lexicon.digits[usize::from(digit)];
                    last.span = span;
                    last.flags &= !OPEN_ZERO & !SAME_WORD;
                    return;
                }
                let (times, flags) = if self.multiple > 0 { (self.multiple, MULTIPLE) } else { (1, 0) };
                // The word *double* goes into the digits it doubles.
                let mut span = span;
                if self.multiple > 0
                    && let Some(double) = self.atoms.pop()
                {
                    span = double.span.to(span);
                    self.pending = double.flags & BREAK;
                }
                for _ in 0..times {
                    self.push(Kind::Digit, digit, 0, hash, span, flags);
                }
            }
            Entry::Teen(n) => {
                self.push(Kind::Digit, n / 10, 0, hash, span, GROUP);
                self.push(Kind::Digit, n % 10, 0, hash, span, GROUP);
            }
            Entry::Tens(n) => {
                self.push(Kind::Digit, n, 0, hash, span, GROUP);
                self.push(Kind::Digit, 0, 0, hash, span, GROUP | OPEN_ZERO);
            }
            Entry::Hundred => self.push(Kind::Hundred, 0, 0, hash, span, 0),
            Entry::Thousand => self.push(Kind::Thousand, 0, 0, hash, span, 0),
            Entry::Decimal(id) => {
                let point = if text.eq_ignore_ascii_case("point") { POINT } else { 0 };
                self.push(Kind::Decimal, 0, id, hash, span, point);
            }
            Entry::Letter(letter, id) => self.push(Kind::Letter, letter, id, hash, span, capital),
            Entry::Oh => self.push(Kind::Digit, 0, 0, hash, span, OH),
            Entry::Multiple(n) => {
                let word = self.lexicon.multiple[usize::from(n == 3)];
                self.push(Kind::Word, 0, word, hash, span, 0);
                self.multiple = n;
                return;
            }
        }
        self.multiple = 0;
    }

    /// Typed digits from byte `start`; a comma before exactly three digits is part of the number.
    fn digits(&mut self, start: usize) -> usize {
        self.multiple = 0;
        if let Some(end) = self.ordinal(start) {
            return end;
        }
        let bytes = self.text.as_bytes();
        let mut i = start;
        while i < bytes.len() {
            let byte = bytes[i];
            if byte.is_ascii_digit() {
                self.push(Kind::Digit, byte - b'0', 0, 0, Span::new(i, i + 1), TYPED);
                self.done();
                i += 1;
            } else if byte == b','
                && i > start
                && i - start <= 3
                && bytes.len() >= i + 4
                && bytes[i + 1..i + 4].iter().all(u8::is_ascii_digit)
                && !bytes.get(i + 4).is_some_and(u8::is_ascii_digit)
            {
                i += 1;
            } else {
                break;
            }
        }
        i
    }

    /// A typed ordinal, "2nd": the word it stands for, if it is in the vocabulary.
    fn ordinal(&mut self, start: usize) -> Option<usize> {
        const ORDINALS: [(&str, &str); 3] = [("1st", "first"), ("2nd", "second"), ("3rd", "third")];
        let bytes = self.text.as_bytes();
        let end = start + 3;
        let typed = self.text.get(start..end)?;
        let whole = !bytes.get(end).is_some_and(u8::is_ascii_alphanumeric);
        let (_, word) = ORDINALS.iter().find(|o| o.0.eq_ignore_ascii_case(typed))?;
        let id = self.lexicon.find(word).filter(|_| whole)?;
        self.push(Kind::Word, 0, id, super::fold(word), Span::new(start, end), TYPED);
        self.done();
        Some(end)
    }

    /// True if the full stop at `i` is a decimal mark: a digit follows at once and a digit or *M* comes before.
    fn is_mark(&self, i: usize) -> bool {
        let bytes = self.text.as_bytes();
        bytes.get(i + 1).is_some_and(u8::is_ascii_digit)
            && i > 0
            && (bytes[i - 1].is_ascii_digit() || bytes[i - 1].eq_ignore_ascii_case(&b'm'))
    }

    fn mark(&mut self, i: usize) {
        self.push(Kind::Decimal, 0, 0, 0, Span::new(i, i + 1), TYPED);
        self.done();
    }
}

/// A word *oh* with no digit beside it was not a zero.
pub(crate) fn settle_oh(atoms: &mut [Atom]) {
    for i in 0..atoms.len() {
        if atoms[i].is(OH) {
            let beside = |j: Option<usize>| {
                j.and_then(|j| atoms.get(j))
                    .is_some_and(|a| matches!(a.kind, Kind::Digit | Kind::Decimal) && !a.is(OH))
            };
            if !beside(i.checked_sub(1)) && !beside(Some(i + 1)) {
                atoms[i].kind = Kind::Word;
                atoms[i].word = 0;
                atoms[i].flags = (atoms[i].flags & !OH) | FILLER;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn digits(text: &str) -> String {
        let mut lexicon = Lexicon::new();
        lexicon.add_word("runway");
        lexicon.add_word("flight");
        lexicon.add_word("level");
        lexicon.finish();
        let mut atoms = Vec::new();
        tokenize(&lexicon, text, &mut atoms);
        atoms
            .iter()
            .map(|a| match a.kind {
                Kind::Digit => char::from(b'0' + a.value),
                Kind::Letter => char::from(a.value),
                Kind::Decimal => '.',
                Kind::Hundred => 'h',
                Kind::Thousand => 't',
                Kind::Word => 'w',
            })
            .collect()
    }

    #[test]
    fn typed_and_spoken_forms_are_the_same_thing() {
        for (text, want) in [
            ("27L", "27L"),
            ("two seven lima", "27L"),
            ("FL80", "ww80"),
            ("flight level eight zero", "ww80"),
            ("118.7", "118.7"),
            ("one one eight decimal seven", "118.7"),
            ("118 decimal 7", "118.7"),
            ("niner tree fife", "935"),
            ("4,000", "4000"),
            ("0 9", "09"),
            ("two fourteen", "214"),
            ("fifty-two", "52"),
            ("three sixty-five", "365"),
            ("thirty fifteen", "3015"),
            ("ten zero four", "1004"),
            ("twenty nine ninety two", "2992"),
            ("one twenty six point fifty five", "126.55"),
            ("eleven thousand", "11t"),
            ("fifty, two", "502"),
            ("double seven", "77"),
            ("triple seven four", "7774"),
            ("one oh one", "101"),
            ("M.78", "M.78"),
            ("Alpha Alfa whisky", "AAW"),
            ("to for", "ww"),
        ] {
            assert_eq!(digits(text), want, "{text}");
        }
    }

    #[test]
    fn spans_lie_in_the_text_and_never_run_backwards() {
        let lexicon = Lexicon::new();
        let mut atoms = Vec::new();
        for text in ["Čeština 27L, über 4,000 ft – ok", "two fourteen", "\u{1b}[31mrunway 0\u{301}9"] {
            tokenize(&lexicon, text, &mut atoms);
            let mut last = 0;
            for atom in &atoms {
                assert!(!atom.span.of(text).is_empty(), "{text:?} {atom:?}");
                assert!(atom.span.start >= last, "{text:?} {atom:?}");
                last = atom.span.start;
            }
        }
    }
}
