//! Marks a result file: every reply is judged again from what was typed, and nothing that the file says of itself is
//! trusted.

use super::answering::{Answering, Ended};
use super::exam::Exam;
use super::item::Item;
use super::loss::tidy;
use super::marked::{Marked, MarkedItem, Notice, Overruled, Weight};
use super::report::mark as percent;
use super::result::{Event, Line, Reason, Taken};
use crate::diagnostic::{clean, count};
use crate::element::{Element, Fault, Verdict};
use crate::record::entry::{Found, PROGRAM};
use jiff::Timestamp;

/// Seconds that a clock may be late before a reply counts as too late.
const GRACE: i64 = 5;

/// Differences that are named one by one; further ones are counted.
const NAMED: usize = 3;

/// Who marks, and with what.
#[derive(Clone, Copy)]
pub struct Marker<'e> {
    /// The paper with its items.
    pub exam: &'e Exam,
    /// Fingerprint of the grammar.
    pub grammar: &'e str,
    /// The group's key was given.
    pub keyed: bool,
}

/// What was typed for one item.
#[derive(Default)]
struct Answers<'t> {
    drawn: Option<&'t Item>,
    shown: Option<Timestamp>,
    lines: Vec<&'t Line>,
    closed: Option<(Verdict, u8)>,
}

