//! Graded papers: what is drawn is the same for everybody or as hard, right replies are right, a sitting that breaks off
//! goes on, marking trusts nothing that a file says, and no file can stop it.

mod golden;
#[path = "paper/sat.rs"]
mod sat;

use golden::{data, golden};
use hearback::crew::CrewBook;
use hearback::diagnostic::{Diagnostic, render};
use hearback::element::{Element, Fault, Verdict};
use hearback::paper::answering::Answering;
use hearback::paper::batch::mark_all;
use hearback::paper::check::CODES;
use hearback::paper::exam::Exam;
use hearback::paper::item::{Difficulty, Item, Task};
use hearback::paper::mark::Marker;
use hearback::paper::marked::{Marked, Weight};
use hearback::paper::result::{Event, Line, Reason, Taken, Writer, read, read_from};
use hearback::paper::seal::Key;
use hearback::paper::sit::Sitting;
use hearback::record::moment;
use hearback::scenario::load::Library;
use hearback::session::console::{Input, Script, Timing};
use sat::{Person, exam, file, grammar, lines, model, rules, sat};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Everything that a paper can be made of.
const ALL: &str = "
format = 1
title = 'All kinds'
seed = 3
values = 'own'
fails = ['runway wrong']
[[part]]
title = 'By themselves'
items = 12
[[part]]
title = 'Long ones'
items = 4
topics = ['climb-descend', 'headings', 'speed', 'transponder']
difficulty = 4
[[part]]
title = 'In flights'
items = 10
airports = ['hvalby', 'holmfell']
[[part]]
title = 'Of the crew'
items = 9
calls = ['to-v1', 'to-rotate', 'to-pos/answer', 'to-100']
checklists = ['before-takeoff']
";

const BEGIN: &str = "2026-03-14T09:00:00.000Z";

/// What somebody says to an item.
type Says<'a> = &'a dyn Fn(usize, &Item, &str) -> Vec<String>;

fn week() -> Exam {
    exam(&std::fs::read_to_string(data("paper/week-3.toml")).expect("the paper is there"))
}

fn says_model(_: usize, _: &Item, model: &str) -> Vec<String> {
    vec![model.to_owned()]
}

fn person<'a>(name: &'a str, says: Says<'a>) -> Person<'a> {
    Person { name, sitting: 1, key: None, begin: BEGIN, says }
}

fn marked(exam: &Exam, text: &str, key: Option<&Key>) -> Marked {
    let taken = read_from(text.as_bytes(), key).expect("a result file");
    Marker { exam, grammar: &grammar(), keyed: key.is_some() }.mark("a.jsonl", &taken)
}

fn refused(marked: &Marked) -> Vec<&str> {
    let refused = marked.notices.iter().filter(|notice| notice.weight == Weight::Refused);
    refused.map(|notice| notice.text.as_str()).collect()
}

#[test]
fn every_problem_in_a_paper_has_a_golden_message() {
    let mut seen = BTreeSet::new();
    let mut files: Vec<PathBuf> = std::fs::read_dir(data("bad-papers"))
        .expect("the folder is there")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .collect();
    files.sort();
    let library = Library::new(&rules, CrewBook::builtin().expect("the book is in order"));
    for path in files {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = std::fs::read(&path).expect("the file is there");
        let found: Vec<Diagnostic> =
            hearback::commands::paper::drawn(&name, &bytes, &library).err().unwrap_or_default();
        seen.extend(found.iter().map(|d| d.code));
        golden(&path.with_extension("stderr"), &render(&found, false));
    }
    for (code, what) in CODES {
        assert!(seen.contains(code), "no file under tests/data/bad-papers shows {code}: {what}");
    }
}

#[test]
fn the_same_paper_gives_the_same_items_and_another_name_others() {
    let (one, two) = (exam(ALL), exam(ALL));
    assert_eq!(one.slots.len(), 35);
    assert_eq!(
        one.items("Anna Holm", 1),
        two.items("anna  holm", 1),
        "case and blanks do not tell people apart"
    );
    assert_ne!(one.items("Anna Holm", 1), one.items("Ben Roe", 1));
    assert_ne!(one.items("Anna Holm", 1), one.items("Anna Holm", 2));
    let same = exam(&ALL.replace("values = 'own'", "values = 'same'"));
    assert_eq!(same.items("Anna Holm", 1), same.items("Ben Roe", 1));
    let other = exam(&ALL.replace("seed = 3", "seed = 4"));
    assert_ne!(one.items("Anna Holm", 1), other.items("Anna Holm", 1));
}

