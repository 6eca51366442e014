//! Marks and values found in a longer text: where a phrase stands, and which number stands with it.

use super::said::{Part, Tok, TokKind, Values, Words, number};
use crate::span::Span;
use crate::text::fold;

/// The longest text that is read to its end, in words; what is longer is no briefing.
const LONGEST: usize = 1500;
/// Digits of the longest number that is read, three speeds in one breath among them.
const LONGEST_NUMBER: usize = 12;
/// Words that carry nothing and may stand between two words of a phrase.
const BETWEEN: usize = 4;
/// Words that may stand between a phrase and its number where no nearer one is said.
const LOOSE: usize = 4;

/// A word, a number or a gap of a phrase.
#[derive(Debug)]
enum Mark {
    Word(u64),
    Number(String),
    Gap(String),
}

/// Words that belong together, with gaps for numbers.
#[derive(Debug)]
pub(super) struct Phrase {
    marks: Vec<Mark>,
}

impl Phrase {
    /// True if nothing but numbers is in it.
    fn bare(&self) -> bool {
        self.marks.iter().all(|mark| matches!(mark, Mark::Gap(_)))
    }

    /// Names of its gaps.
    pub(super) fn gaps(&self) -> impl Iterator<Item = &str> {
        self.marks
            .iter()
            .filter_map(|mark| if let Mark::Gap(name) = mark { Some(name.as_str()) } else { None })
    }
}

/// A place where a phrase stands: words from `from` up to `to`, and what fills its gaps.
#[derive(Debug, Clone)]
pub(super) struct Hit<'p> {
    pub(super) from: usize,
    pub(super) to: usize,
    gaps: Vec<(&'p str, usize, usize)>,
}

/// What was said of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    Right,
    /// Another value, and where it stands.
    Wrong(Span),
    Not,
}

/// A text as words and numbers.
#[derive(Clone)]
pub(super) struct Heard<'a> {
    pub(super) words: &'a Words,
    pub(super) text: &'a str,
    pub(super) toks: Vec<Tok>,
    /// Words that belong to something else already.
    pub(super) hidden: Vec<bool>,
}

impl Words {
    /// A phrase from its text.
    pub(super) fn phrase(&self, text: &str) -> Phrase {
        let mut marks = Vec::new();
        let fixed = |text: &str, marks: &mut Vec<Mark>| {
            marks.extend(self.parts(text).into_iter().filter_map(|part| match part {
                Part::Word(hash, _) => Some(Mark::Word(hash)),
                Part::Number(number) => Some(Mark::Number(number)),
                Part::Any => None,
            }));
        };
        let mut rest = text;
        while let Some((before, gap)) = rest.split_once('<') {
            fixed(before, &mut marks);
            let (name, after) = gap.split_once('>').unwrap_or((gap, ""));
            marks.push(Mark::Gap(name.to_owned()));
            rest = after;
        }
        fixed(rest, &mut marks);
        Phrase { marks }
    }

    /// Phrases from their texts.
    pub(super) fn phrases(&self, texts: &[String]) -> Vec<Phrase> {
        texts.iter().map(|text| self.phrase(text)).collect()
    }
}

impl<'a> Heard<'a> {
    pub(super) fn new(words: &'a Words, text: &'a str) -> Self {
        let mut toks = words.toks(text);
        toks.truncate(LONGEST);
        let hidden = vec![false; toks.len()];
        Self { words, text, toks, hidden }
    }

    /// True if the word at `at` is `word`.
    pub(super) fn is(&self, at: usize, word: &str) -> bool {
        self.toks.get(at).is_some_and(|tok| tok.kind == TokKind::Word && tok.slip == fold(word))
    }

    /// The end of the number that begins at `at`; `at` if none does.
    pub(super) fn run(&self, at: usize) -> usize {
        let mut end = at;
        let more = |end: usize| {
            self.toks.get(end).is_some_and(|t| t.kind != TokKind::Word && (end == at || !t.apart))
        };
        while end < at + LONGEST_NUMBER && more(end) {
            end += 1;
        }
        end
    }

    /// The number from `from` up to `to`.
    pub(super) fn number(&self, from: usize, to: usize) -> Option<String> {
        self.toks.get(from..to).filter(|toks| !toks.is_empty()).and_then(number)
    }

    /// The number that a value is.
    pub(super) fn number_of(&self, value: &str) -> Option<String> {
        self.words
            .parts(value)
            .into_iter()
            .find_map(|part| if let Part::Number(n) = part { Some(n) } else { None })
    }

    /// Where the words from `from` up to `to` stand.
    pub(super) fn span(&self, from: usize, to: usize) -> Option<Span> {
        let last = self.toks.get(to.checked_sub(1)?)?;
        self.toks.get(from).map(|first| first.span.to(last.span))
    }

