//! Settings handed over to a board: it keeps them, tells them back, and whatever is cut, harmed or
//! refused, it keeps the old ones or the new ones whole.

mod kept_board;

use kept_board::{Board, Flash, flash_with, kept};
use strewn::hand_over::{Board as AtBoard, HandOverError, changes};
use strewn_controller::safety::Phase;
use strewn_controller::settings::Config;
use strewn_controller::view::View;
use strewn_controller::wires::Outputs;
use strewn_link::fuzz::config;
use strewn_link::keep::VERSION;
use strewn_link::message::{Answer, Kept};

fn old() -> Config {
    config(1)
}

/// Other settings in each floor.
fn new() -> Config {
    let mut new = old();
    new.metering.dead_band_permille += 30;
    new.safety.pressure_limit_kpa -= 500;
    new.signals.reference_lowest_counts -= 1;
    new.tickets[1].bite_g += 250;
    new
}

/// Hands the new settings over and gives what was kept before.
fn hand_over(board: &mut Board<'_>) -> Result<Option<Config>, HandOverError> {
    let mut at = AtBoard::new(board);
    let before = at.ask()?;
    at.keep(&new())?;
    Ok(before)
}

#[test]
fn a_board_keeps_what_it_is_given_and_tells_what_it_had() {
    let mut flash = flash_with(&old());
    assert_eq!(hand_over(&mut Board::starting(&mut flash)).expect("kept"), Some(old()));
    assert_eq!(kept(&flash), Some(new()));
    assert_eq!(hand_over(&mut Board::starting(&mut flash)).expect("kept"), Some(new()));
    let mut flash = Flash::new(3);
    assert_eq!(hand_over(&mut Board::starting(&mut flash)).expect("kept"), None);
    assert_eq!(kept(&flash), Some(new()));
}

#[test]
fn a_machine_at_rest_starts_anew_and_any_other_refuses() {
    let mut flash = flash_with(&old());
    let mut board = Board::running(&mut flash, Outputs::default());
    assert_eq!(hand_over(&mut board).expect("kept"), Some(old()));
    assert_eq!(board.starts, 1);
    assert_eq!(kept(&flash), Some(new()));
    for phase in [Phase::Armed, Phase::Laying, Phase::Paused, Phase::Latched, Phase::Isolated] {
        let mut flash = flash_with(&old());
        let view = View { phase, ..View::default() };
        let mut board = Board::running(&mut flash, Outputs { view, ..Outputs::default() });
        let refusal = hand_over(&mut board).expect_err("refused");
        assert!(matches!(refusal, HandOverError::Busy), "{phase:?}: {refusal}");
        assert_eq!(board.starts, 0);
        assert_eq!(kept(&flash), Some(old()));
    }
}

/// The power goes in each of the operations of which keeping consists, in turn.
#[test]
fn a_power_cut_leaves_the_old_settings_or_the_new_ones() {
    let mut whole = flash_with(&old());
    hand_over(&mut Board::starting(&mut whole)).expect("kept");
    assert!(whole.done > 20, "{} operations", whole.done);
    for left in 0..whole.done {
        let mut flash = Flash { left: Some(left), ..flash_with(&old()) };
        let error = hand_over(&mut Board::starting(&mut flash)).expect_err("cut");
        assert!(matches!(error, HandOverError::Lost), "after {left}: {error}");
        assert_eq!(kept(&flash), Some(old()), "after {left} operations");
        let mut flash = Flash { left: None, ..flash };
        hand_over(&mut Board::starting(&mut flash)).expect("kept after the cut");
        assert_eq!(kept(&flash), Some(new()));
    }
}

/// The line is cut at each byte of the way there, and on the way back.
#[test]
fn a_line_that_breaks_off_changes_nothing_before_the_last_byte() {
    let mut bytes = 0;
    loop {
        let mut flash = flash_with(&old());
        let mut board = Board { cut_after: Some(bytes), ..Board::starting(&mut flash) };
        if hand_over(&mut board).is_ok() {
            break;
        }
        assert_eq!(kept(&flash), Some(old()), "cut after {bytes} bytes");
        bytes += 1;
    }
    assert!(bytes > 200, "cut at {bytes} places only");
}

#[test]
fn what_goes_wrong_is_told_by_name() {
    let mut flash = flash_with(&old());
    let error = hand_over(&mut Board::off()).expect_err("off");
    assert!(matches!(error, HandOverError::Silent), "{error}");
    let mut board = Board { noisy: true, ..Board::starting(&mut flash) };
    let error = hand_over(&mut board).expect_err("noise");
    assert!(matches!(error, HandOverError::Damaged), "{error}");
    let others = [
        (Answer::Holds(Kept { version: VERSION + 1, bytes: Default::default() }), "of version 2"),
        (Answer::Refused, "another version of strewn"),
    ];
    for (answer, words) in others {
        let mut board = Board { instead: Some(answer), ..Board::starting(&mut flash) };
        let error = hand_over(&mut board).expect_err("another version").to_string();
        assert!(error.contains(words), "no {words:?} in: {error}");
    }
    assert_eq!(kept(&flash), Some(old()));
}

/// A board that keeps something else than it was sent, or does not want it.
#[test]
fn what_is_read_back_is_compared() {
    let mut flash = flash_with(&old());
    let bytes = postcard::to_stdvec(&old()).expect("settings").into_iter().collect();
    let other = Answer::Kept(Kept { version: VERSION, bytes });
    for (answer, wanted) in
        [(other, "not what was sent"), (Answer::Refused, "refuses these settings")]
    {
        let board = Board { instead: Some(answer), ..Board::starting(&mut flash) };
        let error = AtBoard::new(board).keep(&new()).expect_err("compared").to_string();
        assert!(error.contains(wanted), "no {wanted:?} in: {error}");
    }
}

/// Settings out of their range do not pass the board's own check.
#[test]
fn a_board_takes_no_settings_that_are_not_allowed() {
    let mut flash = flash_with(&old());
    let mut wrong = new();
    wrong.metering.dead_band_permille = 5_000;
    let error = AtBoard::new(Board::starting(&mut flash)).keep(&wrong).expect_err("refused");
    assert!(matches!(error, HandOverError::Refused), "{error}");
    assert_eq!(kept(&flash), Some(old()));
}

#[test]
fn changes_are_told_in_words() {
    let told = changes(Some(&old()), &new());
    assert_eq!(told.len(), 4, "{told:?}");
    assert!(told[0].starts_with("metering dead_band_permille from 150 to 180 - "), "{told:?}");
    assert!(
        told[1].starts_with("safety pressure_limit_kpa from 19000 to 18500 - Highest pressure")
    );
    assert_eq!(
        told[2],
        "signals reference_lowest_counts from 1988 to 1987 - Lowest counts of the reference voltage."
    );
    assert_eq!(told[3], "tickets 2 bite_g from 6500 to 6750");
    assert_eq!(changes(Some(&old()), &old()), Vec::<String>::new());
    let mut fewer = old();
    fewer.signals.pressure = None;
    let told = changes(Some(&fewer), &old());
    assert!(
        told.contains(
            &"signals pressure second_kpa is 25000 - What is measured at the second point."
                .to_owned()
        ),
        "{told:?}"
    );
    assert!(
        changes(Some(&old()), &fewer).contains(
            &"signals pressure second_kpa is no more - What is measured at the second point."
                .to_owned()
        )
    );
    assert!(changes(None, &old()).len() > 60);
}
