//! The record: what is kept, out and in again, judged again, forgotten.

#[path = "record/sample.rs"]
mod sample;

use hearback::crew::{Channel, CrewBook};
use hearback::element::{Element, Fault, Severity, Standard, Verdict};
use hearback::grammar::sets::Sets;
use hearback::judge::judgement::Form;
use hearback::judge::{Situation, addressed, judge, lost, owed};
use hearback::record::entry::{Earlier, Entry, Found, Part};
use hearback::record::transfer::{Format, export, read};
use hearback::record::{Forget, Record, moment};
use hearback::rules::{Phase, RuleSet};
use hearback::scenario::basis::Basis;
use hearback::scenario::event::Skill;
use jiff::Timestamp;
use proptest::prelude::*;
use sample::{crew_call, hearback, run, wrong_runway};
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// What the first exchanges of `skerrow-departure` with seed 4173 want, with one slip and what mends it.
const REPLIES: &str = include_str!("data/record/replies.txt");

#[track_caller]
fn record(path: &Path) -> Record {
    Record::open(path).expect("it opens").record
}

/// Runs the program with lines to read.
fn typed(command: &mut Command, text: &str) -> (Option<i32>, String, String) {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    child.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("written");
    let out = child.wait_with_output().expect("it ends");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}

#[test]
fn practise_keeps_every_judged_reply_as_grade_judges_it() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("kept/record.db");
    let practise = ["practise", "skerrow-departure", "--seed", "4173"];
    let mut command = hearback(home.path(), &file);
    command.env("HEARBACK_NOW", "2026-03-14T09:26:53.589Z").args(practise);
    let (status, _, err) = typed(&mut command, REPLIES);
    assert_eq!((status, err.as_str()), (Some(0), ""));
    let kept = Record::read(&file).expect("sound").expect("there").entries(None).expect("read");
    assert_eq!(kept.len(), 3);
    let [call, slip, mended] = &kept[..] else { panic!("{kept:?}") };
    assert_eq!(
        (call.verdict, call.skill, call.first, call.accepted),
        (Verdict::Correct, Skill::RadioCall, true, true)
    );
    assert_eq!((slip.first, slip.accepted, mended.first, mended.accepted), (true, false, false, true));
    assert_eq!((slip.seed, slip.exchange, slip.scenario.as_str()), (4173, 2, "skerrow-departure"));
    assert_eq!(moment::text(slip.at), "2026-03-14T09:26:53.589Z");
    assert_eq!(slip.callsign, "Whimbrel 214");
    assert_eq!(slip.phase, Some(Phase::BeforeTaxi));
    let skills: Vec<(String, bool)> =
        slip.elements.iter().map(|part| (part.skill(slip.standard), part.right)).collect();
    let wanted = [
        ("icao/route-clearance/clearance_limit", true),
        ("icao/route-clearance/sid", true),
        ("icao/climb-descend-via/instruction", true),
        ("icao/climb-descend-via/level", true),
        ("icao/transponder/squawk", false),
        ("icao/route-clearance/callsign", true),
    ];
    assert_eq!(skills, wanted.map(|(skill, right)| (skill.to_owned(), right)));
    // Only what was open is owed by the reply that mends it.
    let mended: Vec<Element> = mended.elements.iter().map(|part| part.element).collect();
    assert_eq!(mended, [Element::Squawk, Element::Callsign]);
    // The findings are, letter by letter, those of `grade`.
    let line = serde_json::json!({ "callsign": slip.callsign, "say": slip.asked, "reply": slip.reply });
    let (_, graded, _) = typed(hearback(home.path(), &file).args(["grade", "-"]), &format!("{line}\n"));
    let findings = serde_json::to_string(&slip.findings).expect("written");
    assert!(graded.contains(&format!("\"findings\":{findings}")), "{graded}\n{findings}");
    // What is switched off, or read only, leaves nothing.
    for flags in [&["--no-record"][..], &[]] {
        let mut command = hearback(home.path(), Path::new(""));
        let (status, _, err) = typed(command.args(flags).args(practise), REPLIES);
        assert_eq!((status, err.as_str()), (Some(0), ""));
    }
    assert_eq!(record(&file).entries(None).expect("read").len(), 3);
    assert!(!home.path().join("hearback").exists());
}

