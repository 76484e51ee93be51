//! How fast a whole feeding runs: world, instruments, driver and controller in lockstep, all
//! contenders one after another, and the controller's log.
//!
//! The throughput is in simulated milliseconds: elements a second over a thousand is the ratio of
//! simulated to real time.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use std::hint::black_box;
use strewn::bench::scenario::Scenario;
use strewn::bench::{Contest, contest};

fn one_bale(criterion: &mut Criterion) {
    let scenario = Scenario::parse("").expect("a scenario may be empty");
    let feed = || contest(black_box(&scenario), None, 1, &mut |_| {}).expect("it can be fed");
    let mut group = criterion.benchmark_group("lockstep");
    group.sample_size(20).throughput(Throughput::Elements(simulated_ms(&feed())));
    group.bench_function("one bale", |bencher| bencher.iter(&feed));
    group.finish();
}

/// Time that all contenders took together, in their world.
fn simulated_ms(contest: &Contest) -> u64 {
    let ends = contest.runs.iter().filter_map(|run| run.samples.last());
    ends.map(|sample| (sample.time_s * 1000.0) as u64).sum()
}

criterion_group!(benches, one_bale);
criterion_main!(benches);
