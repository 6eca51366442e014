//! Briefings: every part that is left out is missing, every changed value is wrong, every mark is heard, and nothing
//! else is found. The parts are those of `grammar/crew`; the sentences are our own.

use hearback::contract::{Builtin, grade_line};
use hearback::crew::CrewBook;
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

/// Each value with another one that is not the same.
const VALUES: [(&str, &str, &str); 29] = [
    ("nature", "smoke in the galley", "fire in the hold"),
    ("intentions", "return to Tarnmoor, normal landing", "divert to Holmfell, emergency landing"),
    ("time", "15", "50"),
    ("special", "no evacuation, stay seated", "evacuation by the slides"),
    ("flap", "5", "15"),
    ("thrust", "52", "54"),
    ("weight", "64", "46"),
    ("v1", "138", "148"),
    ("vr", "141", "151"),
    ("v2", "146", "164"),
    ("rwy", "27L", "27R"),
    ("departure", "Birla 1A", "Tarno 2B"),
    ("level", "FL110", "FL100"),
    ("msa", "4100", "5200"),
    ("alternate", "Velmund", "Varnsey"),
    ("arrival", "Merlo 2C", "Dunli 1D"),
    ("crs", "267", "276"),
    ("freq", "110.35", "110.95"),
    ("faf", "2600", "2200"),
    ("min", "320", "450"),
    ("maa", "3000", "4000"),
    ("vref", "132", "137"),
    ("autobrake", "medium", "low"),
    ("exit", "Charlie", "Delta"),
    ("vapp", "138", "148"),
    ("distance", "1650", "2650"),
    ("fuel", "6400", "4600"),
    ("extra", "35", "53"),
    ("defects", "left pack deferred", "right generator deferred"),
];

fn value(name: &str, other: bool) -> Option<String> {
    VALUES.iter().find(|v| v.0 == name).map(|v| if other { v.2 } else { v.1 }.to_owned())
}

fn fill(text: &str, changed: Option<&str>) -> String {
    let mut out = text.to_owned();
    for (name, _, _) in VALUES {
        let with = value(name, changed == Some(name)).expect("a value");
        out = out.replace(&format!("<{name}>"), &with);
    }
    assert!(!out.contains('<'), "no value for {out}");
    out
}

/// Names in angle brackets.
fn gaps(text: &str) -> Vec<String> {
    text.split('<').skip(1).filter_map(|t| t.split_once('>')).map(|t| t.0.to_owned()).collect()
}

struct Part {
    id: String,
    title: String,
    severity: String,
    model: String,
    marks: Vec<String>,
    says: Vec<String>,
}

fn briefings() -> Vec<(String, Vec<Part>)> {
    let table = data("briefings");
    let list = table["briefing"].as_array().expect("briefings");
    let text = |value: &toml::Value, key: &str| value[key].as_str().expect("text").to_owned();
    let part = |part: &toml::Value| Part {
        id: text(part, "id"),
        title: text(part, "title"),
        severity: text(part, "severity"),
        model: text(part, "model"),
        marks: texts(part.get("marks")),
        says: texts(part.get("says")),
    };
    let parts = |b: &toml::Value| b["part"].as_array().expect("parts").iter().map(part).collect();
    list.iter().map(|b| (text(b, "id"), parts(b))).collect()
}

/// The values that the models of a briefing carry.
fn carried(parts: &[Part]) -> Value {
    let names = parts.iter().flat_map(|part| gaps(&part.model));
    names
        .map(|name| (name.clone(), Value::String(value(&name, false).expect("a value"))))
        .collect::<serde_json::Map<_, _>>()
        .into()
}

fn faults(out: &Value) -> Vec<String> {
    let findings = out["findings"].as_array().unwrap_or_else(|| panic!("{out}"));
    let text = |f: &Value| format!("{} {} {}", f["element"], f["fault"], f["expected"]).replace('"', "");
    findings.iter().map(text).collect()
}

fn verdict_of(severity: &str) -> &'static str {
    match severity {
        "advice" => "correct",
        "minor" => "nonstandard",
        _ => "incomplete",
    }
}

#[test]
fn the_whole_model_is_right_with_and_without_values() {
    for (id, parts) in briefings() {
        for values in [carried(&parts), json!({})] {
            let model = grade(&json!({ "briefing": id, "values": values, "reply": "" }))["model"].clone();
            for reply in
                [model.as_str().expect("text").to_owned(), model.as_str().expect("text").to_lowercase()]
            {
                let out = grade(&json!({ "briefing": id, "values": values, "reply": reply }));
                assert_eq!(faults(&out), Vec::<String>::new(), "{id}: {reply}");
                assert_eq!(out["verdict"], "correct");
            }
        }
    }
}

