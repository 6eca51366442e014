//! The record under hard conditions: killed, shared, full, read only, from the future, damaged.

#[path = "record/sample.rs"]
mod sample;

use hearback::record::{Record, Trouble};
use rusqlite::Connection;
use sample::{crew_call, hearback, run, wrong_runway};
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// What the first exchanges of that flight want, with one slip and what mends it.
const REPLIES: &str = include_str!("data/record/replies.txt");

const PRACTISE: [&str; 4] = ["practise", "skerrow-departure", "--seed", "4173"];

/// How often the program is killed; `HEARBACK_KILLS` says otherwise.
fn kills() -> u64 {
    std::env::var("HEARBACK_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(200)
}

/// Attempts in a record that is whole: its pages are in order, and every attempt has all its rows.
#[track_caller]
fn whole(file: &Path) -> i64 {
    let db = Connection::open(file).expect("it opens");
    let one = |sql: &str| db.query_row(sql, [], |row| row.get::<_, i64>(0)).expect(sql);
    let check: String = db.query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("checked");
    assert_eq!(check, "ok");
    let half = "SELECT count(*) FROM attempt
        WHERE owed <> (SELECT count(*) FROM owed WHERE owed.attempt = attempt.id)";
    assert_eq!(one(half), 0, "an attempt without its elements");
    assert_eq!(one("SELECT count(*) FROM owed WHERE attempt NOT IN (SELECT id FROM attempt)"), 0);
    assert_eq!(one("SELECT count(*) FROM pragma_foreign_key_check"), 0);
    one("SELECT count(*) FROM attempt")
}

fn practising(home: &Path, file: &Path) -> Child {
    hearback(home, file)
        .args(PRACTISE)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts")
}

/// A xorshift generator: the same kills every time.
struct Chance(u64);

impl Chance {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % bound
    }
}

/// Practises until so many prompts were there and some time more has passed, then kills; tells how many judgements
/// were surely shown.
fn killed(home: &Path, file: &Path, prompts: Option<u64>, more: Duration) -> i64 {
    let mut child = practising(home, file);
    let mut input = child.stdin.take().expect("a pipe");
    let output = BufReader::new(child.stdout.take().expect("a pipe"));
    // Wrong for ever, so that each line is judged.
    let feed =
        std::thread::spawn(
            move || {
                while input.write_all(b"skerrow delivery\nwhimbrel 214\nroger\n").is_ok() {}
            },
        );
    let (ready, go) = std::sync::mpsc::channel();
    let killer = std::thread::spawn(move || {
        if prompts.is_some() {
            // Or the flight is over before.
            let _ = go.recv_timeout(Duration::from_secs(30));
        }
        std::thread::sleep(more);
        child.kill().expect("killed");
        child.wait().expect("it is gone");
    });
    let mut seen = 0;
    for line in output.split(b'\n').map_while(Result::ok) {
        if line.starts_with(b"radio> ") {
            seen += 1;
            if Some(seen) == prompts {
                let _ = ready.send(());
            }
        }
    }
    drop(ready);
    killer.join().expect("no panic");
    feed.join().expect("no panic");
    // The last line was read; what became of it is on screen only before the next.
    i64::try_from(seen).expect("few").saturating_sub(1).max(0)
}

#[test]
fn killed_at_any_moment_nothing_that_was_told_is_lost_and_nothing_is_half() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let (mut told, mut kept) = (0, 0);
    let mut chance = Chance(0x9e37_79b9_7f4a_7c15);
    let begin = std::time::Instant::now();
    killed(home.path(), &home.path().join("first.db"), Some(1), Duration::ZERO);
    let start = u64::try_from(begin.elapsed().as_micros()).expect("short");
    for n in 0..kills() {
        if n % 4 == 0 {
            // While the record is begun.
            let fresh = home.path().join(format!("fresh-{n}.db"));
            killed(home.path(), &fresh, None, Duration::from_micros(start / 2 + chance.below(start)));
            let opened = Record::open(&fresh).expect("it opens");
            assert_eq!(opened.aside, None);
            drop(opened);
            whole(&fresh);
            continue;
        }
        let more = Duration::from_micros(chance.below(4_000));
        told += killed(home.path(), &file, Some(1 + chance.below(12)), more);
        let now = whole(&file);
        assert!(now >= kept.max(told), "run {n}: {now} kept, {kept} before, {told} told");
        kept = now;
    }
    assert!(told > i64::try_from(kills()).expect("few"), "{told} told");
    let unread = i64::try_from(kills()).expect("few") * 2;
    assert!(kept <= told + unread, "{kept} kept, {told} told: more than was practised");
}

