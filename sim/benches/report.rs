//! The speed report: world, controller and log measured side by side in one run.
//!
//! `cargo bench -p strewn --bench report` prints it. Times are those of this machine at this moment;
//! the ratios are what counts. Nothing is asserted: a busy machine is no defect.

use std::hint::black_box;
use std::time::Instant;
use strewn::bench::scenario::Scenario;
use strewn::bench::{contest, replay};
use strewn::random::Stream;
use strewn::world::World;
use strewn::world::spec::{Command, Motion};

/// Each figure is the best of this many rounds: the least disturbed one.
const ROUNDS: usize = 5;
const STEPS: u32 = 200_000;

/// Shortest time of a piece of work, s.
fn best(mut work: impl FnMut()) -> f64 {
    (0..ROUNDS)
        .map(|_| {
            let begin = Instant::now();
            work();
            begin.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    // `cargo bench -- --test` only asks whether it runs.
    let scenario = Scenario::parse(Scenario::DEMO).expect("the demonstration is allowed");
    let feed = || contest(&scenario, None, 1, &mut |_| {}).expect("the demonstration feeds");
    let contest_made = feed();
    let replayed = replay(&contest_made.log).expect("its log replays");
    let simulated_s: f64 = contest_made
        .runs
        .iter()
        .filter_map(|run| run.samples.last())
        .map(|sample| sample.time_s)
        .sum();

    let bale = &scenario.bales[0].spec;
    let motion = Motion { speed_m_s: 1.34, engine_turns_s: scenario.tractor.engine_turns_s };
    let command = Command { duty: 0.3, enable: true };
    let world_s = best(|| {
        let mut world = World::new(&scenario.machine, Stream::root(1));
        world.load(bale, 0);
        for _ in 0..STEPS {
            world.step(black_box(command), motion);
        }
        black_box(world.left_kg());
    });
    let replay_s = best(|| {
        black_box(replay(&contest_made.log).expect("its log replays"));
    });
    let contest_s = best(|| {
        black_box(feed());
    });

    let world_ns = world_s / f64::from(STEPS) * 1e9;
    let tick_ns = replay_s / replayed.ticks as f64 * 1e9;
    println!("speed report (best of {ROUNDS} rounds, this machine)");
    println!(
        "  world step of 1 ms                     {world_ns:9.1} ns   {:9.0} x real time",
        1e6 / world_ns
    );
    println!(
        "  controller tick of 10 ms, with its log {tick_ns:9.1} ns   {:9.0} x real time",
        1e7 / tick_ns
    );
    println!(
        "  lockstep, all contenders               {contest_s:9.3} s    {:9.0} x real time ({simulated_s:.0} s simulated)",
        simulated_s / contest_s
    );
    println!("  one world step to one controller tick  {:9.3}", world_ns / tick_ns);
}