#[test]
fn each_part_left_out_is_missing_and_nothing_else() {
    let mut tried = 0;
    let mut bad = Vec::new();
    for (id, parts) in briefings() {
        for values in [carried(&parts), json!({})] {
            for left in &parts {
                let kept: Vec<String> =
                    parts.iter().filter(|p| p.id != left.id).map(|p| fill(&p.model, None)).collect();
                let out = grade(&json!({ "briefing": id, "values": values, "reply": kept.join(" ") }));
                tried += 1;
                if faults(&out) != [format!("briefing missing {}", left.title)]
                    || out["verdict"] != verdict_of(&left.severity)
                {
                    bad.push(format!("{id} without {}: {:?} {}", left.id, faults(&out), out["verdict"]));
                }
            }
        }
        let out = grade(&json!({ "briefing": id, "reply": "" }));
        assert_eq!(faults(&out).len(), parts.len(), "{id}: {out}");
        assert_eq!(out["verdict"], "incomplete");
    }
    assert_eq!(tried, 2 * (4 + 9 + 9));
    assert!(bad.is_empty(), "{} of {tried}:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn each_changed_value_is_wrong_and_nothing_else() {
    let mut tried = 0;
    let mut bad = Vec::new();
    for (id, parts) in briefings() {
        for part in &parts {
            for name in gaps(&part.model) {
                let reply: Vec<String> = parts
                    .iter()
                    .map(|p| fill(&p.model, Some(name.as_str()).filter(|_| p.id == part.id)))
                    .collect();
                let out =
                    grade(&json!({ "briefing": id, "values": carried(&parts), "reply": reply.join(" ") }));
                tried += 1;
                let wanted = format!("briefing wrong {}", value(&name, false).expect("a value"));
                let span = &out["findings"][0]["span"];
                if faults(&out) != [wanted] || out["verdict"] != "incorrect" || span.is_null() {
                    bad.push(format!("{id} {name}: {:?}", faults(&out)));
                }
            }
            // Every way of saying a number, right and wrong.
            for says in &part.says {
                for name in gaps(says) {
                    let known: serde_json::Map<String, Value> = gaps(says)
                        .iter()
                        .map(|n| (n.clone(), value(n, false).expect("a value").into()))
                        .collect();
                    for (changed, fault) in [(None, false), (Some(name.as_str()), true)] {
                        let reply = fill(says, changed);
                        let out = grade(&json!({ "briefing": id, "values": known, "reply": reply }));
                        tried += 1;
                        let wrong = faults(&out).iter().any(|f| f.starts_with("briefing wrong"));
                        let part = faults(&out).iter().any(|f| f.ends_with(&part.title));
                        if wrong != fault || part {
                            bad.push(format!("{id} {reply}: {:?}", faults(&out)));
                        }
                    }
                }
            }
        }
    }
    assert!(tried > 150, "{tried}");
    assert!(bad.is_empty(), "{} of {tried}:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn every_mark_of_every_part_is_heard() {
    let mut tried = 0;
    let mut bad = Vec::new();
    for (id, parts) in briefings() {
        for part in &parts {
            for mark in &part.marks {
                let reply = mark
                    .replacen("<number>", "138", 1)
                    .replacen("<number>", "141", 1)
                    .replace("<number>", "146");
                for reply in [reply.clone(), format!("Well then: {reply}, and so on")] {
                    let out = grade(&json!({ "briefing": id, "reply": reply }));
                    tried += 1;
                    if faults(&out).contains(&format!("briefing missing {}", part.title)) {
                        bad.push(format!("{id} {}: {reply}", part.id));
                    }
                }
            }
        }
    }
    assert!(tried > 800, "{tried}");
    assert!(bad.is_empty(), "{} of {tried}:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn every_part_tells_its_source_and_what_the_book_says_of_it() {
    let book = CrewBook::builtin().expect("sound data");
    assert_eq!(book.briefings().map(|b| b.id.as_str()).collect::<Vec<_>>(), ["approach", "nits", "takeoff"]);
    for briefing in book.briefings() {
        assert!(!briefing.title.is_empty() && !briefing.why.is_empty());
        for part in &briefing.parts {
            assert!(!part.source.is_empty() && !part.title.is_empty(), "{} {}", briefing.id, part.id);
            assert!(
                part.values()
                    .iter()
                    .all(|v| value(v, false).is_some() || ["status", "aid", "fix"].contains(v)),
                "{:?}",
                part.values()
            );
        }
    }
}

/// Right ones in unusual words, and others with one thing that is not right: that one is found, and no other.
#[test]
fn briefings_as_pilots_say_them_have_the_faults_that_are_in_them() {
    let table: toml::Table = toml::from_str(include_str!("data/briefings.toml")).expect("TOML");
    let cases = table["case"].as_array().expect("cases");
    let mut bad = Vec::new();
    for case in cases {
        let out =
            grade(&json!({ "briefing": case["briefing"], "values": case["values"], "reply": case["reply"] }));
        if faults(&out) != texts(case.get("faults")) {
            bad.push(format!("{}: {:?}, not {}", case["reply"], faults(&out), case["faults"]));
        }
    }
    let right = cases.iter().filter(|case| texts(case.get("faults")).is_empty()).count();
    assert!(right >= 81 && cases.len() - right >= 139, "{right} of {}", cases.len());
    assert!(bad.is_empty(), "{} of them:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn parts_named_out_of_order_are_noted_in_a_cabin_briefing() {
    let reply = "Nature: fire. Time: ten minutes. Intentions: land at Holmfell. Special: brace.";
    let out = grade(&json!({ "briefing": "nits", "reply": reply }));
    assert_eq!(out["verdict"], "correct");
    assert_eq!(
        (&out["findings"][0]["element"], &out["findings"][0]["severity"]),
        (&json!("order"), &json!("advice"))
    );
}

#[test]
fn values_may_stand_in_the_context() {
    let reply = "Nature: smoke. Intentions: return to Skerrow. Time: 20 minutes. Special: brace.";
    for context in [
        json!({ "nature": "fire", "intentions": "return to Skerrow", "time": 20, "special": "brace" }),
        json!("nature: fire; intentions: return to Skerrow; time: 20; special: brace"),
        json!("nature: fire, intentions: return to Skerrow, time: 20 minutes, special: brace"),
    ] {
        let out = grade(&json!({ "briefing": "nits", "context": context, "reply": reply }));
        assert_eq!(faults(&out), ["briefing wrong fire"], "{context}");
    }
    let out = grade(
        &json!({ "briefing": "approach", "context": "runway 09, minimums 320", "reply": "runway 27, minimums 320" }),
    );
    assert_eq!(faults(&out)[0], "briefing wrong 09");
    // What `values` say comes first.
    let line = json!({ "briefing": "nits", "context": { "nature": "fire" }, "values": { "nature": "smoke" }, "reply": reply });
    assert_eq!(faults(&grade(&line)), Vec::<String>::new());
}

#[test]
fn a_bad_line_says_what_is_wrong() {
    for (line, wanted) in [
        (json!({ "briefing": "nit", "reply": "x" }), "did you mean `nits`?"),
        (json!({ "briefing": "cruise", "reply": "x" }), "there are approach, nits, takeoff, escalation"),
        (json!({ "briefing": "nits", "cue": "to-v1", "reply": "x" }), "excludes"),
        (json!({ "briefing": "nits", "context": 7, "reply": "x" }), "`context` wants text or an object"),
        (
            json!({ "briefing": "nits", "context": { "nature": ["x"] }, "reply": "x" }),
            "wants text or a number",
        ),
        (
            json!({ "briefing": "escalation", "context": { "level": 5 }, "reply": "x" }),
            "probe, alert, challenge, emergency",
        ),
        (
            json!({ "briefing": "escalation", "context": { "seconds": "soon" }, "reply": "x" }),
            "`seconds` wants a number",
        ),
        (json!({ "briefing": "nits" }), "`reply` is missing"),
        (json!({ "briefing": 7, "reply": "x" }), "`briefing` wants text in quotes"),
    ] {
        let out = grade(&line);
        assert!(out["error"].as_str().is_some_and(|e| e.contains(wanted)), "{out}");
    }
}

#[test]
fn any_text_is_judged_without_a_panic() {
    for text in [
        "é".repeat(3000),
        "minimums ".repeat(20_000),
        "1 ".repeat(20_000),
        "?".into(),
        "correction".into(),
        "🛬 time: é 15 <min> correction 7 —".into(),
        "15 hours 4000000000 hours".into(),
    ] {
        for id in ["nits", "takeoff", "approach", "escalation"] {
            let values = json!({ "time": text, "min": "320", "nature": text, "speed": "165" });
            for line in [
                json!({ "briefing": id, "reply": text, "values": values }),
                json!({ "briefing": id, "reply": "smoke, 15 minutes", "context": text }),
            ] {
                assert!(grade(&line)["error"].is_null());
            }
        }
    }
}

#[test]
fn jargon_is_noted_in_a_briefing_to_the_cabin_and_nothing_else() {
    let table = data("briefings");
    let nits = &table["briefing"].as_array().expect("briefings")[0];
    for word in texts(nits.get("jargon")) {
        let reply = format!(
            "Nature: smoke. Intentions: return to Skerrow. Time: 20 minutes. Special: brace. {word}."
        );
        let out = grade(&json!({ "briefing": "nits", "reply": reply }));
        assert_eq!(faults(&out), ["word nonstandard null"], "{reply}");
        assert_eq!(out["verdict"], "nonstandard");
    }
}
