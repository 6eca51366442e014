//! Time of loading and checking everything that is built in, and of a flight that an airport gives by itself.

use criterion::{Criterion, criterion_group, criterion_main};
use hearback::commands::check;
use hearback::content::Content;
use hearback::crew::CrewBook;
use hearback::element::Standard;
use hearback::grammar::sets::Sets;
use hearback::rules::RuleSet;
use hearback::scenario::draw::draw;
use hearback::scenario::load::Library;
use std::hint::black_box;
use std::sync::Arc;

fn benches(c: &mut Criterion) {
    c.bench_function("load and check everything built in", |b| {
        b.iter(|| {
            let sets = Sets::over(None, Content::none()).expect("it is in order");
            check::Report::of(&[], &sets, Content::none())
        });
    });
    let rules = |standard: Standard| -> Arc<RuleSet> { RuleSet::builtin(standard) };
    let library = Library::new(&rules, CrewBook::builtin().expect("it is in order"));
    c.bench_function("a departure at an airport of 175 nodes", |b| {
        b.iter(|| library.generated(black_box("kelderwick"), "departure"));
    });
    let scenario = library.generated("kelderwick", "departure").expect("it is given");
    let mut seed = 0;
    c.bench_function("draw a departure at an airport of 175 nodes", |b| {
        b.iter(|| {
            seed += 1;
            draw(&scenario, scenario.standard, seed)
        });
    });
}

criterion_group!(all, benches);
criterion_main!(all);