/// What the record says of a flight, or a drill, with these lines typed.
fn kept(arguments: &[&str], lines: &str) -> (Vec<Entry>, Vec<hearback::record::Review>, String, String) {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let mut command = hearback(home.path(), &file);
    let (status, out, err) = typed(command.env("COLUMNS", "400").args(arguments), lines);
    assert_eq!((status, err.as_str()), (Some(0), ""));
    let record = record(&file);
    let (_, page, _) = run(hearback(home.path(), &file).arg("progress"));
    (record.entries(None).expect("read"), record.reviews("default").expect("read"), out, page)
}

#[test]
fn a_reply_read_off_a_hint_is_kept_as_one_and_shows_nothing_known() {
    let hints = |n: usize| "/hint\n".repeat(n);
    let flight = ["practise", "skerrow-departure", "--seed", "4173"];
    let drill = ["drill", "--seed", "7", "--plain"];
    let (call, rest) = REPLIES.split_once('\n').expect("lines");
    // The drill's own model, as its third hint shows it.
    let (.., out, _) = kept(&drill, &hints(3));
    let model = out.lines().find_map(|line| line.split_once("hint 3")).expect("a model").1.trim().to_owned();
    for (arguments, reply) in [(&flight[..], call), (&drill, &model)] {
        for n in 0..=4 {
            let (entries, reviews, out, page) = kept(arguments, &format!("{}{reply}\n", hints(n)));
            let [entry] = &entries[..] else { panic!("{entries:?}") };
            assert_eq!((usize::from(entry.hints), entry.verdict), (n.min(3), Verdict::Correct), "{out}");
            assert!(entry.elements.iter().all(|part| part.right), "the judgement stays what it was");
            let (right, severity) = match n {
                0 => (true, None),
                1 | 2 => (true, Some(Severity::Advice)),
                _ => (false, Some(Severity::Minor)),
            };
            assert!(!reviews.is_empty());
            assert!(reviews.iter().all(|r| (r.right, r.severity) == (right, severity)), "{n}: {reviews:?}");
            let came_back = if right { reviews.len() } else { 0 };
            let wanted = format!("Came back right: {came_back} of {} owed elements", reviews.len());
            assert!(page.contains(&wanted), "{wanted}\n{page}");
            assert_eq!(page.contains("a right reply was shown"), !right, "{page}");
            assert!(!page.contains("dangerous habits"), "{page}");
        }
    }
    // Hints are those of one exchange.
    let (entries, ..) = kept(&flight, &format!("{}{call}\n/hint\n{rest}", hints(3)));
    assert_eq!(entries.iter().map(|entry| entry.hints).collect::<Vec<_>>(), [3, 1, 1]);
}

