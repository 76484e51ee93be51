//! Whose turn it is: nobody waits for long, whatever the receiver sends.

use crate::Bench;
use proptest::collection::vec;
use proptest::prelude::*;
use strewn_controller::signals::{Quality, Turn, Turns};
use strewn_controller::units::Span;

const TICK: Span = Span::from_millis(10);
const VTG: &str = "$GPVTG,,T,,M,2.6,N,,K,A*09";

/// The turns of ticks with and without a sentence.
fn turns(speaks: &[bool]) -> Vec<Turn> {
    let mut turns = Turns::default();
    speaks.iter().map(|speaks| turns.take(TICK, *speaks)).collect()
}

#[test]
fn hay_ground_and_row_follow_each_other() {
    use Turn::{Ground, Hay, Row, Sentence};
    assert_eq!(turns(&[false; 7]), [Hay, Ground, Row, Hay, Ground, Row, Hay]);
    let speaks = [false, true, true, false, true, false];
    assert_eq!(turns(&speaks), [Hay, Sentence, Ground, Row, Sentence, Hay]);
}

proptest! {
    #[test]
    fn nobody_waits_longer_than_six_ticks(speaks in vec(any::<bool>(), 6..200)) {
        for window in turns(&speaks).windows(6) {
            for turn in [Turn::Hay, Turn::Ground, Turn::Row] {
                prop_assert!(window.contains(&turn), "{turn:?} not in {window:?}");
            }
        }
    }

    #[test]
    fn a_sentence_has_a_tick_of_its_own_and_never_two_on_end(
        speaks in vec(any::<bool>(), 2..200),
    ) {
        let turns = turns(&speaks);
        for (turn, speaks) in turns.iter().zip(&speaks) {
            prop_assert!(*turn != Turn::Sentence || *speaks);
        }
        for (pair, speaks) in turns.windows(2).zip(speaks.windows(2)) {
            prop_assert!(pair != [Turn::Sentence; 2]);
            let read = pair.contains(&Turn::Sentence);
            prop_assert!(read || !speaks[1], "a sentence that could have been read was not");
        }
    }

    /// What one round leaves out the next one accounts for; even and odd ones take turns.
    #[test]
    fn rounds_account_for_all_time(ticks in vec((1..20_000u32, any::<bool>()), 1..200)) {
        let mut turns = Turns::default();
        let (mut passed_us, mut accounted_us, mut even) = (0, 0, false);
        for (tick_us, speaks) in ticks {
            passed_us += tick_us;
            if turns.take(Span::from_micros(tick_us), speaks) == Turn::Hay {
                accounted_us += turns.round().to_micros();
                even = !even;
            }
            prop_assert!(accounted_us <= passed_us);
            prop_assert_eq!(turns.even(), even);
        }
    }
}

#[test]
fn a_round_accounts_for_the_time_since_the_one_before() {
    let mut turns = Turns::default();
    let rounds = [3, 20, 20, 10, 12, 14, 11].map(|tick_ms| {
        turns.take(Span::from_millis(tick_ms), false);
        turns.round().to_micros() / 1_000
    });
    assert_eq!(rounds, [3, 3, 3, 50, 50, 50, 37]);
}

#[test]
fn a_round_accounts_for_no_more_than_a_fifth_of_a_second() {
    let mut turns = Turns::default();
    for tick_ms in [150, 150, 150, 10] {
        turns.take(Span::from_millis(tick_ms), false);
    }
    assert_eq!(turns.round(), Span::from_millis(200));
}

/// Ticks until these have had their turns in this order, from the worst moment on.
fn longest(order: &[Turn], speaks: bool) -> usize {
    let turns = turns(&[speaks; 60]);
    let wait = |from: usize| {
        let seen = |at: usize, turn: &Turn| (at..60).find(|tick| turns[*tick] == *turn);
        order.iter().try_fold(from, seen).map(|last| last + 1 - from)
    };
    (0..20).filter_map(wait).max().expect("all had their turns")
}

/// What the notes on safety say of how late things are seen: ground speed, scale, gauge.
#[test]
fn nothing_is_seen_later_than_the_notes_say() {
    let (hay, ground, row) = (Turn::Hay, Turn::Ground, Turn::Row);
    for (order, ticks) in
        [(&[ground][..], [3, 6]), (&[hay, row], [5, 10]), (&[ground, hay, row], [7, 14])]
    {
        assert_eq!([longest(order, false), longest(order, true)], ticks, "{order:?}");
    }
}

/// One tick without waiting for whoever has no turn in it.
fn bare_tick(bench: &mut Bench) -> Turn {
    bench.inputs.now = bench.inputs.now.later_by(TICK);
    let turn = bench.signals.update(&bench.settings, &bench.inputs).turn;
    bench.inputs.sentences.clear();
    turn
}

#[test]
fn only_a_sentence_that_tells_a_speed_has_a_turn() {
    let mut bench = Bench::new();
    for text in ["$GPGGA,120000,,,,,0,,,,,,,,*00", "", "$GP", "VTG"] {
        bench.inputs.sentences.push(text.bytes().collect()).expect("room");
        assert_ne!(bare_tick(&mut bench), Turn::Sentence, "{text}");
    }
    bench.inputs.sentences.push(VTG.bytes().collect()).expect("room");
    bench.inputs.sentences.push("$GPGGA".bytes().collect()).expect("room");
    assert_eq!(bare_tick(&mut bench), Turn::Sentence);
    let speed = bench.tick().speeds.satellite;
    // 2.6 knots.
    assert_eq!((speed.quality, speed.age, speed.value.to_milli()), (Quality::Good, TICK, 1_338));
}