impl Marker<'_> {
    /// Marks what a file holds; `file` is its name.
    #[must_use]
    pub fn mark(&self, file: &str, taken: &Taken) -> Marked {
        let header = &taken.header;
        let mut notices = Notices::default();
        self.provenance(taken, &mut notices);
        let mut marked = Marked {
            file: file.to_owned(),
            name: header.name.clone(),
            sitting: header.sitting,
            started: taken.started,
            seconds: 0,
            items: Vec::new(),
            notices: Vec::new(),
            counts: false,
            mark: 0.0,
            outright: Vec::new(),
            passed: false,
        };
        let last = taken.ended().map(|(at, _)| at).or_else(|| taken.lines.last().map(|line| line.at));
        let seconds = last.map_or(0, |at| (at.as_millisecond() - taken.started.as_millisecond()) / 1000);
        marked.seconds = u32::try_from(seconds).unwrap_or(0);
        // Of another paper nothing can be judged.
        if header.paper == self.exam.paper.fingerprint {
            self.items(taken, &mut marked, &mut notices);
        }
        marked.counts = notices.0.iter().all(|notice| notice.weight < Weight::Refused);
        marked.notices = notices.0;
        marked
    }

    /// Every item with what became of it, as it was answered; nothing is overruled here.
    #[must_use]
    pub fn replay(&self, taken: &Taken) -> Vec<(Item, Ended)> {
        let items = self.exam.items(&taken.header.name, taken.header.sitting);
        let (answers, _) = sorted(taken, items.len(), &mut Notices::default());
        items
            .into_iter()
            .zip(answers)
            .map(|(item, answers)| (item.clone(), answered(self.exam, item, &answers.lines).0))
            .collect()
    }

    /// Where the file comes from, and whether it is as it was written.
    fn provenance(&self, taken: &Taken, notices: &mut Notices) {
        let header = &taken.header;
        let paper = &self.exam.paper;
        if header.paper != paper.fingerprint {
            let short = |text: &str| clean(text).chars().take(12).collect::<String>();
            notices.refuse(format!(
                "it is of another paper: \"{}\", fingerprint {}; this one has {}",
                cut(&header.title),
                short(&header.paper),
                short(&paper.fingerprint)
            ));
        }
        match (header.sealed, self.keyed) {
            (true, false) => {
                notices.refuse("it is sealed, and the key was not given: whether it was edited is not known")
            }
            (false, true) => notices.refuse("it is not sealed with the group's key"),
            _ => {
                if let Some(line) = taken.broken {
                    let what = if header.sealed { "the seal does not fit" } else { "it was changed" };
                    notices.refuse(format!("{what} from line {line} on"));
                }
            }
        }
        if header.program != PROGRAM || header.grammar != self.grammar {
            notices.note(format!(
                "it was written by version {} with {} grammar; all replies are judged by this one",
                cut(&header.program),
                if header.grammar == self.grammar { "the same" } else { "another" }
            ));
        }
        if header.sitting > paper.conditions.sittings || header.sitting == 0 {
            let allowed = count(usize::try_from(paper.conditions.sittings).unwrap_or(1), "sitting");
            notices.refuse(format!("it is sitting {}: the paper allows {allowed}", header.sitting));
        }
        if taken.torn {
            notices.note("its last line is cut off");
        }
        let before = [taken.started].into_iter().chain(taken.lines.iter().map(|line| line.at));
        let pauses: Vec<i64> = before
            .zip(&taken.lines)
            .filter(|(_, line)| matches!(line.event, Event::Resumed {}))
            .map(|(before, line)| (line.at.as_millisecond() - before.as_millisecond()).max(0) / 1000)
            .collect();
        if let Some(longest) = pauses.iter().max() {
            let times = if pauses.len() == 1 { "once".to_owned() } else { format!("{} times", pauses.len()) };
            notices.note(format!(
                "it broke off and was gone on with {times}; nothing was written for {longest} s"
            ));
        }
        match taken.ended() {
            None => notices.refuse("it breaks off before the end; `hearback paper take` goes on with it"),
            Some((_, Reason::Left)) => notices.note("the person left before the end"),
            Some((_, Reason::Time)) => notices.note("the time was over before the end"),
            Some((_, Reason::Done)) => {}
        }
    }

    /// Judges the items, and compares with what the file says of them.
    fn items(&self, taken: &Taken, marked: &mut Marked, notices: &mut Notices) {
        let exam = self.exam;
        let items = exam.items(&taken.header.name, taken.header.sitting);
        let (mut answers, rulings) = sorted(taken, items.len(), notices);
        let minutes = exam.paper.conditions.minutes;
        let until = minutes.map(|m| taken.started.as_millisecond() + (i64::from(m) * 60 + GRACE) * 1000);
        let (mut other, mut claims, mut late) = (Vec::new(), Vec::new(), Vec::new());
        let same_grammar = taken.header.grammar == self.grammar && taken.header.program == PROGRAM;
        for ((number, item), answers) in (1u32..).zip(items).zip(&mut answers) {
            let differs = answers.drawn.filter(|drawn| *drawn != item);
            if let Some(drawn) = differs {
                other.push((number, item.asked().to_owned(), drawn.asked().to_owned()));
            }
            // What another grammar drew is judged as it was drawn.
            let written = exam.slots.get(other_place(number)).is_some_and(|slot| slot.part.is_none());
            let judged = differs.filter(|_| !same_grammar && !written).unwrap_or(item);
            let limit = exam.paper.conditions.seconds.zip(answers.shown);
            let limit = limit.map(|(s, shown)| shown.as_millisecond() + (i64::from(s) + GRACE) * 1000);
            let too_late = |line: &Line| {
                let at = line.at.as_millisecond();
                until.is_some_and(|until| at > until) || limit.is_some_and(|limit| at > limit)
            };
            if answers.lines.iter().any(|line| matches!(line.event, Event::Typed { .. }) && too_late(line)) {
                late.push(number.to_string());
                answers.lines.retain(|line| !too_late(line));
            }
            let (mut ended, ms) = answered(exam, judged, &answers.lines);
            if let Some((verdict, score)) = answers.closed
                && (verdict, score) != (ended.answer.judgement.verdict, ended.score())
                && answers.drawn.is_some()
            {
                let (ours, score) = (ended.answer.judgement.verdict.name(), ended.score());
                claims.push(format!(
                    "item {number}: the file says {}, it is {ours}, score {score}",
                    verdict.name()
                ));
            }
            let overruled = overrule(number, &mut ended, &rulings, notices);
            marked.items.push(marked_item(exam, number, judged, ended, ms, overruled));
        }
        if !other.is_empty() {
            let named = other.iter().take(NAMED).map(|(number, ours, theirs)| {
                format!("item {number}: the paper has \"{}\", the file \"{}\"", cut(ours), cut(theirs))
            });
            let text = listed(named.collect(), other.len());
            let is_written = |(number, ..): &(u32, String, String)| {
                exam.slots.get(other_place(*number)).is_some_and(|slot| slot.part.is_none())
            };
            if same_grammar || other.iter().any(is_written) {
                notices.refuse(format!("its items are not those of this paper and person: {text}"));
            } else {
                notices.note(format!("another grammar drew other items, which are judged as drawn: {text}"));
            }
        }
        if !claims.is_empty() {
            let text = listed(claims.iter().take(NAMED).cloned().collect(), claims.len());
            if same_grammar {
                notices.refuse(format!("what it says of replies is not what the judge says: {text}"));
            } else {
                notices.note(format!("judged by this version some replies come out otherwise: {text}"));
            }
        }
        if !late.is_empty() {
            notices.note(format!("typed after the time, and not counted: item {}", late.join(", ")));
        }
        self.conclude(marked);
        let claimed = taken.lines.iter().find_map(|line| match line.event {
            Event::End { mark, .. } => Some(mark),
            _ => None,
        });
        let overruled = marked.items.iter().any(|item| !item.overruled.is_empty());
        if let Some(claimed) = claimed.filter(|claimed| !overruled && (claimed - marked.mark).abs() > 0.05) {
            let (claimed, mark) = (percent(claimed), percent(marked.mark));
            notices.note(format!("the file says {claimed} %, judged again it is {mark} %"));
        }
    }

    /// The mark, what fails outright, and whether it is passed.
    fn conclude(&self, marked: &mut Marked) {
        let paper = &self.exam.paper;
        let sum: u32 = marked.items.iter().map(|item| u32::from(item.score)).sum();
        let items = u32::try_from(marked.items.len()).unwrap_or(u32::MAX).max(1);
        marked.mark = f64::from(sum) / f64::from(items);
        for item in marked.items.iter().filter(|item| !item.corrected && item.reply.is_some()) {
            for found in &item.findings {
                if paper.fails.iter().any(|fails| fails.fits(found.element, found.fault, found.severity)) {
                    let outright = (item.number, found.element, found.fault);
                    if !marked.outright.contains(&outright) {
                        marked.outright.push(outright);
                    }
                }
            }
        }
        marked.passed = marked.mark >= f64::from(paper.pass_mark) && marked.outright.is_empty();
    }
}

