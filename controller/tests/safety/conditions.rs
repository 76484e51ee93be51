//! Every row of the table of conditions: what brings it, how soon, what is done, what clears it.
//!
//! Behind them stand: operator presence (exit reason 1 of ISO 11783-7 and ISO 4254-1, practice from
//! memory), the stop button for all implements (ISO 11783-7, group 0xFD02), no start after a reset
//! (ISO 13850:2015, second-hand), speed not valid above 64,255 (ISO 11783-7). No conformity is claimed.

use crate::machine::{HELD, Machine, SEATED, config};
use strewn_controller::safety::{Condition, Phase, Response, TABLE};
use strewn_controller::settings::SafetyConfig;
use strewn_controller::step::step;
use strewn_controller::units::Instant;
use strewn_controller::wires::{Frame, Inputs, Outputs, SwitchBits};

fn bus_stop(state: u8) -> Frame {
    Frame { id: 0x0CFD_0226, data: [0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 1, 0xFC | state] }
}

type Bring = fn(&mut Machine);

/// What brings a condition about while hay is laid, and within how many ticks it must have stopped.
fn stories() -> Vec<(Condition, u64, Bring)> {
    use Condition as C;
    vec![
        (C::RunReleased, 1, |m| m.switches &= !HELD),
        (C::GroundStopped, 60, |m| m.bus_mm_s = Some(0)),
        (C::NothingLeaves, 4_000, |m| m.held_kilograms = Some(480.0)),
        (C::SwitchesContradict, 11, |m| m.switches |= SwitchBits::ARM),
        (C::RunSwitchBroken, 1, |m| m.switches &= !SwitchBits::RUN_B),
        (C::SpeedsDisagree, 320, |m| {
            // The wheels spin: 3 m/s.
            m.frames = vec![Frame { id: 0x0CFE_4845, data: [0xB8, 0x0B, 0, 0, 0, 0, 0, 0xFD] }];
        }),
        (C::GroundSpeedLost, 52, |m| m.bus_mm_s = None),
        (C::Reversing, 32, |m| m.reverse = true),
        (C::HitchRaised, 11, |m| m.switches &= !SwitchBits::HITCH_DOWN),
        (C::Tilted, 11, |m| m.switches &= !SwitchBits::LEVEL),
        (C::PressureFrozen, 202, |m| m.frozen_pressure = true),
        (C::RollersNotTurning, 90, |m| m.held_rollers = [Some(0.0); 2]),
        (C::RollersStalled, 60, |m| {
            m.held_rollers = [Some(0.0); 2];
            m.pressure_counts = 2_600; // 16.7 MPa, below the limit of 19
        }),
        (C::RollersDisagree, 60, |m| m.held_rollers = [None, Some(0.0)]),
        (C::RollersAboveAsked, 110, |m| m.held_rollers = [Some(3.0); 2]),
        (C::PressureHigh, 16, |m| m.pressure_counts = 3_300),
        (C::RollersTooFast, 22, |m| m.held_rollers = [Some(6.0); 2]),
        (C::ReferenceLost, 1, |m| m.reference_counts = 0),
        (C::SupplyMissing, 6, |m| m.held_supply = Some(0)),
        (C::CoilOpen, 6, |m| m.held_coil = Some(0)),
        (C::CoilShorted, 1, |m| m.held_coil = Some(4_000)),
        (C::BusStopLost, 400, |m| {
            m.frames = vec![bus_stop(1)];
            m.run(1.0);
            m.frames.clear();
        }),
        (C::BusStop, 11, |m| m.frames = vec![bus_stop(0)]),
        (C::OperatorAway, 1, |m| m.switches &= !SwitchBits::PRESENT),
        (C::GuardOpen, 1, |m| m.switches &= !SwitchBits::GUARD_SHUT),
        (C::StopSwitch, 1, |m| m.switches &= !SwitchBits::STOP_CLEAR_B),
    ]
}

