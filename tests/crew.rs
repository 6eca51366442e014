//! Crew calls: every form that is right is right, what is near it is not, and `grade` takes crew lines.
//! The calls are common practice, or from the documents named beside each in `grammar/crew`; words differ by operator.

use hearback::contract::{Builtin, grade_line};
use hearback::crew::CrewBook;
use hearback::judge::judgement::Form;
use serde_json::{Value, json};

fn grade(line: &Value) -> Value {
    let mut out = Vec::new();
    grade_line(&Builtin, Form::Strict, line.to_string().as_bytes(), 1, &mut out);
    serde_json::from_slice(&out).expect("a line of JSON")
}

/// A value for each name in angle brackets of `text`.
fn fill(text: &str, values: &Value) -> String {
    let mut out = text.to_owned();
    for (name, value) in values.as_object().expect("an object") {
        out = out.replace(&format!("<{name}>"), value.as_str().expect("a text"));
    }
    assert!(!out.contains('<'), "no value for {out}");
    out
}

fn values(other: bool) -> Value {
    let pick = |a: &str, b: &str| if other { b.to_owned() } else { a.to_owned() };
    let mut out = serde_json::Map::new();
    for (name, a, b) in [
        ("aid", "ILS", "VOR"),
        ("alt", "4000", "5000"),
        ("autobrake", "medium", "low"),
        ("callsign", "Whimbrel 214", "Whimbrel 241"),
        ("checklist", "landing", "taxi"),
        ("clock", "2", "10"),
        ("crs", "267", "276"),
        ("departure", "Birla 1A", "Tarno 2B"),
        ("diff", "20", "40"),
        ("direction", "south", "north"),
        ("dots", "half", "one"),
        ("event", "take-off", "landing"),
        ("extra", "300", "500"),
        ("failure", "engine fire", "tyre burst"),
        ("fix", "Velba", "Ormil"),
        ("flap", "5", "15"),
        ("freq", "118.705", "118.750"),
        ("fuel", "6400", "4600"),
        ("hdg", "240", "204"),
        ("heard", "flight level 110", "flight level 100"),
        ("intentions", "returning", "holding"),
        ("item", "flaps", "trim"),
        ("lateral_mode", "heading", "nav"),
        ("level", "FL110", "FL100"),
        ("limit", "Charlie", "Delta"),
        ("maa", "3000", "4000"),
        ("min", "320", "450"),
        ("mode", "nav", "heading"),
        ("msa", "4100", "5200"),
        ("n", "1", "2"),
        ("name", "Sam", "Robin"),
        ("nature", "smoke", "fire"),
        ("newlevel", "FL080", "FL090"),
        ("other", "Larkspur 7", "Larkspur 9"),
        ("param", "bank", "pitch"),
        ("passing", "FL090", "FL080"),
        ("pitch", "4", "5"),
        ("point", "C1", "C2"),
        ("position", "Velba", "Ormil"),
        ("qnh", "1008", "1018"),
        ("ra", "300", "400"),
        ("reason", "weather", "traffic"),
        ("rel", "above", "below"),
        ("response", "armed", "set"),
        ("role", "captain", "first officer"),
        ("route", "Bravo", "Kilo"),
        ("rwy", "27L", "27R"),
        ("said", "flight level 100", "flight level 110"),
        ("side", "left", "right"),
        ("slow", "60", "80"),
        ("source", "standby", "left"),
        ("spd1", "180", "190"),
        ("spd2", "205", "215"),
        ("spd3", "204", "214"),
        ("special", "brace", "exits"),
        ("speed", "124", "142"),
        ("squawk", "4421", "4412"),
        ("stand", "12", "21"),
        ("terrain", "rising", "falling"),
        ("thrust", "60", "75"),
        ("time", "15", "20"),
        ("trend", "climbing", "descending"),
        ("trim", "4", "5"),
        ("v1", "138", "148"),
        ("v2", "146", "156"),
        ("value", "off", "on"),
        ("vr", "141", "151"),
        ("vref", "132", "137"),
        ("xcheck", "100", "80"),
    ] {
        out.insert(name.to_owned(), Value::String(pick(a, b)));
    }
    Value::Object(out)
}

