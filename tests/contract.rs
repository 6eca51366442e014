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
