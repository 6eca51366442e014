//! Content of one's own: packs are found, named, written and listed; hostile ones are refused as a whole.

#[path = "packs/forge.rs"]
mod forge;

use forge::{Entry, entry, packed, zip};
use hearback::content::guard::{DEPTH, FILES};
use hearback::content::pack::Pack;
use hearback::content::{Content, File, Item, manifest, zip as zips};
use hearback::diagnostic::render;
use hearback::error::{Error, exit};
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
    command.current_dir(at).env_remove("HEARBACK_CONTENT").stdin(Stdio::null());
    for home in ["HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"] {
        command.env(home, at.join("home"));
    }
    let out = command.args(args).output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let status = out.status.code().and_then(|code| u8::try_from(code).ok()).expect("it ends by itself");
    (status, text(&out.stdout), text(&out.stderr))
}

/// Why a zip is refused: one line that names it, from its name on.
#[track_caller]
fn refused(data: &[u8]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("bad.zip");
    fs::write(&path, data).expect("written");
    match Pack::open(&path, &[]).map(|_| ()) {
        Err(error @ Error::Pack { .. }) => {
            assert_eq!(error.status(), exit::PROBLEMS);
            let shown = error.to_string();
            assert!(!shown.chars().any(char::is_control), "{shown:?}");
            assert!(shown.len() < 700, "{shown}");
            shown.split_once("bad.zip`").expect("it is named").1.to_owned()
        }
        other => panic!("{other:?}"),
    }
}

/// Why a zip with this entry beside honest ones is refused.
#[track_caller]
fn refuses(bad: Entry) -> String {
    refused(&zip(&[entry("pack.toml", CLUB.as_bytes()), bad]))
}

#[test]
fn an_entry_with_a_name_that_leads_elsewhere_is_refused() {
    let says = |name: &str, reason: &str| {
        assert_eq!(
            refuses(entry(name, b"x")),
            format!(", `{}`: {reason}", hearback::diagnostic::clean(name))
        );
    };
    says("../evil.toml", "leads out of the pack with `..`");
    says("scenarios/../../evil.toml", "leads out of the pack with `..`");
    says("scenarios/..", "leads out of the pack with `..`");
    says("/etc/evil.toml", "is an absolute path");
    says("//host/evil.toml", "is an absolute path");
    says("C:/evil.toml", "begins with a drive letter");
    says("c:evil.toml", "begins with a drive letter");
    says("scenarios\\evil.toml", "has a backslash in its name; folders are parted by `/`");
    says("..\\evil.toml", "has a backslash in its name; folders are parted by `/`");
    says("scenarios/evil.toml\0.txt", "has a NUL character in its name");
    says("scenarios/\u{1b}[2Jevil.toml", "has characters in its name that cannot be seen");
    says("scenarios/a\u{202e}lmot.exe", "has characters in its name that cannot be seen");
    says("scenarios/a\nb.toml", "has characters in its name that cannot be seen");
    says("scenarios//evil.toml", "has an empty part in its name");
    says("./evil.toml", "has an empty part in its name");
    says("scenarios/evil.toml:stream", "has a name that not every system can hold");
    says("scenarios/evil.toml.", "has a name that not every system can hold");
    let deep = format!("{}x.md", "a/".repeat(DEPTH));
    says(&deep, &format!("lies deeper than {DEPTH} levels"));
    assert_eq!(refuses(entry("", b"x")), ", ``: has no name");
    let long = "n".repeat(300);
    assert!(refuses(entry(&long, b"x")).ends_with("has a name longer than 200 bytes"));
    let bytes = Entry { name: b"scenarios/\xff.toml".to_vec(), ..entry("", b"x") };
    assert_eq!(refuses(bytes), ", `scenarios/\u{fffd}.toml`: has a name that is not UTF-8 text");
}

#[test]
fn an_entry_that_is_no_plain_file_is_refused() {
    let link = Entry { mode: 0o120_777, ..entry("scenarios/link.toml", b"/etc/passwd") };
    assert_eq!(refuses(link), ", `scenarios/link.toml`: is a symbolic link");
    let pipe = Entry { mode: 0o010_644, ..entry("pipe", b"") };
    assert_eq!(refuses(pipe), ", `pipe`: is neither a file nor a folder");
    let secret = Entry { flags: 1, ..entry("scenarios/a.toml", b"secret") };
    assert_eq!(refuses(secret), ", `scenarios/a.toml`: is encrypted");
    let other = Entry { method: 12, ..entry("scenarios/a.toml", b"BZh") };
    assert_eq!(refuses(other), ", `scenarios/a.toml`: is packed in a way other than deflate");
    let inner = zip(&[entry("a", b"b")]);
    assert_eq!(refuses(packed("notes.md", &inner)), ", `notes.md`: is a zip inside a pack");
    assert_eq!(refuses(entry("more.ZIP", b"x")), ", `more.ZIP`: is a zip inside a pack");
    let folder = Entry { mode: 0o040_755, ..entry("scenarios/", b"x") };
    assert_eq!(refuses(folder), ", `scenarios/`: is a folder with data of its own");
    let renamed = Entry { local: Some(b"README.toml".to_vec()), ..entry("scenarios/a.toml", b"x") };
    assert_eq!(refuses(renamed), ", `scenarios/a.toml`: has another name in front of its data");
}