/// What the data say of each call: id, role, right forms, weak forms, forms of another situation.
type Side = (String, &'static str, Vec<String>, Vec<String>, Vec<String>);

fn sides() -> Vec<Side> {
    let texts = |value: Option<&toml::Value>| -> Vec<String> {
        let list = value.and_then(toml::Value::as_array).cloned().unwrap_or_default();
        list.iter().filter_map(|t| t.as_str().map(str::to_owned)).collect()
    };
    let mut out = Vec::new();
    for (path, text) in hearback::grammar::builtin_files() {
        if !path.starts_with("grammar/crew/") || path.contains("operators") {
            continue;
        }
        let table: toml::Table = toml::from_str(text).expect("sound data");
        for call in table.get("call").and_then(toml::Value::as_array).into_iter().flatten() {
            let id = call["id"].as_str().expect("an id").to_owned();
            let other = |key: &str| -> Vec<String> {
                let list = call.get("otherwise").and_then(toml::Value::as_array).cloned().unwrap_or_default();
                list.iter().flat_map(|o| texts(o.get(key))).collect()
            };
            out.push((id.clone(), "call", texts(call.get("says")), texts(call.get("weak")), other("says")));
            if let Some(answer) = call.get("answer") {
                out.push((id, "reply", texts(answer.get("says")), Vec::new(), other("answer")));
            }
        }
    }
    out
}

#[test]
fn the_built_in_book_is_sound_and_whole() {
    let book = CrewBook::builtin().expect("sound data");
    assert_eq!(book.calls().count(), 197);
    assert_eq!(book.checklist_ids().count(), 10);
    assert_eq!(book.operator_ids().collect::<Vec<_>>(), ["default", "larkspur"]);
}

#[test]
fn every_form_of_every_call_is_taken_as_the_data_say() {
    let ours = values(false);
    let mut bad = Vec::new();
    for (id, role, says, weak, other) in sides() {
        for (forms, wanted) in [(says, "correct"), (weak, "nonstandard"), (other, "incorrect")] {
            for form in forms {
                for reply in [fill(&form, &ours), fill(&form, &ours).to_lowercase()] {
                    let line = json!({ "cue": id, "role": role, "values": ours, "reply": reply });
                    let out = grade(&line);
                    if out["verdict"] != wanted {
                        bad.push(format!("{id} {role} {reply:?}: {} {}", out["verdict"], out["findings"]));
                    }
                }
            }
        }
        let out = grade(&json!({ "cue": id, "role": role, "values": ours, "reply": "" }));
        assert_eq!(out["verdict"], "incomplete", "{id} {role}");
        let out = grade(&json!({ "cue": id, "role": role, "values": ours, "reply": "wombat pastry" }));
        if out["verdict"] != "incorrect" {
            bad.push(format!("{id} {role} nonsense: {out}"));
        }
    }
    assert!(bad.is_empty(), "{} of them:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn another_value_is_wrong() {
    let (ours, theirs) = (values(false), values(true));
    let mut bad = Vec::new();
    let mut tried = 0;
    for (id, role, says, _, _) in sides() {
        for form in says.iter().filter(|form| form.contains('<')) {
            tried += 1;
            let out =
                grade(&json!({ "cue": id, "role": role, "values": ours, "reply": fill(form, &theirs) }));
            // Another role is passed over as in front of any call; then the right one is missing.
            let wanted = if form.starts_with("<role>, respond") { "incomplete" } else { "incorrect" };
            if out["verdict"] != wanted {
                bad.push(format!("{id} {role} {:?}: {}", fill(form, &theirs), out["verdict"]));
            }
        }
    }
    assert!(tried > 100, "{tried}");
    assert!(bad.is_empty(), "{} of {tried}:\n{}", bad.len(), bad.join("\n"));
}

/// One item of a checklist as the data have it.
struct Item {
    list: String,
    /// Its number, from 1.
    at: usize,
    challenge: String,
    says: Vec<String>,
    weak: Vec<String>,
    other: Vec<String>,
}

impl Item {
    fn grade(&self, role: &str, reply: &str) -> Value {
        let line = json!({ "checklist": self.list, "item": self.at, "role": role, "values": values(false), "reply": reply });
        grade(&line)
    }

    /// Every form that is understood, as its words; those that may be left out beside a number are.
    fn forms(&self) -> Vec<Vec<String>> {
        let forms = self.says.iter().chain(&self.weak).chain(&self.other);
        let needed = |word: &String| !["feet", "for", "runway"].contains(&word.as_str());
        forms.map(|form| plain(&fill(form, &values(false))).into_iter().filter(needed).collect()).collect()
    }

    fn name(&self) -> String {
        format!("{} {} {}", self.list, self.at, self.challenge)
    }
}

/// The words of a text, without case and marks.
fn plain(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
    words.map(str::to_lowercase).collect()
}

fn items() -> Vec<Item> {
    let (_, text) = hearback::grammar::builtin_files()
        .iter()
        .find(|f| f.0 == "grammar/crew/checklists.toml")
        .expect("a file");
    let table: toml::Table = toml::from_str(text).expect("sound data");
    let texts = |value: Option<&toml::Value>| -> Vec<String> {
        let list = value.and_then(toml::Value::as_array).cloned().unwrap_or_default();
        list.iter().filter_map(|t| t.as_str().map(str::to_owned)).collect()
    };
    let mut out = Vec::new();
    for list in table["checklist"].as_array().expect("checklists") {
        for (n, item) in list["item"].as_array().expect("items").iter().enumerate() {
            let other = item.get("otherwise").and_then(toml::Value::as_array).cloned().unwrap_or_default();
            out.push(Item {
                list: list["id"].as_str().expect("an id").to_owned(),
                at: n + 1,
                challenge: item["challenge"].as_str().expect("text").to_owned(),
                says: texts(item.get("says")),
                weak: texts(item.get("weak")),
                other: other.iter().flat_map(|o| texts(o.get("says"))).collect(),
            });
        }
    }
    assert_eq!(out.len(), 82);
    out
}

#[test]
fn every_form_of_every_checklist_item_is_taken_as_the_data_say() {
    let (ours, theirs) = (values(false), values(true));
    let mut bad = Vec::new();
    for item in items() {
        let mut check = |role: &str, reply: &str, wanted: &[&str]| {
            let out = item.grade(role, reply);
            if !wanted.iter().any(|w| out["verdict"] == *w) {
                bad.push(format!("{} {role} {reply:?}: {} {}", item.name(), out["verdict"], out["findings"]));
            }
        };
        for form in &item.says {
            let reply = fill(form, &ours);
            check("response", &reply, &["correct"]);
            check("response", &reply.to_lowercase(), &["correct"]);
            check("response", &format!("{}, {reply}", item.challenge), &["correct"]);
            if form.contains('<') {
                check("response", &fill(form, &theirs), &["incorrect"]);
            }
        }
        item.weak.iter().for_each(|form| check("response", &fill(form, &ours), &["nonstandard"]));
        item.other.iter().for_each(|form| check("response", &fill(form, &ours), &["incorrect"]));
        for habit in ["checked", "set"] {
            if !item.forms().contains(&plain(habit)) {
                check("response", habit, &["incomplete", "incorrect"]);
            }
        }
        check("response", "", &["incomplete"]);
        check("response", "wombat pastry", &["incorrect"]);
        check("challenge", &item.challenge, &["correct"]);
        check("challenge", &item.challenge.to_lowercase(), &["correct"]);
        check("challenge", "", &["incomplete"]);
        check("challenge", "wombat pastry", &["incorrect"]);
    }
    assert!(bad.is_empty(), "{} of them:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn an_item_does_not_take_the_response_or_the_challenge_of_another() {
    let all = items();
    let mut bad = Vec::new();
    let mut tried = 0;
    for item in &all {
        let forms = item.forms();
        for other in &all {
            for form in &other.says {
                let reply = fill(form, &values(false));
                let words = plain(&reply);
                // What holds a whole form of the item says that, and more.
                if forms.iter().any(|form| form.iter().all(|word| words.contains(word))) {
                    continue;
                }
                tried += 1;
                let out = item.grade("response", &reply);
                if out["verdict"] != "incorrect" && out["verdict"] != "incomplete" {
                    bad.push(format!("{} {reply:?}: {} {}", item.name(), out["verdict"], out["findings"]));
                }
            }
            let (own, theirs) = (plain(&item.challenge), plain(&other.challenge));
            if !own.iter().all(|word| theirs.contains(word)) {
                tried += 1;
                let out = item.grade("challenge", &other.challenge);
                if out["verdict"] != "incorrect" && out["verdict"] != "incomplete" {
                    bad.push(format!("{} challenge {:?}: {}", item.name(), other.challenge, out["verdict"]));
                }
            }
        }
    }
    assert!(tried > 10_000, "{tried}");
    assert!(bad.is_empty(), "{} of {tried}:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn checklists_are_judged_item_by_item() {
    for (list, item, role, reply, wanted) in [
        ("before-takeoff", 3, "response", "138, 141, 146", "correct"),
        ("before-takeoff", 3, "response", "one three eight, one four one, one four six", "correct"),
        ("before-takeoff", 3, "response", "138, 141, 164", "incorrect"),
        ("before-takeoff", 3, "response", "set", "nonstandard"),
        ("before-takeoff", 1, "challenge", "flaps", "correct"),
        ("before-takeoff", 1, "challenge", "trim", "incorrect"),
        ("landing", 2, "response", "down, three greens", "correct"),
        ("landing", 2, "response", "landing gear down three greens", "correct"),
        ("landing", 2, "response", "up", "incorrect"),
        ("landing", 3, "response", "set", "incomplete"),
        ("landing", 6, "response", "standing by", "incorrect"),
        ("after-start", 2, "response", "as required", "nonstandard"),
    ] {
        let line =
            json!({ "checklist": list, "item": item, "role": role, "values": values(false), "reply": reply });
        assert_eq!(grade(&line)["verdict"], wanted, "{list} {item} {reply}: {}", grade(&line));
    }
}

#[test]
fn what_is_near_a_call_is_told_from_it() {
    let levels = || json!({ "level": "FL110", "passing": "FL100" });
    let taxi = || json!({ "route": "B", "rwy": "27L" });
    let none = || json!({});
    for (cue, role, operator, values, reply, wanted) in [
        ("to-100", "call", "default", none(), "hundred knots", "correct"),
        ("to-100", "call", "default", none(), "eighty knots", "incorrect"),
        ("to-100", "call", "larkspur", none(), "eighty knots", "correct"),
        ("to-pos", "call", "default", none(), "captain, positive climb", "correct"),
        ("to-pos", "call", "default", none(), "positve climb", "correct"),
        ("to-pos", "call", "default", none(), "not positive climb", "incorrect"),
        ("to-pos", "reply", "default", none(), "gear down", "incorrect"),
        ("to-pos", "reply", "default", none(), "gear up, gear down", "incorrect"),
        ("to-pos", "reply", "default", none(), "gear", "incomplete"),
        ("to-pos", "reply", "default", none(), "roger", "incomplete"),
        ("to-v1", "call", "default", none(), "v2", "incorrect"),
        ("to-v1", "call", "default", none(), "vee one", "correct"),
        ("to-thrust", "reply", "default", none(), "roger", "nonstandard"),
        ("lu-rwy", "call", "default", json!({ "rwy": "27" }), "runway two seven left confirmed", "incorrect"),
        ("lu-rwy", "call", "default", json!({ "rwy": "27" }), "runway two seven confirmed", "correct"),
        ("ap-flap", "call", "default", json!({ "flap": "35" }), "flaps thirty five", "correct"),
        ("ap-flap", "call", "default", json!({ "flap": "35" }), "flaps thirty", "incorrect"),
        ("ap-flap", "call", "default", json!({ "flap": "30" }), "flaps three zero", "correct"),
        ("rj-stop", "call", "default", none(), "continue", "incorrect"),
        ("rj-stop", "call", "default", none(), "stop, continue", "incorrect"),
        ("cl-1000", "call", "default", levels(), "passing one zero zero for one one zero", "correct"),
        ("cl-1000", "call", "default", levels(), "passing flight level 100 for flight level 110", "correct"),
        ("cl-1000", "call", "default", levels(), "passing one zero zero for one two zero", "incorrect"),
        ("tx-route", "call", "default", taxi(), "bravo, hold short runway two seven left", "correct"),
        ("tx-route", "call", "default", taxi(), "alfa bravo, hold short runway two seven left", "incorrect"),
        (
            "to-flap",
            "call",
            "default",
            json!({ "flap": 5 }),
            "flaps fifteen, correction, flaps five",
            "correct",
        ),
    ] {
        let line =
            json!({ "cue": cue, "role": role, "operator": operator, "values": values, "reply": reply });
        assert_eq!(grade(&line)["verdict"], wanted, "{cue} {role} {reply}: {}", grade(&line));
    }
}

#[test]
fn a_bad_crew_line_says_what_is_wrong() {
    for (line, wanted) in [
        (json!({ "cue": "to-v11", "reply": "v1" }), "did you mean `to-v1`?"),
        (json!({ "cue": "to-v1", "role": "reply", "reply": "v1" }), "wants no answer"),
        (json!({ "cue": "to-v1", "role": "response", "reply": "v1" }), "call or reply"),
        (json!({ "checklist": "landing", "item": 7, "reply": "on" }), "from 1 to 6"),
        (json!({ "cue": "to-v1", "operator": "nobody", "reply": "v1" }), "unknown operator"),
        (json!({ "cue": "to-v1", "values": ["x"], "reply": "v1" }), "`values` wants an object"),
    ] {
        let out = grade(&line);
        assert!(out["error"].as_str().is_some_and(|e| e.contains(wanted)), "{out}");
    }
}
