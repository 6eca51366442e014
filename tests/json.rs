//! `--json`: every command that has it writes one object, never coloured, and errors as one object too.

#[path = "record/sample.rs"]
#[allow(dead_code)]
mod sample;

use clap::CommandFactory;
use hearback::cli::Cli;
use sample::{hearback, run};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// Every command that has `--json`, by its words.
fn commands() -> BTreeSet<String> {
    fn add(command: &clap::Command, before: &str, out: &mut BTreeSet<String>) {
        for inner in command.get_subcommands() {
            let name = format!("{before} {}", inner.get_name()).trim().to_owned();
            if inner.get_arguments().any(|argument| argument.get_id() == "json") {
                out.insert(name.clone());
            }
            add(inner, &name, out);
        }
    }
    let mut out = BTreeSet::new();
    add(&Cli::command(), "", &mut out);
    out
}

/// What each of them is tried with; `ZIP` is a file that is not there yet.
const CALLS: [&str; 33] = [
    "check --json tests/data/first.toml tests/data/club/icao/club.toml",
    "compare --json hold short",
    "compare --json level",
    "compare --json level.climb",
    "compare --json level.feet",
    "drill --due --json",
    "explain --coverage --json",
    "explain --json before-takeoff",
    "explain --json hold short",
    "explain --json level",
    "explain --json level.feet",
    "explain --json nits",
    "explain --json runway.line-up",
    "explain --json to-v1",
    "explain --json v1",
    "map --json hvalby --from 24 --to 22",
    "pack --json tests/data/packs/shoreline ZIP",
    "packs --json",
    "packs --json --content tests/data/packs/shoreline",
    "paper items --json tests/data/paper/week-3.toml",
    "paper mark --json tests/data/paper/week-3.toml tests/data/paper/results/ben-roe.jsonl",
    "paper report --json tests/data/paper/week-3.toml tests/data/paper/results",
    "phrasebook --format json",
    "phrasebook --json --topic line-up",
    "phrasebook --json --phase taxi --standard us",
    "preview --json skerrow-departure",
    "progress --json",
    "progress --json --profile nobody",
    "record import --json tests/data/record/weeks.jsonl",
    "record judge-again --json",
    "record path --json",
    "record forget --json --all --yes",
    "scenarios --json",
];

/// The one object that a command writes, and its exit status.
#[track_caller]
fn object(home: &Path, words: &str) -> (Option<i32>, Value) {
    let zip = home.join("made.zip").to_string_lossy().into_owned();
    let words: Vec<&str> = words.split(' ').map(|word| if word == "ZIP" { &zip } else { word }).collect();
    let mut command = hearback(home, &home.join("record.db"));
    let command = command.env("XDG_CONFIG_HOME", home).args(&words).args(["--color", "always"]);
    let (status, out, err) = run(command);
    assert_eq!(err, "", "{words:?}");
    assert!(!out.contains('\u{1b}') && out.ends_with('\n'), "{words:?}: {out}");
    let object: Value = serde_json::from_str(&out).unwrap_or_else(|e| panic!("{words:?}: {e}\n{out}"));
    assert_eq!(object["format"], 1, "{words:?}");
    (status, object)
}

#[test]
fn every_command_that_has_it_writes_one_object_and_no_colour() {
    let home = tempfile::tempdir().expect("a folder");
    let mut tried = BTreeSet::new();
    for words in CALLS {
        let (status, _) = object(home.path(), words);
        assert_eq!(status, Some(0), "{words}");
        tried.extend(commands().into_iter().filter(|name| words.starts_with(&format!("{name} "))));
    }
    let missed: Vec<String> = commands().difference(&tried).cloned().collect();
    assert!(missed.is_empty(), "CALLS has nothing for {missed:?}");
    assert!(tried.len() >= 15, "{tried:?}");
}