#[test]
fn each_condition_stops_in_its_time_is_named_and_never_goes_on_by_itself() {
    for (condition, within, bring) in stories() {
        let mut machine = Machine::laying();
        bring(&mut machine);
        let ticks = machine.ticks_to_stop(within);
        assert!(ticks <= within, "{condition:?}");
        // Rollers and current follow the command again.
        (machine.held_rollers, machine.held_coil) = ([None; 2], None);
        // Debounced switches name their cause a little after the gate has shut.
        machine.run(0.12);
        let cause = machine.outputs.view.cause;
        assert_eq!(cause, Some(condition));
        for _ in 0..200 {
            let Outputs { valve, enable, .. } = machine.tick();
            assert_eq!((valve, enable), (0, false), "{condition:?}");
        }
        let expected = match condition {
            Condition::RunReleased => Phase::Resting,
            _ => Phase::Latched,
        };
        assert_eq!(machine.phase(), expected, "{condition:?}");
    }
}

#[test]
fn every_other_row_has_its_story() {
    // Told below, in the other story files, or never reached while laying.
    let elsewhere = [
        Condition::RollersBehind,
        Condition::GaugeLost,
        Condition::PressureLost,
        Condition::WeighLost,
        Condition::SpeedSourceLost,
        Condition::MarkReached,
        Condition::CoreUnwatched,
        Condition::RollerPulsesBroken,
        Condition::RollersTurned,
        Condition::ValveTestFailed,
        Condition::TicksSlow,
        Condition::TickLate,
        Condition::ClockBroken,
        Condition::StopSwitchBroken,
        Condition::CoilUnasked,
        Condition::SupplyUnasked,
        Condition::RollersRunOn,
        Condition::MemoryBroken,
    ];
    let told: Vec<_> = stories().iter().map(|story| story.0).chain(elsewhere).collect();
    for row in &TABLE {
        assert_eq!(told.iter().filter(|c| **c == row.condition).count(), 1, "{:?}", row.condition);
    }
}

/// Each row tells the driver its own words, and the time that the failure table states is what it takes to
/// be seen and its patience.
#[test]
fn every_row_is_found_by_its_condition_and_states_its_time() {
    use Condition as C;
    for row in &TABLE {
        assert_eq!(row.condition.row().condition, row.condition);
        assert_eq!(row.condition.words(), row.words);
    }
    let settings = SafetyConfig::TYPICAL.build().expect("allowed");
    let millis = |condition: C| condition.row().within(&settings).to_micros() / 1_000;
    // Typical: coil 50 after it has decayed in 150, supply 50 after 100, rollers at rest in 800.
    let told = [
        (C::StopSwitch, 0),
        (C::PressureHigh, 150),
        (C::CoilOpen, 50),
        (C::CoilUnasked, 200),
        (C::SupplyUnasked, 150),
        (C::SupplyMissing, 150),
        (C::RollersRunOn, 800),
        (C::RollersBehind, 5_000),
    ];
    for (condition, within) in told {
        assert_eq!(millis(condition), within, "{condition:?}");
    }
}

#[test]
fn sensors_that_can_be_done_without_are_carried_on_without_and_named() {
    let lost: [(Condition, Bring); 2] = [
        (Condition::PressureLost, |m| m.pressure_counts = 0),
        (Condition::WeighLost, |m| m.held_kilograms = Some(9_000.0)),
    ];
    for (condition, lose) in lost {
        let mut machine = Machine::laying();
        assert!(machine.outputs.view.carrying_on.rows().next().is_none());
        lose(&mut machine);
        machine.run(5.0);
        assert_eq!(machine.phase(), Phase::Laying);
        assert!(machine.outputs.view.carrying_on.has(condition), "{condition:?}");
        assert_eq!(condition.row().response, Response::CarryOn);
    }
}

#[test]
fn a_second_source_of_speed_takes_over_and_is_named() {
    let mut machine = Machine::laying();
    let wheels = vec![Frame { id: 0x0CFE_4845, data: [0x3D, 5, 0, 0, 0, 0, 0, 0xFD] }];
    machine.frames = wheels;
    machine.run(1.0);
    machine.bus_mm_s = None;
    machine.run(3.0);
    assert_eq!(machine.phase(), Phase::Laying);
    assert!(machine.outputs.view.carrying_on.has(Condition::SpeedSourceLost));
}

