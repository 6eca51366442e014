//! Spoken numbers against an outside library: `airwer` from PyPI, which reads numbers out of radio transcripts.
//!
//! Recipe of the check: `numeric_wer(what we say, what we typed) == 0` for each pair. Where Python or the
//! package is missing the test says so and compares nothing; `.ci/run` installs it.

use hearback::element::{Element, Standard};
use hearback::text::speak::spoken;
use std::io::Write;
use std::process::{Command, Stdio};

const SCRIPT: &str = r#"
import json, sys
try:
    import airwer
except ImportError:
    print("missing"); sys.exit(0)
bad = []
for said, typed in json.load(sys.stdin):
    if airwer.numeric_wer(said, typed) != 0:
        bad.append([said, typed])
print(json.dumps(bad))
"#;

#[test]
fn an_outside_library_hears_the_numbers_we_say() {
    let mut pairs: Vec<(String, String)> = Vec::new();
    let mut add = |standard, element, canonical: &str, typed: String| {
        pairs.push((spoken(standard, element, canonical), typed));
    };
    for degrees in (5..=360).step_by(5) {
        add(Standard::Icao, Element::Heading, &format!("{degrees:03}"), format!("heading {degrees:03}"));
    }
    for level in (110..=400).step_by(10).filter(|l| l % 100 != 0) {
        add(Standard::Us, Element::Level, &format!("FL{level}"), format!("flight level {level}"));
    }
    for runway in 10..=36 {
        add(Standard::Icao, Element::Runway, &format!("{runway}L"), format!("runway {runway} left"));
    }
    for code in [1234u32, 2401, 4203, 6512, 7654] {
        add(Standard::Icao, Element::Squawk, &code.to_string(), code.to_string());
    }
    for pressure in [993, 1008, 1013, 1027] {
        add(Standard::Icao, Element::Altimeter, &format!("{pressure}hPa"), format!("QNH {pressure}"));
    }
    let child =
        Command::new("python3").args(["-c", SCRIPT]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let Ok(mut child) = child else {
        println!("skipped: no python3 here, nothing was compared with the outside library");
        return;
    };
    let input = serde_json::to_vec(&pairs).expect("pairs of strings");
    child.stdin.take().expect("piped").write_all(&input).expect("the script reads all");
    let out = child.wait_with_output().expect("the script ends");
    let text = String::from_utf8_lossy(&out.stdout);
    if text.trim() == "missing" {
        println!("skipped: airwer is not installed, nothing was compared with the outside library");
        return;
    }
    assert_eq!(text.trim(), "[]", "of {} pairs these are heard otherwise", pairs.len());
}
