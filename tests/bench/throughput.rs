//! Graded exchanges per second from a file, on all cores: the published examples over and over.

use hearback::batch;
use hearback::contract::{Builtin, grade_line};
use hearback::judge::judgement::Form;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::time::Instant;

const LINES: usize = 500_000;

fn main() -> std::io::Result<()> {
    let examples: toml::Table = include_str!("../data/worked-examples.toml").parse().expect("TOML");
    let examples = examples["example"].as_array().expect("a list");
    let path = std::env::temp_dir().join(format!("hearback-throughput-{}.jsonl", std::process::id()));
    let mut file = BufWriter::new(File::create(&path)?);
    for i in 0..LINES {
        let e = &examples[i % examples.len()];
        let line = serde_json::json!({
            "id": i.to_string(), "standard": e["standard"], "callsign": e["callsign"], "say": e["say"], "reply": e["reply"],
        });
        writeln!(file, "{line}")?;
    }
    file.flush()?;
    let mut input = File::open(&path)?;
    let start = Instant::now();
    let mut bytes = Vec::with_capacity(LINES * 400);
    batch::run(&mut input, &mut bytes, |line, number, out| {
        grade_line(&Builtin, Form::Strict, line, number, out)
    })?;
    let seconds = start.elapsed().as_secs_f64();
    std::fs::remove_file(&path)?;
    let mut out = std::io::stdout().lock();
    writeln!(out, "{LINES} exchanges in {seconds:.2} s: {:.0} a second", LINES as f64 / seconds)
}