#[test]
fn programs_that_write_at_once_all_keep_what_they_have() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    // All begin the file together.
    let children: Vec<Child> = (0..6)
        .map(|_| {
            let mut child = practising(home.path(), &file);
            let replies = REPLIES.as_bytes();
            child.stdin.take().expect("a pipe").write_all(replies).expect("written");
            child
        })
        .collect();
    let writers: Vec<_> = (0..4)
        .map(|writer| {
            let file = file.clone();
            std::thread::spawn(move || {
                let mut record = Record::open(&file).expect("it opens").record;
                for n in 0..50 {
                    let at = format!("2026-03-01T08:0{writer}:{n:02}Z");
                    assert!(record.add(&wrong_runway(&at)).expect("kept"));
                }
            })
        })
        .collect();
    for writer in writers {
        writer.join().expect("no panic");
    }
    for child in children {
        assert!(child.wait_with_output().expect("it ends").status.success());
    }
    assert_eq!(whole(&file), 6 * 3 + 4 * 50);
}

/// Practises, and expects that it goes on to the debrief although nothing is kept; gives what was said of it.
#[track_caller]
fn practises_on(home: &Path, file: &Path) -> String {
    goes_on(&mut hearback(home, file))
}

#[track_caller]
fn goes_on(command: &mut Command) -> String {
    let mut child = command
        .args(PRACTISE)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    child.stdin.take().expect("a pipe").write_all(REPLIES.as_bytes()).expect("written");
    let out = child.wait_with_output().expect("it ends");
    let (out, err) = (String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
    assert!(out.contains("Debrief:") && out.contains("squawk wrong (exchange 2)"), "{out}");
    assert_eq!(err.lines().count(), 1, "{err}");
    err.into_owned()
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_grow_is_told_once_and_practice_goes_on() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    Record::open(&file).expect("it opens").record.add(&wrong_runway("2026-03-01T08:00:00Z")).expect("kept");
    // No file may grow beyond so many blocks of 512 or 1024 bytes; the signal that says so is ignored.
    let mut command = Command::new("sh");
    command
        .args(["-c", "trap '' XFSZ; ulimit -f 8; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_hearback")])
        .args(PRACTISE)
        .env("HOME", home.path())
        .env("HEARBACK_RECORD", &file)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().expect("it starts");
    child.stdin.take().expect("a pipe").write_all(REPLIES.as_bytes()).expect("written");
    let out = child.wait_with_output().expect("it ends");
    let (screen, err) = (String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
    assert!(out.status.success() && screen.contains("squawk wrong (exchange 2)"), "{screen}\n{err}");
    assert_eq!(err.lines().count(), 1, "{err}");
    assert!(err.contains("cannot be used") && err.contains("not recorded"), "{err}");
    assert!(whole(&file) >= 1);
}

#[test]
fn a_folder_that_cannot_be_written_is_told_once_and_practice_goes_on() {
    let home = tempfile::tempdir().expect("a folder");
    let wall = home.path().join("wall");
    fs::write(&wall, "a file").expect("written");
    let err = practises_on(home.path(), &wall.join("record.db"));
    assert!(err.contains("cannot be used") && err.contains("this session is not recorded"), "{err}");
    if cfg!(target_os = "linux") {
        let err = practises_on(home.path(), Path::new("/proc/hearback/record.db"));
        assert!(err.contains("this session is not recorded"), "{err}");
    }
    // A folder in the place of the file.
    let err = practises_on(home.path(), home.path());
    assert!(err.contains("this session is not recorded"), "{err}");
}

/// Makes commands whom rights bind: those of this program, or where it may do everything, those of nobody. None where
/// that cannot be had; the reason is said aloud.
#[cfg(unix)]
fn bound(home: &Path) -> Option<impl Fn(&Path) -> Command> {
    use std::os::unix::fs::PermissionsExt;
    let wall = home.join("wall");
    fs::create_dir(&wall).expect("made");
    fs::set_permissions(&wall, fs::Permissions::from_mode(0o555)).expect("set");
    let mighty = fs::write(wall.join("x"), "x").is_ok();
    // Where the program was built may be closed to others.
    let program = home.join("hearback-copy");
    if mighty {
        fs::copy(env!("CARGO_BIN_EXE_hearback"), &program).expect("copied");
        fs::set_permissions(home, fs::Permissions::from_mode(0o755)).expect("set");
    }
    let home = home.to_owned();
    let make = move |file: &Path| {
        let plain = hearback(&home, file);
        if !mighty {
            return plain;
        }
        let mut command = Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(&program);
        for (name, value) in plain.get_envs() {
            match value {
                Some(value) => command.env(name, value),
                None => command.env_remove(name),
            };
        }
        command
    };
    let works = make(Path::new("")).arg("--version").output();
    if works.is_ok_and(|out| out.status.success()) {
        return Some(make);
    }
    let _ =
        writeln!(std::io::stderr(), "skipped: rights do not bind this user, and setpriv does not work here");
    None
}

#[cfg(unix)]
#[test]
fn whom_rights_bind_practises_without_a_record_and_reads_what_he_may() {
    use std::os::unix::fs::PermissionsExt;
    let home = tempfile::tempdir().expect("a folder");
    let Some(command) = bound(home.path()) else { return };
    let folder = home.path().join("kept");
    let (now, old) = (folder.join("record.db"), folder.join("old.db"));
    Record::open(&now).expect("it opens").record.add(&wrong_runway("2026-03-01T08:00:00Z")).expect("kept");
    fs::copy("tests/data/record/version-1.db", &old).expect("copied");
    let rights = |mode: u32| {
        for path in [&now, &old] {
            fs::set_permissions(path, fs::Permissions::from_mode(mode & 0o666)).expect("set");
        }
        fs::set_permissions(&folder, fs::Permissions::from_mode(mode)).expect("set");
    };
    let there = || {
        let mut there: Vec<_> =
            fs::read_dir(&folder).expect("read").flatten().map(|entry| entry.file_name()).collect();
        there.sort();
        there
            .into_iter()
            .map(|name| (name.clone(), fs::read(folder.join(name)).expect("read")))
            .collect::<Vec<_>>()
    };
    let before = there();
    // A folder that may be read: no record is begun, none is written, all are shown, that of an earlier version too.
    rights(0o555);
    for file in [&now, &old, &folder.join("new.db"), &folder.join("new/record.db")] {
        let err = goes_on(&mut command(file));
        let named = format!("hearback: the record `{}` cannot be used: ", file.display());
        assert!(err.starts_with(&named) && err.ends_with("; this session is not recorded\n"), "{err}");
    }
    let (status, out, err) = run(command(&now).arg("progress"));
    assert_eq!((status, err.as_str()), (Some(0), ""));
    assert!(out.contains("1 attempt, 1 first reply"), "{out}");
    let (status, out, err) = run(command(&old).arg("progress"));
    assert_eq!((status, err.as_str()), (Some(0), ""));
    assert_eq!(out, fs::read_to_string("tests/data/record/progress.txt").expect("read"));
    for change in [&["forget", "--all", "--yes"][..], &["judge-again"]] {
        let (status, _, err) = run(command(&now).arg("record").args(change));
        assert_eq!(status, Some(2), "{err}");
        assert!(err.contains("cannot be used"), "{err}");
    }
    // A folder that is closed: what is in it is not known, and practice goes on.
    rights(0o000);
    let err = goes_on(&mut command(&now));
    assert!(err.contains("cannot be used") && err.contains("this session is not recorded"), "{err}");
    let (status, _, err) = run(command(&now).arg("progress"));
    assert_eq!(status, Some(2), "{err}");
    assert!(err.contains("cannot be used"), "{err}");
    rights(0o755);
    assert_eq!(there(), before, "nothing was touched");
}

#[test]
fn a_record_can_be_read_where_nothing_can_be_written() {
    let home = tempfile::tempdir().expect("a folder");
    let folder = home.path().join("kept");
    let file = folder.join("record.db");
    Record::open(&file).expect("it opens").record.add(&wrong_runway("2026-03-01T08:00:00Z")).expect("kept");
    let before = fs::read(&file).expect("read");
    let lock = |locked: bool| {
        for path in [&file, &folder] {
            let mut rights = path.metadata().expect("there").permissions();
            rights.set_readonly(locked);
            #[cfg(unix)]
            if !locked {
                use std::os::unix::fs::PermissionsExt;
                rights.set_mode(0o755);
            }
            fs::set_permissions(path, rights).expect("set");
        }
    };
    lock(true);
    let record = Record::read(&file).expect("sound").expect("there");
    assert_eq!(record.entries(None).expect("read").len(), 1);
    drop(record);
    lock(false);
    assert_eq!(fs::read(&file).expect("read"), before);
    let left: Vec<_> = fs::read_dir(&folder).expect("read").flatten().map(|e| e.file_name()).collect();
    assert!(left.iter().all(|name| name.to_string_lossy().starts_with("record.db")), "{left:?}");
}

#[test]
fn a_record_from_the_future_is_read_and_never_written() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    Record::open(&file).expect("it opens").record.add(&wrong_runway("2026-03-01T08:00:00Z")).expect("kept");
    {
        let db = Connection::open(&file).expect("it opens");
        db.execute_batch("ALTER TABLE attempt ADD COLUMN mood TEXT; PRAGMA user_version = 99")
            .expect("changed");
        db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).expect("written");
    }
    let before = fs::read(&file).expect("read");
    let err = practises_on(home.path(), &file);
    assert!(err.contains("newer hearback (version 99 of the record, this program knows 2)"), "{err}");
    let (status, out, err) = run(hearback(home.path(), &file).arg("progress"));
    assert_eq!(status, Some(0), "{err}");
    assert!(out.contains("1 attempt, 1 first reply") && err.contains("newer hearback"), "{out}\n{err}");
    for change in [&["forget", "--all", "--yes"][..], &["judge-again"]] {
        let (status, _, err) = run(hearback(home.path(), &file).arg("record").args(change));
        assert_eq!(status, Some(2), "{err}");
        assert!(err.contains("never written"), "{err}");
    }
    assert_eq!(fs::read(&file).expect("read"), before);
    assert!(matches!(Record::open(&file), Err(Trouble::Newer { version: 99, .. })));
}

