//! Graded papers: what is drawn is the same for everybody or as hard, right replies are right, and a sitting that breaks
//! off goes on. How results are marked is in `paper/marking.rs`.

mod golden;
#[path = "paper/marking.rs"]
mod marking;
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