/// Counted apart from the paper's own measure: what is missing if nothing is said.
fn counted(exam: &Exam, item: &Item) -> usize {
    Answering::begin(exam, item).0.end().answer.owed.iter().filter(|part| !part.right).count()
}

#[test]
fn all_forms_of_an_item_are_equally_hard_and_their_models_right() {
    for seed in [3, 17, 2026] {
        let exam = exam(&ALL.replace("seed = 3", &format!("seed = {seed}")));
        assert_eq!(exam.unequal(), []);
        let mut forms = 0;
        for (number, slot) in exam.slots.iter().enumerate() {
            let first = counted(&exam, &slot.forms[0]);
            for form in &slot.forms {
                forms += 1;
                let model = model(&exam, form);
                let (mut answering, _) = Answering::begin(&exam, form);
                answering.take(&model);
                let ended = answering.end();
                let item = number + 1;
                assert_eq!(
                    ended.answer.judgement.verdict,
                    Verdict::Correct,
                    "item {item}: {form:?}: {model}"
                );
                assert_eq!(ended.score(), 100);
                assert_eq!(counted(&exam, form), first, "item {item}: {}", form.asked());
            }
            let all: BTreeSet<&str> = slot.forms.iter().map(Item::asked).collect();
            assert!(all.len() > slot.forms.len() / 2, "the forms of item {} are alike: {all:?}", number + 1);
        }
        assert!(forms > 35 * 4, "{forms} forms only");
    }
}

#[test]
fn difficulty_is_the_number_of_elements_that_come_back() {
    for (difficulty, least, most) in [(1, 1, 1), (2, 1, 2), (3, 2, 3), (4, 3, 4), (5, 4, 99)] {
        let text = format!(
            "format = 1\ntitle = 'x'\n[[part]]\nitems = 8\ntopics = ['climb-descend', 'headings', 'speed', 'transponder', 'frequencies', 'altimeter-setting']\ndifficulty = {difficulty}\n"
        );
        let exam = exam(&text);
        for slot in &exam.slots {
            let Difficulty::ReadBack(demand) = slot.forms[0].difficulty(&exam.rules) else {
                panic!("a read-back is wanted")
            };
            let owed = demand.elements.len();
            assert!((least..=most).contains(&owed), "{difficulty}: {owed} in {}", slot.forms[0].asked());
        }
    }
}

#[test]
fn right_replies_pass_and_silence_fails() {
    let exam = exam(ALL);
    let right = marked(&exam, &sat(&exam, &person("Anna Holm", &says_model), &grammar()), None);
    assert_eq!((right.mark, right.passed, right.counts), (100.0, true, true), "{:?}", right.notices);
    assert!(right.items.iter().all(|item| item.is_right() && item.findings.is_empty()));
    let silent = |_: usize, _: &Item, _: &str| Vec::new();
    let silent = marked(&exam, &sat(&exam, &person("Ben Roe", &silent), &grammar()), None);
    assert_eq!((silent.mark, silent.passed, silent.counts), (0.0, false, true), "{:?}", silent.notices);
    for item in &silent.items {
        assert!(item.reply.is_none() && item.owed.iter().all(|part| !part.right), "{item:?}");
    }
}

#[test]
fn what_is_asked_again_costs_nothing_and_a_later_reply_counts_half() {
    let exam = exam(&ALL.replace("seed = 3", "seed = 3\nreplies = 2"));
    let again = |number: usize, _: &Item, model: &str| {
        vec![if number.is_multiple_of(2) { "say again" } else { "say agan" }.to_owned(), model.to_owned()]
    };
    let asked = marked(&exam, &sat(&exam, &person("Anna Holm", &again), &grammar()), None);
    assert_eq!((asked.mark, asked.passed), (100.0, true));
    assert!(asked.items.iter().any(|item| item.again == 1));
    let late = |_: usize, item: &Item, model: &str| match item.task {
        Task::ReadBack { .. } => vec![String::new(), "roger".to_owned(), model.to_owned()],
        _ => vec![model.to_owned()],
    };
    let late = marked(&exam, &sat(&exam, &person("Ben Roe", &late), &grammar()), None);
    for item in late.items.iter().filter(|item| item.reply.as_deref() == Some("roger")) {
        assert!(item.corrected && item.score >= 50, "{item:?}");
        assert!(item.verdict > Verdict::Nonstandard, "the first reply is the one that is told");
    }
    assert!(late.outright.is_empty(), "a slip that was caught fails nothing outright");
}

