//! Words that carry meaning, beside other words that mean the same.

use super::book::CrewBook;
use super::said::TokKind;
use super::scan::Heard;
use crate::text::fold;

/// A word or a number that carries meaning.
#[derive(Debug, Clone, Copy)]
pub(super) struct Content {
    key: u64,
    /// A word before it denies it.
    pub(super) negated: bool,
    /// A number, a letter or a side: it belongs to another word.
    pub(super) number: bool,
    pub(super) from: usize,
    pub(super) to: usize,
}

impl Content {
    /// True if both mean the same; one slip in a long name is forgiven.
    pub(super) fn means(&self, mine: &Heard<'_>, other: &Self, theirs: &Heard<'_>) -> bool {
        if self.key == other.key {
            return true;
        }
        let text = |heard: &Heard<'_>, content: &Self| -> Option<String> {
            let text = heard.span(content.from, content.to)?.of(heard.text);
            let text = text.strip_suffix("'s").or_else(|| text.strip_suffix("’s")).unwrap_or(text);
            let word = text.len() >= SHORTEST && text.len() < 40 && text.chars().all(char::is_alphabetic);
            word.then(|| text.to_lowercase())
        };
        if self.number || other.number {
            return false;
        }
        let (Some(a), Some(b)) = (text(mine, self), text(theirs, other)) else { return false };
        kin(&a, &b)
            || a.len().min(b.len()) > SHORTEST
                && a.len().abs_diff(b.len()) <= 4
                && strsim::osa_distance(&a, &b) <= 1
    }
}

/// What carries meaning from `from` up to `to`.
pub(super) fn contents(book: &CrewBook, heard: &Heard<'_>, from: usize, to: usize) -> Vec<Content> {
    let mut out = Vec::new();
    let mut at = from;
    while at < to {
        let tok = &heard.toks[at];
        let end = heard.run(at).max(at + 1);
        let key = if tok.kind == TokKind::Word {
            let known = tok.free || book.talk.negates.contains(&tok.slip) || book.generic.contains(&tok.slip);
            (!known).then(|| book.same.get(&tok.slip).copied().unwrap_or(tok.slip))
        } else {
            // "One hour" is an hour.
            let hour = |number: &String| number != "1" || !heard.is(end, "hour");
            heard.number(at, end).filter(hour).map(|number| fold(&format!("#{number}")))
        };
        if let Some(key) = key {
            out.push(Content {
                key,
                negated: heard.negated(at),
                number: tok.kind != TokKind::Word || tok.letter || belongs(tok.slip),
                from: at,
                to: end,
            });
        }
        at = end;
    }
    out
}

/// The shortest word that may have an ending, or a slip of the keyboard if it is longer still.
const SHORTEST: usize = 4;

/// True if the words differ by their ending only: inform, informed; land, landing.
fn kin(a: &str, b: &str) -> bool {
    let same = a.bytes().zip(b.bytes()).take_while(|(a, b)| a == b).count();
    let ending = |word: &str| {
        let rest = word.get(same..);
        rest.is_some_and(|rest| ["", "s", "es", "e", "d", "ed", "ing", "ion", "ions"].contains(&rest))
    };
    same >= SHORTEST && ending(a) && ending(b)
}

/// True if the word says which one of several: a letter of a name, a side.
fn belongs(word: u64) -> bool {
    ["left", "right"].iter().any(|side| fold(side) == word)
        || (b'a'..=b'z').any(|c| fold(char::from(c).encode_utf8(&mut [0; 4])) == word)
}
