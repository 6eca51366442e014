//! Packs that mean harm, each made here: refused as a whole, in one line that names the entry.

use super::forge::{Entry, entry, packed, zip};
use super::{CLUB, club, fill, folder, zipped};
use hearback::content::guard::{DEPTH, FILES};
use hearback::content::{pack::Pack, zip as zips};
use hearback::error::{Error, exit};
use std::fs;
use std::path::Path;

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