#[test]
fn a_pack_that_is_too_much_is_refused_before_it_fills_the_memory() {
    let many: Vec<Entry> = (0..=FILES).map(|n| entry(&format!("{n}.md"), b"")).collect();
    assert_eq!(refused(&zip(&many)), ": a pack holds 2000 files at most, this says it has more");
    let big = vec![b'#'; (2 << 20) + 1];
    assert_eq!(refuses(packed("big.md", &big)), ", `big.md`: is larger than 2 MiB");
    assert_eq!(refuses(entry("big.md", &big)), ", `big.md`: is larger than 2 MiB");
    // Tight enough to be suspicious, small enough to be let in otherwise.
    assert_eq!(
        refuses(packed("bomb.md", &big[2..])),
        ", `bomb.md`: inflates to more than 200 times its size"
    );
    let lies = Entry { size: 10, ..packed("bomb.md", &big) };
    assert_eq!(refuses(lies), ", `bomb.md`: inflates to more than it says");
    let lies = Entry { size: 10, ..entry("stored.md", b"more than ten bytes") };
    assert_eq!(refuses(lies), ", `stored.md`: inflates to more than it says");
    let lies = Entry { size: 100, ..packed("small.md", b"few") };
    assert_eq!(refuses(lies), ", `small.md`: inflates to less than it says");
    // Noise that deflate shrinks little, 33 times two MiB of it, is too much in all.
    let mut seed = 1_u32;
    let noise: Vec<u8> = std::iter::repeat_with(|| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        b'a' + (seed >> 28) as u8
    })
    .take(2 << 20)
    .collect();
    let one = packed("0.md", &noise);
    let all: Vec<Entry> =
        (0..33).map(|n| Entry { name: format!("{n:02}.md").into_bytes(), ..one.clone() }).collect();
    assert_eq!(refused(&zip(&all)), ", `32.md`: makes more than 64 MiB in all");
    // One piece of data for many entries.
    let first = packed("00.md", &noise);
    let mut shared = vec![first.clone()];
    shared.extend((1..5).map(|n| Entry {
        name: format!("{n:02}.md").into_bytes(),
        shares: Some(0),
        ..first.clone()
    }));
    assert_eq!(refused(&zip(&shared)), ", `01.md`: has another name in front of its data");
    let twice = [first.clone(), Entry { shares: Some(0), ..first }];
    assert_eq!(refused(&zip(&twice)), ", `00.md`: stands twice");
}

#[test]
fn names_that_are_one_name_on_some_systems_are_refused() {
    let pair = |a: &str, b: &str| refused(&zip(&[entry(a, b"x"), entry(b, b"y")]));
    assert_eq!(pair("a.md", "a.md"), ", `a.md`: stands twice");
    assert_eq!(pair("a.md", "A.MD"), ", `A.MD`: differs from `a.md` only by case");
    assert_eq!(pair("ä.md", "Ä.md"), ", `Ä.md`: differs from `ä.md` only by case");
    assert_eq!(pair("notes/a.md", "Notes/b.md"), ", `Notes/b.md`: differs from `notes` only by case");
    assert_eq!(pair("a", "a/b"), ", `a/b`: `a` is a file and a folder as well");
}

#[test]
fn what_is_no_whole_zip_is_refused() {
    let whole = zipped(&club(CLUB));
    assert_eq!(refused(b""), ": is not a zip");
    assert_eq!(refused(b"not a zip at all"), ": is not a zip");
    assert_eq!(refused(&whole[..whole.len() / 2]), ": is cut off: its end is missing");
    for cut in 1..whole.len().min(400) {
        refused(&whole[..whole.len() - cut]);
    }
    assert_eq!(
        refused(&[b"#!/bin/sh\n".to_vec(), whole.clone()].concat()),
        ": is not a zip: something stands before its first entry"
    );
    assert_eq!(
        refused(&[whole.clone(), b"more".to_vec()].concat()),
        ": is not only a zip: something stands behind its end"
    );
    let wrong = Entry { crc: 7, ..packed("a.md", b"words") };
    assert_eq!(refuses(wrong), ", `a.md`: is damaged: its checksum differs");
    let broken = Entry { data: vec![0xff; 20], ..packed("a.md", b"words") };
    assert_eq!(refuses(broken), ", `a.md`: is damaged: its data cannot be inflated");
    let mut fewer = zip(&[entry("a.md", b"x"), entry("b.md", b"x")]);
    let end = fewer.len() - 22;
    fewer[end + 8] = 1;
    fewer[end + 10] = 1;
    assert_eq!(refused(&fewer), ": says it has 1 entries, and has 2");
    let no = zip(&[entry("a.md", b"x")]);
    assert!(refused(&no).starts_with(": has no `pack.toml`: a file with format = 1"));
}

