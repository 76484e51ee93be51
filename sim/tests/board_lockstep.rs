//! The emulated board beside the library. `tests/run board` builds the image and runs these.

use std::path::PathBuf;
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, contest_with};
use strewn::board::{self, Board, BoardError};

/// Steps of each seed; a hundred seeds are a million steps.
const STEPS: u32 = 10_000;
const SEEDS: u32 = 100;

fn start() -> Board {
    let image = board::image(None).expect("an image");
    Board::start(&image).expect("a board").0
}

#[test]
#[ignore = "needs QEMU and the board's image: tests/run board"]
fn a_million_made_up_steps_differ_in_no_bit() {
    let mut board = start();
    let (mut steps, mut laying, mut worst) = (0, 0, 0);
    for seed in 0..SEEDS {
        let tally = board::fuzz(&mut board, seed, STEPS).expect("alike");
        steps += tally.steps;
        laying += tally.laying;
        worst = worst.max(tally.worst);
    }
    assert_eq!(steps, STEPS * SEEDS);
    assert!(laying > steps / 10, "only {laying} of {steps} laid hay");
    println!("{steps} steps, {laying} laying, 0 differing bits; the dearest: {worst} instructions");
}

#[test]
#[ignore = "needs QEMU and the board's image: tests/run board"]
fn a_feeding_differs_in_no_tick() {
    let scenario = Scenario::parse(Scenario::DEMO).expect("the demonstration");
    let contest =
        contest_with(&scenario, None, &MachineFile::default(), &[], 1, &mut |_| {}).expect("a run");
    let alike = board::lockstep(&mut start(), &contest.log, &mut |_| {}).expect("alike");
    assert!(alike.ticks > 1_000, "{alike:?}");
    println!("{alike:?}");
}

#[test]
fn an_image_that_is_not_there_is_told() {
    let nowhere = PathBuf::from("no/such/image");
    assert!(
        matches!(board::image(Some(&nowhere)), Err(BoardError::NoImage(path)) if path == nowhere)
    );
}
