//! Speaking up: each step is right for its moment only, softened it counts one lower, and each of the five parts that
//! is left out is missing. The steps are those of `grammar/crew`; the sentences are our own.

use hearback::contract::{Builtin, grade_line};
use hearback::judge::judgement::Form;
use serde_json::{Value, json};

fn grade(line: &Value) -> Value {
    let mut out = Vec::new();
    grade_line(&Builtin, Form::Strict, line.to_string().as_bytes(), 1, &mut out);
    serde_json::from_slice(&out).expect("a line of JSON")
}

fn data(file: &str) -> toml::Table {
    let path = format!("grammar/crew/{file}.toml");
    let (_, text) =
        hearback::grammar::builtin_files().iter().copied().find(|f| f.0 == path).expect("the file");
    toml::from_str(text).expect("sound data")
}

fn texts(value: Option<&toml::Value>) -> Vec<String> {
    let list = value.and_then(toml::Value::as_array).cloned().unwrap_or_default();
    list.iter().filter_map(|t| t.as_str().map(str::to_owned)).collect()
}

fn faults(out: &Value) -> Vec<String> {
    let findings = out["findings"].as_array().unwrap_or_else(|| panic!("{out}"));
    let text = |f: &Value| format!("{} {} {}", f["element"], f["fault"], f["expected"]).replace('"', "");
    findings.iter().map(text).collect()
}