#[test]
fn a_wrong_runway_fails_the_paper_outright() {
    let exam = week();
    let wrong = |number: usize, item: &Item, model: &str| {
        let other = match &item.task {
            Task::ReadBack { says } if says.contains("runway") && number < 4 => "runway three six",
            _ => return vec![model.to_owned()],
        };
        vec![format!("line up and wait {other}, {}", item.callsign)]
    };
    let marked = marked(&exam, &sat(&exam, &person("Ben Roe", &wrong), &grammar()), None);
    assert!(
        marked
            .outright
            .iter()
            .any(|(_, element, fault)| (*element, *fault) == (Element::Runway, Fault::Wrong))
    );
    assert!(!marked.passed);
}

/// What remains of a file when a program is killed while the `n`th byte is written.
fn cut(text: &str, n: usize) -> &[u8] {
    &text.as_bytes()[..n.min(text.len())]
}

#[test]
fn a_sitting_that_breaks_off_anywhere_goes_on_to_the_same_mark() {
    let exam = week();
    let replies = |number: usize, _: &Item, model: &str| match number % 3 {
        0 => vec!["say again".to_owned(), model.to_owned()],
        1 => vec![model.split(',').next().unwrap_or_default().to_owned()],
        _ => vec![model.to_owned()],
    };
    let key = Key::of(b"a key for this test only").expect("a key");
    let whole = Person { key: Some(key.clone()), ..person("Anna Holm", &replies) };
    let text = sat(&exam, &whole, &grammar());
    let expected = marked(&exam, &text, Some(&key));
    let last = text.trim_end().rfind('\n').expect("several lines");
    let folder = tempfile::tempdir().expect("a folder");
    let items: Vec<Item> = exam.items("Anna Holm", 1).into_iter().cloned().collect();
    let first = text.find('\n').expect("a first line") + 1;
    for n in (first..last).step_by(97) {
        let path = folder.path().join("broken.jsonl");
        std::fs::write(&path, cut(&text, n)).expect("written");
        let before: Taken = read(&path, Some(&key)).expect("what is left can be read");
        assert!(before.ended().is_none() && before.broken.is_none());
        // What was typed before the break is not typed again.
        let done: usize = before.lines.iter().filter(|l| matches!(l.event, Event::Typed { .. })).count();
        let typed: Vec<String> =
            items.iter().enumerate().flat_map(|(k, item)| replies(k, item, &model(&exam, item))).collect();
        let inputs = typed[done..].iter().map(|line| Input::Line(line.clone(), Timing::default()));
        let mut console = Script::new(80, inputs);
        let mut out = Vec::new();
        // It goes on at once: the clock of the open item has run all the time.
        let at = before.lines.last().map_or(before.started, |line| line.at);
        let clock = || at;
        let writer = Writer::go_on(&path, before.seal.clone(), before.whole).expect("it goes on");
        let mut sitting = Sitting::new(
            &exam,
            ("Anna Holm", 1),
            before.started,
            writer,
            (&mut console, &mut out),
            &clock,
            false,
        );
        let reason = sitting.run(Some(&before)).expect("it runs");
        assert_eq!(reason, Some(Reason::Done), "{n}: {}", String::from_utf8_lossy(&out));
        sitting.close(Reason::Done, expected.mark).expect("it closes");
        let taken = read(&path, Some(&key)).expect("a result file");
        let again = Marker { exam: &exam, grammar: &grammar(), keyed: true }.mark("a.jsonl", &taken);
        assert_eq!(refused(&again), Vec::<&str>::new(), "cut at {n}");
        assert!(again.notices.iter().any(|notice| notice.text.contains("gone on with once")), "cut at {n}");
        let scores = |marked: &Marked| marked.items.iter().map(|item| item.score).collect::<Vec<_>>();
        assert_eq!((scores(&again), again.mark), (scores(&expected), expected.mark), "cut at {n}");
    }
}

#[test]
fn no_byte_of_a_sealed_file_can_be_changed_without_a_notice() {
    let exam = week();
    let key = Key::of(b"a key for this test only").expect("a key");
    let text = sat(&exam, &Person { key: Some(key.clone()), ..person("Anna Holm", &says_model) }, &grammar());
    assert!(marked(&exam, &text, Some(&key)).counts);
    for at in (0..text.len()).step_by(13) {
        let mut bytes = text.clone().into_bytes();
        bytes[at] = if bytes[at] == b'1' { b'2' } else { b'1' };
        if bytes == text.as_bytes() {
            continue;
        }
        let Ok(taken) = read_from(&bytes[..], Some(&key)) else { continue };
        let marked = Marker { exam: &exam, grammar: &grammar(), keyed: true }.mark("a.jsonl", &taken);
        assert!(!marked.counts, "byte {at} changed and not noticed");
    }
    let other = Key::of(b"the key of another group").expect("a key");
    assert!(!marked(&exam, &text, Some(&other)).counts);
    let open = sat(&exam, &person("Anna Holm", &says_model), &grammar());
    assert!(
        !marked(&exam, &open, Some(&key)).counts,
        "a file without the seal does not count where one is wanted"
    );
    let unknown = marked(&exam, &text, None);
    assert!(!unknown.counts && refused(&unknown)[0].contains("the key was not given"));
    // Who writes into an open file that it is sealed gains nothing.
    let claimed = open.replace("\"sealed\":false", "\"sealed\":true");
    assert!(!marked(&exam, &claimed, None).counts && !marked(&exam, &claimed, Some(&key)).counts);
}

