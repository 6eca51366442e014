//! The machine contract of `grade` and `parse`, through the binary.

use snapbox::cmd::Command;

fn hearback() -> Command {
    Command::new(snapbox::cmd::cargo_bin!("hearback"))
}

fn grade(input: impl snapbox::IntoData) -> snapbox::cmd::OutputAssert {
    hearback().arg("grade").stdin(input).assert()
}

#[test]
fn one_line_in_one_line_out() {
    grade(r#"{"id":"7","standard":"icao","callsign":"Whimbrel 214","say":"Whimbrel two one four, line up and wait runway zero nine","reply":"line up and wait runway 27, Whimbrel 214"}"#)
        .success()
        .stdout_eq(snapbox::str![[r#"
{"id":"7","verdict":"incorrect","score":0,"findings":[{"element":"runway","fault":"wrong","severity":"critical","expected":"09","given":"27","span":[24,26],"rule":"[..]"}],"model":"Line up and wait runway zero niner, Whimbrel two one four"}

"#]]);
}

#[test]
fn the_callsign_can_be_taken_from_the_transmission_and_the_standard_left_out() {
    grade(r#"{"id":1,"say":"Whimbrel two one four, squawk four four two one","reply":"squawk 4421, whimbrel 214"}"#)
        .success()
        .stdout_eq(snapbox::str![[r#"
{"id":1,"verdict":"correct","score":100,"findings":[],"model":"Squawk four four two one, Whimbrel two one four"}

"#]]);
}

#[test]
fn on_the_line_only_values_count() {
    let line =
        r#"{"id":1,"say":"Whimbrel two one four, descend to flight level eight zero","reply":"REPLY"}"#;
    for (reply, strict, on_the_line) in [
        ("descend to flight level eight zero, Whimbrel two one four", "correct", "correct"),
        ("descend eighty, Whimbrel two one four", "nonstandard", "correct"),
        ("Whimbrel two one four, descend to eight zero, roger", "nonstandard", "correct"),
        ("descend to nine zero, Whimbrel two one four", "incorrect", "incorrect"),
        ("roger, Whimbrel two one four", "incomplete", "incomplete"),
        ("descend to flight level eight zero", "incomplete", "incomplete"),
    ] {
        for (form, verdict) in [("strict", strict), ("line", on_the_line)] {
            let out = hearback()
                .args(["grade", "--form", form])
                .stdin(line.replace("REPLY", reply))
                .assert()
                .success()
                .get_output()
                .stdout
                .clone();
            let out: serde_json::Value = serde_json::from_slice(&out).expect("JSON");
            assert_eq!(out["verdict"], verdict, "{reply} [{form}]: {out}");
            let counted =
                out["findings"].as_array().expect("a list").iter().any(|f| f["severity"] != "advice");
            assert_eq!(counted, verdict != "correct", "{reply} [{form}]: {out}");
        }
    }
}

#[test]
fn bad_lines_get_an_error_in_their_place_and_the_rest_goes_on() {
    let input = b"{\"id\":1,\"say\":\"Whimbrel 214, hold position\",\"reply\":\"holding, Whimbrel 214\"}\r\n\
        \n\
        not json\n\
        {\"id\":\"b\",\"say\":7,\"reply\":\"x\"}\n\
        {\"id\":\"c\",\"standard\":\"mars\",\"say\":\"x\",\"reply\":\"y\"}\n\
        {\"id\":\"d\",\"say\":\"\xff\",\"reply\":\"y\"}\n\
        {\"id\":5,\"say\":\"Whimbrel 214, hold position\",\"reply\":\"holding, Whimbrel 214\"}";
    let out = grade(&input[..]).code(1).get_output().stdout.clone();
    let text = String::from_utf8(out).expect("the output is UTF-8");
    let lines: Vec<serde_json::Value> = text.lines().map(|l| serde_json::from_str(l).expect(l)).collect();
    let ids: Vec<_> = lines.iter().map(|l| l["id"].clone()).collect();
    assert_eq!(
        ids,
        serde_json::json!([1, null, "b", "c", "d", 5]).as_array().expect("a list").clone(),
        "{text}"
    );
    let errors: Vec<_> = lines.iter().map(|l| l["line"].as_u64()).collect();
    assert_eq!(errors, [None, Some(3), Some(4), Some(5), Some(6), None], "{text}");
    assert!(text.contains("unknown standard `mars`"), "{text}");
}

/// What `command` says of one line that it refuses, with the id it gives.
#[track_caller]
fn error(command: &str, line: impl AsRef<[u8]>) -> (serde_json::Value, String) {
    let line = line.as_ref().to_vec();
    let out = hearback().arg(command).stdin(line).assert().code(1).get_output().stdout.clone();
    let said: serde_json::Value = serde_json::from_slice(&out).expect("one object");
    assert_eq!(said["line"], 1, "{said}");
    assert_eq!(said.as_object().map(serde_json::Map::len), Some(3), "{said}");
    (said["id"].clone(), said["error"].as_str().expect("text").to_owned())
}

#[test]
fn a_bad_line_is_told_in_plain_words() {
    for (line, said) in [
        (r#"["1","icao","Whimbrel 214","x","y"]"#, "an object is wanted, `{…}`, not a list"),
        (r#""Whimbrel 214""#, "an object is wanted, `{…}`, not text"),
        ("7", "an object is wanted, `{…}`, not a number"),
        ("null", "an object is wanted, `{…}`, not `null`"),
        ("say hello", "not valid JSON at column 1"),
        (r#"{"say":"x""#, "not valid JSON: the line ends too early"),
        (
            r#"{"say":"x","reply":"y"} x"#,
            "not valid JSON at column 25: one object a line is wanted, something follows it",
        ),
        ("{}", "`say` is missing: what the station says"),
        (r#"{"say":"x"}"#, "`reply` is missing: what the pilot says back"),
        (r#"{"say":"x","reply":"y","say":"z"}"#, "`say` is there twice"),
        (r#"{"say":["x"],"reply":"y"}"#, "`say` wants text in quotes, not a list"),
        (r#"{"say":null,"reply":"y"}"#, "`say` wants text in quotes, not `null`"),
        (r#"{"say":"x","reply":true}"#, "`reply` wants text in quotes, not `true` or `false`"),
        (r#"{"say":"x","reply":"y","callsign":214}"#, "`callsign` wants text in quotes, not a number"),
        (r#"{"say":"x","reply":"\ud800"}"#, "`reply` has an escape that is no character"),
        (r#"{"say":"x","reply":"y"}"#, "`callsign` is missing, and the transmission names none"),
        (
            r#"{"say":"x","reply":"y","callsign":" "}"#,
            "`callsign` is empty; leave it out to take the one that the station says",
        ),
        (r#"{"say":"x","reply":"y","callsign":"!"}"#, "`!` is not a callsign"),
        (r#"{"say":"x","reply":"y","standard":"mars"}"#, "unknown standard `mars`: icao, eu, uk or us"),
        (r#"{"say":"x","repyl":"y"}"#, "unknown key `repyl`; did you mean `reply`?"),
        (
            r#"{"say":"x","reply":"y","call_sign":"Whimbrel 214"}"#,
            "unknown key `call_sign`; did you mean `callsign`?",
        ),
        (r#"{"say":"x","reply":"y","Standrad":"uk"}"#, "unknown key `Standrad`; did you mean `standard`?"),
        (r#"{"ID":7,"say":"x","reply":"y"}"#, "unknown key `ID`; did you mean `id`?"),
    ] {
        assert_eq!(error("grade", line).1, said, "{line}");
    }
    for (line, said) in [
        ("{}", "`text` is missing: the transmission to read"),
        (r#"{"txt":"x"}"#, "unknown key `txt`; did you mean `text`?"),
        (r#"{"text":"x","speakr":"pilot"}"#, "unknown key `speakr`; did you mean `speaker`?"),
        (r#"{"text":"x","speaker":"tower"}"#, "unknown speaker `tower`: controller or pilot"),
        ("[]", "an object is wanted, `{…}`, not a list"),
    ] {
        assert_eq!(error("parse", line).1, said, "{line}");
    }
    assert_eq!(error("grade", b"{\"say\":\"\xff\"}").1, "not UTF-8 text at byte 9");
}

#[test]
fn a_bad_line_keeps_its_id_whenever_it_can_be_read() {
    for line in [
        r#"{"id":"a","say":7,"reply":"y"}"#,
        r#"{"say":7,"reply":"y","id":"a"}"#,
        r#"{"id":"a","say":"x","reply":"#,
        r#"{"id":"a","say":oops}"#,
        r#"{"id":"a","say":"x","say":"y"}"#,
        r#"{"day":"x","id":"a"}"#,
    ] {
        assert_eq!(error("grade", line).0, "a", "{line}");
        assert_eq!(error("parse", line).0, "a", "{line}");
    }
    assert_eq!(error("grade", b"{\"say\":\"\xff\",\"id\":\"a\"}").0, "a");
    let long = format!(r#"{{"id":"a","say":"{}"}}"#, "x".repeat(hearback::batch::LONGEST_LINE));
    assert_eq!(error("grade", long), ("a".into(), "the line is longer than 1048576 bytes".to_owned()));
    assert_eq!(error("grade", "{}").0, serde_json::Value::Null);
}

#[test]
fn other_keys_are_ignored_and_names_may_have_capitals() {
    let line = r#"{"id":{"n":1},"sid":"BIRLA","note":[1,{"say":2}],"standards":7,"standard":"UK","say":"Whimbrel two one four, squawk four four two one","reply":"squawk 4421, whimbrel 214"}"#;
    for start in ["", "\u{feff}"] {
        let out = grade(format!("{start}{line}\n")).success().get_output().stdout.clone();
        let said: serde_json::Value = serde_json::from_slice(&out).expect("one object");
        assert_eq!(
            (&said["id"], &said["verdict"]),
            (&serde_json::json!({"n": 1}), &"correct".into()),
            "{said}"
        );
    }
    let rest = r#""say":"Whimbrel 214, climb flight level one two zero","reply":"climb to flight level one two zero, Whimbrel 214""#;
    let verdict = |standard: &str| {
        let out = grade(format!("{{\"standard\":{standard},{rest}}}")).success().get_output().stdout.clone();
        serde_json::from_slice::<serde_json::Value>(&out).expect("one object")["verdict"].clone()
    };
    assert_eq!(verdict("\"UK\""), verdict("\"uk\""));
    assert_ne!(verdict("\"UK\""), verdict("null"));
}

#[test]
fn order_is_kept_over_many_blocks() {
    let input: String = (0..20_000)
        .map(|i| format!("{{\"id\":{i},\"say\":\"Whimbrel 214, climb to flight level {}\",\"reply\":\"climb FL90 Whimbrel 214\"}}\n", 80 + i % 2 * 10))
        .collect();
    let out = grade(input).success().get_output().stdout.clone();
    let text = String::from_utf8(out).expect("UTF-8");
    for (i, line) in text.lines().enumerate() {
        let verdict = if i % 2 == 0 { "incorrect" } else { "correct" };
        assert!(line.starts_with(&format!("{{\"id\":{i},\"verdict\":\"{verdict}\"")), "line {i}: {line}");
    }
    assert_eq!(text.lines().count(), 20_000);
}

#[test]
fn nothing_in_nothing_out() {
    grade("").success().stdout_eq("").stderr_eq("");
}

#[test]
fn parse_lists_callsign_elements_and_what_was_not_understood() {
    hearback()
        .arg("parse")
        .stdin(r#"{"id":"a","standard":"icao","text":"Whimbrel two one four, line up and wait runway zero nine wibble","speaker":"controller"}"#)
        .assert()
        .success()
        .stdout_eq(snapbox::str![[r#"
{"id":"a","callsign":"Whimbrel 214","elements":[{"element":"instruction","value":"line up and wait","text":"line up and wait runway zero nine","span":[23,56]},{"element":"runway","value":"09","text":"runway zero nine","span":[40,56]}],"unparsed":[[57,63]]}

"#]]);
}

#[test]
fn a_missing_file_is_a_system_error_and_an_unknown_word_a_usage_error() {
    hearback().args(["grade", "no-such-file.jsonl"]).assert().code(2).stdout_eq("");
    hearback().args(["graed"]).assert().code(2).stdout_eq("");
}

/// The example lines of a command's help, put together as one object.
fn examples(command: &str) -> String {
    let out = hearback().args([command, "--help"]).assert().success().get_output().stdout.clone();
    let help = String::from_utf8(out).expect("text");
    let fields: Vec<&str> = help.lines().map(str::trim).filter(|line| line.starts_with('"')).collect();
    format!("{{{}}}", fields.join(","))
}

#[test]
fn the_examples_in_the_help_can_be_used_as_they_are() {
    let keys = |line: &str| {
        let line: serde_json::Value = serde_json::from_str(line).expect(line);
        line.as_object().expect("an object").keys().map(String::clone).collect::<Vec<_>>()
    };
    let (grading, parsing) = (examples("grade"), examples("parse"));
    assert_eq!(keys(&grading), ["callsign", "id", "reply", "say", "standard"]);
    assert_eq!(keys(&parsing), ["id", "speaker", "standard", "text"]);
    let out = grade(grading).success().get_output().stdout.clone();
    assert!(String::from_utf8_lossy(&out).contains("\"verdict\":\"correct\""));
    hearback().arg("parse").stdin(parsing).assert().success();
}
