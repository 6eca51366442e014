//! The live vocabulary: words of the grammar, numerals, the spelling alphabet, and forgiven slips.

use super::fold;
use super::token::{FILLER, GREETING};
use rustc_hash::FxHashMap;
use std::cell::RefCell;

/// Number of a vocabulary word; 0 is no word.
pub type WordId = u16;

/// What a word of a text stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// One to three vocabulary words.
    Words([WordId; 3], u8),
    /// One digit, said in its plain (`false`) or radiotelephony spelling (`true`).
    Digit(u8, bool),
    /// Ten to nineteen.
    Teen(u8),
    /// Twenty, thirty … ninety.
    Tens(u8),
    /// The word *hundred*.
    Hundred,
    /// The word *thousand*.
    Thousand,
    /// *decimal* or *point*; also a vocabulary word.
    Decimal(WordId),
    /// A letter of the spelling alphabet; also a vocabulary word.
    Letter(u8, WordId),
    /// *double* (2) or *triple* (3).
    Multiple(u8),
    /// *oh* for zero.
    Oh,
}

/// Spelling alphabet and its accepted spellings.
/// Source: Annex 10 Volume II, 5.2.1.3; SERA.14020; AIM 4-2-7.
pub const ALPHABET: [(&str, u8); 31] = [
    ("alfa", b'A'),
    ("bravo", b'B'),
    ("charlie", b'C'),
    ("delta", b'D'),
    ("echo", b'E'),
    ("foxtrot", b'F'),
    ("golf", b'G'),
    ("hotel", b'H'),
    ("india", b'I'),
    ("juliett", b'J'),
    ("kilo", b'K'),
    ("lima", b'L'),
    ("mike", b'M'),
    ("november", b'N'),
    ("oscar", b'O'),
    ("papa", b'P'),
    ("quebec", b'Q'),
    ("romeo", b'R'),
    ("sierra", b'S'),
    ("tango", b'T'),
    ("uniform", b'U'),
    ("victor", b'V'),
    ("whiskey", b'W'),
    ("xray", b'X'),
    ("yankee", b'Y'),
    ("zulu", b'Z'),
    ("alpha", b'A'),
    ("juliet", b'J'),
    ("whisky", b'W'),
    ("juliette", b'J'),
    ("charly", b'C'),
];

/// Numerals, plain and in radiotelephony spelling.
/// Source: Annex 10 Volume II, 5.2.1.4.3.1; SERA.14040; CAP 413 chapter 2 table 2.
const DIGITS: [(&str, u8, bool); 18] = [
    ("zero", 0, false),
    ("one", 1, false),
    ("two", 2, false),
    ("three", 3, false),
    ("four", 4, false),
    ("five", 5, false),
    ("six", 6, false),
    ("seven", 7, false),
    ("eight", 8, false),
    ("nine", 9, false),
    ("wun", 1, true),
    ("too", 2, true),
    ("tree", 3, true),
    ("fower", 4, true),
    ("fife", 5, true),
    ("ait", 8, true),
    ("niner", 9, true),
    ("ze-ro", 0, true),
];