#[test]
fn a_flight_tells_what_of_it_comes_again_and_what_the_next_drill_will_be() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let fly = |now: &str, standard: &str, replies: &str, file: &Path| {
        let mut command = hearback(home.path(), file);
        command.env("HEARBACK_NOW", now).env("COLUMNS", "72").env("XDG_CONFIG_HOME", home.path());
        let flight = ["practise", "skerrow-departure", "--seed", "4173", "--standard", standard];
        let (status, out, err) = typed(command.args(flight), replies);
        assert_eq!((status, err.as_str()), (Some(0), ""));
        let after = out.split_once("  fly it again").expect("a debrief").1;
        let rows = after.split_once(&format!("--standard {standard}\n")).expect("how to fly it again").1;
        rows.to_owned()
    };
    let monday = "2026-03-16T09:00:00Z";
    // The squawk slipped; the rest of two exchanges came back.
    let slipped = "\n  comes again     Tomorrow: squawk (Transponder). What went well can\n                  \
        wait: it comes in 3 to 4 days.\n  \
        next drill      tomorrow 1 skill due; 124 skills to learn, 10 a day.\n                  \
        It begins with hearback drill.\n";
    assert_eq!(fly(monday, "icao", REPLIES, &file), slipped);
    // A level given wrong could have hurt someone; the drill of another rule set is another one.
    let level = REPLIES.replace("5000 feet", "6000 feet");
    let after = fly("2026-03-17T09:00:00+01:00[Europe/Oslo]", "us", &level, &file);
    let words = after.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Still today, since a slip there could have hurt someone:"), "{after}");
    assert!(words.contains("level") && words.contains("hearback drill --standard us."), "{after}");
    // Nothing slips: one sentence for all of it.
    let mended: String = REPLIES.lines().take(2).map(|line| line.replace("6354", "6345") + "\n").collect();
    let after = fly("2026-03-18T09:00:00Z", "icao", &mended, &file);
    assert!(after.contains("comes again     Nothing slipped; the "), "{after}");
    // No record, nothing said; nor where nothing was tried.
    assert_eq!(fly(monday, "icao", REPLIES, Path::new("")), "");
    assert_eq!(fly(monday, "icao", "", &file), "");
}

#[test]
fn calls_of_the_crew_belong_to_a_phase_of_flight() {
    let book = CrewBook::builtin().expect("in order");
    let without: Vec<&str> =
        book.calls().map(|call| call.id.as_str()).filter(|id| book.phase(id).is_none()).collect();
    assert!(without.is_empty(), "{without:?}");
    assert!(book.checklist_ids().all(|id| book.phase(id).is_some()));
    let (entries, ..) =
        kept(&["practise", "take-off-roll", "--seed", "3", "--pace", "0"], &"stable\n".repeat(12));
    let phase =
        |skill: Skill| entries.iter().filter(move |e| e.skill == skill).map(|e| e.phase).collect::<Vec<_>>();
    let calls = phase(Skill::Call);
    assert!(calls.len() > 2 && calls.iter().all(|phase| *phase == Some(Phase::TakeOff)), "{entries:?}");
    let radio = phase(Skill::ReadBack);
    assert!(!radio.is_empty() && radio.iter().all(|phase| phase.is_some()), "{radio:?}");
}

#[test]
fn a_record_of_an_earlier_version_is_raised_and_nobody_asked_for_hints_in_it() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    fs::copy("tests/data/record/version-1.db", &file).expect("copied");
    let version = || -> i64 {
        let db = rusqlite::Connection::open(&file).expect("it opens");
        db.pragma_query_value(None, "user_version", |row| row.get(0)).expect("a number")
    };
    assert_eq!(version(), 1);
    let (status, page, err) = run(hearback(home.path(), &file).arg("progress"));
    assert_eq!((status, err.as_str()), (Some(0), ""));
    assert_eq!(page, fs::read_to_string("tests/data/record/progress.txt").expect("read"));
    assert_eq!(version(), hearback::record::schema::VERSION);
    let entries = record(&file).entries(None).expect("read");
    assert!(entries.len() > 50 && entries.iter().all(|entry| entry.hints == 0));
    // Exports of then have no such field, and no such column.
    assert_eq!(read(Path::new("tests/data/record/weeks.jsonl"), &()).expect("sound"), entries);
    let mut out = Vec::new();
    export(&record(&file), None, Format::Csv, &(), &mut out).expect("written");
    let mut rows = csv::Reader::from_reader(&out[..]);
    let at = rows.headers().expect("a head").iter().position(|name| name == "hints").expect("a column");
    let mut old = csv::Writer::from_writer(Vec::new());
    let head = rows.headers().expect("a head").clone();
    for row in std::iter::once(head).chain(rows.records().map(|row| row.expect("a row"))) {
        old.write_record(row.iter().enumerate().filter(|(n, _)| *n != at).map(|(_, cell)| cell))
            .expect("written");
    }
    let csv = home.path().join("old.csv");
    fs::write(&csv, old.into_inner().expect("written")).expect("written");
    assert_eq!(read(&csv, &()).expect("sound"), entries);
}

