//! Progress: figures against published values, golden page, JSON and HTML of a small record.

mod golden;
#[path = "record/sample.rs"]
mod sample;

use golden::{data, golden};
use hearback::progress::stats::{quantile, wilson};
use hearback::progress::{Report, html};
use hearback::record::entry::Entry;
use hearback::record::transfer::read;
use hearback::record::{DEFAULT_PROFILE, Record};
use sample::{crew_call, hearback, run, wrong_runway};
use scraper::{Html, Selector};
use std::fs;

#[test]
fn intervals_and_quantiles_are_the_published_ones() {
    let text = fs::read_to_string(data("record/check-values.toml")).expect("read");
    let all: toml::Table = text.parse().expect("TOML");
    let list = |table: &toml::Value, key: &str| -> Vec<f64> {
        let number = |v: &toml::Value| v.as_float().or(v.as_integer().map(|n| n as f64)).expect("a number");
        table[key].as_array().expect("a list").iter().map(number).collect()
    };
    let cases = all["wilson"].as_array().expect("a list");
    for case in cases {
        let count = |key: &str| usize::try_from(case[key].as_integer().expect("a number")).expect("small");
        let (right, wrong) = (count("right"), count("wrong"));
        let (low, high) = wilson(right, right + wrong, case["z"].as_float().expect("a number"));
        let wanted = list(case, "expected");
        let tolerance = case["tolerance"].as_float().expect("a number");
        let near = |a: f64, b: f64| (a - b).abs() <= tolerance;
        assert!(near(low, wanted[0]) && near(high, wanted[1]), "{case}: {low} {high}");
    }
    assert_eq!(cases.len(), 22);
    for case in all["quantile"].as_array().expect("a list") {
        let values: Vec<u32> = list(case, "values").iter().map(|v| *v as u32).collect();
        for (q, wanted) in list(case, "q").iter().zip(list(case, "expected")) {
            let found = quantile(&mut values.clone(), *q).expect("there are values");
            assert!((found - wanted).abs() < 1e-9, "{case}: {q} gives {found}");
        }
    }
    assert_eq!(quantile(&mut [], 0.5), None);
}

#[test]
fn the_small_record_is_what_its_export_makes() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut made = Record::open(&folder.path().join("record.db")).expect("it opens").record;
    let entries = read(&data("record/weeks.jsonl"), &()).expect("sound");
    made.add_all(&entries).expect("kept");
    let kept = Record::read(&data("record/weeks.db")).expect("sound").expect("there");
    assert_eq!(kept.entries(None).expect("read"), entries);
    assert_eq!(made.entries(None).expect("read"), entries);
    let report = |record: &Record| Report::of(record, DEFAULT_PROFILE, None).expect("read");
    assert_eq!(report(&kept), report(&made));
}

#[test]
fn the_page_for_a_terminal_is_plain_and_narrow() {
    let home = tempfile::tempdir().expect("a folder");
    let (status, out, err) = run(hearback(home.path(), &data("record/weeks.db")).arg("progress"));
    assert_eq!((status, err.as_str()), (Some(0), ""));
    assert!(out.lines().all(|line| line.chars().count() <= 78 && line.is_ascii()), "{out}");
    golden(&data("record/progress.txt"), &out);
    let coloured =
        run(hearback(home.path(), &data("record/weeks.db")).args(["progress", "--color", "always"])).1;
    assert!(coloured.contains("\u{1b}["), "{coloured}");
    let stripped: String = anstream::adapter::strip_str(&coloured).to_string();
    assert_eq!(stripped, out, "colour adds nothing but colour");
}

#[test]
fn nothing_yet_and_nothing_of_that_name_are_said_plainly() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let (status, out, _) = run(hearback(home.path(), &file).arg("progress"));
    assert_eq!(status, Some(0));
    assert!(out.contains("Nothing is recorded for profile default."), "{out}");
    assert!(!file.exists(), "reading begins no record");
    let weeks = data("record/weeks.db");
    let (status, out, _) =
        run(hearback(home.path(), &weeks).args(["progress", "--profile", "anna", "--json"]));
    assert_eq!(status, Some(0));
    let report: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!((&report["attempts"], &report["from"]), (&0.into(), &serde_json::Value::Null));
    let (status, _, err) = run(hearback(home.path(), &weeks).args(["progress", "--no-record"]));
    assert_eq!(status, Some(2));
    assert!(err.contains("name one with --record FILE"), "{err}");
    let (status, _, err) = run(hearback(home.path(), &weeks).args(["progress", "--since", "yesterday"]));
    assert_eq!(status, Some(2));
    assert!(err.contains("for instance 2026-03-14"), "{err}");
}

