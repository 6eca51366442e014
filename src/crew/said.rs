//! What was said beside what should be: words and numbers aligned by meaning.

use super::schema::WordEntry;
use crate::span::Span;
use crate::text::fold;
use crate::text::lexicon::Lexicon;
use crate::text::token::{BREAK, CAPITAL, FILLER, GLUED, Kind, TYPED, tokenize};
use std::collections::{BTreeMap, HashSet};

/// Values by name.
pub(super) type Values = BTreeMap<String, String>;

/// A form of words with gaps for values.
#[derive(Debug)]
pub(super) struct Speech {
    /// As it is written, values in angle brackets.
    pub(super) text: String,
    pieces: Vec<Piece>,
}

#[derive(Debug)]
enum Piece {
    Fixed(Vec<Part>),
    Value(String),
}

impl Speech {
    /// True if it has no gaps for values.
    pub(super) fn is_fixed(&self) -> bool {
        self.pieces.iter().all(|piece| matches!(piece, Piece::Fixed(_)))
    }
}

/// A word or a number that should be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Part {
    /// Its identity, and whether it may be left out.
    Word(u64, bool),
    /// Its digits without zeros in front.
    Number(String),
    /// Anything: a value that nobody gave.
    Any,
}

/// A piece of what was said.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tok {
    pub(super) kind: TokKind,
    pub(super) hash: u64,
    pub(super) slip: u64,
    pub(super) span: Span,
    /// A pause, or the end of one typed number, stands before it.
    pub(super) apart: bool,
    pub(super) free: bool,
    /// A letter of the spelling alphabet: part of a name.
    pub(super) letter: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TokKind {
    Word,
    Digit(u8),
    Decimal,
    Hundred,
    Thousand,
}

/// How near a reply comes to a speech; the smaller, the nearer.
#[derive(Debug, Default, Clone)]
pub(super) struct Match {
    pub(super) cost: u32,
    /// Words or numbers that are missing.
    pub(super) missing: u32,
    /// Values that are missing.
    pub(super) missing_values: Vec<String>,
    /// Values that are not the ones wanted: name, and where the other one stands.
    pub(super) wrong: Vec<(String, Span)>,
    /// What was said besides.
    pub(super) extra: Vec<Span>,
    /// Something said besides turns the meaning round.
    pub(super) turned: bool,
    /// Words and numbers that were said as wanted.
    pub(super) found: u32,
}

impl Match {
    pub(super) fn whole(&self) -> bool {
        self.missing == 0 && self.missing_values.is_empty() && self.wrong.is_empty() && !self.turned
    }
}

/// The vocabulary of the flight deck.
#[derive(Debug, Default)]
pub(super) struct Words {
    lexicon: Lexicon,
    free: HashSet<u64>,
    acknowledges: HashSet<u64>,
    pub(super) negates: HashSet<u64>,
    opposites: Vec<Vec<u64>>,
}

const WRONG: u32 = 13;
const MISSING_VALUE: u32 = 14;
const MISSING: u32 = 10;
const EXTRA_NUMBER: u32 = 14;
const EXTRA: u32 = 6;