const TEENS: [&str; 10] = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// Words that belong to the program: they can't be folded, corrected to, or used as a name.
fn own_entries() -> Vec<(&'static str, Entry)> {
    let mut own: Vec<(&'static str, Entry)> = Vec::with_capacity(96);
    own.extend(DIGITS.iter().map(|&(w, d, spelt)| (w, Entry::Digit(d, spelt))));
    own.extend(TEENS.iter().zip(10..).map(|(&w, n)| (w, Entry::Teen(n))));
    own.extend(TENS.iter().zip(2..).map(|(&w, n)| (w, Entry::Tens(n))));
    own.extend([
        ("fourty", Entry::Tens(4)),
        ("hundred", Entry::Hundred),
        ("hundreds", Entry::Hundred),
        ("thousand", Entry::Thousand),
        ("thousands", Entry::Thousand),
        ("tousand", Entry::Thousand),
        ("double", Entry::Multiple(2)),
        ("triple", Entry::Multiple(3)),
        ("oh", Entry::Oh),
    ]);
    own
}

/// The vocabulary of one rule set.
#[derive(Debug, Default)]
pub struct Lexicon {
    entries: FxHashMap<u64, Entry>,
    ids: FxHashMap<String, WordId>,
    names: Vec<String>,
    /// Flags of each word that carries nothing.
    fillers: Vec<u16>,
    own: FxHashMap<u64, ()>,
    /// One-letter deletions of the vocabulary's surface forms: candidates for a slip.
    deletions: FxHashMap<u64, Vec<u32>>,
    surfaces: Vec<(String, Entry)>,
    generation: u64,
    /// Words that stand for the digits in patterns.
    pub(crate) digits: [WordId; 10],
    pub(crate) hundred: WordId,
    pub(crate) thousand: WordId,
    pub(crate) multiple: [WordId; 2],
}

impl Lexicon {
    /// A vocabulary with the numerals and the spelling alphabet only.
    #[must_use]
    pub fn new() -> Self {
        let mut new = Self { names: vec![String::new()], fillers: vec![0], ..Self::default() };
        for (word, entry) in own_entries() {
            new.own.insert(fold(word), ());
            new.entries.insert(fold(word), entry);
        }
        for digit in 0..10 {
            new.digits[digit] = new.id(&format!("#{digit}"));
        }
        new.hundred = new.id("#hundred");
        new.thousand = new.id("#thousand");
        new.multiple = [new.id("#double"), new.id("#triple")];
        for (word, letter) in ALPHABET {
            let id = new.id(word);
            new.own.insert(fold(word), ());
            new.entries.insert(fold(word), Entry::Letter(letter, id));
        }
        for word in ["decimal", "daysimal", "point"] {
            let id = new.id(if word == "point" { word } else { "decimal" });
            new.own.insert(fold(word), ());
            new.entries.insert(fold(word), Entry::Decimal(id));
        }
        new
    }

    /// True for numerals, letters and the like, which data files may not redefine.
    #[must_use]
    pub fn is_own(&self, word: &str) -> bool {
        self.own.contains_key(&fold(word))
    }

    /// The number of a base word, made if new.
    pub fn id(&mut self, word: &str) -> WordId {
        if let Some(&id) = self.ids.get(word) {
            return id;
        }
        let id = WordId::try_from(self.names.len()).unwrap_or(WordId::MAX);
        self.names.push(word.to_owned());
        self.fillers.push(0);
        self.ids.insert(word.to_owned(), id);
        id
    }

    /// The base word of a number.
    #[must_use]
    pub fn name(&self, id: WordId) -> &str {
        self.names.get(id as usize).map_or("", String::as_str)
    }

    /// The number of a base word, if it is in the vocabulary.
    #[must_use]
    pub fn find(&self, word: &str) -> Option<WordId> {
        self.ids.get(word).copied()
    }

    /// How many numbers of words are given out.
    pub(crate) fn len(&self) -> usize {
        self.names.len()
    }

    /// Every base word, for "did you mean".
    pub fn words(&self) -> impl Iterator<Item = &str> {
        self.names.iter().skip(1).filter(|n| !n.starts_with('#')).map(String::as_str)
    }

    /// Adds a base word as it is, unless the program owns it or a form of another word has it.
    pub fn add_word(&mut self, word: &str) {
        let hash = fold(word);
        if self.entries.contains_key(&hash) {
            return;
        }
        let id = self.id(word);
        self.entries.insert(hash, Entry::Words([id, 0, 0], 1));
        self.surfaces.push((word.to_owned(), Entry::Words([id, 0, 0], 1)));
    }

    /// Folds `form` to the words of `base`; false if `form` already means something else.
    pub fn add_form(&mut self, form: &str, base: &str) -> bool {
        let mut ids = [0; 3];
        let mut n = 0usize;
        for word in base.split_whitespace().take(3) {
            ids[n] = self.id(word);
            self.add_word(word);
            n += 1;
        }
        let entry = Entry::Words(ids, u8::try_from(n).unwrap_or(3));
        let hash = fold(form);
        match self.entries.get(&hash) {
            Some(old) if *old != entry => false,
            Some(_) => true,
            None => {
                self.entries.insert(hash, entry);
                self.surfaces.push((form.to_lowercase(), entry));
                true
            }
        }
    }

    /// Marks a word that carries nothing, or only greets.
    pub fn add_filler(&mut self, word: &str, greeting: bool) {
        self.add_word(word);
        if let Some(Entry::Words([id, ..], 1)) = self.entries.get(&fold(word)).copied() {
            self.fillers[id as usize] |= if greeting { FILLER | GREETING } else { FILLER };
        }
    }

    /// [`FILLER`], and [`GREETING`] where it is one, if the word carries nothing; else 0.
    #[inline]
    #[must_use]
    pub fn filler(&self, id: WordId) -> u16 {
        self.fillers.get(id as usize).copied().unwrap_or(0)
    }

    /// What a word stands for.
    #[inline]
    #[must_use]
    pub fn get(&self, hash: u64) -> Option<Entry> {
        self.entries.get(&hash).copied()
    }

    /// Call once all words are in: prepares the search for slips.
    pub fn finish(&mut self) {
        self.deletions.clear();
        let mut mark = 0u64;
        for (i, (word, _)) in self.surfaces.iter().enumerate() {
            mark = mark.wrapping_mul(31).wrapping_add(fold(word));
            if word.len() < SHORTEST_SLIP - 1 || !word.is_ascii() {
                continue;
            }
            let index = u32::try_from(i).unwrap_or(u32::MAX);
            for_deletions(word, |hash| self.deletions.entry(hash).or_default().push(index));
            self.deletions.entry(fold(word)).or_default().push(index);
        }
        self.generation = mark;
    }

    /// The vocabulary word that a misspelt word must have been: one slip away, first letter kept,
    /// and no second candidate. Numerals and letters are never guessed.
    #[must_use]
    pub fn slip(&self, word: &str, hash: u64) -> Option<Entry> {
        if !(SHORTEST_SLIP..=LONGEST_SLIP).contains(&word.len()) || !word.is_ascii() {
            return None;
        }
        thread_local! {
            static CACHE: RefCell<FxHashMap<(u64, u64), Option<Entry>>> = RefCell::default();
        }
        CACHE.with_borrow_mut(|cache| {
            if cache.len() > 1 << 16 {
                cache.clear();
            }
            *cache.entry((self.generation, hash)).or_insert_with(|| self.search_slip(word))
        })
    }

    fn search_slip(&self, word: &str) -> Option<Entry> {
        let lower = word.to_ascii_lowercase();
        let mut found: Option<Entry> = None;
        let mut look = |hash: u64| -> bool {
            for &i in self.deletions.get(&hash).map_or(&[][..], Vec::as_slice) {
                let (candidate, entry) = &self.surfaces[i as usize];
                if candidate.as_bytes().first() != lower.as_bytes().first()
                    || strsim::osa_distance(candidate, &lower) > 1
                    || (lower.len() == SHORTEST_SLIP && candidate.len() != lower.len())
                {
                    continue;
                }
                match found {
                    Some(old) if old != *entry => return false,
                    _ => found = Some(*entry),
                }
            }
            true
        };
        let mut clear = look(fold(&lower));
        for_deletions(&lower, |hash| clear = clear && look(hash));
        // A word that is also one slip from a numeral or a letter stays unknown.
        let near_own = own_entries().iter().map(|e| e.0).chain(ALPHABET.iter().map(|e| e.0)).any(|w| {
            w.as_bytes().first() == lower.as_bytes().first() && strsim::osa_distance(w, &lower) <= 1
        });
        if clear && !near_own { found } else { None }
    }
}

/// Words of fewer letters are not corrected: too many words are one letter away.
const SHORTEST_SLIP: usize = 4;
/// No word of the vocabulary is longer.
const LONGEST_SLIP: usize = 24;

fn for_deletions(word: &str, mut each: impl FnMut(u64)) {
    for skip in 0..word.len() {
        let mut hash = super::FOLD_START;
        for (i, byte) in word.bytes().enumerate() {
            if i != skip && byte != b'\'' {
                hash = super::fold_byte(hash, byte.to_ascii_lowercase());
            }
        }
        each(hash);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_the_one_word_it_can_be() {
        let mut lexicon = Lexicon::new();
        for word in ["runway", "descend", "climb", "hold", "left", "land"] {
            lexicon.add_word(word);
        }
        lexicon.add_form("takeoff", "take off");
        lexicon.finish();
        let word = |w: &str| match lexicon.slip(w, fold(w)) {
            Some(Entry::Words([id, ..], _)) => lexicon.name(id).to_owned(),
            _ => String::new(),
        };
        assert_eq!(word("runwya"), "runway");
        assert_eq!(word("desend"), "descend");
        assert_eq!(word("takeof"), "take");
        for never in ["sevn", "brvo", "nin", "thre", "xxxxx", "unway"] {
            assert_eq!(word(never), "", "{never} must not be guessed");
        }
    }
}