#[test]
fn a_damaged_record_is_set_aside_whole_and_a_new_one_begun() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let noise: Vec<u8> = (0..10_000u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    let mut headed = b"SQLite format 3\0".to_vec();
    headed.extend(&noise);
    for (n, bytes) in [(1, &noise), (2, &headed), (3, &noise)] {
        for left in ["", "-wal", "-shm"] {
            let _ = fs::remove_file(home.path().join(format!("record.db{left}")));
        }
        fs::write(&file, bytes).expect("written");
        let (status, _, err) = run(hearback(home.path(), &file).arg("progress"));
        assert_eq!(status, Some(2), "{err}");
        assert!(err.contains("is damaged") && err.contains("left as it is"), "{err}");
        assert_eq!(&fs::read(&file).expect("read"), bytes, "reading changes nothing");
        let err = practises_on(home.path(), &file);
        let aside = home.path().join(format!("record.db.damaged-{n}"));
        assert!(
            err.contains("is damaged and lies now in") && err.contains(&*aside.to_string_lossy()),
            "{err}"
        );
        assert_eq!(&fs::read(aside).expect("kept"), bytes);
        assert_eq!(whole(&file), 3);
    }
}

#[test]
fn a_database_of_another_program_is_left_alone() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    Connection::open(&file).expect("it opens").execute_batch("CREATE TABLE bird (name TEXT)").expect("made");
    let before = fs::read(&file).expect("read");
    let err = practises_on(home.path(), &file);
    assert!(err.contains("no record of hearback"), "{err}");
    assert_eq!(run(hearback(home.path(), &file).arg("progress")).0, Some(2));
    assert_eq!(fs::read(&file).expect("read"), before);
}

#[test]
fn an_attempt_is_kept_whole_or_not_at_all() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let mut record = Record::open(&file).expect("it opens").record;
    // A table that refuses the second element.
    let stop = "CREATE TRIGGER stop BEFORE INSERT ON owed WHEN new.number = 1 BEGIN SELECT raise(ABORT, 'stop'); END";
    Connection::open(&file).expect("it opens").execute_batch(stop).expect("made");
    record.add(&wrong_runway("2026-03-01T08:00:00Z")).expect_err("refused");
    record.add(&crew_call("2026-03-01T08:00:00Z")).expect("one element is not refused");
    drop(record);
    assert_eq!(whole(&file), 1);
}