#[test]
fn each_step_of_speaking_up_is_right_for_its_moment() {
    let table = data("speaking-up");
    let steps = table["speaking_up"]["step"].as_array().expect("steps");
    let said = [
        vec![
            "Captain, what speed do you want here?",
            "Captain, we are 20 knots high, are you happy with that?",
            "Captain, speed one six five",
        ],
        vec![
            "Captain, we are 25 knots fast, we will not be stable at one thousand",
            "Captain, I am concerned about the fuel, 20 minutes left",
            "we are a dot high, I suggest we extend the track",
            "Speed one six five, we should go around",
        ],
        vec![
            "Captain, go around now, we are not stabilised",
            "Captain, we must turn left now, terrain ahead",
            "Unstable, go around.",
            "We need to go around now",
            "captain we are unstable go around",
            "stop",
            "Let's go around",
            "go around please",
            "do not descend",
            "Captain, I'm concerned, we are 28 fast and not configured, go around, agree?",
            "pull up",
            "Hold short, traffic on the runway",
        ],
        vec![
            "Captain, you must listen. Go around.",
            "I have control, going around",
            "Captain you must go around",
            "my control",
        ],
    ];
    let moments = [
        vec![json!("10 minutes"), json!("90 s"), json!({ "seconds": 120 }), json!("level 1"), json!("probe")],
        vec![
            json!("20 seconds to impact"),
            json!("20 seconds to minimums"),
            json!({ "seconds": 30 }),
            json!("level 2"),
            json!({ "level": "alert" }),
        ],
        vec![
            json!("8 s"),
            json!({ "seconds": 5 }),
            json!({ "level": 3 }),
            json!("eight seconds left"),
            json!("challenge"),
        ],
        vec![
            json!("3 s"),
            json!({ "unanswered": 2 }),
            json!("unanswered twice"),
            json!("no answer, two calls"),
            json!("level 4"),
            json!({ "seconds": 4.5 }),
        ],
    ];
    let mut bad = Vec::new();
    let mut tried = 0;
    for (asked, contexts) in moments.iter().enumerate() {
        for context in contexts {
            for (step, sentences) in said.iter().enumerate() {
                for reply in sentences {
                    let out = grade(&json!({ "briefing": "escalation", "context": context, "reply": reply }));
                    tried += 1;
                    let call =
                        out["findings"].as_array().expect("findings").iter().find(|f| f["element"] == "call");
                    let fine = match step.cmp(&asked) {
                        std::cmp::Ordering::Less => {
                            out["verdict"] == "incorrect"
                                && call.is_some_and(|c| {
                                    c["severity"] == "critical"
                                        && c["fault"] == "wrong"
                                        && c["expected"] == *steps[asked]["title"].as_str().expect("text")
                                        && c["given"] == *steps[step]["title"].as_str().expect("text")
                                })
                        }
                        std::cmp::Ordering::Equal => {
                            out["verdict"] == "correct" && out["findings"] == json!([])
                        }
                        std::cmp::Ordering::Greater if asked > 1 => {
                            out["verdict"] == "correct" && call.is_none()
                        }
                        std::cmp::Ordering::Greater => {
                            out["verdict"] == "correct" && call.is_some_and(|c| c["severity"] == "advice")
                        }
                    };
                    if !fine {
                        bad.push(format!("{context} {reply}: {} {:?}", out["verdict"], faults(&out)));
                    }
                }
            }
            let model =
                grade(&json!({ "briefing": "escalation", "context": context, "reply": "" }))["model"].clone();
            let out = grade(&json!({ "briefing": "escalation", "context": context, "reply": model }));
            assert_eq!(
                (&out["verdict"], &out["findings"]),
                (&json!("correct"), &json!([])),
                "{context} {model}"
            );
        }
    }
    assert!(tried > 400, "{tried}");
    assert!(bad.is_empty(), "{} of {tried}:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn a_softened_sentence_counts_one_step_lower() {
    let soften = data("speaking-up")["speaking_up"]["softeners"].clone();
    for soft in texts(Some(&soften)) {
        for (context, reply) in
            [("8 s", format!("{soft}, go around")), ("30 s", format!("{soft}, I am concerned, speed 165"))]
        {
            let out = grade(&json!({ "briefing": "escalation", "context": context, "reply": reply }));
            assert_eq!(out["verdict"], "incorrect", "{context} {reply}: {out}");
        }
    }
    for (context, reply) in [
        ("8 s", "Bit fast."),
        ("8 s", "Captain, speed one six five, target one three seven."),
        ("8 s", "Maybe we could think about going around?"),
        ("8 s", "Should we go around?"),
        ("8 s", "go around?"),
        ("8 s", "is everything okay?"),
        ("90 s", "everything okay?"),
        ("30 s", "Captain, speed?"),
        ("3 s", "Captain, go around"),
        ("no answer twice", "Captain, we are too low, pull up"),
        ("8 s", "we are going around the weather"),
    ] {
        let out = grade(&json!({ "briefing": "escalation", "context": context, "reply": reply }));
        assert_eq!(out["verdict"], "incorrect", "{context} {reply}: {out}");
    }
    // A worry without the fact is a hint.
    let out =
        grade(&json!({ "briefing": "escalation", "context": "30 s", "reply": "Captain, I don't like this" }));
    assert_eq!(faults(&out), ["evidence missing the fact or the value"]);
    let long =
        "Captain, you must listen to me now because we are far too low and too fast and this will end badly";
    let out = grade(&json!({ "briefing": "escalation", "context": "3 s", "reply": long }));
    assert_eq!((&out["verdict"], &out["findings"][0]["element"]), (&json!("nonstandard"), &json!("call")));
}

#[test]
fn each_of_the_five_parts_left_out_is_missing_and_nothing_else() {
    let table = data("speaking-up");
    let mut tried = 0;
    for parts in [
        [
            "Captain,",
            "I am not comfortable,",
            "we are two dots high.",
            "I suggest we go around.",
            "Do you agree?",
        ],
        ["Robin,", "this is unsafe,", "speed one six five.", "Let's slow down.", "Okay with that?"],
        ["Skipper,", "I'm worried,", "below the glideslope.", "We should correct.", "What do you think?"],
        [
            "First officer,",
            "I do not like it,",
            "fuel is twenty minutes.",
            "We need to divert now.",
            "Do you concur?",
        ],
    ] {
        let out = grade(&json!({ "briefing": "escalation", "reply": parts.join(" ") }));
        assert_eq!(faults(&out), Vec::<String>::new(), "{parts:?}");
        for (n, element) in ["address", "concern", "evidence", "proposal", "agreement"].iter().enumerate() {
            let kept: Vec<&str> =
                parts.iter().enumerate().filter(|(k, _)| *k != n).map(|(_, p)| *p).collect();
            let out = grade(&json!({ "briefing": "escalation", "context": "", "reply": kept.join(" ") }));
            tried += 1;
            let title = table["speaking_up"]["part"][n]["title"].as_str().expect("text");
            assert_eq!(faults(&out), [format!("{element} missing {title}")], "{kept:?}");
            let minor = ["address", "agreement"].contains(element);
            assert_eq!(out["verdict"], if minor { "nonstandard" } else { "incomplete" });
        }
    }
    assert_eq!(tried, 20);
}

#[test]
fn a_wrong_value_is_wrong_evidence() {
    for (context, values, reply, wanted) in [
        (
            json!({ "seconds": 30, "speed": 165, "target": 137 }),
            json!({}),
            "Captain, speed one five six, target one three seven",
            vec!["evidence wrong 165"],
        ),
        (
            json!({ "seconds": 30, "speed": 165, "target": 137 }),
            json!({}),
            "Captain, speed one six five, target one three seven",
            vec![],
        ),
        (json!("30 s"), json!({ "speed": 165 }), "Captain, speed 165, I am concerned", vec![]),
        (
            json!("30 s, speed 165, target 137"),
            json!({}),
            "Captain, speed 175, target 137",
            vec!["evidence wrong 165"],
        ),
        (json!("8 s"), json!({ "diff": 28 }), "28 knots fast, go around", vec![]),
        (json!("8 s"), json!({ "diff": 28 }), "38 knots fast, go around", vec!["evidence wrong 28"]),
    ] {
        let out =
            grade(&json!({ "briefing": "escalation", "context": context, "values": values, "reply": reply }));
        assert_eq!(faults(&out), wanted, "{context} {reply}");
    }
}

/// Sentences with the verdict that they get in their moment.
#[test]
fn sentences_of_the_flight_deck_come_to_their_step() {
    let mut bad = Vec::new();
    for (context, reply, wanted) in [
        ("8 s", "captain go around", "correct"),
        ("8 s", "Captain, I think we should go around", "incorrect"),
        ("8 s", "sir, we need to break off the approach", "correct"),
        ("8 s", "I'm sorry but could you perhaps go around", "incorrect"),
        ("8 s", "Brake! Brake!", "correct"),
        ("8 s", "Check speed", "correct"),
        ("8 s", "speed check", "incorrect"),
        ("8 s", "Level off now, cleared flight level one one zero only", "correct"),
        ("8 s", "we're not cleared to land", "incorrect"),
        ("8 s", "You need to turn left heading 240", "correct"),
        ("8 s", "Don't cross, hold short", "correct"),
        ("8 s", "how about a go around?", "incorrect"),
        ("8 s", "why don't we go around", "incorrect"),
        ("8 s", "are we going around?", "incorrect"),
        ("8 s", "do you want to go around", "incorrect"),
        ("8 s", "Shouldn't we go around?", "incorrect"),
        ("8 s", "I want you to go around", "correct"),
        ("8 s", "goaround", "correct"),
        ("8 s", "go arround", "correct"),
        ("8 s", "we can't land from this", "incorrect"),
        ("8 s", "it's unsafe", "incorrect"),
        ("8 s", "", "incomplete"),
        ("8 s", "roger", "incorrect"),
        ("30 s", "Captain, four dots high", "incorrect"),
        ("30 s", "Captain, I'm uncomfortable with this sink rate of 1500", "correct"),
        ("30 s", "this is a safety issue, we are below the glide", "correct"),
        ("30 s", "We are high, how about an orbit?", "correct"),
        ("30 s", "Captain, fuel is below reserve, we need to divert", "correct"),
        ("30 s", "I don't like this", "incomplete"),
        ("30 s", "are you sure?", "incorrect"),
        ("2 minutes", "what speed would you like here?", "correct"),
        ("2 minutes", "we seem a little high", "incorrect"),
        ("5 minutes", "Captain, go around now", "correct"),
        ("3 s", "my aircraft", "correct"),
        ("3 s", "Captain, you must go around!", "correct"),
        ("3 s", "go around now!", "incorrect"),
        ("captain has not answered twice", "I have control", "correct"),
        ("two unanswered calls", "go around", "incorrect"),
        ("no response to two calls, 30 s", "captain we are fast", "incorrect"),
        ("minimums in 8 seconds, speed 165", "go around, speed 156", "incorrect"),
        ("flight level 110, traffic, 12 s", "climb now", "correct"),
        ("700 ft", "captain, go around", "incomplete"),
        ("6 seconds", "go around, go around", "correct"),
        ("10 s", "Captain, throw it away", "correct"),
        ("12 s", "Commander, discontinue the approach", "correct"),
        ("7 s", "we should probably go around", "incorrect"),
        ("9 s", "speed, speed", "incorrect"),
        ("9 s", "Captain add power", "correct"),
        ("9 s", "add thrust now, speed is ten below", "correct"),
        ("9 s", "captain, you are low", "incorrect"),
        ("9 s", "Reject! Reject!", "correct"),
        ("9 s", "Could you level off please", "incorrect"),
        ("9 s", "Level off please", "correct"),
        ("9 s", "Turn right, traffic", "correct"),
        ("45 s", "Captain, we're going through the localiser", "incorrect"),
        ("45 s", "Captain, we're through the localiser and it worries me", "correct"),
        ("45 s", "we are two dots high and that will not be stable", "correct"),
        ("45 s", "I recommend we slow down, we're 30 knots fast", "correct"),
        ("45 s", "Is this really a good idea?", "incorrect"),
        ("45 s", "maybe we're a little fast", "incorrect"),
        ("5 minutes", "Captain, do you see the fuel at two thousand four hundred?", "correct"),
        ("5 minutes", "the weather radar shows a cell at twelve o'clock", "correct"),
        ("5 minutes", "I have control", "correct"),
        ("2 s", "I have control!", "correct"),
        ("2 s", "Captain you must listen to me, go around", "correct"),
        ("2 s", "Captain I am not comfortable with this", "incorrect"),
        ("level 2", "Captain, the flaps are not set, I'm concerned", "correct"),
        ("level 3", "Captain, the flaps are not set, I'm concerned", "incorrect"),
        ("alert", "speed?", "incorrect"),
        ("challenge", "Go around", "correct"),
        ("unanswered twice", "Captain, go around", "incorrect"),
        ("unanswered twice", "I have control, going around", "correct"),
        ("7 s", "Hold position! Traffic on the runway!", "correct"),
        ("7 s", "Captain, climb now, traffic", "correct"),
        ("7 s", "Would you like to go around?", "incorrect"),
        ("7 s", "Captain I would go around", "incorrect"),
        ("7 s", "You're not stabilised", "incorrect"),
        ("7 s", "Not stabilised, go around", "correct"),
        ("7 s", "We must go around", "correct"),
        ("25 s", "I'm not happy with the descent rate", "correct"),
        ("25 s", "Sink rate", "incorrect"),
        ("25 s", "shouldn't we turn? the terrain is high", "correct"),
        ("200 s", "Speed?", "correct"),
        ("200 s", "hello", "incorrect"),
        ("1 s", "I have the flight controls", "correct"),
        ("1 s", "stop", "incorrect"),
        ("4 minutes", "Robin, what level are we cleared to?", "correct"),
        ("11 s", "Maybe go around", "incorrect"),
        ("11 s", "let's break it off", "correct"),
        ("11 s", "I think you're fast", "incorrect"),
        ("11 s", "fly the heading, two four zero", "correct"),
        ("captain ignored two calls", "my control", "correct"),
    ] {
        let out = grade(&json!({ "briefing": "escalation", "context": context, "reply": reply }));
        if out["verdict"] != wanted {
            bad.push(format!("{context} {reply}: {} {:?}", out["verdict"], faults(&out)));
        }
    }
    assert!(bad.is_empty(), "{} of them:\n{}", bad.len(), bad.join("\n"));
}