/// A file whose lines were changed by somebody who knows how the checks are made, and has no key.
fn forged(exam: &Exam, change: impl Fn(&mut Vec<Line>)) -> Marked {
    let roger = |_: usize, item: &Item, _: &str| vec![format!("roger, {}", item.callsign)];
    let mut all = lines(exam, &person("Ben Roe", &roger), &grammar());
    change(&mut all);
    marked(exam, &file(&all, None), None)
}

#[test]
fn forgeries_are_told_by_what_they_differ_in() {
    let exam = week();
    let honest = forged(&exam, |_| {});
    assert!(honest.counts && honest.mark < 40.0, "{:?}", honest.notices);
    // A better score, said and not earned.
    let score = forged(&exam, |lines| {
        for line in lines {
            if let Event::Closed { verdict, score } = &mut line.event {
                (*verdict, *score) = (Verdict::Correct, 100);
            }
        }
    });
    assert_eq!(score.mark, honest.mark, "the score of a file is never taken");
    assert!(refused(&score)[0].contains("item 1: the file says correct"), "{:?}", score.notices);
    // An easier item.
    let item = forged(&exam, |lines| {
        for line in lines {
            if let Event::Item { number: 2, drawn } = &mut line.event {
                drawn.task = Task::ReadBack { says: format!("{}, hold position", drawn.callsign) };
            }
        }
    });
    assert!(
        refused(&item)[0]
            .starts_with("its items are not those of this paper and person: item 2: the paper has")
    );
    // Somebody else's name over it.
    let name = forged(&exam, |lines| {
        if let Event::Begin(header) = &mut lines[0].event {
            header.name = "Carla Lund".to_owned();
        }
    });
    assert!(
        refused(&name)[0].starts_with("its items are not those of this paper and person"),
        "{:?}",
        name.notices
    );
    // Of another paper.
    let paper = forged(&exam, |lines| {
        if let Event::Begin(header) = &mut lines[0].event {
            header.paper = "0".repeat(64);
        }
    });
    assert!(refused(&paper)[0].starts_with("it is of another paper"), "{:?}", paper.notices);
    // One more reply after the end, one more sitting, an item left out.
    let late = forged(&exam, |lines| {
        let typed = Event::Typed { text: "roger".to_owned(), first_key_ms: None, sent_ms: None };
        let at = lines[0].at;
        lines.push(Line { at, event: typed });
    });
    assert!(refused(&late).iter().any(|text| text.starts_with("lines stand where none can be")));
    let third = forged(&exam, |lines| {
        if let Event::Begin(header) = &mut lines[0].event {
            header.sitting = 3;
        }
    });
    assert!(refused(&third)[0].starts_with("it is sitting 3: the paper allows 1 sitting"));
    let short =
        forged(&exam, |lines| lines.retain(|line| !matches!(line.event, Event::Item { number: 3, .. })));
    assert!(!short.counts);
    // Half an hour for a paper of a quarter.
    let slow = forged(&exam, |lines| {
        for line in lines.iter_mut().skip(8) {
            line.at = moment::parse("2026-03-14T09:31:00.000Z").expect("a moment");
        }
    });
    assert!(
        slow.notices.iter().any(|notice| notice.text.starts_with("typed after the time, and not counted"))
    );
    assert!(slow.items.iter().filter(|item| item.reply.is_none()).count() > 5);
}

