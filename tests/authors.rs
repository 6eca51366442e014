//! Tools for authors: the script of a flight, new files, schemas for editors, checking while one writes.

mod golden;

use golden::{data, golden};
use hearback::grammar::{builtin_files, builtin_scenarios};
use hearback::scenario::load::{Kind, builtin_ids, kind};
use hearback::schema::{self, FOLDER};
use serde_json::Value;
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

fn hearback() -> Command {
    Command::new(env!("CARGO_BIN_EXE_hearback"))
}

/// What a command prints, if it succeeds.
#[track_caller]
fn prints(command: &mut Command) -> String {
    let Output { status, stdout, stderr } = command.output().expect("it runs");
    let said = String::from_utf8_lossy(&stderr);
    assert!(status.success(), "{command:?}: {status}\n{said}");
    String::from_utf8(stdout).expect("text")
}

#[test]
fn the_script_of_a_flight_shows_what_is_said_and_what_is_owed() {
    for (scenario, seed) in [("skerrow-departure", "4173"), ("take-off-roll", "3"), ("catch-the-slip", "3")] {
        let shown = prints(hearback().args(["preview", scenario, "--seed", seed]));
        assert!(shown.lines().all(|line| line.chars().count() <= 78), "{shown}");
        golden(&data(&format!("preview/{scenario}.txt")), &shown);
    }
}

