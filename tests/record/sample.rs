//! Attempts for tests, and runs of the program with a record of their own.

use hearback::crew::{Channel, Role};
use hearback::element::{Element, Fault, Severity, Standard, Verdict};
use hearback::judge::judgement::Form;
use hearback::record::entry::{Entry, Found, Part};
use hearback::record::moment;
use hearback::rules::Phase;
use hearback::scenario::basis::Basis;
use hearback::scenario::event::Skill;
use std::path::Path;
use std::process::{Command, Stdio};

/// A line-up whose runway came back wrong, at that moment.
pub(crate) fn wrong_runway(at: &str) -> Entry {
    let at = moment::parse(at).expect("a moment");
    let say = "Whimbrel two one four, line up and wait runway zero nine";
    let part = |element, value: &str, severity: Option<Severity>| Part {
        element,
        value: value.to_owned(),
        phrase: Some("runway.line-up".to_owned()),
        topic: Some("line-up".to_owned()),
        right: severity.is_none(),
        severity,
    };
    Entry {
        id: String::new(),
        at,
        profile: "default".to_owned(),
        scenario: "skerrow-departure".to_owned(),
        seed: 4173,
        exchange: 9,
        standard: Standard::Icao,
        form: Form::Strict,
        operator: "default".to_owned(),
        channel: Channel::Radio,
        skill: Skill::ReadBack,
        phase: Some(Phase::TakeOff),
        topic: Some("line-up".to_owned()),
        station: "Tower".to_owned(),
        callsign: "Whimbrel 214".to_owned(),
        asked: say.to_owned(),
        call: false,
        reply: "line up and wait runway 27, whimbrel 214".to_owned(),
        verdict: Verdict::Incorrect,
        score: 0,
        findings: vec![Found {
            element: Element::Runway,
            fault: Fault::Wrong,
            severity: Severity::Critical,
            expected: Some("09".to_owned()),
            given: Some("27".to_owned()),
            span: Some([24, 26]),
            rule: "PANS-ATM 12.3.4.10; Annex 11 3.7.3.1".to_owned(),
        }],
        accepted: false,
        first: true,
        first_key_ms: Some(1400),
        sent_ms: Some(5200),
        hints: 0,
        elements: vec![
            part(Element::Instruction, "line up and wait", None),
            part(Element::Runway, "09", Some(Severity::Critical)),
            part(Element::Callsign, "Whimbrel 214", None),
        ],
        basis: Basis::Transmission { say: say.to_owned(), shortened: false, part: None, open: Vec::new() },
        judged_at: at,
        program: "0.1.0".to_owned(),
        grammar: "0".repeat(64),
        earlier: Vec::new(),
    }
}

/// A call of the crew, in time.
pub(crate) fn crew_call(at: &str) -> Entry {
    let part = Part {
        element: Element::Call,
        value: "V1".to_owned(),
        phrase: Some("to-v1".to_owned()),
        topic: Some("to-v1".to_owned()),
        right: true,
        severity: None,
    };
    Entry {
        channel: Channel::Deck,
        skill: Skill::Call,
        phase: None,
        topic: Some("to-v1".to_owned()),
        station: "deck".to_owned(),
        asked: "to-v1".to_owned(),
        call: true,
        reply: "v1".to_owned(),
        verdict: Verdict::Correct,
        score: 100,
        findings: Vec::new(),
        accepted: true,
        elements: vec![part],
        basis: Basis::CrewCall {
            id: "to-v1".to_owned(),
            case: None,
            role: Role::First,
            values: Default::default(),
        },
        ..wrong_runway(at)
    }
}

/// The program with a record of its own, and nothing of the user's.
pub(crate) fn hearback(home: &Path, record: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hearback"));
    for name in ["HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"] {
        command.env(name, home);
    }
    for name in ["HEARBACK_CONTENT", "HEARBACK_PROFILE", "HEARBACK_NOW"] {
        command.env_remove(name);
    }
    command.env("HEARBACK_RECORD", record).stdin(Stdio::null());
    command
}

/// Status, standard output and standard error.
#[track_caller]
pub(crate) fn run(command: &mut Command) -> (Option<i32>, String, String) {
    let out = command.output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}