    /// Where the clause begins in which the word at `at` stands.
    pub(super) fn clause(&self, at: usize) -> usize {
        (0..=at.min(self.toks.len().saturating_sub(1))).rev().find(|&k| self.breaks(k)).unwrap_or(0)
    }

    /// Where that clause ends.
    pub(super) fn clause_end(&self, at: usize) -> usize {
        (at + 1..self.toks.len()).find(|&k| self.breaks(k)).unwrap_or(self.toks.len())
    }

    /// True if punctuation stands before the word.
    fn breaks(&self, at: usize) -> bool {
        at == 0 || self.toks[at].apart && !self.before(at).trim().is_empty()
    }

    /// True if a sentence ends before the word.
    fn ends(&self, at: usize) -> bool {
        at > 0 && self.before(at).contains(['.', '?', '!', ';', '\n'])
    }

    /// What stands between the word and the one before it.
    fn before(&self, at: usize) -> &str {
        let (from, to) = (self.toks[at - 1].span.end as usize, self.toks[at].span.start as usize);
        self.text.get(from..to).unwrap_or("")
    }

    /// True if a word shortly before it turns the word at `at` round.
    pub(super) fn negated(&self, at: usize) -> bool {
        let from = self.clause(at).max(at.saturating_sub(4));
        let but = (from..at).rev().find(|&k| self.is(k, "but")).map_or(from, |k| k + 1);
        (but..at).any(|k| self.words.negates.contains(&self.toks[k].slip))
    }

    fn one(&self, rest: &[Mark], at: usize) -> Option<usize> {
        let tok = self.toks.get(at).filter(|_| !self.hidden[at])?;
        match &rest[0] {
            Mark::Word(hash) => {
                let same = tok.kind == TokKind::Word && (tok.hash == *hash || tok.slip == *hash);
                same.then_some(at + 1)
            }
            Mark::Number(wanted) => {
                let end = self.run(at);
                (at + 1..=end).find(|&end| self.number(at, end).as_ref() == Some(wanted))
            }
            Mark::Gap(_) => {
                let end = self.run(at);
                self.number(at, end)?;
                // Three speeds in one breath are three numbers of one length.
                let more = rest.iter().take_while(|mark| matches!(mark, Mark::Gap(_))).count();
                let length = end - at;
                Some(if more > 1 && length >= 2 * more && length.is_multiple_of(more) {
                    at + length / more
                } else {
                    end
                })
            }
        }
    }