#[test]
fn what_is_owed_comes_back_with_the_model_and_is_lost_in_silence() {
    let mut seen = 0;
    for standard in Standard::ALL {
        let rules = RuleSet::builtin(standard);
        for case in &rules.examples {
            let Some(say) = case.example.say.as_ref().map(|say| say.get_ref().as_str()) else { continue };
            let Some(callsign) = addressed(&rules, say) else { continue };
            let me = Situation { callsign, shortened: false };
            let model = judge(&rules, &me, say, "").model;
            let right = owed(&rules, &me, say, &model);
            let judged = judge(&rules, &me, say, &model);
            assert!(lost(&right, &judged.findings).iter().all(Option::is_none), "{standard}: {say}\n{model}");
            let silence = owed(&rules, &me, say, "");
            let judged = judge(&rules, &me, say, "");
            let gone = lost(&silence, &judged.findings);
            let back: Vec<_> = silence.iter().zip(&gone).filter(|(_, lost)| lost.is_none()).collect();
            assert!(back.is_empty(), "{standard}: {say}\n{back:?}\n{:?}", judged.findings);
            seen += silence.len();
        }
    }
    assert!(seen > 1500, "{seen}");
}

#[test]
fn reviews_are_first_replies_by_skill_in_their_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut record = record(&folder.path().join("record.db"));
    let later = Entry { first: false, ..wrong_runway("2026-03-03T08:00:00Z") };
    let other = Entry { profile: "anna".to_owned(), ..crew_call("2026-03-01T08:00:00Z") };
    let all = [crew_call("2026-03-02T08:00:00.123Z"), wrong_runway("2026-03-01T08:00:00Z"), later, other];
    assert_eq!(record.add_all(&all).expect("kept"), 4);
    let reviews = record.reviews("default").expect("read");
    let shown: Vec<_> =
        reviews.iter().map(|r| (r.skill.as_str(), moment::text(r.at), r.right, r.severity)).collect();
    let first = || "2026-03-01T08:00:00.000Z".to_owned();
    assert_eq!(
        shown,
        [
            ("icao/line-up/instruction", first(), true, None),
            ("icao/line-up/runway", first(), false, Some(Severity::Critical)),
            ("icao/line-up/callsign", first(), true, None),
            ("icao/to-v1/call", "2026-03-02T08:00:00.123Z".to_owned(), true, None),
        ]
    );
    let profiles = record.profiles().expect("read");
    assert_eq!(profiles, [("anna".to_owned(), 1), ("default".to_owned(), 3)]);
}