#[test]
fn a_guard_opened_at_rest_forbids_arming_and_says_so() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches &= !SwitchBits::GUARD_SHUT;
    machine.press(SwitchBits::ARM);
    assert_eq!(machine.phase(), Phase::Resting);
    assert_eq!(machine.outputs.view.cause, Some(Condition::GuardOpen));
}

#[test]
fn switches_not_fitted_say_nothing() {
    let mut bare = config();
    bare.safety = SafetyConfig::TYPICAL;
    let mut machine = Machine::under(&bare);
    machine.switches =
        SEATED & !(SwitchBits::GUARD_SHUT | SwitchBits::HITCH_DOWN | SwitchBits::LEVEL);
    (machine.held_coil, machine.held_supply) = (Some(4_095), Some(0));
    machine.lay();
}

#[test]
fn what_cannot_be_switched_off_any_more_is_isolated_until_power_goes() {
    let stuck: [(Condition, Bring); 3] = [
        (Condition::CoilUnasked, |m| m.held_coil = Some(1_500)),
        (Condition::SupplyUnasked, |m| m.held_supply = Some(2_700)),
        (Condition::RollersRunOn, |m| m.held_rollers = [Some(0.7); 2]),
    ];
    for (condition, stick) in stuck {
        let mut machine = Machine::laying();
        stick(&mut machine);
        machine.switches &= !HELD;
        machine.run(1.2);
        assert_eq!(machine.phase(), Phase::Isolated, "{condition:?}");
        assert_eq!(machine.outputs.view.cause, Some(condition));
        assert!(!machine.outputs.feed_watchdog);
        (machine.held_coil, machine.held_supply, machine.held_rollers) = (None, None, [None; 2]);
        machine.run(2.0);
        machine.press(SwitchBits::ARM);
        machine.switches |= HELD;
        machine.run(1.0);
        assert_eq!((machine.phase(), machine.outputs.valve), (Phase::Isolated, 0));
    }
}

#[test]
fn a_pause_is_kept_only_while_the_switch_is_held_and_only_where_it_is_set() {
    let mut pausing = config();
    pausing.safety.pause_ms = 3_000;
    let mut machine = Machine::under(&pausing);
    machine.run(0.5);
    machine.lay();
    machine.bus_mm_s = Some(0);
    machine.run(1.5);
    assert_eq!((machine.phase(), machine.outputs.valve), (Phase::Paused, 0));
    assert!(!machine.outputs.enable);
    machine.bus_mm_s = Some(1_341);
    machine.run(1.0);
    assert_eq!(machine.phase(), Phase::Laying);
    assert!(machine.outputs.valve > 0);

    machine.bus_mm_s = Some(0);
    machine.run(1.5);
    machine.switches &= !HELD;
    machine.run(0.1);
    assert_eq!(machine.phase(), Phase::Resting, "let go");
    machine.switches |= HELD;
    machine.bus_mm_s = Some(1_341);
    machine.run(1.0);
    assert_eq!((machine.phase(), machine.outputs.valve), (Phase::Resting, 0));

    machine.switches &= !HELD;
    machine.run(0.5);
    machine.lay();
    machine.bus_mm_s = Some(0);
    machine.run(5.0);
    assert_eq!(machine.phase(), Phase::Latched, "too long");
    machine.bus_mm_s = Some(1_341);
    machine.assert_latched(Condition::GroundStopped);
}

#[test]
fn something_that_turns_the_rollers_at_rest_forbids_the_start_but_isolates_nothing() {
    let mut machine = Machine::new();
    machine.run(1.0);
    machine.held_rollers = [Some(0.5); 2];
    machine.run(3.0);
    machine.press(SwitchBits::ARM);
    assert_eq!(machine.phase(), Phase::Resting);
    assert_eq!(machine.outputs.view.cause, Some(Condition::RollersTurned));
    machine.held_rollers = [None; 2];
    machine.run(1.0);
    machine.lay();
}