fn other_place(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX).saturating_sub(1)
}

/// The lines of each item, and what was overruled.
fn sorted<'t>(
    taken: &'t Taken,
    items: usize,
    notices: &mut Notices,
) -> (Vec<Answers<'t>>, Vec<(u32, Overruled)>) {
    let mut answers: Vec<Answers<'t>> = (0..items).map(|_| Answers::default()).collect();
    let (mut rulings, mut strange, mut ended) = (Vec::new(), Vec::new(), false);
    let mut at: Option<usize> = None;
    let mut before = taken.started;
    for (place, line) in taken.lines.iter().enumerate() {
        if line.at < before && !matches!(line.event, Event::Overruled { .. }) {
            notices.note(format!("its clock goes back in line {}", place + 2));
        }
        before = line.at;
        let current = at.and_then(|at| answers.get_mut(at));
        let fits = !ended || matches!(line.event, Event::Overruled { .. });
        match (&line.event, current) {
            _ if !fits => strange.push(place + 2),
            (Event::Item { number, drawn }, _) => {
                let next = other_place(*number);
                // After a break the item that was open is shown again.
                let again = at == Some(next);
                let follows = at.map_or(0, |at| at + 1) == next || again;
                match answers.get_mut(next).filter(|_| follows) {
                    Some(answers) => {
                        answers.drawn.get_or_insert(drawn);
                        answers.shown.get_or_insert(line.at);
                        at = Some(next);
                    }
                    None => strange.push(place + 2),
                }
            }
            (Event::Typed { .. } | Event::Hint {}, Some(current)) if current.closed.is_none() => {
                current.lines.push(line);
            }
            (Event::TimeOver {} | Event::Skipped {}, Some(_)) => {}
            (Event::Closed { verdict, score }, Some(current)) if current.closed.is_none() => {
                current.closed = Some((*verdict, *score));
            }
            (Event::Resumed {}, _) => {}
            (Event::End { .. }, _) => ended = true,
            (Event::Overruled { number, element, fault, reason, by }, _) => rulings.push((
                *number,
                Overruled {
                    element: *element,
                    fault: *fault,
                    reason: reason.clone(),
                    by: by.clone(),
                    at: line.at,
                },
            )),
            _ => strange.push(place + 2),
        }
    }
    if !strange.is_empty() {
        let lines = strange.iter().take(NAMED).map(|line| format!("line {line}")).collect();
        notices.refuse(format!("lines stand where none can be: {}", listed(lines, strange.len())));
    }
    (answers, rulings)
}

