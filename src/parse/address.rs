//! Callsigns in a transmission: one's own, one's own cut short, and somebody else's.

use super::marks::Marks;
use crate::callsign::{Callsign, CallsignType, digest};
use crate::text::token::{Atom, BREAK, FILLER, GROUP, Kind};

/// How a callsign in the text relates to one's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Address {
    /// All of it.
    Full,
    /// The short form that its type allows.
    Short,
    /// Cut short in a way that its type does not allow, but still to be told.
    Cut,
    /// The telephony designator alone.
    Telephony,
    /// Another callsign.
    Other,
}

/// A callsign found at a place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Addressed {
    pub(crate) end: usize,
    pub(crate) what: Address,
    /// A slip of the keyboard in the telephony designator was forgiven.
    pub(crate) slip: bool,
    /// The wake suffix was said.
    pub(crate) wake: bool,
    /// The number was said in group form.
    pub(crate) grouped: bool,
}

/// Characters of a flight identification or registration from atom `i`: how many atoms.
fn characters(atoms: &[Atom], i: usize, out: &mut [u8; 8]) -> (usize, usize) {
    let (mut at, mut len) = (i, 0);
    while len < 8 {
        let Some(atom) = atoms.get(at) else { break };
        if at > i && atom.is(BREAK) {
            break;
        }
        match atom.kind {
            Kind::Digit => out[len] = b'0' + atom.value,
            Kind::Letter if !atom.is(FILLER) => out[len] = atom.value,
            Kind::Hundred if len > 0 && len <= 2 => {
                out[len] = b'0';
                out[len + 1] = b'0';
                return (at + 1, len + 2);
            }
            Kind::Thousand if len == 1 => {
                out[1..4].copy_from_slice(b"000");
                return (at + 1, 4);
            }
            _ => break,
        }
        len += 1;
        at += 1;
    }
    (at, len)
}

/// Any callsign at `i`: one to three words, one of them outside the vocabulary, and up to six characters,
/// or three and more letters. Digest and end.
pub(crate) fn shape(atoms: &[Atom], marks: &Marks, i: usize) -> Option<(u64, usize)> {
    let mut words = [0u64; 3];
    let (mut n, mut named) = (0, false);
    while n < 3 {
        match atoms.get(i + n) {
            Some(a)
                if a.kind == Kind::Word
                    && (a.word == 0 || marks.is_telephony(a.word))
                    && (n == 0 || !a.is(BREAK)) =>
            {
                named |= a.word == 0;
                words[n] = a.hash;
            }
            _ => break,
        }
        n += 1;
    }
    let mut ident = [0u8; 8];
    let (mut end, mut len) = characters(atoms, i + n, &mut ident);
    // A flight number of six characters at most: digits behind its letters are a value of their own.
    if n > 0
        && len > 6
        && let Some(tail) =
            ident[..len].windows(2).position(|w| w[0].is_ascii_alphabetic() && w[1].is_ascii_digit())
    {
        (end, len) = (i + n + tail + 1, tail + 1);
    }
    let parted = atoms.get(i + n).is_some_and(|a| a.is(BREAK));
    if len == 0 || n > 0 && (!named || parted) {
        return None;
    }
    let digits = ident[..len].iter().filter(|b| b.is_ascii_digit()).count();
    let letters = len - digits;
    let next_is_number = atoms
        .get(end)
        .is_some_and(|a| matches!(a.kind, Kind::Decimal | Kind::Thousand | Kind::Hundred) && !a.is(BREAK));
    // What may be a slip of the keyboard in a known word is a name only before digits and letters.
    let doubtful = n == 1 && may_be_slip(&atoms[i]);
    let good = if n > 0 {
        len <= 6 && digits <= 4 && (!doubtful || len >= 3 && digits > 0 && letters > 0)
    } else {
        // One letter and four digits are a broadcast and its pressure, not a registration.
        letters >= 3 && len <= 6
            || ((letters >= 2 || ident[0] == b'N')
                && len <= 6
                && digits >= 2
                && letters + digits >= 4
                && ident[0].is_ascii_uppercase())
    };
    (good && !next_is_number).then(|| (digest(&words[..n], &ident[..len]), end))
}

/// True for a word that is one slip of the keyboard away from a known one.
pub(crate) fn may_be_slip(atom: &Atom) -> bool {
    atom.kind == Kind::Word && atom.word == 0 && atom.slip != 0
}

