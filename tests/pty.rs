//! The prompt on a real terminal: a handful of sessions in a pseudo-terminal.
#![cfg(unix)]

use expectrl::process::unix::WaitStatus;
use expectrl::session::OsSession;
use expectrl::{ControlCode, Eof, Expect, Session};
use hearback::element::Verdict;
use hearback::record::Record;
use std::io::Write;
use std::process::Command;
use std::time::Duration;

/// A session of the program, or `None` (said aloud) where there is no pseudo-terminal.
fn start(columns: u16, home: &std::path::Path) -> Option<OsSession> {
    start_with(&["practise", "skerrow-departure", "--seed", "4173"], columns, home)
}

fn start_with(arguments: &[&str], columns: u16, home: &std::path::Path) -> Option<OsSession> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hearback"));
    command.args(arguments);
    spawned(command, columns, home)
}

fn spawned(mut command: Command, columns: u16, home: &std::path::Path) -> Option<OsSession> {
    command
        .env("TERM", "xterm")
        .env("NO_COLOR", "1")
        .env("HOME", home)
        .env("XDG_STATE_HOME", home)
        .env("XDG_CONFIG_HOME", home)
        .env("HEARBACK_RECORD", "")
        .env_remove("COLUMNS");
    let mut session = match Session::spawn(command) {
        Ok(session) => session,
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "skipped: no pseudo-terminal here ({error})");
            return None;
        }
    };
    session.get_process_mut().set_window_size(columns, 30).expect("the window has a size");
    session.set_expect_timeout(Some(Duration::from_secs(20)));
    Some(session)
}

fn end(mut session: OsSession, status: i32) {
    session.expect(Eof).expect("the program ends");
    let ended = session.get_process().wait().expect("it leaves a status");
    assert!(matches!(ended, WaitStatus::Exited(_, code) if code == status), "{ended:?}");
}

#[test]
fn the_prompt_takes_a_call_and_ctrl_d_gives_the_debrief() {
    let home = tempfile::tempdir().expect("a folder");
    let Some(mut session) = start(100, home.path()) else {
        return;
    };
    session.expect("radio> ").expect("a prompt");
    session
        .send_line(
            "skerrow delivery, whimbrel 214, stand 21, information foxtrot, request clearance to tarnmoor",
        )
        .expect("sent");
    session.expect("first key after").expect("the time to the first key");
    session.expect("cleared to Tarnmoor").expect("the clearance");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("Debrief").expect("the debrief");
    session.expect("--seed 4173").expect("how to fly it again");
    end(session, 0);
}

#[test]
fn ctrl_c_drops_the_line_and_twice_stops() {
    let home = tempfile::tempdir().expect("a folder");
    let Some(mut session) = start(100, home.path()) else {
        return;
    };
    session.expect("radio> ").expect("a prompt");
    session.send("skerrow deli").expect("sent");
    session.expect("deli").expect("the echo");
    session.send(ControlCode::EndOfText).expect("sent");
    session.expect("Line dropped").expect("a note");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfText).expect("sent");
    session.expect("Stopped").expect("a note");
    end(session, 130);
}

#[test]
fn the_arrow_brings_back_the_line_before() {
    let home = tempfile::tempdir().expect("a folder");
    let Some(mut session) = start(100, home.path()) else {
        return;
    };
    session.expect("radio> ").expect("a prompt");
    session.send_line("/notes").expect("sent");
    session.expect("No clearance").expect("the notes");
    session.expect("radio> ").expect("a prompt");
    session.send("\u{1b}[A").expect("sent");
    session.expect("/notes").expect("the line before");
    session.send("\r").expect("sent");
    session.expect("No clearance").expect("the notes again");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    end(session, 0);
    let kept = std::fs::read_to_string(home.path().join("hearback/history")).expect("the history is kept");
    assert!(kept.contains("/notes"), "{kept}");
}

#[test]
fn a_narrow_window_is_wrapped_for() {
    let home = tempfile::tempdir().expect("a folder");
    let Some(mut session) = start(44, home.path()) else {
        return;
    };
    session.expect("radio> ").expect("a prompt");
    session.send_line("/help").expect("sent");
    let shown = session.expect("radio> ").expect("a prompt");
    let text = String::from_utf8_lossy(shown.before()).into_owned();
    let widest = text.lines().filter(|l| !l.contains('\u{1b}')).map(|l| l.trim_end().chars().count()).max();
    assert!(widest.is_some_and(|w| w <= 44), "{text}");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    end(session, 0);
}