#[test]
fn any_damage_to_a_zip_is_an_error_or_harmless() {
    let whole = zipped(&club(CLUB));
    for at in (0..whole.len()).step_by(7) {
        let mut damaged = whole.clone();
        damaged[at] ^= 0x55;
        let _ = zips::read(&damaged);
    }
}

#[test]
fn data_files_that_nest_deep_or_lie_astray_are_refused() {
    let says = |name: &str, text: &str, reason: &str| {
        assert_eq!(refuses(entry(name, text.as_bytes())), format!(", `{name}`: {reason}"));
    };
    let deep = format!("format = 1\na = {}", "[".repeat(100_000));
    says("scenarios/a.toml", &deep, "nests deeper than 16 levels in line 2");
    let tables = format!("a = {}", "{ a = ".repeat(50_000));
    says("scenarios/a.toml", &tables, "nests deeper than 16 levels in line 1");
    let dots = format!("[{}a]", "a.".repeat(50_000));
    says("scenarios/a.toml", &dots, "nests deeper than 16 levels in line 1");
    says("scenaros/a.toml", "a = 1", "is a data file that nothing reads; did you mean `scenarios`?");
    says(
        "a.toml",
        "a = 1",
        "is a data file that nothing reads; data files lie in scenarios, scenarios/airports, airports, grammar/icao, grammar/eu, grammar/uk, grammar/us, grammar/crew or grammar/crew/operators",
    );
    let twice = zip(&[
        entry("pack.toml", CLUB.as_bytes()),
        entry("airports/a.toml", b"a = 1"),
        entry("scenarios/airports/a.toml", b"a = 1"),
    ]);
    assert_eq!(refused(&twice), ", `scenarios/airports/a.toml`: has the same name as `airports/a.toml`");
}

#[test]
fn a_big_file_of_nonsense_is_one_problem_and_quick() {
    let nonsense = "=\n".repeat(900_000);
    let noise: String = (0..200_000).map(|n| format!("= {n} ?\n")).collect();
    for text in [nonsense, noise[..1_500_000].to_owned()] {
        let folder = folder(&[("scenarios/a.toml".into(), text)]);
        match Pack::open(folder.path(), &[]).map(|_| ()) {
            Err(Error::Data(problems)) => assert_eq!(problems.len(), 1),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn a_folder_is_held_to_the_same() {
    let refused = |folder: &Path| match Pack::open(folder, &[]).map(|_| ()) {
        Err(error @ Error::Pack { .. }) => {
            let shown = error.to_string();
            let named = format!("content folder `{}`", folder.display());
            shown.strip_prefix(&named).expect("it is named").to_owned()
        }
        other => panic!("{other:?}"),
    };
    let big = "#".repeat((2 << 20) + 1);
    let sound = folder(&club(CLUB));
    fill(sound.path(), &[(".git/objects/x.toml", "["), (".hidden", "")]);
    assert!(Pack::open(sound.path(), &[]).is_ok());
    fill(sound.path(), &[("big.md", &big)]);
    assert_eq!(refused(sound.path()), ", `big.md`: is larger than 2 MiB");
    let deep = folder(&[(format!("{}x.md", "a/".repeat(DEPTH)), String::new())]);
    assert!(refused(deep.path()).ends_with("lies deeper than 6 levels"));
    let inner = folder(&[("more.zip".into(), "x".into())]);
    assert_eq!(refused(inner.path()), ", `more.zip`: is a zip inside a pack");
    #[cfg(unix)]
    {
        let linked = folder(&club(CLUB));
        let target = linked.path().join("scenarios/link.toml");
        std::os::unix::fs::symlink("/etc/hostname", target).expect("a link");
        assert_eq!(refused(linked.path()), ", `scenarios/link.toml`: is a symbolic link");
        let linked = folder(&club(CLUB));
        std::os::unix::fs::symlink("/etc", linked.path().join("more")).expect("a link");
        assert_eq!(refused(linked.path()), ", `more`: is a symbolic link");
    }
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
