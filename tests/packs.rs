//! Content of one's own: packs are found, named, written and listed; hostile ones are refused as a whole.

#[path = "packs/forge.rs"]
mod forge;
#[path = "packs/hostile.rs"]
mod hostile;

use hearback::content::pack::Pack;
use hearback::content::{Content, File, Item, manifest, zip as zips};
use hearback::diagnostic::render;
use hearback::{airport, scenario};
use snapbox::cmd::cargo_bin;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const CLUB: &str = "format = 1\nid = 'club'\ntitle = 'Our club'\nversion = '1.2'\nauthor = 'The club'\nlicence = 'CC0-1.0'\nneeds = '0.1.0'\n";

fn flight(airport: &str) -> String {
    let text = scenario::load::builtin("skerrow-departure").expect("built in").1;
    text.replace("airport = 'skerrow'", &format!("airport = '{airport}'"))
}

fn field(name: &str) -> String {
    let text = airport::load::builtin("skerrow").expect("built in").1;
    text.replace("name = 'Skerrow'", &format!("name = '{name}'")).replace("Skerrow ", &format!("{name} "))
}

/// Writes files below a folder.
fn fill(folder: &Path, files: &[(&str, &str)]) {
    for (name, text) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().expect("it lies in a folder")).expect("a folder");
        fs::write(path, text).expect("written");
    }
}

/// The files of a pack that is in order.
fn club(manifest: &str) -> Vec<(String, String)> {
    let phrase =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/club/icao/club.toml"))
            .expect("the file is there");
    let operator = "format = 1\ntitle = 'Our school'\n[value]\nxcheck = '90'\n";
    vec![
        ("pack.toml".into(), manifest.into()),
        ("README.md".into(), "Ours.\n".into()),
        ("scenarios/larchmoor-departure.toml".into(), flight("larchmoor")),
        ("airports/larchmoor.toml".into(), field("Larchmoor")),
        ("grammar/icao/club.toml".into(), phrase),
        ("grammar/crew/operators/school.toml".into(), operator.into()),
    ]
}