#[test]
fn every_built_in_flight_has_a_script_from_both_seats() {
    for name in builtin_ids() {
        for seat in ["monitoring", "flying"] {
            let json = prints(hearback().args(["preview", name, "--seat", seat, "--seed", "7", "--json"]));
            let script: Value = serde_json::from_str(&json).expect("JSON");
            assert_eq!(script["seat"], seat);
            let exchanges = script["exchanges"].as_array().expect("a list");
            assert!(!exchanges.is_empty(), "{name}");
            let lines = exchanges.iter().flat_map(|e| e["lines"].as_array().expect("a list"));
            let against: Vec<&Value> =
                lines.filter(|l| l["against"].as_array().is_some_and(|a| !a.is_empty())).collect();
            assert!(against.is_empty(), "{name}: {against:?}");
            let numbers = exchanges.iter().map(|e| e["entry"].as_u64().expect("a number"));
            let unreached = script["unreached"].as_array().expect("a list").iter();
            let mut all: Vec<u64> =
                numbers.chain(unreached.map(|e| e["entry"].as_u64().expect("a number"))).collect();
            all.sort_unstable();
            assert!(all.iter().copied().eq(1..=all.len() as u64), "{name}: {all:?}");
        }
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_kept_schemas_are_the_derived_ones() {
    for (name, kind) in Kind::ALL {
        golden(&root().join(FOLDER).join(format!("{name}.schema.json")), &schema::text(kind));
        assert_eq!(prints(hearback().args(["schema", name])), schema::text(kind));
    }
}

/// What a schema has against a file, as an editor would show it; none if the file is not TOML.
fn complaints(kind: Kind, text: &str) -> Option<Vec<String>> {
    let table: toml::Table = toml::from_str(text).ok()?;
    let value = serde_json::to_value(table).expect("a table is an object");
    let schema = jsonschema::validator_for(&schema::schema(kind)).expect("a schema");
    Some(schema.iter_errors(&value).map(|error| format!("{}: {error}", error.instance_path())).collect())
}

#[test]
fn built_in_files_are_as_their_schemas_want_them() {
    for (path, text) in builtin_files().iter().chain(builtin_scenarios()) {
        let kind = match () {
            () if path.starts_with("scenarios/airports/") => Kind::Airport,
            () if path.starts_with("scenarios/") => Kind::Scenario,
            () if path.starts_with("grammar/crew/operators/") => Kind::Operator,
            () if path.starts_with("grammar/crew/") => Kind::Crew,
            () => Kind::Grammar,
        };
        assert_eq!(complaints(kind, text), Some(Vec::new()), "{path}");
    }
}

#[test]
fn files_with_unknown_keys_or_types_fail_their_schema() {
    let mut tried = 0;
    let files = fs::read_dir(data("bad-scenarios")).expect("the folder is there");
    let files: Vec<PathBuf> = files.map(|entry| entry.expect("an entry").path()).collect();
    for path in files.iter().filter(|path| path.extension().is_some_and(|e| e == "toml")) {
        let name = path.file_name().expect("a name").to_string_lossy();
        if !name.starts_with("S002") && !name.starts_with("A002") {
            continue;
        }
        tried += 1;
        let text = fs::read_to_string(path).expect("text");
        let kind = kind(text.as_bytes()).unwrap_or(Kind::Scenario);
        // What is not even TOML fails without a schema.
        assert_ne!(complaints(kind, &text), Some(Vec::new()), "{name}");
    }
    assert!(tried >= 5, "{tried}");
}

/// A program that goes on until the test is over, and the lines that it prints.
struct Running {
    child: Child,
    lines: Receiver<String>,
}

impl Running {
    fn start(command: &mut Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
        let (to, lines) = channel();
        let out: Box<dyn Read + Send> = Box::new(child.stdout.take().expect("a pipe"));
        let err: Box<dyn Read + Send> = Box::new(child.stderr.take().expect("a pipe"));
        for pipe in [out, err] {
            let to = to.clone();
            std::thread::spawn(move || {
                for line in BufReader::new(pipe).lines().map_while(Result::ok) {
                    if to.send(line).is_err() {
                        return;
                    }
                }
            });
        }
        Self { child, lines }
    }

    /// Waits for a line that holds a text; gives what came before it.
    #[track_caller]
    fn until(&self, wanted: &str) -> Vec<String> {
        let mut before = Vec::new();
        loop {
            match self.lines.recv_timeout(Duration::from_secs(60)) {
                Ok(line) if line.contains(wanted) => return before,
                Ok(line) => before.push(line),
                Err(_) => panic!("no line with {wanted:?} in {before:#?}"),
            }
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn watching_checks_again_when_a_file_changes_or_is_put_in_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.toml");
    let good = hearback::scenario::load::builtin("take-off-roll").expect("built in").1;
    fs::write(&file, good).expect("written");
    let watching = Running::start(hearback().args(["check", "--watch"]).arg(&file));
    watching.until("watching");
    watching.until("no problems: 1 file checked");
    fs::write(&file, good.replace("call = 'to-v1'", "call = 'to-v9'")).expect("written");
    watching.until("mine.toml changed");
    watching.until("error[S020]");
    watching.until("1 file checked");
    // As an editor saves: another file is written and takes the old one's place.
    let beside = folder.path().join("mine.toml~");
    fs::write(&beside, good).expect("written");
    fs::rename(&beside, &file).expect("renamed");
    watching.until("mine.toml changed");
    watching.until("no problems: 1 file checked");
    fs::remove_file(&file).expect("removed");
    watching.until("failed to read");
    fs::write(&file, good).expect("written");
    watching.until("no problems: 1 file checked");
}

#[test]
fn what_is_not_there_cannot_be_watched() {
    let Output { status, stderr, .. } =
        hearback().args(["check", "--watch", "nowhere/none.toml"]).output().expect("it runs");
    let said = String::from_utf8_lossy(&stderr);
    assert_eq!(status.code(), Some(2));
    assert!(said.starts_with("hearback: failed to read `nowhere/none.toml`"), "{said}");
    let Output { status, stderr, .. } = hearback().args(["check", "--watch"]).output().expect("it runs");
    assert_eq!(status.code(), Some(2));
    assert!(String::from_utf8_lossy(&stderr).contains("FILES"), "the usage is shown");
}

#[test]
fn a_folder_is_checked_with_all_files_below_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("written");
    };
    let check = || hearback().arg("check").arg(folder.path()).output().expect("it runs");
    let Output { status, stderr, .. } = check();
    assert_eq!(status.code(), Some(2));
    assert!(String::from_utf8_lossy(&stderr).contains("no .toml file is in"), "an empty folder");

    let builtin = |name| hearback::scenario::load::builtin(name).expect("built in").1;
    put("flights/mine.toml", builtin("take-off-roll"));
    put("flights/airports/larchmoor.toml", hearback::airport::load::builtin("skerrow").expect("built in").1);
    put("club/icao/club.toml", &fs::read_to_string(data("club/icao/club.toml")).expect("text"));
    // A phrase that uses a slot of another file of the same folder.
    put(
        "club/icao/slots.toml",
        "format = 1\n[[slot]]\nid = 'van'\nforms = [{ value = 'van', says = ['yellow van', 'van'] }]\n",
    );
    put(
        "club/icao/more.toml",
        "format = 1\n[[phrase]]\nid = 'club.wait-van'\nby = 'controller'\nkind = 'information'\nsays = ['the <van> is late']\nsource = 'club rules'\nwhy = 'So you know.'\nright = [{ say = 'Whimbrel two one four, the van is late', reply = 'Whimbrel two one four' }]\n",
    );
    put("club/crew/operators/club.toml", "format = 1\ntitle = 'club'\n[says]\nto-pos = 'Positive rate'\n");
    put(".hidden/bad.toml", "this is no TOML");
    put("notes.md", "notes");
    let shown = prints(hearback().arg("check").arg(folder.path()));
    assert_eq!(shown, "no problems: 6 files checked\n");

    put("flights/mine.toml", &builtin("take-off-roll").replace("'to-v1'", "'to-v9'"));
    put("club/crew/operators/club.toml", "format = 1\ntitle = 'club'\n[says]\nto-poss = 'Positive rate'\n");
    let Output { status, stderr, .. } = check();
    let said = String::from_utf8_lossy(&stderr);
    assert_eq!(status.code(), Some(1), "{said}");
    assert!(
        said.contains("error[S020]") && said.contains("error[C003]") && said.contains("2 errors in 2 files"),
        "{said}"
    );
}
