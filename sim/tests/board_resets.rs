//! The emulated board on its own timer, reset and broken down in the middle of its work. `tests/run board`
//! builds the images and runs these.
//!
//! A rehearsal arms the machine, lets it feed and resets it at a random instruction, round after round,
//! with the hands left where they were. `STREWN_RESETS=10000` is the long run.

use std::path::{Path, PathBuf};
use strewn::board::{self, Board};
use strewn_link::fuzz::config;
use strewn_link::message::{Answer, Break, Ended, Greeting, Lived, Order, PIN_VALVE, Wires};

/// What a machine may take from its start until its outputs are surely safe.
const SAFE_WITHIN_US: u32 = 50_000;
/// In a rehearsal nobody presses anything anew before this tick.
const FIRST_ACT: u32 = 70;
/// Seeds whose settings have every sensor and switch in some of them.
const SEEDS: u32 = 5;

/// A board that has begun to rehearse.
fn rehearsing(image: &Path, seed: u32) -> Board {
    let (mut board, greeting) = Board::start(image).expect("a board");
    assert_eq!((greeting.starts, greeting.ended), (1, Ended::Power));
    assert!(matches!(board.order(&Order::Set(config(seed))), Ok(Answer::Ready(_))));
    board.tell(&Order::Live(Wires::Rehearsal { seed })).expect("a board that listens");
    board
}

/// The ticks up to the next start, and how that start greets.
fn round(board: &Board) -> (Vec<Lived>, Greeting) {
    let mut ticks = Vec::new();
    loop {
        match board.answer().expect("an answer") {
            Answer::Lived(lived) => ticks.push(lived),
            Answer::Greeting(greeting) => return (ticks, greeting),
            other => panic!("{other:?}"),
        }
    }
}

/// Nothing is let through before somebody acts anew, and that from the first tick on.
fn assert_safe_start(ticks: &[Lived]) {
    assert!(ticks[0].since_start_us <= SAFE_WITHIN_US, "{:?}", ticks[0]);
    for lived in ticks.iter().take_while(|lived| lived.tick < FIRST_ACT) {
        assert!(lived.pins == 0 && !lived.outputs.enable && lived.outputs.valve == 0, "{lived:?}");
    }
}

#[test]
#[ignore = "needs QEMU and the board's image: tests/run board"]
fn a_reset_at_any_instruction_leaves_safe_outputs_and_starts_nothing() {
    let image = board::image(None).expect("an image");
    let resets = std::env::var("STREWN_RESETS").ok().and_then(|text| text.parse().ok());
    let resets: u32 = resets.unwrap_or(200);
    let (mut laying, mut within) = (0, 0);
    for seed in 0..SEEDS {
        let board = rehearsing(&image, seed);
        for number in 0..resets / SEEDS {
            let (ticks, greeting) = round(&board);
            assert_safe_start(&ticks);
            assert_eq!((greeting.starts, greeting.found), (number + 2, 0));
            let Ended::Rehearsal { in_step } = greeting.ended else { panic!("{greeting:?}") };
            within += u32::from(in_step);
            laying += u32::from(ticks.last().is_some_and(|last| last.pins & PIN_VALVE != 0));
        }
    }
    println!("{resets} resets, {laying} with the valve open, {within} in the middle of a step");
    assert!(laying > resets / 10 && within > resets / 10);
}

#[test]
#[ignore = "needs QEMU and an image that obeys Order::Break: tests/run board"]
fn however_the_program_breaks_down_it_starts_safe_and_tells_why() {
    let image = std::env::var_os("STREWN_BREAKING_IMAGE").expect("STREWN_BREAKING_IMAGE");
    let image = PathBuf::from(image);
    for how in [Break::Panic, Break::Fault, Break::Hang] {
        let mut board = rehearsing(&image, 1);
        let mut broken = None;
        for _ in 0..50 {
            // In the middle of laying, unless the reset of this round comes first.
            loop {
                match board.answer().expect("an answer") {
                    Answer::Lived(lived) if lived.pins & PIN_VALVE != 0 => break,
                    Answer::Lived(_) | Answer::Greeting(_) => {}
                    other => panic!("{other:?}"),
                }
            }
            board.tell(&Order::Break(how)).expect("a board that listens");
            let (_, greeting) = round(&board);
            if !matches!(greeting.ended, Ended::Rehearsal { .. }) {
                broken = Some(greeting);
                break;
            }
        }
        let greeting = broken.expect("it broke down");
        assert_eq!(greeting.found, 0, "{greeting:?}");
        match how {
            Break::Panic => assert!(matches!(greeting.ended, Ended::Panic(line) if line > 0)),
            Break::Fault => assert!(matches!(greeting.ended, Ended::Fault(at) if at > 0)),
            Break::Hang => assert_eq!(greeting.ended, Ended::Watchdog),
        }
        let (ticks, _) = round(&board);
        assert_safe_start(&ticks);
    }
}