#[test]
fn json_has_every_figure_and_adds_up() {
    let home = tempfile::tempdir().expect("a folder");
    let weeks = data("record/weeks.db");
    let json = |more: &[&str]| -> serde_json::Value {
        let (status, out, err) = run(hearback(home.path(), &weeks).args(["progress", "--json"]).args(more));
        assert_eq!((status, err.as_str()), (Some(0), ""));
        serde_json::from_str(&out).expect("JSON")
    };
    let all = json(&[]);
    assert_eq!(all["format"], 1);
    for by in ["element", "topic", "phase", "channel", "standard", "week"] {
        let lines = all["by"][by].as_array().expect("a list");
        for key in ["right", "owed"] {
            let sum: u64 = lines.iter().map(|line| line[key].as_u64().expect("a number")).sum();
            assert_eq!(sum, all["total"][key].as_u64().expect("a number"), "{by} {key}");
        }
        for line in lines {
            let weeks = line["weeks"].as_array().expect("a list");
            let owed: u64 = weeks.iter().map(|week| week["owed"].as_u64().expect("a number")).sum();
            assert_eq!(owed, line["owed"].as_u64().expect("a number"), "{line}");
        }
    }
    let habit = &all["habits"][0];
    assert_eq!(habit["skill"], "icao/conditional-line-up/runway");
    assert_eq!((&habit["severity"], &habit["example"]["given"]), (&"critical".into(), &"27".into()));
    let late = json(&["--since", "2026-03-16"]);
    assert!(late["attempts"].as_u64() < all["attempts"].as_u64());
    assert!(late["from"].as_str().expect("a moment") >= "2026-03-16");
}

#[test]
fn the_html_page_stands_alone_and_escapes_what_was_typed() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("record.db");
    let evil = "</style><script>alert(1)</script><img src=x onerror=alert(2)>";
    let mut record = Record::open(&file).expect("it opens").record;
    for n in 0..6 {
        let mut entry = Entry {
            reply: evil.to_owned(),
            asked: evil.to_owned(),
            topic: Some(evil.to_owned()),
            ..wrong_runway(&format!("2026-03-0{}T08:00:00Z", n + 1))
        };
        entry.findings[0].given = Some(evil.to_owned());
        for part in &mut entry.elements {
            part.topic = Some(evil.to_owned());
        }
        record.add_all(&[entry, crew_call("2026-02-01T08:00:00Z")]).expect("kept");
    }
    drop(record);
    let page = folder.path().join("page.html");
    let (status, out, err) = run(hearback(folder.path(), &file).args(["progress", "--html"]).arg(&page));
    assert_eq!((status, err.as_str()), (Some(0), ""));
    assert_eq!(out, format!("written: {}\n", page.display()));
    let again = |more: &[&str]| {
        run(hearback(folder.path(), &file).args(["progress", "--html"]).arg(&page).args(more))
    };
    let (status, _, err) = again(&[]);
    assert_eq!(status, Some(2));
    assert!(err.contains("is there already"), "{err}");
    assert_eq!(again(&["--force"]).0, Some(0));
    let evil_page = fs::read_to_string(&page).expect("written");
    let kept = Record::read(&data("record/weeks.db")).expect("sound").expect("there");
    let weeks_page = html::page(&Report::of(&kept, DEFAULT_PROFILE, None).expect("read"));
    for text in [&evil_page, &weeks_page] {
        let parsed = Html::parse_document(text);
        let count = |selector: &str| parsed.select(&Selector::parse(selector).expect("a selector")).count();
        assert_eq!(count("script") + count("img") + count("link") + count("[src]") + count("iframe"), 0);
        assert!(!text.contains("http://") && !text.contains("https://"));
        assert_eq!(count("svg.bar"), count("tbody tr"));
        assert_eq!(count("svg:not([aria-label])"), 0, "every chart has its words");
        assert!(count("svg.weeks circle") > 0 && count("h2") >= 8);
    }
    assert!(evil_page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
}