#[test]
fn judged_again_both_judgements_are_kept_and_what_changed_is_told() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    // Judged by a grammar that was content with any runway.
    let mut lax = wrong_runway("2026-03-01T08:00:00Z");
    (lax.verdict, lax.score) = (Verdict::Correct, 100);
    lax.findings.clear();
    for part in &mut lax.elements {
        (part.right, part.severity) = (true, None);
    }
    let unknown = Entry {
        basis: Basis::Call {
            phrase: "call.gone".to_owned(),
            wanted: Vec::new(),
            shortened: false,
            open: Vec::new(),
        },
        ..wrong_runway("2026-03-01T08:01:00Z")
    };
    let apart = Entry { basis: Basis::Listening, ..wrong_runway("2026-03-01T08:02:00Z") };
    let mut again = record(&file);
    let kept = [
        lax.clone(),
        unknown,
        apart,
        wrong_runway("2026-03-01T08:03:00Z"),
        crew_call("2026-03-01T08:04:00Z"),
    ];
    again.add_all(&kept).expect("kept");
    let before = again.entries(None).expect("read");
    drop(again);
    let (status, out, err) = run(hearback(home.path(), &file).args(["record", "judge-again"]));
    assert_eq!((status, err.as_str()), (Some(0), ""));
    let told = "3 replies judged again, 1 changed\n\
        1 reply left as is: another voice was watched or left alone, no grammar judges that\n\
        1 reply left as is: this grammar does not have what was due\n\
        \n\
        2026-03-01 08:00  icao  correct -> incorrect\n  \
        asked  Whimbrel two one four, line up and wait runway zero nine\n  \
        typed  line up and wait runway 27, whimbrel 214\n  \
        was    nothing found\n  \
        is     runway wrong\n";
    assert_eq!(out, told);
    let mut again = record(&file);
    let after = again.entries(None).expect("read");
    assert_eq!(after[1..], before[1..], "what does not change is not touched");
    let changed = &after[0];
    assert_eq!(changed.verdict, Verdict::Incorrect);
    assert_eq!((changed.findings.clone(), changed.elements.clone()), {
        let wrong = wrong_runway("2026-03-01T08:00:00Z");
        (wrong.findings, wrong.elements)
    });
    assert_eq!(changed.earlier, [before[0].judgement()]);
    assert_eq!((changed.at, &changed.reply), (before[0].at, &before[0].reply));
    let reviews = again.reviews("default").expect("read");
    assert!(reviews.iter().any(|r| r.skill == "icao/line-up/runway" && !r.right));
    // Once more: nothing to change.
    let book = CrewBook::builtin().expect("in order");
    let second =
        again.judge_again(&Sets::builtin(), &book, None, Timestamp::UNIX_EPOCH, &()).expect("judged");
    assert!(second.changed.is_empty());
}

#[test]
fn what_is_forgotten_leaves_no_trace() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let secret = |profile: &str, at: &str, reply: &str| Entry {
        profile: profile.to_owned(),
        reply: reply.to_owned(),
        ..wrong_runway(at)
    };
    {
        let mut record = record(&file);
        for n in 0..50 {
            let old = secret("anna", "2025-12-31T23:59:59.999Z", &format!("zebra-old-{n}"));
            let new = secret("anna", "2026-01-01T00:00:00.000Z", &format!("zebra-new-{n}"));
            let other = secret("default", "2025-06-01T00:00:00Z", &format!("zebra-other-{n}"));
            record.add_all(&[old, new, other]).expect("kept");
        }
    }
    let holds = |word: &str| {
        let files = fs::read_dir(home.path()).expect("read").flatten().map(|entry| entry.path());
        let holds = |path: &Path| {
            let bytes = fs::read(path).unwrap_or_default();
            bytes.windows(word.len()).any(|part| part == word.as_bytes())
        };
        files.filter(|path| path.is_file()).any(|path| holds(&path))
    };
    let forget = |args: &[&str]| run(hearback(home.path(), &file).args(["record", "forget"]).args(args));
    assert!(holds("zebra-old-1") && holds("zebra-new-1") && holds("zebra-other-1"));
    let (status, _, err) = forget(&[]);
    assert_eq!(status, Some(2), "{err}");
    assert!(err.contains("--profile NAME, --all or --before DATE"), "{err}");
    let (status, _, err) = forget(&["--all"]);
    assert_eq!(status, Some(2), "nobody can be asked");
    assert!(err.contains("--yes"), "{err}");
    let (status, out, err) = forget(&["--profile", "anna", "--before", "2026-01-01", "--yes"]);
    assert_eq!((status, err.as_str()), (Some(0), ""));
    assert_eq!(out, "50 attempts of profile `anna` before 2026-01-01 forgotten\n");
    assert!(!holds("zebra-old-") && holds("zebra-new-1") && holds("zebra-other-1"));
    let (_, out, _) = forget(&["--before", "2026-01-01", "--yes"]);
    assert_eq!(out, "50 attempts of all profiles before 2026-01-01 forgotten\n");
    assert!(!holds("zebra-other-") && holds("zebra-new-1"));
    let (_, out, _) = forget(&["--all", "--yes"]);
    assert_eq!(out, "50 attempts of all profiles forgotten\n");
    assert!(!holds("zebra-") && !holds("line-up") && !holds("anna"));
    assert_eq!(record(&file).count(&Forget::default()).expect("read"), 0);
}