#[test]
fn pages_and_objects_tell_the_same() {
    let home = tempfile::tempdir().expect("a folder");
    let at = |words: &str| object(home.path(), words).1;
    let texts = |value: &Value| -> Vec<String> {
        let list = value.as_array().expect("a list").iter();
        list.map(|text| text.as_str().expect("a text").to_owned()).collect()
    };
    let page = |words: &str| {
        let mut command = hearback(home.path(), Path::new(""));
        let (status, out, _) = run(command.env("XDG_CONFIG_HOME", home.path()).args(words.split(' ')));
        assert_eq!(status, Some(0), "{words}");
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let phrase = at("explain --json runway.line-up");
    assert_eq!((&phrase["kind"], &phrase["id"]), (&"phrase".into(), &"runway.line-up".into()));
    let shown = page("explain runway.line-up");
    for text in texts(&phrase["says"]) {
        assert!(shown.contains(&text), "{text}\n{shown}");
    }
    assert!(
        phrase["must_come_back"].as_array().is_some_and(|due| due.iter().any(|d| d["element"] == "runway"))
    );
    assert!(phrase["wrong"].as_array().is_some_and(|list| !list.is_empty()));
    let call = at("explain --json to-v1");
    assert_eq!((&call["kind"], &call["id"]), (&"call".into(), &"to-v1".into()));
    let compared = at("compare --json level.feet");
    assert_eq!(compared["kind"], "rule");
    assert!(compared["rows"].as_array().is_some_and(|rows| rows.iter().any(|row| row["key"] == "Source")));
    let book = at("phrasebook --format json");
    let shown = page("phrasebook");
    let mut entries = 0;
    for chapter in book["chapters"].as_array().expect("a list") {
        for section in chapter["sections"].as_array().expect("a list") {
            for entry in section["entries"].as_array().expect("a list") {
                entries += 1;
                assert!(shown.contains(entry["id"].as_str().expect("a name")), "{entry}");
            }
        }
    }
    let all = at("explain --coverage --json");
    assert_eq!(all["all"]["icao"]["phrases"].as_u64().map(|n| n <= entries), Some(true), "{all}");
    let (_, checked) = object(home.path(), "check --json");
    let words = page("check");
    for (key, noun) in [("phrases", "phrases"), ("examples", "examples"), ("scenarios", "scenarios")] {
        let number = checked["checked"][key].as_u64().expect("a number");
        assert!(words.contains(&format!("{number} {noun}")), "{words}\n{checked}");
    }
}

#[test]
fn what_is_wrong_is_one_object_with_its_place() {
    let home = tempfile::tempdir().expect("a folder");
    let bad = home.path().join("bad.toml");
    fs::write(&bad, "format = 1\ntitle = 'x'\nbriefing = 'x'\nairport = 'skerow'\n\n[[exchange]]\nfrom = 'tower'\nsays = '{nonsense}'\n")
        .expect("written");
    let bad = bad.to_string_lossy().into_owned();
    let lines = home.path().join("bad.jsonl");
    fs::write(&lines, "{\"format\":1}\n").expect("written");
    let lines = lines.to_string_lossy().into_owned();
    let none = home.path().join("none.toml").to_string_lossy().into_owned();
    // `check` was asked for problems: they are its result.
    let (status, found) = object(home.path(), &format!("check --json {bad}"));
    assert_eq!(status, Some(1));
    let problem = &found["problems"][0];
    assert_eq!(
        (&problem["file"], &problem["line"], &problem["column"]),
        (&bad.clone().into(), &4.into(), &11.into())
    );
    assert!(
        problem["code"].is_string() && problem["help"].as_str().is_some_and(|help| help.contains("skerrow"))
    );
    let failed = |words: &[&str]| -> (Option<i32>, Value) {
        let mut command = hearback(home.path(), &home.path().join("record.db"));
        let (status, out, err) =
            run(command.env("XDG_CONFIG_HOME", home.path()).args(words).args(["--color", "always"]));
        assert_eq!((out.as_str(), err.lines().count()), ("", 1), "{words:?}: {err}");
        assert!(!err.contains('\u{1b}'), "{err}");
        let object: Value = serde_json::from_str(&err).unwrap_or_else(|e| panic!("{words:?}: {e}\n{err}"));
        assert_eq!(object["format"], 1);
        (status, object)
    };
    let (status, error) = failed(&["preview", "--json", &bad]);
    assert_eq!(status, Some(1));
    assert_eq!((&error["file"], &error["line"], &error["column"]), (&bad.into(), &4.into(), &11.into()));
    assert_eq!(error["problems"][0], *problem);
    let (status, error) = failed(&["record", "import", "--json", &lines]);
    assert_eq!((status, &error["file"], &error["line"]), (Some(2), &lines.into(), &1.into()));
    let (status, error) = failed(&["check", "--json", &none]);
    assert_eq!((status, &error["file"]), (Some(2), &none.into()));
    for (words, told) in [
        (&["explain", "--json", "runwy"][..], "did you mean `runway`?"),
        (&["compare", "--json", "runwy"], "did you mean `runway`?"),
        (&["phrasebook", "--json", "--topic", "line-upp"], "did you mean `line-up`?"),
        (&["record", "forget", "--json", "--all"], "nothing"),
        (&["progress", "--json", "--no-record"], "name one with --record FILE"),
        (&["progress", "--json", "--sinse", "x"], "--since"),
        (&["scenarios", "--json", "--frob"], "--frob"),
    ] {
        if words[1] == "forget" {
            // Nothing is recorded: nobody need be asked.
            assert_eq!(object(home.path(), &words.join(" ")).1["forgotten"], 0);
            continue;
        }
        let (status, error) = failed(words);
        assert_eq!(status, Some(2), "{words:?}");
        assert!(error["error"].as_str().is_some_and(|text| text.contains(told)), "{words:?}: {error}");
    }
}