/// One's own callsign at atom `i`, in any of its forms.
pub(crate) fn own(
    callsign: &Callsign,
    marks: &Marks,
    text: &str,
    atoms: &[Atom],
    i: usize,
) -> Option<Addressed> {
    let first = atoms.get(i)?;
    let mut slip = false;
    let words = &callsign.words;
    let telephony = !words.is_empty() && first.kind != Kind::Digit && {
        words.iter().enumerate().all(|(k, &word)| {
            let Some(atom) = atoms.get(i + k) else { return false };
            if atom.hash == word {
                return true;
            }
            let near = atom.kind == Kind::Word && atom.word == 0 && misspelt(atom.span.of(text), callsign, k);
            slip |= near;
            near
        })
    };
    let registration = words.is_empty();
    let from = if telephony { i + words.len() } else { i };
    if !telephony && !matches!(first.kind, Kind::Digit | Kind::Letter) {
        // A written registration ("QZ-ABD") is two words.
        return registration.then(|| written(callsign, text, atoms, i)).flatten();
    }
    // Characters alone can only be a tail of two and more.
    let lead = if first.kind == Kind::Digit { b'0' + first.value } else { first.value };
    if !telephony && !registration && !callsign.ident[..callsign.ident.len().max(1) - 1].contains(&lead) {
        return None;
    }
    // A typed number is never cut in two.
    if first.kind == Kind::Digit
        && first.is(crate::text::token::GLUED)
        && i > 0
        && atoms[i - 1].kind == Kind::Digit
    {
        return None;
    }
    let mut said = [0u8; 8];
    let (mut end, mut len) = characters(atoms, from, &mut said);
    let ident = &callsign.ident;
    // Digits beyond one's own identification belong to what follows; hundreds and thousands are not cut in two.
    let plain = !atoms[from..end].iter().any(|a| matches!(a.kind, Kind::Hundred | Kind::Thousand));
    // Letters behind it at the beginning or the end of a reply make another flight of it.
    let more = said.get(ident.len()..len).unwrap_or_default();
    let another = ident.last().is_some_and(u8::is_ascii_digit)
        && (1..=2).contains(&more.len())
        && more.iter().all(u8::is_ascii_alphabetic)
        && atoms.get(end).is_none_or(|atom| i == 0 && atom.is(BREAK));
    if plain
        && !another
        && len > ident.len()
        && said[..ident.len()] == ident[..]
        && !glued(atoms, from + ident.len())
    {
        end = from + ident.len();
        len = ident.len();
    }
    let said = &said[..len];
    let grouped = atoms[from.min(end)..end].iter().any(|a| a.is(GROUP))
        || atoms[from..end].iter().any(|a| a.kind == Kind::Hundred);
    let wake_at =
        atoms.get(end).is_some_and(|a| (a.word == marks.heavy || a.word == marks.super_) && a.word != 0);
    let done = |what: Address, end: usize| {
        Some(Addressed { end: end + usize::from(wake_at), what, slip, wake: wake_at, grouped })
    };
    if telephony || registration {
        if said == &ident[..] {
            return done(Address::Full, end);
        }
        // The station's short form is known; the pilot gives all of it.
        if registration && ident.len() == 3 && len > 3 && said[0] == ident[0] && said.ends_with(&ident[1..]) {
            return done(Address::Full, end);
        }
        if let Some(short) = callsign.short()
            && said == &short.ident[..]
        {
            return done(Address::Short, end);
        }
    }
    if telephony {
        if len == 0 {
            return Some(Addressed {
                end: from,
                what: Address::Telephony,
                slip,
                wake: false,
                grouped: false,
            });
        }
        if len >= 2 && len < ident.len() && (ident.ends_with(said) || ident.starts_with(said)) {
            return done(Address::Cut, end);
        }
        return done(Address::Other, end);
    }
    // Characters alone: the longest tail of one's own identification that stands here.
    for keep in (2..=ident.len().min(len)).rev() {
        let tail = &ident[ident.len() - keep..];
        let whole = keep == len;
        if !whole && !plain {
            continue;
        }
        let end = if whole { end } else { i + keep };
        if said[..keep] == *tail && !glued(atoms, end) && !counts(marks, atoms.get(end)) {
            let short = callsign.kind() != CallsignType::C
                && callsign.short().is_some_and(|s| s.words.is_empty() && s.ident == said[..keep]);
            if short {
                return done(Address::Short, end);
            }
            return Some(Addressed {
                end: end + usize::from(wake_at && whole),
                what: Address::Cut,
                slip,
                wake: wake_at && whole,
                grouped,
            });
        }
    }
    None
}

/// True for a word that says what the digits before it count or measure: they are no callsign.
fn counts(marks: &Marks, next: Option<&Atom>) -> bool {
    let units = [marks.minute, marks.mile, marks.feet, marks.knots, marks.degrees, marks.oclock];
    next.is_some_and(|a| {
        matches!(a.kind, Kind::Hundred | Kind::Thousand | Kind::Decimal)
            || a.word != 0 && units.contains(&a.word)
    })
}

fn glued(atoms: &[Atom], i: usize) -> bool {
    i > 0
        && atoms.get(i).is_some_and(|a| a.kind == Kind::Digit && a.is(crate::text::token::GLUED))
        && atoms[i - 1].kind == Kind::Digit
}

fn misspelt(said: &str, callsign: &Callsign, word: usize) -> bool {
    let Some(want) = callsign.telephony(word) else { return false };
    let same_start = said.chars().next().map(|c| c.to_ascii_lowercase())
        == want.chars().next().map(|c| c.to_ascii_lowercase());
    if !same_start || want.chars().count() < 4 || said.len() > 40 {
        return false;
    }
    let allowed = if want.chars().count() >= 8 { 2 } else { 1 };
    strsim::osa_distance(&said.to_lowercase(), &want.to_lowercase()) <= allowed
}

fn written(callsign: &Callsign, text: &str, atoms: &[Atom], i: usize) -> Option<Addressed> {
    let letters = |text: &str, ident: &[u8]| {
        let said = text.bytes().filter(u8::is_ascii_alphanumeric).map(|b| b.to_ascii_uppercase());
        text.len() <= 10 && said.eq(ident.iter().copied())
    };
    let found = |end, what| Some(Addressed { end, what, slip: false, wake: false, grouped: false });
    // "qzabd", or "qbd" where the short form is in use.
    let alone = atoms[i].span.of(text);
    if letters(alone, &callsign.ident) {
        return found(i + 1, Address::Full);
    }
    if callsign.short().is_some_and(|short| short.words.is_empty() && letters(alone, &short.ident)) {
        return found(i + 1, Address::Short);
    }
    let last = atoms.get(i + 1)?;
    let joined = atoms[i].span.to(last.span).of(text);
    if letters(joined, &callsign.ident) { found(i + 2, Address::Full) } else { None }
}
