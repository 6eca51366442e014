//! Tools for authors: the script of a flight, new files, schemas for editors, checking while one writes.

mod golden;

use golden::{data, golden};
use hearback::grammar::{builtin_files, builtin_scenarios};
use hearback::scenario::load::{Kind, builtin_ids, kind};
use hearback::schema::{self, FOLDER};
use serde_json::Value;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

fn hearback() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hearback"));
    command.env("HEARBACK_RECORD", "");
    command
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
            all.dedup();
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
    // The parts of phases are the program's own.
    let files = builtin_files().iter().chain(builtin_scenarios());
    for (path, text) in files.filter(|(path, _)| !path.starts_with("scenarios/phases/")) {
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
    let folders =
        ["bad-scenarios", "bad-airports"].map(|name| fs::read_dir(data(name)).expect("the folder is there"));
    let files = folders.into_iter().flatten().map(|entry| entry.expect("an entry").path());
    let files: Vec<PathBuf> = files.collect();
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

/// Runs `new` in a folder with answers through a pipe.
fn new_file(folder: &Path, args: &[&str], answers: &str) -> Output {
    let mut command = hearback();
    command.current_dir(folder).arg("new").args(args);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("it runs");
    // A command that asks nothing may have ended before it is answered.
    let _ = child.stdin.take().expect("a pipe").write_all(answers.as_bytes());
    child.wait_with_output().expect("it ends")
}

/// The file that was written, from what was printed.
#[track_caller]
fn written(folder: &Path, args: &[&str], answers: &str) -> PathBuf {
    let Output { status, stdout, stderr } = new_file(folder, args, answers);
    assert!(status.success(), "{args:?}: {}", String::from_utf8_lossy(&stderr));
    let shown = String::from_utf8(stdout).expect("text");
    let name = shown.lines().next().and_then(|line| line.strip_prefix("written: ")).expect("a name");
    // What comes next is commands that can be typed.
    assert!(shown.lines().skip(1).any(|line| line.trim_start().starts_with("hearback check ")), "{shown}");
    let path = folder.join(name);
    let checked = prints(hearback().current_dir(folder).args(["check", name]));
    assert_eq!(checked, "no problems: 1 file checked\n", "{args:?}");
    let text = fs::read_to_string(&path).expect("text");
    assert!(text.lines().filter(|line| line.starts_with('#')).count() >= 4, "comments: {text}");
    path
}

/// Sees that a flight comes to its end by model replies that nobody has anything against.
#[track_caller]
fn flies(folder: &Path, file: &Path, seat: &str) {
    for seed in ["1", "2", "3", "4"] {
        let mut command = hearback();
        command.current_dir(folder).arg("preview").arg(file).args(["--json", "--seat", seat, "--seed", seed]);
        let script: Value = serde_json::from_str(&prints(&mut command)).expect("JSON");
        let exchanges = script["exchanges"].as_array().expect("a list");
        assert!(exchanges.len() >= 8, "{file:?}: {script:#}");
        let lines = exchanges.iter().flat_map(|e| e["lines"].as_array().expect("a list"));
        for line in lines.filter(|line| line["against"].is_array()) {
            assert_eq!(line["against"], serde_json::json!([]), "{file:?}: {line:#}");
        }
    }
}

#[test]
fn a_new_scenario_flies_from_every_built_in_airport() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    for airport in hearback::airport::load::builtin_ids() {
        let file = format!("{airport}.toml");
        let file = written(folder, &["scenario", &file, "--airport", airport, "--defaults"], "");
        flies(folder, &file, "monitoring");
        flies(folder, &file, "flying");
    }
}

#[test]
fn new_files_of_every_kind_come_from_answers_through_a_pipe() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    for (name, standard) in [("Dunmere", "icao"), ("Ostmere", "eu"), ("Pellmoor", "uk"), ("Hollin", "us")] {
        let id = name.to_lowercase();
        let answers = format!("{standard}\n{name}\n27L\n\n\n3, 4\nVarnsey\n\n\n");
        let airport = written(folder, &["airport"], &answers);
        assert_eq!(airport, folder.join(format!("airports/{id}.toml")));
        let answers = format!("{id}\n\nIt's a flight: {standard}\nHarebell\n52P\nflying\nno\n\n");
        let file = written(folder, &["scenario"], &answers);
        assert_eq!(file, folder.join(format!("it-s-a-flight-{standard}.toml")));
        flies(folder, &file, "monitoring");
        flies(folder, &file, "flying");
    }
    let list = written(
        folder,
        &["checklist"],
        "Door check\n\nfo\nboth\nDoors = Closed, armed\nSlides = Armed\nno more\n\n",
    );
    assert_eq!(list, folder.join("my-grammar/crew/door-check.toml"));
    let text = fs::read_to_string(&list).expect("text");
    assert!(text.contains("challenge = 'Slides'") && text.contains("says = ['Closed, armed']"), "{text}");
    written(folder, &["operator"], "Our school\n90\npositive rate\nReject\n\n\n");
    written(
        folder,
        &["grammar"],
        "uk\nclub.wait-tug\n(wait | hold) for the tug [at <holding_point>]\n\n\n\n",
    );
    written(folder, &["grammar"], "");
    // The list, the operator and the phrases are in use once their folder is put over the built-in one.
    let flight = written(folder, &["scenario", "drill.toml", "--defaults"], "");
    let text = fs::read_to_string(&flight).expect("text");
    let text = text.replace("'after-takeoff'", "'door-check'").replace("items = [1, 4]", "items = [1, 2]");
    fs::write(&flight, text.replace("seat = ", "operator = 'our-school'\nseat = ")).expect("written");
    let shown =
        prints(hearback().current_dir(folder).args(["--grammar", "my-grammar", "preview", "drill.toml"]));
    assert!(shown.contains("\"Positive rate\"") && shown.contains("response door-check 2"), "{shown}");
    let checked = prints(hearback().current_dir(folder).args(["--grammar", "my-grammar", "check", "."]));
    assert!(checked.starts_with("no problems"), "{checked}");
}