/// Answers an item with what was typed; with how long the first judged reply took.
fn answered(exam: &Exam, item: &Item, lines: &[&Line]) -> (Ended, Option<u32>) {
    let (mut answering, _) = Answering::begin(exam, item);
    let mut ms = None;
    for line in lines {
        match &line.event {
            Event::Hint {} => answering.hint(),
            Event::Typed { text, sent_ms, .. } => {
                let before = answering.replied();
                answering.take(text);
                if !before && answering.replied() {
                    ms = *sent_ms;
                }
            }
            _ => {}
        }
    }
    (answering.end(), ms)
}

/// Takes back what the leader overruled.
fn overrule(
    number: u32,
    ended: &mut Ended,
    rulings: &[(u32, Overruled)],
    notices: &mut Notices,
) -> Vec<Overruled> {
    let mut out = Vec::new();
    for (_, ruling) in rulings.iter().filter(|(item, _)| *item == number) {
        let judgement = &mut ended.answer.judgement;
        let before = judgement.findings.len();
        *judgement = judgement.clone().without(ruling.element, ruling.fault);
        if judgement.findings.len() == before {
            let (element, fault) = (ruling.element.name(), ruling.fault.name());
            notices.note(format!("item {number} has no finding \"{element} {fault}\" to overrule"));
            continue;
        }
        if matches!(ruling.fault, Fault::Wrong | Fault::Missing) {
            for part in ended.answer.owed.iter_mut().filter(|part| part.element == ruling.element) {
                (part.right, part.severity) = (true, None);
            }
        }
        out.push(ruling.clone());
    }
    out
}

fn marked_item(
    exam: &Exam,
    number: u32,
    item: &Item,
    ended: Ended,
    ms: Option<u32>,
    overruled: Vec<Overruled>,
) -> MarkedItem {
    let score = ended.score();
    let judgement = ended.answer.judgement;
    MarkedItem {
        number,
        skill: item.skill.clone(),
        title: item.title(&exam.rules, &exam.book),
        asked: item.asked().to_owned(),
        model: judgement.model,
        reply: ended.answered.then_some(ended.answer.reply),
        verdict: judgement.verdict,
        score,
        findings: judgement.findings.iter().map(Found::from).collect(),
        owed: ended.answer.owed,
        corrected: ended.corrected.is_some(),
        hinted: ended.hinted,
        ms,
        again: ended.again,
        overruled,
    }
}

/// Names, and how many more there are.
fn listed(named: Vec<String>, all: usize) -> String {
    let more = all - named.len();
    let text = named.join("; ");
    if more == 0 { text } else { format!("{text}; and {more} more") }
}

/// A text of a stranger: clean, and no longer than a line.
fn cut(text: &str) -> String {
    tidy(text, 100)
}

#[derive(Default)]
struct Notices(Vec<Notice>);

impl Notices {
    fn note(&mut self, text: impl Into<String>) {
        self.0.push(Notice { weight: Weight::Note, text: text.into() });
    }

    fn refuse(&mut self, text: impl Into<String>) {
        self.0.push(Notice { weight: Weight::Refused, text: text.into() });
    }
}

/// What a leader names to overrule: an element and a fault, `callsign misplaced`.
///
/// # Errors
/// What is allowed.
pub fn finding(text: &str) -> Result<(Element, Fault), String> {
    let parsed = super::Outright::parse(text)?;
    parsed
        .element
        .zip(parsed.fault)
        .ok_or_else(|| "write an element and a fault, for instance `callsign misplaced`".to_owned())
}
