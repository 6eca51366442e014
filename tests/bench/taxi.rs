//! Time of reading an airport of 5,000 nodes, and of a route across it.

#[path = "../airports/big.rs"]
mod big;

use criterion::{Criterion, criterion_group, criterion_main};
use hearback::airport::load::load_airport;
use hearback::airport::network::Prefer;
use std::hint::black_box;

fn benches(c: &mut Criterion) {
    let text = big::airport();
    let load =
        || load_airport("big.toml", black_box(text.as_bytes())).ok().and_then(|airport| airport.layout);
    let layout = load().expect("it has no problems");
    for (name, prefer) in [("distance", Prefer::Distance), ("turns", Prefer::Turns), ("usual", Prefer::Usual)]
    {
        c.bench_function(&format!("route across 5000 nodes by {name}"), |b| {
            b.iter(|| layout.network.route(black_box("496"), "A1", prefer, Some('C')));
        });
    }
    c.bench_function("load and route 5000 nodes", |b| {
        b.iter(|| load().and_then(|layout| layout.route("496", "A1")));
    });
}

criterion_group!(all, benches);
criterion_main!(all);