#[test]
fn export_says_what_it_is_and_import_refuses_what_it_does_not_know() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    record(&file)
        .add(&Entry { reply: "=1+1".to_owned(), ..crew_call("2026-03-01T08:00:00Z") })
        .expect("kept");
    let export = |format: &str| {
        let (status, out, err) =
            run(hearback(home.path(), &file).args(["record", "export", "--format", format]));
        assert_eq!((status, err.as_str()), (Some(0), ""));
        out
    };
    assert!(export("csv").contains(",'=1+1,"));
    let line = export("jsonl");
    assert!(line.starts_with("{\"format\":1,\"attempt\":{\"id\":\""), "{line}");
    let from = home.path().join("in");
    let import = |text: &str| {
        fs::write(&from, text).expect("written");
        run(hearback(home.path(), &file).args(["record", "import"]).arg(&from))
    };
    assert_eq!(import(&line).1, "0 attempts imported, 1 there already\n");
    for (text, problem) in [
        (line.replace("\"format\":1", "\"format\":2"), "line 1: format 2 is newer"),
        (format!("{line}{line}x"), "line 3: "),
        (line.replace("\"icao\"", "\"moon\""), "unknown variant `moon`"),
        (line.replace("\"deck\"", "\"moon\""), "no channel `moon`: deck, radio, interphone, headset or pa"),
        (line.replace("\"hints\":0", "\"hints\":4"), "`hints` wants a number from 0 to 3"),
        (line.replace("\"skill\"", "\"skil\""), "unknown field `skil`"),
        ("a,b\n1,2\n".to_owned(), "there is no column `format`"),
        (export("csv").replace(",end\n", "\n").replace("id,", "end,id,"), "line "),
    ] {
        let (status, out, err) = import(&text);
        assert_eq!((status, out.as_str()), (Some(2), ""), "{problem}: {err}");
        assert!(err.contains(problem) && err.contains("nothing was imported"), "{problem}: {err}");
        assert_eq!(err.lines().count(), 1, "{err}");
    }
    assert_eq!(record(&file).count(&Forget::default()).expect("read"), 1);
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof![any::<String>(), "[=+\\-@\t\r\n',\";]{1,3}[a-z]{0,4}", "[a-z]{1,8}"]
}

fn optional_name() -> impl Strategy<Value = Option<String>> {
    proptest::option::of("[a-z'=+@-]{1,8}")
}

fn severity() -> impl Strategy<Value = Severity> {
    proptest::sample::select(vec![Severity::Advice, Severity::Minor, Severity::Major, Severity::Critical])
}

fn element() -> impl Strategy<Value = Element> {
    proptest::sample::select(Element::ALL.to_vec())
}

fn time() -> impl Strategy<Value = Timestamp> {
    (0i64..253_402_300_800_000).prop_map(|ms| Timestamp::from_millisecond(ms).expect("in range"))
}

fn verdict() -> impl Strategy<Value = Verdict> {
    use Verdict::{Correct, Incomplete, Incorrect, Nonstandard};
    proptest::sample::select(vec![Correct, Nonstandard, Incomplete, Incorrect])
}

fn parts() -> impl Strategy<Value = Vec<Part>> {
    let part = (element(), name(), optional_name(), optional_name(), proptest::option::of(severity()))
        .prop_map(|(element, value, phrase, topic, severity)| Part {
            element,
            value,
            phrase,
            topic,
            right: severity.is_none(),
            severity,
        });
    proptest::collection::vec(part, 0..5)
}

fn findings() -> impl Strategy<Value = Vec<Found>> {
    let span = proptest::option::of(any::<[u32; 2]>());
    let found =
        (element(), severity(), proptest::option::of(name()), proptest::option::of(name()), span, name())
            .prop_map(|(element, severity, expected, given, span, rule)| Found {
                element,
                fault: Fault::Misplaced,
                severity,
                expected,
                given,
                span,
                rule,
            });
    proptest::collection::vec(found, 0..4)
}

