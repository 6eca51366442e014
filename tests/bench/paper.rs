//! 500 result files of 100 items each: marked, and the report of the group, with the memory that takes.

#[path = "../paper/sat.rs"]
#[allow(dead_code)]
mod sat;

use hearback::paper::batch::mark_all;
use hearback::paper::group::Group;
use hearback::paper::mark::Marker;
use hearback::paper::report::{ItemInfo, Options, PaperInfo, Ways};
use hearback::paper::show;
use sat::{Person, exam, grammar, sat};
use std::io::Write;
use std::time::{Duration, Instant};

const PEOPLE: usize = 500;
const ROUNDS: usize = 5;

const PAPER: &str = "
format = 1
title = 'A hundred items'
seed = 5
values = 'own'
[[part]]
items = 60
[[part]]
items = 25
airports = ['hvalby', 'kelderwick']
[[part]]
items = 15
calls = ['to-v1', 'to-rotate', 'to-pos']
checklists = ['before-takeoff']
";

fn main() -> std::io::Result<()> {
    let drawn = Instant::now();
    let exam = exam(PAPER);
    let drawn = drawn.elapsed();
    assert_eq!(exam.slots.len(), 100);
    let grammar = grammar();
    let folder = tempfile::tempdir()?;
    let mut files = Vec::new();
    let mut bytes = 0;
    for n in 0..PEOPLE {
        // Every person has a habit of his own: what he leaves out, and how often.
        let says = |number: usize, _: &hearback::paper::item::Item, model: &str| -> Vec<String> {
            match (n * 31 + number * 7) % (5 + n % 9) {
                0 => vec![model.replacen("zero", "one", 1)],
                1 => vec!["say again".to_owned(), model.split(',').next().unwrap_or("").to_owned()],
                2 if number.is_multiple_of(9) => vec![],
                _ => vec![model.to_owned()],
            }
        };
        let name = format!("Person {n}");
        let person =
            Person { name: &name, sitting: 1, key: None, begin: "2026-03-14T09:00:00.000Z", says: &says };
        let text = sat(&exam, &person, &grammar);
        bytes += text.len();
        let path = folder.path().join(format!("{n:03}.jsonl"));
        std::fs::write(&path, text)?;
        files.push(path);
    }
    let marker = Marker { exam: &exam, grammar: &grammar, keyed: false };
    let info = || PaperInfo {
        title: exam.paper.title.clone(),
        standard: exam.paper.standard,
        pass_mark: 75.0,
        fingerprint: exam.paper.fingerprint.clone(),
        items: (1u32..)
            .zip(&exam.slots)
            .map(|(number, slot)| ItemInfo {
                number,
                skill: slot.forms[0].skill.clone(),
                title: slot.forms[0].title(&exam.rules, &exam.book),
            })
            .collect(),
    };
    let (mut marks, mut pages, mut length) = (Vec::new(), Vec::new(), 0);
    for _ in 0..ROUNDS {
        let start = Instant::now();
        let mut group = Group::new(info());
        let mut counted = 0;
        let unread = mark_all(marker, &files, None, &(), &mut |marked| {
            counted += usize::from(marked.counts);
            group.add(&marked);
        });
        marks.push(start.elapsed());
        assert_eq!((unread.len(), counted), (0, PEOPLE));
        let start = Instant::now();
        let ways = Ways { drilled: &|_| true, scenarios: &|_| Vec::new() };
        let report = group.report(Options { ranking: true, pseudonyms: false }, ways);
        let text = show::text::page(&report, 80, true, false);
        let page = show::html::page(&report);
        length = page.len();
        assert!(text.contains("Person 1") && page.contains("Person 1"));
        pages.push(start.elapsed());
    }
    let mut out = std::io::stdout().lock();
    let ms = |time: Duration| time.as_secs_f64() * 1000.0;
    let median = |mut times: Vec<Duration>| {
        times.sort();
        times[times.len() / 2]
    };
    writeln!(out, "{PEOPLE} files of 100 items, {:.1} MB", bytes as f64 / 1e6)?;
    writeln!(out, "draw the paper   {:>8.0} ms", ms(drawn))?;
    writeln!(out, "mark all         {:>8.0} ms", ms(median(marks)))?;
    writeln!(out, "report, all ways {:>8.0} ms, page {:.1} MB", ms(median(pages)), length as f64 / 1e6)?;
    if let Ok(status) = std::fs::read_to_string("/proc/self/status") {
        let peak = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or_default();
        writeln!(out, "peak of memory   {}", peak.trim_start_matches("VmHWM:").trim())?;
    }
    out.flush()
}