fn folder(files: &[(String, String)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in files {
        fill(folder.path(), &[(name, text)]);
    }
    folder
}

fn zipped(files: &[(String, String)]) -> Vec<u8> {
    let files: Vec<File> = files
        .iter()
        .map(|(name, text)| File { name: name.clone(), bytes: text.clone().into_bytes() })
        .collect();
    zips::write(&files).expect("it can be zipped")
}

/// Status, standard output and standard error of a run in a folder, with no content of the user's.
fn run(at: &Path, args: &[&str]) -> (u8, String, String) {
    let mut command = Command::new(cargo_bin!("hearback"));
    command.current_dir(at).env_remove("HEARBACK_CONTENT").env("HEARBACK_RECORD", "").stdin(Stdio::null());
    for home in ["HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"] {
        command.env(home, at.join("home"));
    }
    let out = command.args(args).output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let status = out.status.code().and_then(|code| u8::try_from(code).ok()).expect("it ends by itself");
    (status, text(&out.stdout), text(&out.stderr))
}

#[test]
fn every_problem_of_a_manifest_has_its_code_and_place() {
    let mut seen = BTreeSet::new();
    let mut says = |text: &str, lines: &[&str]| {
        let found = manifest::read_manifest("pack.toml", text.as_bytes(), &["larchmoor".to_owned()])
            .expect_err("it has a problem");
        let shown = render(&found, false);
        for line in lines {
            assert!(shown.contains(line), "{line} is missing in\n{shown}");
        }
        assert!(shown.contains("^"), "{shown}");
        seen.extend(found.iter().map(|d| d.code));
    };
    says("", &["error[P001]: the file is empty"]);
    says(&format!("{CLUB}licens = 'x'"), &["error[P002]: unknown key `licens`", "did you mean `licence`?"]);
    says(&CLUB.replace("author = 'The club'\n", ""), &["error[P002]: `author` is missing"]);
    says(&CLUB.replace("format = 1", "format = 2"), &["error[P003]: file format 2 is newer"]);
    says(&CLUB.replace("'club'", "'Our Club'"), &["error[P004]: `Our Club` is no id of a pack"]);
    says(&CLUB.replace("'club'", "'builtin'"), &["error[P004]: `builtin` is no id of a pack"]);
    says(&CLUB.replace("'1.2'", "'one'"), &["error[P004]: `one` is no version"]);
    says(&CLUB.replace("'Our club'", "''"), &["error[P004]: `title` is no line of text"]);
    says(&CLUB.replace("'0.1.0'", "'99.0'"), &["error[P005]: the pack needs hearback 99.0 or later"]);
    says(&format!("{CLUB}replaces = ['larchmor']"), &["error[P006]", "did you mean `larchmoor`?"]);
    for (code, what) in manifest::CODES {
        assert!(seen.contains(code), "nothing shows {code}: {what}");
    }
}

#[test]
fn content_is_found_by_every_command_from_a_folder_and_from_a_zip() {
    let base = tempfile::tempdir().expect("a folder");
    let files = club(CLUB);
    for (name, text) in &files {
        fill(&base.path().join("club"), &[(name, text)]);
    }
    fs::write(base.path().join("club.zip"), zipped(&files)).expect("written");
    // A zip of the folder itself is as welcome.
    let nested: Vec<_> = files.iter().map(|(name, text)| (format!("club/{name}"), text.clone())).collect();
    fs::write(base.path().join("nested.zip"), zipped(&nested)).expect("written");
    let (_, builtin, _) = run(base.path(), &["check"]);
    for place in ["club", "club.zip", "nested.zip"] {
        for name in ["larchmoor-departure", "club/larchmoor-departure"] {
            let (status, out, err) = run(base.path(), &["--content", place, "practise", name, "--seed", "1"]);
            assert_eq!((status, err.as_str()), (0, ""), "{place} {name}");
            assert!(out.contains("Larchmoor, stand"), "{out}");
            let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(out.contains(&format!("hearback --content {place} practise {name} --seed 1")), "{out}");
        }
        let (status, out, err) = run(base.path(), &["--content", place, "check"]);
        assert_eq!((status, err.as_str()), (0, ""), "{place}");
        assert_ne!(out, builtin);
        let (status, out, _) = run(base.path(), &["--content", place, "explain", "club.follow-van"]);
        assert_eq!(status, 0, "{out}");
        for operator in ["school", "club/school"] {
            let args =
                ["--content", place, "practise", "take-off-roll", "--seed", "1", "--operator", operator];
            assert_eq!(run(base.path(), &args).0, 0, "{place} {operator}");
        }
    }
    let (status, _, err) = run(base.path(), &["--content", "club", "practise", "larchmor-departure"]);
    assert_eq!(status, 2);
    assert!(err.contains("did you mean `larchmoor-departure`?"), "{err}");
    let (_, _, err) = run(base.path(), &["--content", "club", "practise", "club/skerrow"]);
    assert!(err.starts_with("hearback: no scenario `club/skerrow`"), "{err}");
    let (status, _, err) = run(base.path(), &["practise", "--content", "club", "x"]);
    assert_eq!(status, 2);
    assert_eq!(err.matches("holmfell-departure").count(), 1, "{err}");
    let (status, _, err) = run(base.path(), &["--content", "none", "check"]);
    assert_eq!(status, 2, "{err}");
}

#[test]
fn the_environment_and_the_users_own_folder_are_searched() {
    let base = tempfile::tempdir().expect("a folder");
    let own = base.path().join("home/hearback/content");
    fill(&own, &[("scenarios/mine.toml", &flight("skerrow"))]);
    let mut more = club(CLUB);
    more.retain(|(name, _)| !name.starts_with("grammar"));
    fs::write(own.join("club.zip"), zipped(&more)).expect("written");
    for name in ["mine", "larchmoor-departure"] {
        assert_eq!(run(base.path(), &["practise", name, "--seed", "1"]).0, 0, "{name}");
    }
    let (status, out, _) = run(base.path(), &["packs"]);
    assert_eq!(status, 0);
    assert!(out.contains("club 1.2  Our club") && out.contains("1 scenario, 1 airport"), "{out}");
    fs::remove_dir_all(base.path().join("home")).expect("removed");
    fs::write(base.path().join("club.zip"), zipped(&more)).expect("written");
    let out = Command::new(cargo_bin!("hearback"))
        .stdin(Stdio::null())
        .current_dir(base.path())
        .env("HEARBACK_CONTENT", "club.zip")
        .env("HEARBACK_RECORD", "")
        .env("XDG_DATA_HOME", base.path())
        .args(["practise", "larchmoor-departure", "--seed", "1"])
        .output()
        .expect("it runs");
    assert!(out.status.success());
}

#[test]
fn the_pack_of_the_readme_is_in_order() {
    let pack = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/packs/shoreline");
    let base = tempfile::tempdir().expect("a folder");
    let (status, out, err) = run(base.path(), &["pack", &pack.to_string_lossy()]);
    assert_eq!((status, err.as_str()), (0, ""), "{out}");
    let (status, out, _) =
        run(base.path(), &["--content", "shoreline-1.0.zip", "practise", "fernsea-departure", "--seed", "1"]);
    assert_eq!(status, 0);
    assert!(out.contains("Fernsea, stand"), "{out}");
}

#[test]
fn a_name_of_several_things_is_an_error_that_names_them_all() {
    let base = tempfile::tempdir().expect("a folder");
    let at = |name: &str| base.path().join(name);
    let other = CLUB.replace("'club'", "'north'");
    let scenarios = |manifest: &str| {
        vec![
            ("pack.toml".to_owned(), manifest.to_owned()),
            ("scenarios/skerrow-departure.toml".to_owned(), flight("skerrow")),
        ]
    };
    for (name, text) in scenarios(CLUB) {
        fill(&at("club"), &[(&name, &text)]);
    }
    let message = "hearback: scenario `skerrow-departure` is in `club` and in what is built in; say `club/skerrow-departure` or `builtin/skerrow-departure`; or let one `pack.toml` say replaces = ['skerrow-departure']\n";
    let plays = |args: &[&str]| run(base.path(), &[args, &["--seed", "1"]].concat());
    let bare = ["--content", "club", "practise", "skerrow-departure"];
    assert_eq!(plays(&bare), (1, String::new(), message.to_owned()));
    assert_eq!(plays(&["--content", "club", "practise", "club/skerrow-departure"]).0, 0);
    assert_eq!(plays(&["--content", "club", "practise", "builtin/skerrow-departure"]).0, 0);
    for command in ["check", "packs"] {
        let (status, _, err) = run(base.path(), &["--content", "club", command]);
        assert_eq!(status, 1, "{command}");
        assert!(err.contains(message), "{command}: {err}");
    }
    // Said to replace it, it does; a second pack that says so too is one too many.
    let says = |manifest: &str| format!("{manifest}replaces = ['skerrow-departure']\n");
    fill(&at("club"), &[("pack.toml", &says(CLUB))]);
    assert_eq!(plays(&bare).0, 0);
    let (status, out, _) = run(base.path(), &["--content", "club", "packs"]);
    assert_eq!(status, 0);
    assert!(out.contains("scenario skerrow-departure stands before the built-in one"), "{out}");
    fs::write(at("north.zip"), zipped(&scenarios(&says(&other)))).expect("written");
    let both = ["--content", "club", "--content", "north.zip", "practise", "skerrow-departure"];
    let (status, _, err) = plays(&both);
    assert_eq!(status, 1);
    assert!(err.contains("is in `club`, `north.zip` and in what is built in"), "{err}");
    // One id for two packs.
    fs::write(at("again.zip"), zipped(&scenarios(CLUB))).expect("written");
    let (status, _, err) = run(base.path(), &["--content", "club", "--content", "again.zip", "check"]);
    assert_eq!(status, 1);
    assert_eq!(err, "hearback: two packs have the id `club`: `club` and `again.zip`; leave one out\n");
}

#[test]
fn airports_operators_and_grammar_files_do_not_clash_silently_either() {
    let open = |files: &[(&str, &str)]| {
        let folder = tempfile::tempdir().expect("a folder");
        fill(folder.path(), files);
        let pack = Pack::open(folder.path(), &[]).expect("it is in order");
        Content::of(vec![pack]).expect("one id").clashes().iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let says = |files: &[(&str, &str)], start: &str| {
        let clashes = open(&[files, &[("pack.toml", CLUB)]].concat());
        assert_eq!(clashes.len(), 1, "{clashes:?}");
        assert!(clashes[0].starts_with(start), "{clashes:?}");
    };
    says(&[("airports/skerrow.toml", &field("Skerrow"))], "airport `skerrow` is in");
    says(&[("grammar/crew/operators/larkspur.toml", "format = 1\ntitle = 'x'")], "operator `larkspur` is in");
    says(&[("grammar/icao/level.toml", "format = 1")], "grammar file `icao/level` is in");
    // A scenario of a pack means the airport of its own pack before those of other packs.
    let pack = |id: &str, name: &str| {
        let folder = tempfile::tempdir().expect("a folder");
        let manifest = CLUB.replace("'club'", &format!("'{id}'"));
        fill(folder.path(), &[("pack.toml", &manifest), ("airports/larchmoor.toml", &field(name))]);
        Pack::open(folder.path(), &[]).expect("it is in order")
    };
    let content = Content::of(vec![pack("a", "Larch"), pack("b", "Moor")]).expect("two ids");
    assert!(content.find(Item::Airport, "larchmoor", None).is_err());
    assert!(content.find(Item::Airport, "larchmoor", Some(&content.packs()[1])).is_ok());
    assert!(content.find(Item::Airport, "b/larchmoor", None).is_ok_and(|found| found.is_some()));
}

#[test]
fn a_pack_is_checked_and_written_the_same_every_time() {
    let base = tempfile::tempdir().expect("a folder");
    let at = |name: &str| -> PathBuf { base.path().join(name) };
    for (name, text) in club(CLUB) {
        fill(&at("club"), &[(&name, &text)]);
    }
    let (status, out, err) = run(base.path(), &["pack", "club"]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(
        out.starts_with("club-1.2.zip: club 1.2, 1 scenario, 1 airport, 1 operator, 1 grammar file, "),
        "{out}"
    );
    let first = fs::read(at("club-1.2.zip")).expect("written");
    let (status, _, err) = run(base.path(), &["pack", "club"]);
    assert_eq!(status, 2);
    assert!(err.contains("it exists; `--force` writes over it"), "{err}");
    fs::rename(at("club"), at("moved")).expect("moved");
    let newer = fs::read(at("moved/pack.toml")).expect("read");
    fs::write(at("moved/pack.toml"), newer).expect("written");
    assert_eq!(run(base.path(), &["pack", "moved", "again.zip"]).0, 0);
    assert_eq!(fs::read(at("again.zip")).expect("written"), first);
    let names: Vec<String> = zips::read(&first).expect("sound").into_iter().map(|f| f.name).collect();
    assert!(names.is_sorted() && names.len() == 6, "{names:?}");
    let (status, _, err) = run(&at("moved"), &["pack", "."]);
    assert_eq!(status, 1);
    assert!(err.contains("`club-1.2.zip` would lie in it; name a file elsewhere"), "{err}");
    assert!(!at("moved/club-1.2.zip").exists());
    // A scenario finds the airport of its folder without a word about content, too.
    assert_eq!(
        run(base.path(), &["check", "moved/scenarios/larchmoor-departure.toml", "moved/pack.toml"]).0,
        0
    );
    // What is wrong in it is shown, and no zip is written.
    fill(&at("moved"), &[("scenarios/larchmoor-departure.toml", &flight("larchmor"))]);
    let (status, _, err) = run(base.path(), &["pack", "moved", "bad.zip"]);
    assert_eq!(status, 1);
    assert!(err.contains("unknown airport `larchmor`") && err.contains("did you mean `larchmoor`?"), "{err}");
    assert!(!at("bad.zip").exists());
    fs::remove_file(at("moved/pack.toml")).expect("removed");
    let (status, _, err) = run(base.path(), &["pack", "moved", "bad.zip"]);
    assert_eq!(status, 1);
    assert!(err.contains("has no `pack.toml`"), "{err}");
}

#[test]
fn a_preview_shows_a_flight_of_a_pack() {
    let pack = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/packs/shoreline");
    let base = tempfile::tempdir().expect("a folder");
    let place = pack.to_string_lossy();
    let (status, out, err) =
        run(base.path(), &["--content", &place, "preview", "shoreline/fernsea-departure"]);
    assert_eq!((status, err.as_str()), (0, ""));
    assert!(out.contains("Fernsea"), "{out}");
    // A folder is checked with its manifest.
    let (status, _, err) = run(base.path(), &["check", &place]);
    assert_eq!((status, err.as_str()), (0, ""));
}
