//! Scenario and airport files: every problem has its message, the built-in files have none.

mod golden;

use golden::{data, golden};
use hearback::airport;
use hearback::crew::CrewBook;
use hearback::diagnostic::{Diagnostic, render};
use hearback::element::Standard;
use hearback::error::exit;
use hearback::rules::RuleSet;
use hearback::scenario;
use hearback::scenario::draw::draw;
use hearback::scenario::load::Library;
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn rules(standard: Standard) -> Arc<RuleSet> {
    RuleSet::builtin(standard)
}

fn problems(path: &Path, name: &str) -> Vec<Diagnostic> {
    let bytes = std::fs::read(path).expect("the file is there");
    Library::new(&rules, CrewBook::builtin().expect("the book is in order"))
        .scenario(name, &bytes, path.parent())
        .err()
        .unwrap_or_default()
}

#[test]
fn every_problem_in_a_data_file_has_a_golden_message() {
    let mut seen = std::collections::BTreeSet::new();
    let mut files: Vec<PathBuf> = std::fs::read_dir(data("bad-scenarios"))
        .expect("the folder is there")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    for path in files {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let found = problems(&path, &name);
        seen.extend(found.iter().map(|d| d.code));
        golden(&path.with_extension("stderr"), &render(&found, false));
    }
    for (code, what) in scenario::CODES {
        assert!(seen.contains(code), "no file under tests/data/bad-scenarios shows {code}: {what}");
    }
}

#[test]
fn the_built_in_files_have_no_problems() {
    let (found, scenarios, airports) =
        Library::new(&rules, CrewBook::builtin().expect("the book is in order")).check_builtin();
    assert!(found.is_empty(), "{}", render(&found, false));
    assert!(scenarios >= 1 && airports >= 1);
}

#[test]
fn an_unknown_scenario_is_one_line_with_the_nearest_name() {
    let error = Library::new(&rules, CrewBook::builtin().expect("the book is in order"))
        .open("skerow-departure")
        .unwrap_err();
    assert_eq!(error.to_string(), "no scenario `skerow-departure`; did you mean `skerrow-departure`?");
    assert_eq!(error.status(), exit::FAILED);
    let error = Library::new(&rules, CrewBook::builtin().expect("the book is in order"))
        .open("nowhere/none.toml")
        .unwrap_err();
    assert!(error.to_string().starts_with("failed to read `nowhere/none.toml`"), "{error}");
}

#[test]
fn a_scenario_beside_its_airport_is_flown_from_disk() {
    let folder = tempfile::tempdir().expect("a folder");
    let airport = airport::load::builtin("skerrow")
        .expect("built in")
        .1
        .replace("name = 'Skerrow'", "name = 'Larchmoor'");
    std::fs::create_dir(folder.path().join("airports")).expect("a folder");
    std::fs::write(folder.path().join("airports/larchmoor.toml"), airport.replace("Skerrow ", "Larchmoor "))
        .expect("written");
    let scenario =
        scenario::load::builtin("skerrow-departure").expect("built in").1.replace("'skerrow'", "'larchmoor'");
    let path = folder.path().join("mine.toml");
    std::fs::write(&path, scenario).expect("written");
    let found = Library::new(&rules, CrewBook::builtin().expect("the book is in order"))
        .open(&path.to_string_lossy())
        .expect("it has no problems");
    let flight = draw(&found, found.standard, 1).expect("it can be drawn");
    assert_eq!(flight.scenario, "mine");
    assert!(flight.briefing.starts_with("Larchmoor, stand"), "{}", flight.briefing);
    assert_eq!(
        Library::new(&rules, CrewBook::builtin().expect("the book is in order"))
            .check(&path)
            .expect("it can be read"),
        []
    );
}
