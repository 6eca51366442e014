//! The phrase book and `compare`: whole, well formed, and as wide as a terminal.

mod golden;

use golden::{data, golden};
use hearback::CAUTION;
use hearback::book::{Book, Wanted, html, markdown, text};
use hearback::commands::compare;
use hearback::contract::{Builtin, RuleSets};
use hearback::element::Standard;
use hearback::grammar::sets::Sets;
use hearback::rules::Phase;
use scraper::{Html, Selector};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;

fn of(standard: Option<Standard>) -> Book {
    Book::of(&Builtin, &Wanted { standard, ..Wanted::default() })
}

/// The book of all four sets, and that of each.
fn books() -> Vec<Book> {
    std::iter::once(None).chain(Standard::ALL.map(Some)).map(of).collect()
}

fn written(write: impl Fn(&mut dyn std::io::Write) -> std::io::Result<()>) -> String {
    let mut out = Vec::new();
    write(&mut out).expect("memory can be written");
    String::from_utf8(out).expect("text")
}

fn in_text(book: &Book) -> String {
    written(|out| text::write(book, out))
}

fn in_markdown(book: &Book) -> String {
    written(|out| markdown::write(book, out))
}

#[test]
fn every_phrase_of_every_rule_set_stands_in_the_book_once() {
    for book in books() {
        let mut counted: BTreeMap<&str, usize> = BTreeMap::new();
        for entry in book.entries() {
            *counted.entry(&entry.id).or_default() += 1;
        }
        assert!(counted.values().all(|&n| n == 1), "{counted:?}");
        let sets = book.standard.map_or(Standard::ALL.to_vec(), |s| vec![s]);
        let wanted: BTreeSet<String> = sets
            .into_iter()
            .flat_map(|s| Builtin.get(s).phrase_ids().map(str::to_owned).collect::<Vec<_>>())
            .collect();
        let there: BTreeSet<String> = counted.into_keys().map(str::to_owned).collect();
        assert_eq!(there, wanted, "{:?}", book.standard);
        let (lines, table) = (in_text(&book), in_markdown(&book));
        for id in &wanted {
            assert_eq!(lines.lines().filter(|l| l == id).count(), 1, "{id}");
            assert_eq!(table.lines().filter(|l| *l == format!("#### `{id}`")).count(), 1, "{id}");
        }
    }
}

#[test]
fn phases_stand_in_the_order_of_a_flight_and_the_caution_comes_first() {
    let book = of(None);
    let phases: Vec<Phase> = book.chapters.iter().map(|c| c.phase).collect();
    assert_eq!(phases, Phase::ALL);
    for page in [in_text(&book), in_markdown(&book), html::page(&book)] {
        // All of it, however its lines are broken.
        let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
        let caution = page.find(CAUTION).expect("the caution");
        assert!(page.find("call.startup").expect("a phrase") > caution);
    }
}

#[test]
fn a_part_of_the_book_is_that_part() {
    let one = Book::of(&Builtin, &Wanted { phase: Some(Phase::Taxi), ..Wanted::default() });
    assert_eq!(one.chapters.len(), 1);
    assert!(one.entries().any(|e| e.id == "runway.hold-short"));
    let topic = Book::of(&Builtin, &Wanted { topic: Some("line-up"), ..Wanted::default() });
    assert_eq!(topic.chapters[0].sections.len(), 1);
    assert!(topic.rules.is_empty());
}

#[test]
fn differences_are_shown_and_sources_alone_are_none() {
    let book = of(None);
    let entry = |id: &str| book.entries().find(|e| e.id == id).expect(id);
    let climb = entry("level.climb");
    let said = &climb.differences[0];
    let groups: Vec<(String, &str)> = said.groups.iter().map(|g| (g.names(), &*g.lines[0])).collect();
    assert_eq!(
        groups,
        [
            ("icao eu".to_owned(), "CLIMB TO (level) [(restriction)]"),
            ("uk".to_owned(), "CLIMB [TO] (level) [(restriction)]"),
            ("us".to_owned(), "CLIMB AND MAINTAIN (level) [(restriction)]"),
        ]
    );
    let stop = entry("runway.cancel-take-off");
    assert!(stop.differences.is_empty() && stop.sources.groups.len() == 2);
    assert_eq!(entry("runway.line-up-conditional").absent, [Standard::Us]);
    assert_eq!(entry("service.type").absent, [Standard::Icao, Standard::Eu, Standard::Us]);
}

#[test]
fn every_example_shown_is_right_where_it_is_shown() {
    use hearback::element::Verdict;
    for standard in Standard::ALL {
        let rules = Builtin.get(standard);
        for entry in of(Some(standard)).entries() {
            let Some(example) = &entry.side.example else { continue };
            let Some(station) = &example.station else { continue };
            let Some(judged) = hearback::judge::judge_addressed(&rules, station, &example.pilot) else {
                continue;
            };
            assert_eq!(judged.verdict, Verdict::Correct, "{} [{standard}]: {example:?}", entry.id);
        }
    }
}

#[test]
fn no_line_is_wider_than_a_terminal() {
    for book in books() {
        for line in in_text(&book).lines() {
            assert!(unicode_width::UnicodeWidthStr::width(line) <= 80, "{line}");
            assert_eq!(line.trim_end(), line);
        }
    }
}