#[test]
fn another_version_is_named_and_its_items_are_judged_as_drawn() {
    let exam = week();
    let mut all = lines(&exam, &person("Anna Holm", &says_model), "of another grammar");
    let marked_as = |all: &[Line]| marked(&exam, &file(all, None), None);
    let same = marked_as(&all);
    assert!(same.counts && same.notices.iter().any(|notice| notice.text.contains("with another grammar")));
    let callsign = exam.slots[0].forms[0].callsign.clone();
    let spoken = model(&exam, &exam.slots[0].forms[0]);
    let own = spoken.rsplit(", ").next().unwrap_or_default().to_owned();
    for line in &mut all {
        match &mut line.event {
            Event::Item { number: 1, drawn } => {
                drawn.task =
                    Task::ReadBack { says: format!("{callsign}, line up and wait runway three five") };
            }
            Event::Typed { text, .. } if *text == model(&exam, exam.items("Anna Holm", 1)[0]) => {
                *text = format!("line up and wait runway three five, {own}");
            }
            _ => {}
        }
    }
    let other = marked_as(&all);
    assert!(other.counts, "{:?}", other.notices);
    assert!(other.notices.iter().any(|notice| notice.text.starts_with("another grammar drew other items")));
    assert_eq!(other.items[0].verdict, Verdict::Correct);
}

#[test]
fn of_several_sittings_the_best_counts_and_doubles_are_refused() {
    let exam = exam(&ALL.replace("seed = 3", "seed = 3\nsittings = 2"));
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, text: String| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path
    };
    let half = |number: usize, _: &Item, model: &str| {
        if number.is_multiple_of(2) { vec![model.to_owned()] } else { vec![] }
    };
    let first = sat(&exam, &person("Anna Holm", &half), &grammar());
    let second = sat(
        &exam,
        &Person { sitting: 2, begin: "2026-03-15T09:00:00.000Z", ..person("Anna Holm", &says_model) },
        &grammar(),
    );
    let again = sat(
        &exam,
        &Person { begin: "2026-03-16T09:00:00.000Z", ..person("ANNA HOLM", &says_model) },
        &grammar(),
    );
    let files = vec![
        put("1.jsonl", first.clone()),
        put("copy.jsonl", first),
        put("2.jsonl", second),
        put("again.jsonl", again),
        put("ben.jsonl", sat(&exam, &person("Ben Roe", &half), &grammar())),
        put("dora.jsonl", {
            // What Ben typed, as fast as he did, by somebody else.
            let theirs = sat(&exam, &person("Ben Roe", &half), &grammar());
            let taken = read_from(theirs.as_bytes(), None).expect("a result file");
            let mut all = lines(&exam, &person("Dora Finch", &half), &grammar());
            let typed: Vec<Event> = taken
                .lines
                .iter()
                .filter(|line| matches!(line.event, Event::Typed { .. }))
                .map(|line| line.event.clone())
                .collect();
            let mut theirs = typed.into_iter();
            for line in &mut all {
                if matches!(line.event, Event::Typed { .. }) {
                    line.event = theirs.next().expect("as many lines");
                }
            }
            file(&all, None)
        }),
        folder.path().join("missing.jsonl"),
    ];
    let grammar = grammar();
    let marker = Marker { exam: &exam, grammar: &grammar, keyed: false };
    let mut all = Vec::new();
    let unread = mark_all(marker, &files, None, &(), &mut |marked| all.push(marked));
    let names: Vec<(String, bool)> =
        all.iter().map(|m| (m.file.rsplit('/').next().unwrap_or_default().to_owned(), m.counts)).collect();
    let expected = [
        ("1.jsonl", false),
        ("copy.jsonl", false),
        ("2.jsonl", true),
        ("again.jsonl", false),
        ("ben.jsonl", true),
        ("dora.jsonl", false),
    ];
    assert_eq!(names, expected.map(|(name, counts)| (name.to_owned(), counts)));
    assert!(refused(&all[1])[0].starts_with("it is the same as"));
    assert!(refused(&all[3])[0].contains("it was taken twice"));
    assert!(refused(&all[5]).last().expect("a reason").contains("under another name"));
    assert!(refused(&all[0]).is_empty(), "the poorer sitting is no offence");
    assert_eq!(unread.len(), 1);
}