    fn hit<'p>(&self, phrase: &'p Phrase, start: usize) -> Option<Hit<'p>> {
        let mut gaps = Vec::new();
        let mut at = start;
        let ahead = matches!(phrase.marks.first()?, Mark::Gap(_)) && !phrase.bare();
        if matches!(phrase.marks.first()?, Mark::Gap(_))
            && start > 0
            && self.toks[start - 1].kind != TokKind::Word
            && !self.toks[start].apart
        {
            return None;
        }
        for n in 0..phrase.marks.len() {
            let mut passed = 0;
            let end = loop {
                // A number in front of its word stands in the same clause.
                if n > 0 && ahead && at < self.toks.len() && self.breaks(at) {
                    return None;
                }
                // The words of a phrase stand in one sentence.
                let fixed = n > 0 && !matches!(phrase.marks[n], Mark::Gap(_));
                if fixed && at < self.toks.len() && self.ends(at) {
                    return None;
                }
                if let Some(end) = self.one(&phrase.marks[n..], at) {
                    break end;
                }
                let free = self.toks.get(at).is_some_and(|tok| tok.free && tok.kind == TokKind::Word);
                if n == 0 || !free || passed == BETWEEN {
                    return None;
                }
                (at, passed) = (at + 1, passed + 1);
            };
            if let Mark::Gap(name) = &phrase.marks[n] {
                gaps.push((name.as_str(), at, end));
            }
            at = end;
        }
        Some(Hit { from: start, to: at, gaps })
    }

    /// Every place where one of the phrases stands.
    pub(super) fn find<'p>(&self, phrases: &'p [Phrase]) -> Vec<Hit<'p>> {
        (0..self.toks.len()).flat_map(|at| phrases.iter().filter_map(move |p| self.hit(p, at))).collect()
    }

    /// The first place where one of the phrases stands.
    pub(super) fn first<'p>(&self, phrases: &'p [Phrase]) -> Option<Hit<'p>> {
        (0..self.toks.len()).find_map(|at| phrases.iter().find_map(|p| self.hit(p, at)))
    }

    /// Values that stand where the phrases have them; those that are known already stay.
    pub(super) fn fill(&self, says: &[Phrase], values: &mut Values) {
        for hit in
            says.iter().filter(|phrase| !phrase.bare()).flat_map(|p| self.find(std::slice::from_ref(p)))
        {
            for (name, from, to) in hit.gaps {
                let side =
                    self.toks.get(to).filter(|tok| ["left", "right", "centre"].map(fold).contains(&tok.slip));
                if let Some(span) = self.span(from, to + usize::from(side.is_some())) {
                    values.entry(name.to_owned()).or_insert_with(|| span.of(self.text).to_owned());
                }
            }
        }
    }

    /// Words that belong to the phrases count for nothing else from now on.
    pub(super) fn hide(&mut self, phrases: &[Phrase]) {
        let places: Vec<(usize, usize)> = self.find(phrases).iter().map(|hit| (hit.from, hit.to)).collect();
        for (from, to) in places {
            self.hidden[from..to].fill(true);
        }
    }

    /// The number that stands for the one from `from` up to `to`, if the speaker corrected himself.
    fn repaired(&self, from: usize, to: usize) -> (usize, usize) {
        let near = |at: usize| at..self.toks.len().min(at + BETWEEN);
        let said = near(to).take(3).find(|&k| self.is(k, "correction"));
        let number = said.and_then(|k| near(k + 1).find(|&k| self.run(k) > k));
        number.map_or((from, to), |k| (k, self.run(k)))
    }

    /// True if the number from `from` up to `to` is `value`, and where it ends with its side.
    fn same(&self, value: &str, from: usize, to: usize) -> (bool, usize) {
        let sides = ["left", "right", "centre"].map(fold);
        let mut wanted = None;
        let mut side = None;
        for part in self.words.parts(value) {
            match part {
                Part::Number(number) if wanted.is_none() => wanted = Some(number),
                Part::Word(hash, _) if sides.contains(&hash) => side = Some(hash),
                _ => {}
            }
        }
        let glued = |tok: &Tok| self.toks[to - 1].span.end == tok.span.start;
        let said = self.toks.get(to).filter(|tok| {
            tok.kind == TokKind::Word && sides.contains(&tok.slip) && (side.is_some() || glued(tok))
        });
        let said_number = self.number(from, to);
        let tonnes = || {
            let said = said_number.as_ref().filter(|_| self.is(to, "tonnes"))?.parse::<f64>().ok()?;
            Some((said * 1000.0).round().to_string())
        };
        let equal = (said_number == wanted || wanted.is_some() && tonnes() == wanted)
            && said.map(|tok| tok.slip) == side;
        (equal, to + usize::from(said.is_some()))
    }

    /// What was said of the value `name`: with its phrases, near the words of `loose`, or anywhere.
    pub(super) fn told(&self, says: &[Phrase], loose: &[Phrase], name: &str, values: &Values) -> Told {
        let Some(value) = values.get(name) else { return Told::Not };
        let mut wrong = None;
        let check = |from: usize, to: usize| {
            let (from, to) = self.repaired(from, to);
            let (equal, to) = self.same(value, from, to);
            (equal, self.span(from, to))
        };
        for phrase in says.iter().filter(|phrase| phrase.gaps().any(|gap| gap == name)) {
            for at in 0..self.toks.len() {
                let Some(hit) = self.hit(phrase, at) else { continue };
                let others = |gap: &(&str, usize, usize)| {
                    values.get(gap.0).is_some_and(|value| self.same(value, gap.1, gap.2).0)
                };
                if phrase.bare() && !hit.gaps.iter().any(others) {
                    continue;
                }
                for (_, from, to) in hit.gaps.iter().filter(|gap| gap.0 == name) {
                    match check(*from, *to) {
                        (true, _) => return Told::Right,
                        (false, span) => wrong = wrong.or(span),
                    }
                }
            }
        }
        if let Some(span) = wrong {
            return Told::Wrong(span);
        }
        let known = |from: usize, to: usize| {
            values.iter().any(|(other, value)| other != name && self.same(value, from, to).0)
        };
        for hit in self.find(loose) {
            let last = self.clause_end(hit.to.saturating_sub(1)).min(hit.to + LOOSE + 1);
            let Some(from) = (hit.to..last).find(|&k| self.run(k) > k && !self.hidden[k]) else { continue };
            match check(from, self.run(from)) {
                (true, _) => return Told::Right,
                (false, Some(span)) if !known(from, self.run(from)) => wrong = wrong.or(Some(span)),
                _ => {}
            }
        }
        let anywhere = (0..self.toks.len()).any(|k| {
            let starts = k == 0 || self.toks[k].apart || self.toks[k - 1].kind == TokKind::Word;
            let end = self.run(k);
            starts && end > k + 1 && !self.hidden[k] && self.same(value, k, end).0
        });
        match wrong {
            _ if anywhere => Told::Right,
            Some(span) => Told::Wrong(span),
            None => Told::Not,
        }
    }
}
