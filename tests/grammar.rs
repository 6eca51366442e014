//! Grammar of one's own: every mistake has its message with the place, and a folder its layout.

mod golden;

use golden::{data, golden};
use hearback::contract::RuleSets;
use hearback::diagnostic::{Diagnostic, render};
use hearback::element::Standard;
use hearback::error::{Error, exit};
use hearback::grammar::check::check_examples;
use hearback::grammar::sets::Sets;
use std::fs;
use std::path::{Path, PathBuf};

/// What the content check says of one file put over the built-in grammar, under its bare name.
fn problems(path: &Path) -> Vec<Diagnostic> {
    let folder = tempfile::tempdir().expect("a folder");
    let icao = folder.path().join("icao");
    fs::create_dir(&icao).expect("a folder");
    fs::copy(path, icao.join("club.toml")).expect("copied");
    let found = match Sets::with_folder(folder.path()) {
        Ok(sets) => check_examples(&sets.get(Standard::Icao)).0,
        Err(Error::Data(problems)) => problems,
        Err(error) => panic!("{}: {error}", path.display()),
    };
    found.into_iter().map(|d| Diagnostic { path: "club.toml".to_owned(), ..d }).collect()
}

#[test]
fn every_mistake_in_a_grammar_file_has_a_golden_message() {
    let mut files: Vec<PathBuf> = fs::read_dir(data("bad-grammar"))
        .expect("the folder is there")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    assert!(!files.is_empty());
    for path in files {
        let found = problems(&path);
        assert_eq!(found.len(), 1, "{}:\n{}", path.display(), render(&found, false));
        let shown = render(&found, false);
        let said = format!("{} {}", found[0].title, found[0].label);
        for rust in ["sequence", "struct", "string", "i64", "u64", "map", "enum", "variant"] {
            let speaks = said.split(|c: char| !c.is_alphanumeric()).any(|word| word == rust);
            assert!(!speaks, "{} speaks of `{rust}`:\n{shown}", path.display());
        }
        assert!(shown.lines().all(|line| line.chars().count() < 240), "{}:\n{shown}", path.display());
        golden(&path.with_extension("stderr"), &shown);
    }
}

/// What is said of a folder, from its name on.
#[track_caller]
fn refused(folder: &Path) -> String {
    match Sets::with_folder(folder).map(|_| ()) {
        Err(error @ Error::Folder { .. }) => {
            assert_eq!(error.status(), exit::FAILED);
            error.to_string()
        }
        other => panic!("{}: {other:?}", folder.display()),
    }
}

#[test]
fn a_folder_that_is_not_laid_out_as_grammar_says_what_is_allowed() {
    const ALLOWED: &str =
        "a grammar folder holds folders named icao, eu, uk, us or crew, and these hold .toml files";
    let base = tempfile::tempdir().expect("a folder");
    let club = fs::read(data("club/icao/club.toml")).expect("the file is there");
    let new = |name: &str| {
        let folder = base.path().join(name);
        fs::create_dir_all(folder.join("icao")).expect("a folder");
        fs::write(folder.join("icao/club.toml"), &club).expect("written");
        folder
    };
    let says = |folder: &Path, inside: &str, problem: &str| {
        assert_eq!(refused(folder), format!("grammar folder `{}`: {problem}", folder.join(inside).display()));
    };

    let folder = new("sound");
    fs::write(folder.join("README.md"), "notes").expect("written");
    fs::write(folder.join(".hidden"), "").expect("written");
    assert!(Sets::with_folder(&folder).is_ok());

    let folder = new("french");
    fs::create_dir(folder.join("fr")).expect("a folder");
    says(&folder, "fr", &format!("this is no rule set; {ALLOWED}"));

    let folder = new("near");
    fs::create_dir(folder.join("icoa")).expect("a folder");
    says(&folder, "icoa", &format!("this is no rule set; did you mean `icao`?; {ALLOWED}"));

    let folder = new("stray");
    fs::write(folder.join("club.toml"), &club).expect("written");
    says(&folder, "club.toml", &format!("this file belongs to no rule set; {ALLOWED}"));

    let folder = new("deep");
    fs::create_dir(folder.join("icao/more")).expect("a folder");
    says(&folder, "icao/more", &format!("nothing is read from a folder inside a rule set; {ALLOWED}"));

    let folder = base.path().join("empty");
    fs::create_dir(&folder).expect("a folder");
    assert_eq!(
        refused(&folder),
        format!("grammar folder `{}`: the folder is empty; {ALLOWED}", folder.display())
    );

    let folder = base.path().join("nothing");
    fs::create_dir_all(folder.join("uk")).expect("a folder");
    assert_eq!(
        refused(&folder),
        format!("grammar folder `{}`: no .toml file is in it; {ALLOWED}", folder.display())
    );

    let file = base.path().join("file.toml");
    fs::write(&file, &club).expect("written");
    assert_eq!(refused(&file), format!("grammar folder `{}`: this is a file; {ALLOWED}", file.display()));

    let none = base.path().join("none");
    assert_eq!(refused(&none), format!("grammar folder `{}`: there is no such folder", none.display()));
}