#[test]
fn what_is_overruled_is_taken_back_and_travels_with_the_file() {
    let exam = week();
    let key = Key::of(b"a key for this test only").expect("a key");
    let first = |_: usize, item: &Item, model: &str| match item.task {
        Task::ReadBack { .. } => {
            let body = model.rsplit_once(", ").map_or(model, |(body, _)| body);
            vec![format!("{}, {body}", item.callsign)]
        }
        _ => vec![model.to_owned()],
    };
    let text = sat(&exam, &Person { key: Some(key.clone()), ..person("Anna Holm", &first) }, &grammar());
    let before = marked(&exam, &text, Some(&key));
    let item = before.items[0].clone();
    assert_eq!((item.findings[0].element, item.findings[0].fault), (Element::Callsign, Fault::Misplaced));
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.jsonl");
    std::fs::write(&path, &text).expect("written");
    let taken = read(&path, Some(&key)).expect("a result file");
    let mut writer = Writer::go_on(&path, taken.seal.clone(), taken.whole).expect("it opens");
    let ruling = Event::Overruled {
        number: 1,
        element: Element::Callsign,
        fault: Fault::Misplaced,
        reason: "our operator says it first".to_owned(),
        by: "M. Brandt".to_owned(),
    };
    writer.write(moment::parse("2026-03-20T09:00:00.000Z").expect("a moment"), ruling).expect("written");
    let text = std::fs::read_to_string(&path).expect("it is there");
    let after = marked(&exam, &text, Some(&key));
    assert!(after.counts, "{:?}", after.notices);
    assert_eq!(after.items[0].findings, []);
    assert_eq!((after.items[0].verdict, after.items[0].score), (Verdict::Correct, 100));
    assert_eq!(after.items[0].overruled[0].reason, "our operator says it first");
    assert!(after.mark > before.mark && after.items[1] == before.items[1]);
    // Nobody without the key can do it.
    let without = text.replace("our operator says it first", "because I want it");
    assert!(!marked(&exam, &without, Some(&key)).counts);
}

#[test]
fn a_frozen_paper_asks_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let (paper, frozen) = (folder.path().join("all.toml"), folder.path().join("frozen.toml"));
    std::fs::write(&paper, ALL).expect("written");
    let run = |words: &[&str]| {
        snapbox::cmd::Command::new(snapbox::cmd::cargo_bin!("hearback"))
            .env("HEARBACK_RECORD", "")
            .env("XDG_CONFIG_HOME", folder.path())
            .args(words)
    };
    let (from, to) = (paper.to_string_lossy(), frozen.to_string_lossy());
    run(&["paper", "freeze", &from, &to]).assert().success();
    run(&["check", &to]).assert().success();
    run(&["paper", "freeze", &from, &to]).assert().code(2);
    let text = std::fs::read_to_string(&frozen).expect("it is there");
    let (before, after) = (exam(ALL), exam(&text));
    let first = |exam: &Exam| -> Vec<(String, String, String)> {
        let forms = exam.slots.iter().map(|slot| &slot.forms[0]);
        forms.map(|item| (item.skill.clone(), item.asked().to_owned(), model(exam, item))).collect()
    };
    assert_eq!(first(&before), first(&after));
    assert!(after.slots.iter().all(|slot| slot.forms.len() == 1));
}

