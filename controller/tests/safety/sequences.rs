//! Any sequence of ticks: whatever the wires say, in any order and after any time.

use crate::machine::Machine;
use crate::sequence::{Fit, Judge, Piece, run};
use proptest::collection::vec;
use proptest::prelude::*;
use strewn_controller::safety::Phase;
use strewn_controller::units::Instant;
use strewn_controller::wires::*;

fn fit() -> impl Strategy<Value = Fit> {
    (0..64u8, any::<bool>(), 11..=100u8, 1..=30u8, 10..=100u8).prop_map(
        |(fitted, pauses, tick_limit_ms, arming_s, duty_limit)| Fit {
            fitted,
            pauses,
            tick_limit_ms,
            arming_s,
            duty_limit,
        },
    )
}

/// Pieces of a sequence; their hands follow one another in the order of a start.
fn pieces() -> impl Strategy<Value = Vec<Piece>> {
    let tick_us = prop_oneof![
        60 => Just(10_000u64), 1 => Just(0), 1 => 0..40_000u64, 1 => 0..1_000_000u64
    ];
    let jump_us = prop::option::weighted(0.01, any::<u64>());
    let flip =
        prop_oneof![9 => Just(0u16), 1 => any::<u16>(), 2 => (0..16u32).prop_map(|bit| 1 << bit)];
    let feedback = prop::option::weighted(0.02, 0..4_096u16);
    let edges = || prop_oneof![30 => Just(None), 1 => (0..9u32).prop_map(Some), 1 => any::<u32>().prop_map(Some)];
    let speed = prop_oneof![9 => Just(1_341u16), 1 => any::<u16>(), 1 => Just(0)];
    let frame = prop::option::weighted(0.05, (any::<u32>(), any::<[u8; 8]>()));
    let pressure = prop_oneof![9 => 800..1_500u16, 1 => 0..4_096u16];
    let weigh = prop_oneof![9 => Just(500_000), 1 => any::<i32>()];
    let piece = (
        (1..60u32, tick_us, jump_us, flip),
        (pressure, prop::bool::weighted(0.02), feedback.clone(), feedback),
        (edges(), edges(), speed, prop::bool::weighted(0.03), frame, weigh),
    );
    vec(piece, 1..80).prop_map(|pieces| {
        let made = pieces.into_iter().zip((0..5u8).cycle()).map(|(drawn, hands)| {
            let ((ticks, tick_us, jump_us, flip), analog, rest) = drawn;
            let (pressure, reference_off, coil, supply) = analog;
            let (one, two, ground_mm_s, silent_bus, frame, weigh) = rest;
            Piece {
                ticks,
                tick_us,
                jump_us,
                hands,
                flip,
                pressure,
                reference_off,
                coil,
                supply,
                edges: [one, two],
                ground_mm_s,
                silent_bus,
                frame,
                weigh,
            }
        });
        made.collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_sequence_of_ticks_moves_anything_without_the_two_acts(fit in fit(), pieces in pieces()) {
        run(fit, &pieces).map_err(TestCaseError::fail)?;
    }
}

/// Beside it: such sequences do reach motion, so that the judge has something to judge.
#[test]
fn undisturbed_sequences_do_lay() {
    for fitted in [0, 63] {
        let pieces: Vec<_> =
            (0..5).cycle().take(20).map(|hands| Piece { hands, ..Piece::CALM }).collect();
        let laid = run(Fit { fitted, ..Fit::ALL }, &pieces).expect("allowed");
        assert!(laid > 100, "{laid} ticks");
    }
}

/// The judge catches what it is there for: outputs that a broken controller could give.
#[test]
fn the_judge_catches_planted_defects() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.lay();
    let (inputs, sound) = (machine.inputs.clone(), machine.outputs);
    let safety = machine.settings.safety;
    let now_us = inputs.now.to_micros();
    let begun = || Judge::of_a_row(&safety, now_us - 10_000);
    let fresh = || Judge::new(&safety);
    assert_eq!(begun().tick(&inputs, &sound), Ok(()));
    let with =
        |bits: u16| Inputs { switches: SwitchBits(inputs.switches.0 & !bits), ..inputs.clone() };
    let at = |now_us: u64| Inputs { now: Instant::from_micros(now_us), ..inputs.clone() };
    let showing = |phase: Phase| {
        let mut outputs = sound;
        outputs.view.phase = phase;
        outputs
    };
    let isolated = || {
        let mut judge = begun();
        let isolated =
            Outputs { valve: 0, enable: false, feed_watchdog: false, ..showing(Phase::Isolated) };
        judge.tick(&at(now_us - 5_000), &isolated).expect("at rest");
        judge
    };
    let late = |mut judge: Judge| {
        let shut =
            Outputs { valve: 0, enable: false, feed_watchdog: false, ..showing(Phase::Latched) };
        judge.tick(&at(now_us - 1_000), &shut).expect("at rest");
        judge
    };
    let idle = Outputs { valve: 0, enable: false, ..showing(Phase::Resting) };
    let pulse = Outputs { valve: 1_600, ..showing(Phase::Testing) };
    let cases = [
        (begun(), with(SwitchBits::STOP_CLEAR_A), sound, "deaf to stop A"),
        (begun(), with(SwitchBits::STOP_CLEAR_B), sound, "deaf to stop B"),
        (begun(), with(SwitchBits::PRESENT), sound, "deaf to presence"),
        (begun(), with(SwitchBits::GUARD_SHUT), sound, "deaf to the guard"),
        (begun(), with(SwitchBits::RUN), sound, "deaf to the run switch"),
        (begun(), with(SwitchBits::RUN_B), sound, "deaf to its second contact"),
        (fresh(), inputs.clone(), sound, "starts with run alone"),
        (begun(), inputs.clone(), Outputs { enable: false, ..sound }, "valve without enable"),
        (begun(), inputs.clone(), Outputs { valve: -5, ..sound }, "reverse"),
        (begun(), inputs.clone(), showing(Phase::Resting), "moves at rest"),
        (begun(), inputs.clone(), showing(Phase::Paused), "moves in a pause"),
        (begun(), at(now_us + 40_000), sound, "goes on in a late tick"),
        (begun(), at(now_us - 10_000), sound, "goes on when the clock stands"),
        (begun(), at(now_us - 90_000), sound, "goes on when the clock runs back"),
        (begun(), at(now_us + 40_000), idle, "feeds the watchdog in a late tick"),
        (late(begun()), inputs.clone(), sound, "goes on by itself after a stop"),
        (isolated(), inputs.clone(), sound, "goes on when isolated"),
        (isolated(), inputs.clone(), idle, "is no longer isolated"),
        (fresh(), with(SwitchBits::RUN), pulse, "tests without the first act"),
        (
            begun(),
            with(SwitchBits::RUN),
            Outputs { valve: 1_700, ..pulse },
            "a pulse beyond the test",
        ),
    ];
    for (mut judge, inputs, outputs, defect) in cases {
        assert!(judge.tick(&inputs, &outputs).is_err(), "{defect}");
    }
}