#[test]
fn a_file_that_is_there_is_never_overwritten() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    fs::write(folder.join("mine.toml"), "precious").expect("written");
    for kind in ["scenario", "airport", "checklist", "operator", "grammar"] {
        let Output { status, stderr, .. } = new_file(folder, &[kind, "mine.toml", "--defaults"], "");
        assert_eq!(status.code(), Some(2));
        let said = String::from_utf8_lossy(&stderr);
        assert_eq!(said, "hearback: `mine.toml` is there already: give another name; nothing was written\n");
    }
    // Asked for a name, the same is said at the prompt, and another one is taken.
    let Output { status, stderr, .. } =
        new_file(folder, &["scenario"], "\n\n\n\n\n\n\nmine.toml\nother.toml\n");
    let said = String::from_utf8_lossy(&stderr);
    assert!(status.success() && said.contains("this file is there already"), "{said}");
    assert_eq!(fs::read_to_string(folder.join("mine.toml")).expect("text"), "precious");
    assert!(folder.join("other.toml").is_file());
}

#[test]
fn answers_that_cannot_be_taken_leave_no_file_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let rows: [(&[&str], &str); 8] = [
        (&["scenario", "x.toml", "--airport", "skerow"], "did you mean `skerrow`?"),
        (&["scenario", "x.toml", "--seat", "jump", "--defaults"], "monitoring or flying"),
        (&["scenario", "x.toml", "--flight", "two", "--defaults"], "error[S006]"),
        (&["airport", "x.toml", "--runway", "40", "--defaults"], "two digits from 01 to 36"),
        (
            &["airport", "x.toml", "--name", "us", "--standard", "us", "--defaults"],
            "one word that can be nothing else",
        ),
        (&["checklist", "x.toml", "--item", "Flaps", "--defaults"], "an equals sign"),
        (&["grammar", "x.toml", "--says", "follow [me", "--defaults"], "--says"),
        (&["grammar", "x.toml", "--example", "good morning", "--defaults"], "--example"),
    ];
    for (args, wanted) in rows {
        let Output { status, stderr, .. } = new_file(folder, args, "");
        let said = String::from_utf8_lossy(&stderr);
        assert!(!status.success() && said.contains(wanted) && !said.contains("panicked"), "{args:?}: {said}");
        assert!(!folder.join("x.toml").exists(), "{args:?}");
    }
}

#[test]
fn completions_and_manual_know_every_command() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        assert!(prints(hearback().args(["completions", shell])).contains("preview"), "{shell}");
    }
    let manual = prints(hearback().arg("manual"));
    assert!(manual.starts_with(".ie") && manual.contains("hearback\\-preview"), "{manual}");
    let check = prints(hearback().args(["manual", "check"]));
    assert!(check.contains("\\-\\-watch"));
    // Every page tells all exit statuses, and what they mean; so does the help.
    let help = prints(hearback().arg("--help"));
    let line = help.lines().find(|line| line.starts_with("Exit status: ")).expect("a line");
    for (status, meaning) in hearback::error::exit::MEANINGS {
        for page in [&manual, &check] {
            let (_, section) = page.split_once(".SH \"EXIT STATUS\"\n").expect("a section");
            assert!(section.contains(&format!("\\fB{status}\\fR\n{meaning}\n")), "{section}");
        }
        assert!(line.split([' ', ',', '.']).any(|word| word == status.to_string()), "{line}");
    }
    let Output { status, stderr, .. } = hearback().args(["manual", "chek"]).output().expect("it runs");
    assert_eq!(status.code(), Some(2));
    assert_eq!(String::from_utf8_lossy(&stderr), "hearback: no command `chek`; did you mean `check`?\n");
}

#[test]
fn the_small_scenario_of_the_readme_is_the_one_that_plays() {
    let folder = root().join("tests/data");
    let small = fs::read_to_string(folder.join("first.toml")).expect("text");
    assert_eq!(small.lines().filter(|line| !line.is_empty()).count(), 12);
    let readme = fs::read_to_string(root().join("README.md")).expect("text");
    assert!(readme.contains(&format!("```toml\n{small}```")));
}