#[test]
fn noise_on_a_roller_wire_stops() {
    let mut machine = Machine::laying();
    let mut stopped = false;
    for _ in 0..30 {
        // Two hundred edges that no roller can make.
        machine.inputs.rollers[0].count += 200;
        stopped |= machine.tick().valve == 0;
    }
    assert!(stopped);
    assert!(matches!(
        machine.outputs.view.cause,
        Some(Condition::RollerPulsesBroken | Condition::RollersTooFast)
    ));
}

#[test]
fn the_contacts_of_the_run_switch_may_close_one_after_the_other_and_flutter() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.press(SwitchBits::ARM);
    machine.switches |= SwitchBits::RUN;
    machine.tick();
    machine.switches |= HELD;
    machine.run(1.0);
    assert_eq!(machine.phase(), Phase::Laying);
    machine.switches &= !SwitchBits::RUN_B;
    machine.run(0.04);
    machine.switches |= HELD;
    machine.run(0.5);
    assert_eq!(machine.phase(), Phase::Laying);
    assert!(machine.outputs.valve > 0);
}

#[test]
fn one_source_that_says_standing_is_at_odds_with_one_that_does_not() {
    let mut machine = Machine::laying();
    machine.frames = vec![Frame { id: 0x0CFE_4845, data: [0, 0, 0, 0, 0, 0, 0, 0xFD] }];
    machine.bus_mm_s = Some(300);
    machine.ticks_to_stop(320);
    assert_eq!(machine.outputs.view.cause, Some(Condition::SpeedsDisagree));
}

#[test]
fn rolling_back_by_a_hand_is_no_reversing() {
    let mut machine = Machine::laying();
    (machine.bus_mm_s, machine.reverse) = (Some(60), true);
    machine.ticks_to_stop(60);
    assert_eq!(machine.outputs.view.cause, Some(Condition::GroundStopped));
}

#[test]
fn the_rest_of_a_bale_may_cling_to_the_rollers() {
    let mut machine = Machine::new();
    machine.held_kilograms = Some(40.0);
    machine.gauge_counts = 2_600;
    machine.run(3.0);
    machine.press(SwitchBits::ARM);
    machine.switches |= HELD;
    machine.run(40.0);
    assert_eq!(machine.phase(), Phase::Laying, "{:?}", machine.outputs.view.cause);
}

/// Bits of the saved state flipped one by one: those of the gate's and the supervisor's copies are
/// met in the next tick, and met for good.
#[test]
fn a_flipped_bit_in_either_copy_is_met_in_the_next_tick() {
    let machine = Machine::laying();
    let mut buffer = [0; 2_000];
    let saved = postcard::to_slice(&machine.state, &mut buffer).expect("room").to_vec();
    let mut met = 0;
    for bit in 0..saved.len() * 8 {
        let mut harmed = saved.clone();
        harmed[bit / 8] ^= 1 << (bit % 8);
        let Ok(state) = postcard::from_bytes(&harmed) else { continue };
        let inputs = &machine.inputs;
        let now = Instant::from_micros(inputs.now.to_micros() + 10_000);
        let (mut state, inputs) = (state, Inputs { now, ..inputs.clone() });
        let outputs = step(&machine.settings, &mut state, &inputs);
        if outputs.view.cause == Some(Condition::MemoryBroken) {
            assert_eq!((outputs.valve, outputs.enable), (0, false));
            assert_eq!(outputs.view.phase, Phase::Isolated);
            met += 1;
        }
    }
    // Five words of the gate and one of the supervisor, each twice: most of some 400 bits.
    assert!(met > 250, "{met} flips met");
}

#[test]
fn high_pressure_below_its_limit_is_no_stall_while_the_rollers_turn() {
    let mut machine = Machine::laying();
    machine.pressure_counts = 2_600;
    machine.run(2.0);
    assert_eq!(machine.phase(), Phase::Laying);
}
