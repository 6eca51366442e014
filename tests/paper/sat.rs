//! Result files of invented people, written as a sitting writes them, and papers to sit.

use hearback::content::Content;
use hearback::crew::CrewBook;
use hearback::element::Standard;
use hearback::grammar::sets::Sets;
use hearback::paper::answering::Answering;
use hearback::paper::exam::Exam;
use hearback::paper::item::Item;
use hearback::paper::result::{Event, FORMAT, Header, Line, Reason};
use hearback::paper::seal::{Key, Seal};
use hearback::record::entry::PROGRAM;
use hearback::record::moment;
use hearback::rules::RuleSet;
use hearback::scenario::load::Library;
use jiff::Timestamp;
use std::sync::Arc;

/// The rule set, as the library wants it.
pub(crate) fn rules(standard: Standard) -> Arc<RuleSet> {
    RuleSet::builtin(standard)
}

/// A paper with its items.
pub(crate) fn exam(text: &str) -> Exam {
    let library = Library::new(&rules, CrewBook::builtin().expect("the book is in order"));
    match hearback::commands::paper::drawn("paper.toml", text.as_bytes(), &library) {
        Ok(exam) => exam,
        Err(found) => panic!("{}", hearback::diagnostic::render(&found, false)),
    }
}

/// Fingerprint of the built-in grammar, as result files carry it.
pub(crate) fn grammar() -> String {
    use hearback::contract::RuleSets;
    Sets::over(None, Content::none()).expect("the grammar is in order").fingerprint()
}

/// A right reply.
pub(crate) fn model(exam: &Exam, item: &Item) -> String {
    Answering::begin(exam, item).0.model()
}

/// A person, and what that person says to each item: lines, or nothing until the time is over.
pub(crate) struct Person<'a> {
    pub(crate) name: &'a str,
    pub(crate) sitting: u32,
    pub(crate) key: Option<Key>,
    pub(crate) begin: &'a str,
    pub(crate) says: &'a dyn Fn(usize, &Item, &str) -> Vec<String>,
}

/// The lines of a sitting, without their checks.
pub(crate) fn lines(exam: &Exam, person: &Person<'_>, grammar: &str) -> Vec<Line> {
    let begin = moment::parse(person.begin).expect("a moment");
    let mut at = begin.as_millisecond();
    let mut out = Vec::new();
    let mut put = |at: i64, event: Event| {
        out.push(Line { at: Timestamp::from_millisecond(at).expect("a moment"), event });
    };
    put(
        at,
        Event::Begin(Header {
            format: FORMAT,
            title: exam.paper.title.clone(),
            paper: exam.paper.fingerprint.clone(),
            items: exam.slots.len() as u32,
            name: person.name.to_owned(),
            sitting: person.sitting,
            program: PROGRAM.to_owned(),
            grammar: grammar.to_owned(),
            sealed: person.key.is_some(),
        }),
    );
    let mut sum = 0u32;
    for (number, item) in exam.items(person.name, person.sitting).into_iter().enumerate() {
        put(at, Event::Item { number: number as u32 + 1, drawn: item.clone() });
        let (mut answering, _) = Answering::begin(exam, item);
        let model = answering.model();
        for text in (person.says)(number, item, &model) {
            if answering.is_over() {
                break;
            }
            let took = 2000 + (text.len() as i64) * 60;
            at += took;
            let (first_key_ms, sent_ms) = (Some(1200), Some(took as u32));
            put(at, Event::Typed { text: text.clone(), first_key_ms, sent_ms });
            answering.take(&text);
        }
        if !answering.is_over() {
            at += 3000;
            put(at, Event::Skipped {});
        }
        let ended = answering.end();
        sum += u32::from(ended.score());
        put(at, Event::Closed { verdict: ended.answer.judgement.verdict, score: ended.score() });
    }
    let mark = f64::from(sum) / exam.slots.len() as f64;
    put(at, Event::End { reason: Reason::Done, mark });
    out
}

/// The file of these lines.
pub(crate) fn file(lines: &[Line], key: Option<Key>) -> String {
    let mut seal = Seal::new(key);
    lines.iter().map(|line| seal.add(&serde_json::to_string(line).expect("JSON")) + "\n").collect()
}

/// The file of a sitting.
pub(crate) fn sat(exam: &Exam, person: &Person<'_>, grammar: &str) -> String {
    file(&lines(exam, person, grammar), person.key.clone())
}
