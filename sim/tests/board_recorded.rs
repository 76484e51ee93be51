//! Recorded ticks of campaigns through the emulated board and the library. `tests/run board` builds the
//! image and runs these; `STREWN_BOARD_JOBS=0..600` makes it other jobs, for a long run.

mod budget;
mod runs;

use std::ops::Range;
use strewn::bench::scenario::Scenario;
use strewn::bench::{Live, MachineFile, log_of};
use strewn::board;
use strewn::rivals::Law;
use strewn::stops::recording;
use strewn::study::evaluation::Evaluation;
use strewn::study::population::Population;

/// Everything here is drawn from it; not one of those kept for evaluation.
const SEED: u64 = 20_250_106;
/// Each job is the beginning of a bale and a trial with a fault.
const JOBS: Range<u32> = 0..8;
/// Ticks of a bale: arming, the start, and a minute and a half of feeding.
const TICKS: usize = 12_000;
/// Rows of the grid of faults are taken so far apart that a few jobs reach many wires, kinds and moments.
const STRIDE: u64 = 1_009;

/// The first ticks of a drawn bale with the sensors of one of the sets.
fn bale(number: u32) -> (String, Vec<u8>) {
    let sets = Evaluation::parse(Evaluation::TEXT).expect("the evaluation").sets;
    let population = Population::parse(Population::USUAL).expect("the usual population");
    let drawn = population.lot(SEED, number);
    let mut scenario = Scenario::parse(&drawn.text).expect("a scenario");
    let set = &sets[number as usize % sets.len()];
    set.fit(&mut scenario);
    let machine = MachineFile::default();
    let mut live = Live::new(&scenario, Law::Controller, &machine, drawn.seed).expect("a run");
    let mut wires = Vec::new();
    while wires.len() < TICKS && !live.is_over() {
        live.tick(None);
        wires.push(live.inputs().clone());
    }
    let log = log_of(&scenario, drawn.seed, live.config(), &wires).expect("a log");
    (set.name.clone(), log)
}

#[test]
#[ignore = "needs QEMU and the board's image: tests/run board"]
fn ticks_of_campaigns_differ_in_no_bit() {
    let image = board::image(None).expect("an image");
    let jobs = runs::numbers("STREWN_BOARD_JOBS", JOBS);
    let mut costs = runs::Costs::default();
    for job in jobs.clone() {
        let (set, bale) = bale(job);
        let trial = recording(SEED, u64::from(job) * STRIDE).expect("a trial");
        for (what, log) in [(set, bale), (trial.row.name(), trial.log)] {
            let tally = board::recorded(&image, &log);
            let tally = tally.unwrap_or_else(|error| panic!("job {job}, {what}: {error}"));
            costs.add(&tally);
        }
        if (job + 1).is_multiple_of(50) {
            println!("jobs {jobs:?} up to {job}: {} steps, 0 differing bits", costs.steps);
        }
    }
    assert!(costs.steps > 10_000 * jobs.len() as u64, "only {} steps", costs.steps);
    assert!(costs.laying > costs.steps / 4, "only {} of {} laid hay", costs.laying, costs.steps);
    costs.hold();
}
