//! A record of 100,000 attempts: its size, how long it takes to open it, to keep one more, and to show progress.

#[path = "../record/sample.rs"]
#[allow(dead_code)]
mod sample;

use hearback::element::{Element, Severity, Standard};
use hearback::progress::{Report, html, text};
use hearback::record::entry::{Entry, Part};
use hearback::record::{DEFAULT_PROFILE, Record, moment};
use hearback::rules::RuleSet;
use jiff::{Span, Timestamp};
use std::io::Write;
use std::time::{Duration, Instant};

const ATTEMPTS: usize = 100_000;
const ROUNDS: usize = 15;

fn main() -> std::io::Result<()> {
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("record.db");
    let begin = moment::parse("2025-01-06T08:00:00Z").expect("a moment");
    let topics: Vec<String> =
        RuleSet::builtin(Standard::Icao).topics.iter().map(|topic| topic.id.clone()).collect();
    let mut record = Record::open(&file).expect("it opens").record;
    let start = Instant::now();
    for block in 0..ATTEMPTS / 10_000 {
        let entries: Vec<Entry> = (0..10_000).map(|n| attempt(block * 10_000 + n, begin, &topics)).collect();
        assert_eq!(record.add_all(&entries).expect("kept"), entries.len());
    }
    let made = start.elapsed();
    let elements: usize = record.reviews(DEFAULT_PROFILE).expect("read").len();
    let one = median(|| {
        record.add(&attempt(ATTEMPTS, begin, &topics)).expect("kept");
    });
    drop(record);
    let size = std::fs::metadata(&file)?.len();
    let write = median(|| drop(Record::open(&file).expect("it opens")));
    let read = median(|| drop(Record::read(&file).expect("it opens")));
    let progress = median(|| {
        let record = Record::read(&file).expect("it opens").expect("it is there");
        let report = Report::of(&record, DEFAULT_PROFILE, None).expect("read");
        assert!(text::page(&report, text::Look::default()).contains("By element"));
    });
    let page = median(|| {
        let record = Record::read(&file).expect("it opens").expect("it is there");
        let report = Report::of(&record, DEFAULT_PROFILE, None).expect("read");
        assert!(html::page(&report).contains("By element"));
    });
    let mut out = std::io::stdout().lock();
    let ms = |time: Duration| time.as_secs_f64() * 1000.0;
    writeln!(
        out,
        "{ATTEMPTS} attempts, {elements} elements of first replies, made in {:.1} s",
        made.as_secs_f64()
    )?;
    writeln!(out, "file             {:>8.1} MB", size as f64 / 1e6)?;
    writeln!(out, "keep one more    {:>8.2} ms", ms(one))?;
    writeln!(out, "open to write    {:>8.2} ms", ms(write))?;
    writeln!(out, "open to read     {:>8.2} ms", ms(read))?;
    writeln!(out, "progress         {:>8.1} ms", ms(progress))?;
    writeln!(out, "progress --html  {:>8.1} ms", ms(page))
}

/// The median of some rounds.
fn median(mut run: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[ROUNDS / 2]
}

/// Four elements of two topics on average, a flight of some minutes after the other, over two years.
fn attempt(n: usize, begin: Timestamp, topics: &[String]) -> Entry {
    let at = begin + Span::new().minutes(10 * i64::try_from(n).expect("few"));
    let mixed = n.wrapping_mul(2_654_435_761) >> 7;
    let elements = [Element::Instruction, Element::Runway, Element::Level, Element::Heading, Element::Squawk];
    let part = |k: usize| {
        let topic = &topics[(mixed + k / 2) % topics.len()];
        let right = !(mixed >> k).is_multiple_of(8);
        Part {
            element: elements[(mixed + k) % elements.len()],
            value: format!("{}", 100 + mixed % 360),
            phrase: Some(format!("{topic}.phrase")),
            topic: Some(topic.clone()),
            right,
            severity: (!right).then_some(if k == 1 { Severity::Critical } else { Severity::Major }),
        }
    };
    Entry {
        first: !n.is_multiple_of(5),
        first_key_ms: Some(800 + u32::try_from(mixed % 5000).expect("small")),
        elements: (0..2 + n % 5).map(part).collect(),
        ..sample::wrong_runway(&moment::text(at))
    }
}
