//! Time of one judgement, one reading, and of compiling a rule set.

use criterion::{Criterion, criterion_group, criterion_main};
use hearback::callsign::Callsign;
use hearback::element::Standard;
use hearback::judge::{Situation, judge};
use hearback::parse::{Speaker, read};
use hearback::rules::RuleSet;
use std::hint::black_box;

const SAY: &str = "Whimbrel two one four, turn left heading two one zero, descend to flight level eight zero, \
                   speed two two zero knots, contact Tarnmoor Approach one one eight decimal seven";
const REPLY: &str = "left heading 210 descend fl80 speed 220 knots approach 118.7 whimbrel 214";

fn benches(c: &mut Criterion) {
    let rules = RuleSet::builtin(Standard::Icao);
    let callsign = Callsign::parse("Whimbrel 214").expect("a callsign");
    let me = Situation { callsign, shortened: false };
    c.bench_function("judge four instructions", |b| {
        b.iter(|| judge(&rules, &me, black_box(SAY), black_box(REPLY)));
    });
    c.bench_function("judge one instruction", |b| {
        let say = "Whimbrel two one four, line up and wait runway zero niner";
        b.iter(|| judge(&rules, &me, black_box(say), black_box("lining up and waiting 09, Whimbrel 214")));
    });
    c.bench_function("read four instructions", |b| {
        b.iter(|| read(&rules, black_box(SAY), Speaker::Controller));
    });
    c.bench_function("load and compile a rule set", |b| {
        b.iter(|| {
            let files = hearback::grammar::builtin_files().iter().map(|f| (f.0, f.1.as_bytes()));
            let book = hearback::grammar::load::load(files, Standard::Icao).expect("sound");
            RuleSet::compile(black_box(book)).map(|_| ()).expect("sound")
        });
    });
}

criterion_group!(all, benches);
criterion_main!(all);