impl Words {
    pub(super) fn new<'a>(
        forms: &[&WordEntry],
        texts: impl Iterator<Item = &'a str>,
        free: &[String],
        acknowledgements: &[String],
        negations: &[String],
        opposites: &[Vec<String>],
    ) -> Self {
        let mut lexicon = Lexicon::new();
        for entry in forms {
            for form in &entry.forms {
                lexicon.add_form(form, &entry.word);
            }
        }
        let letters = |text: &str| -> Vec<String> {
            text.split(|c: char| !c.is_alphabetic() && c != '\'')
                .filter(|w| w.len() > 1)
                .map(str::to_lowercase)
                .collect()
        };
        let mut inside = false;
        for text in texts {
            let plain: String = text
                .chars()
                .map(|c| {
                    inside = c == '<' || inside && c != '>';
                    if inside { ' ' } else { c }
                })
                .collect();
            letters(&plain).iter().for_each(|word| lexicon.add_word(word));
        }
        let mut new = Self::default();
        let mut add = |list: &mut dyn Iterator<Item = &String>, set: &mut HashSet<u64>| {
            for word in list.flat_map(|words| letters(words)) {
                lexicon.add_word(&word);
                set.insert(fold(&word));
            }
        };
        add(&mut free.iter(), &mut new.free);
        add(&mut acknowledgements.iter(), &mut new.acknowledges);
        add(&mut negations.iter(), &mut new.negates);
        new.opposites = opposites.iter().map(|words| words.iter().map(|word| fold(word)).collect()).collect();
        lexicon.finish();
        new.lexicon = lexicon;
        new
    }

    /// A form of words from its text.
    pub(super) fn speech(&self, text: &str) -> Speech {
        let mut pieces = Vec::new();
        let mut rest = text;
        while let Some(open) = rest.find('<') {
            let close = rest[open..].find('>').map_or(rest.len(), |c| open + c);
            pieces.push(Piece::Fixed(self.parts(&rest[..open])));
            pieces.push(Piece::Value(rest[open + 1..close].to_owned()));
            rest = rest.get(close + 1..).unwrap_or("");
        }
        let mut last = self.parts(rest);
        // Where nothing else is said, a word that carries nothing is all there is.
        if pieces.is_empty() && last.iter().all(|part| matches!(part, Part::Word(_, true))) {
            last.iter_mut().for_each(|part| {
                if let Part::Word(_, free) = part {
                    *free = false;
                }
            });
        }
        pieces.push(Piece::Fixed(last));
        Speech { text: text.to_owned(), pieces }
    }

    pub(super) fn parts(&self, text: &str) -> Vec<Part> {
        let toks = self.toks(text);
        let mut out = Vec::new();
        let mut i = 0;
        while i < toks.len() {
            if toks[i].kind == TokKind::Word {
                out.push(Part::Word(toks[i].hash, toks[i].free));
                i += 1;
                continue;
            }
            let mut end = i + 1;
            while end < toks.len() && toks[end].kind != TokKind::Word && !toks[end].apart {
                end += 1;
            }
            out.extend(number(&toks[i..end]).map(Part::Number));
            i = end;
        }
        out
    }

    pub(super) fn toks(&self, text: &str) -> Vec<Tok> {
        let mut atoms = Vec::new();
        tokenize(&self.lexicon, text, &mut atoms);
        let mut out: Vec<Tok> = Vec::with_capacity(atoms.len());
        for (n, atom) in atoms.iter().enumerate() {
            let name = |id: u16| fold(self.lexicon.name(id));
            let kind = match atom.kind {
                Kind::Digit => TokKind::Digit(atom.value),
                Kind::Decimal => TokKind::Decimal,
                Kind::Hundred => TokKind::Hundred,
                Kind::Thousand => TokKind::Thousand,
                Kind::Word | Kind::Letter => TokKind::Word,
            };
            let after_digit = n > 0 && atoms[n - 1].kind == Kind::Digit;
            let hash = match (atom.kind, atom.value) {
                (Kind::Letter, b'L') if atom.is(GLUED) && after_digit => fold("left"),
                (Kind::Letter, b'R') if atom.is(GLUED) && after_digit => fold("right"),
                (Kind::Letter, b'C') if atom.is(GLUED) && after_digit => fold("centre"),
                (Kind::Letter, letter) => fold(&char::from(letter).to_string()),
                (Kind::Word, _) if atom.word != 0 => name(atom.word),
                _ => atom.hash,
            };
            let slip = if atom.slip == 0 { hash } else { name(atom.slip) };
            // Two typed numbers with a blank between them are two, unless each is one digit.
            let typed = |a: &crate::text::token::Atom| a.kind == Kind::Digit && a.is(TYPED);
            let run = |from: usize, step: isize| {
                let next = from.checked_add_signed(step);
                next.and_then(|k| atoms.get(k))
                    .is_some_and(|a| typed(a) && if step > 0 { a.is(GLUED) } else { atoms[from].is(GLUED) })
            };
            let split = n > 0
                && typed(atom)
                && typed(&atoms[n - 1])
                && !atom.is(GLUED)
                && (run(n, 1) || run(n - 1, -1));
            let apart = atom.is(BREAK) || split;
            let letter = atom.kind == Kind::Letter;
            // A small "a" is the article; a spelt or capital one is a name.
            let plain = atom.is(TYPED) && !atom.is(CAPITAL) && !atom.is(GLUED);
            let article = letter && atom.value == b'A' && plain;
            let free = article || !letter && (atom.is(FILLER) || self.free.contains(&hash));
            let letter = letter && !article;
            out.push(Tok { letter, kind, hash, slip, span: atom.span, apart, free });
        }
        // "thirty one" is 31: a word for tens gives its last digit to the units behind it.
        let mut n = 1;
        while n + 1 < out.len() {
            let tens = matches!(out[n - 1].kind, TokKind::Digit(2..)) && out[n].kind == TokKind::Digit(0);
            let one_word = out[n - 1].span == out[n].span && !out[n].apart;
            let units = matches!(out[n + 1].kind, TokKind::Digit(1..)) && !out[n + 1].apart;
            let alone = out.get(n + 2).is_none_or(|next| next.span != out[n + 1].span);
            if tens && one_word && units && alone {
                out.remove(n);
            }
            n += 1;
        }
        // "one hundred and ten" is one number.
        let mut n = 1;
        while n + 1 < out.len() {
            let big = matches!(out[n - 1].kind, TokKind::Hundred | TokKind::Thousand);
            let more = matches!(out[n + 1].kind, TokKind::Digit(_));
            if big && more && out[n].kind == TokKind::Word && out[n].hash == fold("and") {
                out.remove(n);
            }
            n += 1;
        }
        // "flight level" before a number belongs to the number.
        for n in 0..out.len() {
            let next = |k: usize| out.get(n + k).copied();
            let marker = out[n].hash == fold("flight")
                && next(1).is_some_and(|t| t.kind == TokKind::Word && t.hash == fold("level"))
                && next(2).is_none_or(|t| t.kind != TokKind::Word);
            if marker {
                out[n].free = true;
                out[n + 1].free = true;
            }
        }
        out
    }

    /// True if a word turns round what the others say, or names something else beside it.
    fn turns(&self, tok: &Tok, own: &HashSet<u64>) -> bool {
        let excludes =
            |group: &Vec<u64>| group.contains(&tok.slip) && group.iter().any(|word| own.contains(word));
        tok.letter || self.negates.contains(&tok.slip) || self.opposites.iter().any(excludes)
    }

    /// How many digits the reply has.
    pub(super) fn digits(&self, reply: &str) -> usize {
        self.toks(reply).iter().filter(|tok| matches!(tok.kind, TokKind::Digit(_))).count()
    }

    /// True if the reply only says that something was heard.
    pub(super) fn acknowledges(&self, reply: &str) -> bool {
        let toks = self.toks(reply);
        let said = || toks.iter().filter(|t| !t.free);
        toks.iter().any(|t| self.acknowledges.contains(&t.slip))
            && said().all(|t| self.acknowledges.contains(&t.slip))
    }

    /// True if `reply` holds the value, in order, whatever stands between; beside numbers only letters and
    /// sides count, for the words there are units and markers.
    pub(super) fn holds(&self, value: &str, reply: &str) -> bool {
        let (wanted, said) = (self.toks(value), self.toks(reply));
        let digit = |tok: &Tok| tok.kind != TokKind::Word;
        let numbers = wanted.iter().any(|tok| matches!(tok.kind, TokKind::Digit(_)));
        let runs = |toks: &[Tok]| -> Vec<(usize, usize)> {
            let mut out: Vec<(usize, usize)> = Vec::new();
            for (n, tok) in toks.iter().enumerate() {
                match out.last_mut() {
                    Some(last) if last.1 == n && digit(tok) && digit(&toks[n - 1]) && !tok.apart => {
                        last.1 = n + 1
                    }
                    _ => out.push((n, n + 1)),
                }
            }
            out
        };
        let said_runs = runs(&said);
        let mut from = 0;
        runs(&wanted).into_iter().all(|(start, end)| {
            let first = &wanted[start];
            let counts = if digit(first) { true } else { !numbers || first.letter || is_side(first) };
            if !counts {
                return true;
            }
            let same = |(a, b): (usize, usize)| match digit(first) {
                // A decimal word before a letter or a number belongs to a name: "holding point".
                true => {
                    let number = number(&wanted[start..end]);
                    let bare = if said[a].kind == TokKind::Decimal { a + 1 } else { a };
                    number.is_some()
                        && (a..=bare).any(|a| a < b && crate::crew::said::number(&said[a..b]) == number)
                }
                false => said[a].hash == first.hash || said[a].slip == first.hash,
            };
            let at = said_runs.iter().skip(from).position(|run| same(*run));
            from += at.map_or(0, |at| at + 1);
            at.is_some()
        })
    }

    /// How near `reply` comes to `speech`.
    pub(super) fn compare(&self, speech: &Speech, values: &Values, reply: &str) -> Match {
        let mut parts: Vec<(Part, Option<&str>)> = Vec::new();
        for piece in &speech.pieces {
            match piece {
                Piece::Fixed(fixed) => parts.extend(fixed.iter().map(|p| (p.clone(), None))),
                Piece::Value(name) => match values.get(name).filter(|v| !v.trim().is_empty()) {
                    None => parts.push((Part::Any, Some(name))),
                    Some(value) => {
                        let value = self.parts(value);
                        // Every word of a value counts, even one that carries nothing elsewhere; beside a
                        // number its markers may be left out.
                        let counted = value.iter().any(|part| matches!(part, Part::Number(_)));
                        parts.extend(value.into_iter().map(|part| match part {
                            Part::Word(hash, free) => {
                                (Part::Word(hash, free && counted), Some(name.as_str()))
                            }
                            other => (other, Some(name.as_str())),
                        }));
                    }
                },
            }
        }
        align(self, &parts, &self.toks(reply))
    }
}

