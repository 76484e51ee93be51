//! The emulated board beside the library. `tests/run board` builds the image and runs these;
//! `STREWN_BOARD_SEEDS=100..10000` makes it other seeds, for a long run.

mod budget;
mod runs;

use std::ops::Range;
use std::path::PathBuf;
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, contest_with};
use strewn::board::{self, Board, BoardError};

/// Steps of each seed; a hundred seeds are a million steps.
const STEPS: u32 = 10_000;
const SEEDS: Range<u32> = 0..100;

fn start() -> Board {
    let image = board::image(None).expect("an image");
    Board::start(&image).expect("a board").0
}

#[test]
#[ignore = "needs QEMU and the board's image: tests/run board"]
fn a_million_made_up_steps_differ_in_no_bit() {
    let (mut board, seeds) = (start(), runs::numbers("STREWN_BOARD_SEEDS", SEEDS));
    let mut costs = runs::Costs::default();
    for seed in seeds.clone() {
        costs.add(&board::fuzz(&mut board, seed, STEPS).expect("alike"));
        if (seed + 1).is_multiple_of(100) {
            println!("seeds {seeds:?} up to {seed}: {} steps, 0 differing bits", costs.steps);
        }
    }
    assert_eq!(costs.steps, u64::from(STEPS) * seeds.len() as u64);
    assert!(costs.laying > costs.steps / 10, "only {} of {} laid hay", costs.laying, costs.steps);
    let median = costs.hold();
    budget::hold("worst_by_median_permille", u64::from(costs.worst) * 1_000 / median);
}

#[test]
#[ignore = "needs QEMU and images built otherwise: tests/run board"]
fn images_built_otherwise_differ_in_no_bit() {
    let images = std::env::var_os("STREWN_OTHER_IMAGES").expect("images in STREWN_OTHER_IMAGES");
    for image in std::env::split_paths(&images) {
        let (mut board, _) = Board::start(&image).expect("a board");
        let mut laying = 0;
        for seed in 0..5 {
            laying += board::fuzz(&mut board, seed, 2_000).expect("alike").laying;
        }
        assert!(laying > 1_000, "only {laying} of 10000 laid hay");
        println!("{}: 10000 steps, {laying} laying, 0 differing bits", image.display());
    }
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
    budget::hold("worst_step_instructions", alike.worst.into());
}

#[test]
fn an_image_that_is_not_there_is_told() {
    let nowhere = PathBuf::from("no/such/image");
    assert!(
        matches!(board::image(Some(&nowhere)), Err(BoardError::NoImage(path)) if path == nowhere)
    );
}