/// Two calls of a take-off roll, the second cue four seconds after the first.
const ROLL: &str = "format = 1\ntitle = 'Roll'\nbriefing = '{callsign}'\nairport = 'skerrow'\n\
    callsign = { telephony = 'Whimbrel', flight = '214' }\n[[exchange]]\ncall = 'to-stable'\n\
    [[exchange]]\ncall = 'to-thrust'\nafter = 4\n";

#[test]
fn a_cue_that_arrives_leaves_the_line_being_typed_as_it_is() {
    let home = tempfile::tempdir().expect("a folder");
    let roll = home.path().join("roll.toml");
    std::fs::write(&roll, ROLL).expect("written");
    let roll = roll.to_string_lossy().into_owned();
    let arguments = ["practise", &roll, "--seed", "3", "--pace", "5"];
    let Some(mut session) = start_with(&arguments, 100, home.path()) else {
        return;
    };
    session.expect("intermediate setting").expect("the first cue");
    session.expect("deck> ").expect("a prompt");
    session.send("engines sta").expect("sent");
    session.expect("sta").expect("the echo");
    // The next cue comes on its own time, above the line.
    session.expect("Thrust reaches its target").expect("the second cue");
    let again = session.expect("deck> engines sta").expect("the line is shown again");
    drop(again);
    session.send_line("ble").expect("sent");
    // Right, or right but late where the machine is slow: in no case another text.
    session.expect("Set take-off thrust").expect("the answer to the whole call");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("Debrief").expect("the debrief");
    end(session, 0);
}

#[test]
fn the_first_screen_asks_two_questions_once_and_begins_with_one_key() {
    let home = tempfile::tempdir().expect("a folder");
    let Some(mut session) = start_with(&[], 80, home.path()) else {
        return;
    };
    session.expect("Training aid only").expect("the caution");
    session.expect("Rule set").expect("a question");
    session.send_line("uk").expect("sent");
    session.expect("Your seat").expect("a question");
    session.send_line("").expect("sent");
    session.expect("Due today: 0 skills, 10 new (rule set uk)").expect("what is due");
    session.send_line("frobnicate").expect("sent");
    session.expect("Enter, f, l, p or q").expect("what is allowed");
    session.send_line("").expect("sent");
    session.expect("rule set uk").expect("the drill");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    end(session, 0);
    // Asked once.
    let Some(mut session) = start_with(&[], 80, home.path()) else {
        return;
    };
    session.expect("Due today").expect("what is due");
    session.send_line("q").expect("sent");
    end(session, 0);
}

#[test]
fn the_first_screen_fits_a_narrow_window() {
    let home = tempfile::tempdir().expect("a folder");
    // The window has its size before the program looks.
    let mut command = Command::new("sh");
    command.args(["-c", "stty columns 44; exec \"$0\"", env!("CARGO_BIN_EXE_hearback")]);
    let Some(mut session) = spawned(command, 44, home.path()) else {
        return;
    };
    let shown = session.expect("Rule set").expect("a question");
    let text = String::from_utf8_lossy(shown.before()).into_owned();
    assert!(text.contains("Training aid only"), "{text}");
    assert!(text.lines().all(|line| line.trim_end().chars().count() <= 44), "{text}");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("> ").expect("the keys");
    session.send_line("q").expect("sent");
    end(session, 0);
}

#[test]
fn lines_typed_ahead_of_the_first_screen_are_for_the_drill_that_follows() {
    let home = tempfile::tempdir().expect("a folder");
    let Some(mut session) = start_with(&[], 80, home.path()) else {
        return;
    };
    // Answers to both questions, the drill, two replies, a command: all at once, before anything is asked.
    session.send("\r\r\rroger\rwilco\r/help\r").expect("sent");
    session.expect("Two questions").expect("the first start");
    for typed in ["roger", "wilco", "/help"] {
        session.expect("radio> ").expect("a prompt");
        session.expect(typed).expect("the line that was typed ahead");
    }
    session.expect("/skip").expect("the commands");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("2 items").expect("the debrief");
    end(session, 0);
}