/// True for the side of a runway.
fn is_side(tok: &Tok) -> bool {
    ["left", "right", "centre"].iter().any(|word| fold(word) == tok.hash)
}

/// The digits of a number without zeros in front; none if it cannot be one.
pub(super) fn number(toks: &[Tok]) -> Option<String> {
    let mut whole: u64 = 0;
    let mut group = String::new();
    let mut tenths: Option<String> = None;
    let mut big = false;
    for tok in toks {
        match (tok.kind, &mut tenths) {
            (TokKind::Digit(d), Some(tenths)) => tenths.push(char::from(b'0' + d)),
            (TokKind::Digit(d), None) => group.push(char::from(b'0' + d)),
            (TokKind::Decimal, None) => tenths = Some(String::new()),
            (TokKind::Hundred | TokKind::Thousand, None) => {
                let times = if tok.kind == TokKind::Hundred { 100 } else { 1000 };
                let count = if group.is_empty() { 1 } else { group.parse::<u64>().ok()? };
                whole = whole.checked_add(count.checked_mul(times)?)?;
                group.clear();
                big = true;
            }
            _ => return None,
        }
    }
    let mut text = if big {
        let rest = if group.is_empty() { 0 } else { group.parse::<u64>().ok()? };
        whole.checked_add(rest)?.to_string()
    } else {
        group.trim_start_matches('0').to_owned()
    };
    if text.is_empty() {
        text.push('0');
    }
    if let Some(tenths) = tenths {
        let tenths = tenths.trim_end_matches('0');
        if !tenths.is_empty() {
            text = format!("{text}.{tenths}");
        }
    }
    Some(text)
}

