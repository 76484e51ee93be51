//! To the bit: on which side of an exact comparison each answer lies, and at which end of a count.
//!
//! What a flipped comparison or a lost constant would change and no story told.

use crate::machine::{HELD, Machine};
use strewn_controller::safety::{Condition, Gate, Permit, Phase, is_standing};
use strewn_controller::settings::SafetyConfig;
use strewn_controller::units::{Duty, Span, TurnRate, Turns};
use strewn_controller::wires::{Frame, Inputs, SwitchBits};

/// The speed of the wheels beside that of the ground.
fn wheels(mm_s: u16) -> Frame {
    let [low, high] = mm_s.to_le_bytes();
    Frame { id: 0x0CFE_4845, data: [low, high, 0, 0, 0, 0, 0, 0xFD] }
}

/// What two sources of speed lead to within four seconds.
fn cause_at(ground_mm_s: u16, wheels_mm_s: u16) -> Option<Condition> {
    let mut machine = Machine::laying();
    machine.bus_mm_s = Some(ground_mm_s);
    machine.frames = vec![wheels(wheels_mm_s)];
    machine.run(4.0);
    machine.outputs.view.cause
}

#[test]
fn speeds_that_differ_by_just_what_they_may_do_not_disagree() {
    // 40 % of 1.2 m/s and 0.4 m/s more, to the bit.
    assert_eq!(cause_at(1_200, 320), None);
    assert_eq!(cause_at(1_200, 319), Some(Condition::SpeedsDisagree));
}

#[test]
fn half_the_least_speed_is_not_yet_standing_beside_a_source_that_moves() {
    // The tractor counts as standing below 0.2 m/s.
    assert_eq!(cause_at(300, 100), None);
    assert_eq!(cause_at(300, 99), Some(Condition::SpeedsDisagree));
}

#[test]
fn a_tenth_of_a_metre_a_second_backwards_is_no_reversing_and_more_is() {
    for (mm_s, cause) in [(100, Condition::GroundStopped), (101, Condition::Reversing)] {
        let mut machine = Machine::laying();
        (machine.bus_mm_s, machine.reverse) = (Some(mm_s), true);
        machine.ticks_to_stop(60);
        assert_eq!(machine.outputs.view.cause, Some(cause), "{mm_s} mm/s");
    }
}

#[test]
fn rollers_at_the_standing_speed_turn() {
    let settings = SafetyConfig::TYPICAL.build().expect("allowed");
    let below = TurnRate::from_bits(settings.standing.to_bits() - 1);
    assert!(!is_standing(&settings, settings.standing) && is_standing(&settings, below));
}

/// The gate by itself, its windows 7/64 s long, each edge 1/128 turn; whether the last window was too fast.
fn too_fast(begins_at: u32, edges_a_window: u32) -> bool {
    let settings = SafetyConfig::TYPICAL.build().expect("allowed");
    let all = SwitchBits::PRESENT | SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
    let mut inputs = Inputs { switches: SwitchBits(all | HELD), ..Inputs::default() };
    let mut gate = Gate::default();
    inputs.rollers[0].count = begins_at;
    let (tick, edge) = (Span::from_micros(15_625), Turns::from_bits(Turns::ONE.to_bits() / 128));
    for number in 0..8 {
        // All edges of the window come in its last tick.
        inputs.rollers[0].count += if number == 7 { edges_a_window } else { 0 };
        gate.pass(&settings, edge, Permit::Lay, Duty::ONE, &inputs, tick);
    }
    gate.saw_too_fast()
}

#[test]
fn rollers_at_their_very_limit_are_not_too_fast_and_an_edge_more_is() {
    // 4.5 turns/s for 7/64 s are 63 edges, and one more may fall into any window.
    assert!(!too_fast(0, 64));
    assert!(too_fast(0, 65));
}

#[test]
fn edges_from_before_the_gate_began_to_count_are_none_of_its_own() {
    assert!(!too_fast(1_000_000, 3));
}

#[test]
fn a_pulse_that_was_not_answered_fails_the_test_in_the_tick_after_it() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    machine.run_while(20, |machine| machine.outputs.valve == 0);
    machine.held_supply = Some(0);
    machine.run_while(20, |machine| machine.outputs.valve != 0);
    assert_eq!(machine.outputs.view.cause, Some(Condition::ValveTestFailed));
    assert_eq!(machine.phase(), Phase::Latched);
}

/// A belt of hay that leaves by fits: nothing for 60 kg of what is expected, then all of it at once.
#[test]
fn hay_that_leaves_by_fits_within_what_is_expected_is_no_wrap() {
    let mut machine = Machine::laying();
    // The scale has settled: its jump is no hay, and the account goes on without it.
    machine.run(1.0);
    let mut shown = 400.0;
    for fit in 0..4 {
        machine.held_kilograms = Some(shown);
        machine.run(8.0);
        assert_eq!(machine.phase(), Phase::Laying, "fit {fit}: {:?}", machine.outputs.view.cause);
        shown -= 50.0;
    }
}

/// The tractor jolts as the row begins: what the scale shows then is not what hay is counted from.
#[test]
fn a_jolt_at_the_start_of_a_row_is_no_wrap() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.press(SwitchBits::ARM);
    machine.switches |= HELD;
    machine.run_while(20, |machine| machine.phase() != Phase::Laying);
    machine.held_kilograms = Some(415.0);
    machine.run(0.3);
    machine.held_kilograms = None;
    machine.run(30.0);
    assert_eq!(machine.phase(), Phase::Laying, "{:?}", machine.outputs.view.cause);
}