fn earlier() -> impl Strategy<Value = Earlier> {
    (time(), verdict(), any::<u8>(), findings(), parts(), name(), name()).prop_map(
        |(judged_at, verdict, score, findings, elements, program, grammar)| Earlier {
            judged_at,
            verdict,
            score,
            findings,
            elements,
            program,
            grammar,
        },
    )
}

fn entries() -> impl Strategy<Value = Vec<Entry>> {
    let texts = proptest::collection::vec(name(), 9);
    let facts = (time(), any::<u64>(), any::<u32>(), verdict(), any::<[bool; 3]>(), any::<u8>());
    let choice = (
        proptest::sample::select(Standard::ALL.to_vec()),
        proptest::sample::select(Channel::ALL.to_vec()),
        proptest::sample::select(Skill::ALL.to_vec()),
        proptest::option::of(proptest::sample::select(Phase::ALL.to_vec())),
        proptest::sample::select(Form::ALL.to_vec()),
        optional_name(),
    );
    let times = (proptest::option::of(any::<u32>()), proptest::option::of(any::<u32>()), time(), 0..=3u8);
    let lists = (findings(), parts(), proptest::collection::vec(earlier(), 0..3));
    let entry = (texts, facts, choice, times, lists, any::<[u8; 16]>(), "[^\\p{Cc}\\s]{1,20}").prop_map(
        |(texts, facts, choice, times, lists, id, profile)| {
            let mut texts = texts.into_iter();
            let mut text = || texts.next().unwrap_or_default();
            let (at, seed, exchange, verdict, [call, accepted, first], score) = facts;
            let (standard, channel, (_, skill), phase, (_, form), topic) = choice;
            let (findings, elements, earlier) = lists;
            Entry {
                id: id.iter().map(|byte| format!("{byte:02x}")).collect(),
                at,
                profile,
                scenario: text(),
                seed,
                exchange,
                standard,
                form,
                operator: text(),
                channel,
                skill,
                phase,
                topic,
                station: text(),
                callsign: text(),
                asked: text(),
                call,
                reply: text(),
                verdict,
                score,
                findings,
                accepted,
                first,
                first_key_ms: times.0,
                sent_ms: times.1,
                hints: times.3,
                elements,
                basis: Basis::Briefing { id: text(), values: [(text(), text())].into() },
                judged_at: times.2,
                program: text(),
                grammar: "0".repeat(64),
                earlier,
            }
        },
    );
    proptest::collection::vec(entry, 0..6)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..Default::default() })]

    #[test]
    fn out_and_in_again_loses_nothing(entries in entries()) {
        let folder = tempfile::tempdir().expect("a folder");
        let mut first = record(&folder.path().join("first.db"));
        first.add_all(&entries).expect("kept");
        prop_assert_eq!(&first.entries(None).expect("read"), &entries);
        for (format, name) in [(Format::Csv, "a.csv"), (Format::JsonLines, "a.jsonl")] {
            let file = folder.path().join(name);
            let mut bytes = Vec::new();
            export(&first, None, format, &(), &mut bytes).expect("written");
            fs::write(&file, &bytes).expect("written");
            let found = read(&file, &()).expect("sound");
            prop_assert_eq!(&found, &entries);
            let mut second = record(&folder.path().join(format!("{name}.db")));
            prop_assert_eq!(second.add_all(&found).expect("kept"), entries.len());
            prop_assert_eq!(second.add_all(&found).expect("kept"), 0);
            prop_assert_eq!(&second.entries(None).expect("read"), &entries);
        }
        // No cell but those of the program itself begins like a formula.
        let mut bytes = Vec::new();
        export(&first, None, Format::Csv, &(), &mut bytes).expect("written");
        let mut rows = csv::Reader::from_reader(&bytes[..]);
        for row in rows.records() {
            let row = row.expect("a row");
            prop_assert!(row.iter().all(|cell| !cell.starts_with(['=', '+', '-', '@', '\t', '\r'])));
        }
    }
}