#[derive(Clone, Copy)]
enum Step {
    Take(usize),
    Other(usize),
    Drop,
    Extra,
}

/// The longest reply and speech that are aligned; what is longer is no call.
const LONGEST: usize = 120;

fn align(words: &Words, parts: &[(Part, Option<&str>)], toks: &[Tok]) -> Match {
    let toks = &toks[..toks.len().min(LONGEST)];
    let (n, m) = (parts.len(), toks.len());
    let at = |i: usize, j: usize| i * (m + 1) + j;
    let mut best = vec![(0u32, Step::Extra); (n + 1) * (m + 1)];
    let own: HashSet<u64> =
        parts.iter().filter_map(|(p, _)| if let Part::Word(h, _) = p { Some(*h) } else { None }).collect();
    let extra = |tok: &Tok| match tok.kind {
        TokKind::Word if tok.free || own.contains(&tok.slip) => 0,
        TokKind::Word => EXTRA,
        _ => EXTRA_NUMBER,
    };
    for i in (0..=n).rev() {
        for j in (0..=m).rev() {
            if i == n && j == m {
                continue;
            }
            let mut found = (u32::MAX, Step::Extra);
            let mut offer = |cost: u32, step: Step| {
                if cost < found.0 {
                    found = (cost, step);
                }
            };
            if j < m && i < n {
                // As long a number as there is without a pause.
                let mut run = j;
                if toks[j].kind != TokKind::Word {
                    run = j + 1;
                    while run < m && run - j < 10 && toks[run].kind != TokKind::Word && !toks[run].apart {
                        run += 1;
                    }
                }
                match &parts[i].0 {
                    Part::Word(hash, free) => {
                        if toks[j].kind != TokKind::Word && parts[i].1.is_some() {
                            offer(best[at(i + 1, run)].0 + WRONG, Step::Other(run - j));
                        }
                        if toks[j].kind == TokKind::Word {
                            if toks[j].hash == *hash {
                                offer(best[at(i + 1, j + 1)].0, Step::Take(1));
                            } else if toks[j].slip == *hash {
                                offer(best[at(i + 1, j + 1)].0 + 1, Step::Take(1));
                            } else if parts[i].1.is_some() && !free && !toks[j].free {
                                offer(best[at(i + 1, j + 1)].0 + WRONG, Step::Other(1));
                            }
                        }
                    }
                    Part::Number(wanted) => {
                        for end in j + 1..=run {
                            if number(&toks[j..end]).as_ref() == Some(wanted) {
                                offer(best[at(i + 1, end)].0, Step::Take(end - j));
                            } else {
                                offer(best[at(i + 1, end)].0 + WRONG, Step::Other(end - j));
                            }
                        }
                    }
                    Part::Any => {
                        for length in 1..=(m - j).min(12) {
                            offer(best[at(i + 1, j + length)].0, Step::Take(length));
                        }
                    }
                }
            }
            if i < n {
                let cost = match &parts[i] {
                    (Part::Word(_, true), _) => 0,
                    (_, Some(_)) => MISSING_VALUE,
                    (_, None) => MISSING,
                };
                offer(best[at(i + 1, j)].0 + cost, Step::Drop);
            }
            if j < m {
                offer(best[at(i, j + 1)].0 + extra(&toks[j]), Step::Extra);
            }
            best[at(i, j)] = found;
        }
    }
    let mut out = Match { cost: best[0].0, ..Match::default() };
    let (mut i, mut j) = (0, 0);
    while i < n || j < m {
        match best[at(i, j)].1 {
            Step::Take(length) => {
                out.found += u32::from(!matches!(parts[i].0, Part::Word(_, true)));
                (i, j) = (i + 1, j + length);
            }
            Step::Other(length) => {
                let span = toks[j].span.to(toks[j + length - 1].span);
                out.wrong.push((parts[i].1.unwrap_or("").to_owned(), span));
                (i, j) = (i + 1, j + length);
            }
            Step::Drop => {
                match &parts[i] {
                    (Part::Word(_, true), _) => {}
                    (_, Some(name)) => {
                        if !out.missing_values.iter().any(|known| known == name) {
                            out.missing_values.push((*name).to_owned());
                        }
                    }
                    (_, None) => out.missing += 1,
                }
                i += 1;
            }
            Step::Extra => {
                if extra(&toks[j]) > 0 {
                    out.extra.push(toks[j].span);
                }
                out.turned |= !own.contains(&toks[j].slip) && words.turns(&toks[j], &own);
                // A side behind a number names another runway.
                out.turned |= is_side(&toks[j]) && j > 0 && toks[j - 1].kind != TokKind::Word;
                j += 1;
            }
        }
    }
    out
}