#[test]
fn the_page_is_sound_and_needs_nothing_from_elsewhere() {
    assert!(
        !Html::parse_document("<!DOCTYPE html><p>a</div>").errors.is_empty(),
        "an unsound page is noticed"
    );
    for book in books() {
        let page = html::page(&book);
        let read = Html::parse_document(&page);
        assert!(read.errors.is_empty(), "{:?}", read.errors);
        let select = |what: &str| {
            let selector = Selector::parse(what).expect("a selector");
            read.select(&selector).map(|e| e.value().clone()).collect::<Vec<_>>()
        };
        for elsewhere in ["script", "link", "img", "iframe", "[onclick]", "[src]", "[style]"] {
            assert!(select(elsewhere).is_empty(), "{elsewhere}");
        }
        let ids: Vec<String> =
            select("[id]").iter().filter_map(|e| e.attr("id").map(str::to_owned)).collect();
        let once: BTreeSet<&String> = ids.iter().collect();
        assert_eq!(once.len(), ids.len(), "an id stands twice");
        for link in select("a") {
            let target = link.attr("href").and_then(|h| h.strip_prefix('#')).expect("a link inside the page");
            assert!(ids.iter().any(|id| id == target), "{target}");
        }
        assert_eq!(select("article").len(), book.entries().count());
    }
}

#[test]
fn rows_of_a_markdown_table_have_as_many_cells_as_its_head() {
    for book in books() {
        let page = in_markdown(&book);
        let mut head = None;
        for line in page.lines() {
            if !line.starts_with('|') {
                head = None;
                continue;
            }
            let cells = line.replace("\\|", "").matches('|').count();
            assert_eq!(*head.get_or_insert(cells), cells, "{line}");
        }
    }
}

#[test]
fn marks_of_markdown_and_html_in_a_grammar_are_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let own = "format = 1\n[[phrase]]\nid = 'club.odd'\nby = 'pilot'\nkind = 'move'\nsays = ['odd']\n\
        source = 'a|b <script>x</script>'\nwhy = 'Why *so* <b>|</b>.'\n";
    fs::create_dir(folder.path().join("icao")).expect("a folder");
    fs::write(folder.path().join("icao/club.toml"), own).expect("a file");
    let sets = Sets::with_folder(folder.path()).expect("sound");
    let book = Book::of(&sets, &Wanted::default());
    let odd = book.entries().find(|e| e.id == "club.odd").expect("a phrase without a topic");
    assert_eq!(odd.side.patterns, ["ODD"]);
    let page = html::page(&book);
    assert!(page.contains("&lt;script&gt;x") && !page.contains("<script"));
    assert!(in_markdown(&book).contains("a\\|b &lt;script&gt;x&lt;/script&gt;"));
}

#[test]
fn compare_has_a_golden_page_for_each_kind_of_thing() {
    for (file, what) in [
        ("hold-short", "hold short"),
        ("line-up", "line up"),
        ("climb", "climb"),
        ("level-feet", "level.feet"),
        ("affirm", "affirm"),
        ("affirmative", "affirmative"),
        ("ready-for-take-off", "ready for take-off"),
        ("element-frequency", "frequency"),
        ("service", "service.type"),
    ] {
        let shown = written(|out| {
            compare::run(what, &Builtin, false, out)
                .map(|_| ())
                .map_err(|e| std::io::Error::other(e.to_string()))
        });
        assert!(shown.lines().all(|l| l.chars().count() <= 80), "{what}");
        golden(&data(&format!("compare/{file}.txt")), &shown);
    }
}

#[test]
fn what_compare_does_not_know_gets_the_nearest_name_of_any_rule_set() {
    let unknown = |what: &str| {
        let mut out = Vec::new();
        let error = compare::run(what, &Builtin, false, &mut out).expect_err(what);
        assert!(out.is_empty());
        error.to_string()
    };
    assert_eq!(unknown("affrim"), "no element, phrase, rule or word `affrim`; did you mean `affirm`?");
    assert!(unknown("service.typo").ends_with("did you mean `service.type`?"), "{}", unknown("service.typo"));
    assert!(unknown("qqqqqq").contains("; try an element"));
}

#[test]
fn unknown_phases_and_topics_name_what_is_allowed() {
    let run = |args: &[&str]| {
        let done = snapbox::cmd::Command::new(snapbox::cmd::cargo_bin("hearback")).args(args).assert();
        String::from_utf8_lossy(&done.code(2).get_output().stderr).into_owned()
    };
    let phase = run(&["phrasebook", "--phase", "crusie"]);
    assert!(phase.contains("possible values: before-taxi, taxi, take-off"), "{phase}");
    let topic = run(&["phrasebook", "--topic", "line-pu"]);
    assert_eq!(topic, "hearback: no topic `line-pu`; did you mean `line-up`?\n");
    let absent = run(&["phrasebook", "--topic", "conditional-line-up", "--standard", "us"]);
    assert!(absent.contains("none of its phrases is in this rule set"), "{absent}");
    let both = run(&["phrasebook", "--topic", "line-up", "--phase", "taxi"]);
    assert!(both.contains("cannot be used with"), "{both}");
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let mut child = std::process::Command::new(snapbox::cmd::cargo_bin("hearback"))
        .arg("phrasebook")
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let done = child.wait_with_output().expect("the program ends");
    assert!(done.status.success() && done.stderr.is_empty());
}