#[test]
fn a_drill_takes_replies_hints_and_both_ways_out() {
    let home = tempfile::tempdir().expect("a folder");
    let file = home.path().join("record.db");
    let named = file.to_string_lossy().into_owned();
    let arguments = ["drill", "--seed", "7", "--record", &named];
    let Some(mut session) = start_with(&arguments, 160, home.path()) else {
        return;
    };
    session.expect("radio> ").expect("a prompt");
    session.send_line("roger").expect("sent");
    session.expect("right is").expect("the judgement");
    session.expect("radio> ").expect("the next item");
    // A right reply is read off the last hint.
    for hint in ["hint 1", "hint 2"] {
        session.send_line("/hint").expect("sent");
        session.expect(hint).expect("a hint");
        session.expect("radio> ").expect("a prompt");
    }
    session.send_line("/hint").expect("sent");
    session.expect("hint 3").expect("the last hint");
    let shown = session.expect("radio> ").expect("a prompt");
    let text = String::from_utf8_lossy(shown.before()).into_owned();
    let model = text.lines().next().expect("a row").trim().to_owned();
    session.send_line(&model).expect("sent");
    session.expect("first key after").expect("the judgement");
    session.expect("radio> ").expect("the next item");
    session.send("half a li").expect("sent");
    session.expect("a li").expect("the echo");
    session.send(ControlCode::EndOfText).expect("sent");
    session.expect("Line dropped").expect("a note");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("Debrief").expect("the debrief");
    session.expect("2 items: 1 right").expect("what was tried");
    session.expect("1 with hints asked for").expect("hints");
    session.expect("comes again").expect("the schedule");
    end(session, 0);
    let kept = Record::read(&file).expect("sound").expect("there").entries(None).expect("read");
    let [first, second] = &kept[..] else { panic!("{kept:?}") };
    assert_eq!((first.reply.as_str(), first.hints, first.scenario.as_str()), ("roger", 0, "drill"));
    assert!(first.verdict > Verdict::Nonstandard && first.first_key_ms <= first.sent_ms);
    assert_eq!((second.reply.as_str(), second.hints, second.verdict), (model.as_str(), 3, Verdict::Correct));
    assert!(second.first_key_ms.is_some() && second.sent_ms.is_some());
}

#[test]
fn a_paper_closes_an_item_when_its_time_is_over_and_goes_on_after_a_kill() {
    let home = tempfile::tempdir().expect("a folder");
    let paper = home.path().join("short.toml");
    let text = "format = 1\ntitle = 'Short of time'\nseconds = 5\nminutes = 5\n[[part]]\nitems = 4\ntopics = ['line-up']\n";
    std::fs::write(&paper, text).expect("written");
    let result = home.path().join("anna.jsonl");
    let (paper, file) = (paper.to_string_lossy(), result.to_string_lossy());
    let take = ["paper", "take", &paper, "--result", &file];
    let Some(mut session) = start_with(&take, 80, home.path()) else {
        return;
    };
    session.expect("Your name: ").expect("a question");
    session.send_line("Anna Holm").expect("sent");
    session.expect("Enter begins").expect("nothing begins by itself");
    assert!(!result.exists(), "the clock does not run yet");
    session.send_line("").expect("sent");
    session.expect("1 of 4").expect("the first item");
    session.expect("radio> ").expect("a prompt");
    session.send("lining up and").expect("sent");
    session.expect("The time for this item is over").expect("it is closed while a line is being typed");
    session.send_line("").expect("sent");
    session.expect("2 of 4").expect("the next one");
    session.expect("radio> ").expect("a prompt");
    session.send_line("lining up, Whimbrel 214").expect("sent");
    session.expect("3 of 4").expect("the next one");
    session.get_process_mut().signal(expectrl::process::unix::Signal::SIGKILL).expect("killed");
    drop(session);
    let Some(mut session) = start_with(&take, 80, home.path()) else {
        return;
    };
    session.expect("Your name: ").expect("a question");
    session.send_line("anna  holm").expect("sent");
    session.expect("goes on; the clock has run all the time").expect("no second beginning");
    session.expect("3 of 4").expect("where it broke off");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("2 items not answered").expect("it is asked first");
    session.expect("radio> ").expect("a prompt");
    session.send(ControlCode::EndOfTransmission).expect("sent");
    session.expect("not passed").expect("the mark");
    session.expect("not answered").expect("what was left");
    end(session, 1);
    let text = std::fs::read_to_string(&result).expect("it is there");
    let typed: Vec<&str> = text.lines().filter(|line| line.contains("\"typed\"")).collect();
    assert_eq!(typed.len(), 1, "what stood on the line when the time was over was not sent: {typed:?}");
    assert!(text.lines().last().expect("a line").contains("\"reason\":\"left\""));
}