/// What a stranger may send instead of a result file.
fn strange(text: &str) -> Vec<(&'static str, Vec<u8>)> {
    let first = text.split_inclusive('\n').next().expect("a line");
    let begin = first.find("Anna Holm").expect("a name");
    let named = |name: &str| {
        let mut seal = hearback::paper::seal::Seal::new(None);
        let line: serde_json::Value =
            serde_json::from_str(&(first[..first.rfind(",\"check\"").expect("a check")].to_owned() + "}"))
                .expect("JSON");
        let mut line = line;
        line["event"]["begin"]["name"] = serde_json::Value::String(name.to_owned());
        let own = seal.add(&line.to_string()) + "\n";
        let rest: Vec<String> = text
            .lines()
            .skip(1)
            .map(|line| {
                seal.add(&format!("{}}}", &line[..line.rfind(",\"check\"").expect("a check")])) + "\n"
            })
            .collect();
        (own + &rest.concat()).into_bytes()
    };
    assert!(begin > 0);
    vec![
        ("empty", vec![]),
        ("noise", (0..4096u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect()),
        ("half a line", first.as_bytes()[..60].to_vec()),
        ("zeros", vec![0; 100_000]),
        ("one long line", vec![b'a'; 300_000]),
        ("nested", format!("{}{}", "[".repeat(20_000), "]".repeat(20_000)).into_bytes()),
        ("huge", vec![b'\n'; 9 * 1024 * 1024]),
        ("another type", first.replace("\"items\":11", "\"items\":\"many\"").into_bytes()),
        ("another format", first.replace("\"format\":1", "\"format\":9").into_bytes()),
        ("an unknown key", first.replace("\"sitting\"", "\"siting\"").into_bytes()),
        ("not a number", first.replace("\"sitting\":1", "\"sitting\":1e999").into_bytes()),
        ("control characters", named("Anna\u{1b}[31m\u{7}\u{202e}\nHolm")),
        ("html", named("<script>alert('x')</script><b>&amp;")),
        ("formula", named("=HYPERLINK(\"http://x\",\"y\")")),
        ("a long name", named(&"Anna ".repeat(2000))),
        ("no name", named("")),
        ("a path", named("../../etc/passwd")),
    ]
}

#[test]
fn hostile_files_are_named_and_the_rest_is_marked() {
    let folder = tempfile::tempdir().expect("a folder");
    let results = folder.path().join("results");
    std::fs::create_dir(&results).expect("a folder");
    let paper = folder.path().join("week-3.toml");
    std::fs::copy(data("paper/week-3.toml"), &paper).expect("copied");
    let exam = week();
    let good = sat(&exam, &person("Anna Holm", &says_model), &grammar());
    let all = strange(&good);
    for (n, (_, bytes)) in all.iter().enumerate() {
        std::fs::write(results.join(format!("{n:02}.jsonl")), bytes).expect("written");
    }
    std::fs::write(results.join("good.jsonl"), &good).expect("written");
    std::fs::create_dir(results.join("folder.jsonl")).expect("a folder");
    let run = |words: &[&str]| {
        let output = snapbox::cmd::Command::new(snapbox::cmd::cargo_bin!("hearback"))
            .env("HEARBACK_RECORD", "")
            .env("XDG_CONFIG_HOME", folder.path())
            .current_dir(folder.path())
            .args(words)
            .output()
            .expect("it runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        (output.status.code(), text(output.stdout), text(output.stderr))
    };
    let (code, out, err) = run(&["paper", "mark", "week-3.toml", "results"]);
    assert_eq!(code, Some(1), "{err}");
    assert!(out.contains("Anna Holm") && out.contains("  100 %"), "{out}");
    for (n, (what, _)) in all.iter().enumerate() {
        let file = format!("{n:02}.jsonl");
        assert!(out.contains(&file) || err.contains(&file), "{what} is not named\n{out}\n{err}");
    }
    for (code, shown) in [
        run(&["paper", "report", "week-3.toml", "results"]),
        run(&["paper", "mark", "week-3.toml", "results", "--json"]),
    ]
    .map(|(code, out, err)| (code, out + &err))
    .into_iter()
    .chain([(Some(1), out + &err)])
    {
        assert_eq!(code, Some(1));
        let bad = |c: char| {
            (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        };
        assert!(!shown.contains(bad), "{shown:?}");
    }
    let (code, ..) =
        run(&["paper", "report", "week-3.toml", "results", "--html", "page.html", "--csv", "tables"]);
    assert_eq!(code, Some(1));
    let page = std::fs::read_to_string(folder.path().join("page.html")).expect("it is there");
    assert!(!page.contains("<script") && !page.contains("<b>&amp;<"), "a name is no markup");
    let people = std::fs::read_to_string(folder.path().join("tables/people.csv")).expect("it is there");
    assert!(!people.lines().any(|line| line.starts_with('=') || line.contains(",=")), "{people}");
}

/// The example of the README: three invented people, each with a weakness.
fn example(name: &str) -> Vec<(&'static str, String)> {
    let exam = week();
    let anna = |number: usize, item: &Item, model: &str| {
        let own = model.rsplit_once(", ").map(|(body, _)| body.to_owned());
        // Leaves the callsign out when there is much to say.
        match own.filter(|body| body.len() > 45 && number < 8 && !item.callsign.is_empty()) {
            Some(body) => vec![body],
            None => vec![model.to_owned()],
        }
    };
    let ben = |number: usize, item: &Item, model: &str| {
        // Hears the last number of a clearance wrong, and asks now and then.
        let (body, own) = model.rsplit_once(", ").unwrap_or((model, ""));
        let digits = [("one", "two"), ("two", "three"), ("three", "one"), ("five", "four"), ("zero", "one")];
        let last =
            digits.iter().filter_map(|(digit, other)| Some((body.rfind(digit)?, *digit, *other))).max();
        match (&item.task, last) {
            (Task::ReadBack { .. }, Some((at, digit, other))) if number % 2 == 1 => {
                let wrong = format!("{}{other}{}, {own}", &body[..at], &body[at + digit.len()..]);
                vec!["say again".to_owned(), wrong]
            }
            _ => vec![model.to_owned()],
        }
    };
    let carla = |number: usize, item: &Item, model: &str| match &item.task {
        Task::ReadBack { .. } if number.is_multiple_of(3) => vec![format!("roger, {}", item.callsign)],
        Task::ReadBack { .. } => vec![model.to_owned()],
        _ if number == 9 => vec!["okay".to_owned()],
        _ => vec![],
    };
    let people: [(&str, &str, Says<'_>); 3] = [
        ("Anna Holm", "anna-holm", &anna),
        ("Ben Roe", "ben-roe", &ben),
        ("Carla Lund", "carla-lund", &carla),
    ];
    people
        .into_iter()
        .filter(|person| name.is_empty() || person.0 == name)
        .map(|(name, file, says)| (file, sat(&exam, &person(name, says), &grammar())))
        .collect()
}

#[test]
fn the_example_of_the_readme_is_of_this_grammar() {
    for (name, text) in example("") {
        golden(&data(&format!("paper/results/{name}.jsonl")), &text);
    }
}

#[test]
fn a_paper_is_sat_in_a_pipe_marked_and_reported() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::copy(data("paper/week-3.toml"), folder.path().join("week-3.toml")).expect("copied");
    let run = |words: &[&str], stdin: &str| {
        let output = snapbox::cmd::Command::new(snapbox::cmd::cargo_bin!("hearback"))
            .env("HEARBACK_RECORD", "")
            .env("HEARBACK_NOW", "2026-03-14T09:00:00.000Z")
            .env("XDG_CONFIG_HOME", folder.path())
            .current_dir(folder.path())
            .args(words)
            .stdin(stdin)
            .output()
            .expect("it runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        (output.status.code(), text(output.stdout), text(output.stderr))
    };
    assert_eq!(run(&["paper", "key", "group.key"], "").0, Some(0));
    assert_eq!(run(&["paper", "key", "group.key"], "").0, Some(2), "a key is never written over");
    let exam = week();
    let mut replies = String::new();
    for (number, item) in exam.items("Anna Holm", 1).into_iter().enumerate() {
        match number {
            0 => replies.push_str("say again\n/time\nquit\n/nonsense\n/hint\n"),
            1 => replies.push('\n'),
            2 => {
                replies.push_str("/skip\n");
                continue;
            }
            _ => {}
        }
        replies.push_str(&model(&exam, item));
        replies.push('\n');
    }
    let take =
        ["--record", "own.db", "paper", "take", "week-3.toml", "--name", "Anna  Holm", "--key", "group.key"];
    let (code, out, err) = run(&take, &replies);
    assert_eq!(code, Some(0), "{out}\n{err}");
    golden(&data("paper/take.txt"), &out);
    // The person's own record has the replies too; a paper is practice.
    let (code, kept, _) = run(&["--record", "own.db", "record", "export"], "");
    assert_eq!(code, Some(0));
    let kept: Vec<serde_json::Value> =
        kept.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let typed = kept.iter().filter(|line| line["attempt"]["reply"] != "").count();
    assert_eq!(typed, exam.slots.len() - 1, "all but the one that was skipped");
    assert!(kept.iter().all(|line| line["attempt"]["scenario"] == "paper"));
    let (code, _, err) = run(&take, &replies);
    assert_eq!(code, Some(2));
    assert!(err.contains("Anna Holm has sat this paper: it allows 1 sitting"), "{err}");
    assert_eq!(run(&["paper", "take", "week-3.toml"], "").0, Some(2), "nobody can be asked for a name");
    // Left in the middle, and gone on with.
    let begun = ["paper", "take", "week-3.toml", "--name", "Ben Roe", "--result", "ben.jsonl"];
    let (code, out, _) = run(&begun, "roger\n/quit\n");
    assert_eq!(code, Some(1));
    assert!(out.contains("not answered"), "{out}");
    let (code, out, err) = run(
        &["paper", "mark", "week-3.toml", "week-3-anna-holm.jsonl", "ben.jsonl", "--key", "group.key"],
        "",
    );
    assert_eq!(code, Some(1), "{out}{err}");
    assert!(out.contains("it is not sealed with the group's key"), "{out}");
    assert!(out.contains("2 files: 1 counts, 1 refused"), "{out}");
    let overrule = [
        "paper",
        "overrule",
        "week-3.toml",
        "ben.jsonl",
        "--item",
        "1",
        "--finding",
        "instruction missing",
        "--reason",
        "a test",
        "--by",
        "M. Brandt",
    ];
    let (code, out, err) = run(&overrule, "");
    assert_eq!(code, Some(0), "{out}{err}");
    let (code, out, _) = run(&["paper", "mark", "week-3.toml", "ben.jsonl"], "");
    assert_eq!(code, Some(0));
    assert!(out.contains("item 1: instruction missing overruled by M. Brandt: a test"), "{out}");
    let (code, out, _) = run(&["paper", "report", "week-3.toml", "ben.jsonl", "--json"], "");
    assert_eq!(code, Some(0));
    assert_eq!(serde_json::from_str::<serde_json::Value>(&out).expect("JSON")["format"], 1);
}
