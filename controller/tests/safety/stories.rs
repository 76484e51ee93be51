//! Stories of safe stop: what goes wrong while hay is laid, and what must come of it.
//!
//! Behind them stand: no restart by itself after a stop, and a reset that only permits a start
//! (ISO 13850:2015, emergency stop function, as quoted second-hand; no conformity is claimed), two
//! separate acts to start (EN 703:2021, clause 4.2.3, second-hand, for feed machines of another kind).

use crate::machine::{HELD, Machine, SEATED};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::wires::{Outputs, SwitchBits};

fn laying() -> Machine {
    let mut machine = Machine::new();
    machine.lay();
    machine
}

#[test]
fn nothing_moves_without_the_two_acts() {
    for switches in [SEATED, SEATED | SwitchBits::RUN, SEATED | SwitchBits::ARM, 0, u16::MAX] {
        let mut machine = Machine::new();
        machine.switches = switches;
        for _ in 0..2_000 {
            let Outputs { valve, enable, .. } = machine.tick();
            assert_eq!((valve, enable), (0, false), "switches {switches:b}");
        }
    }
}

#[test]
fn the_second_act_alone_or_too_late_moves_nothing() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= HELD;
    machine.run(1.0);
    machine.press(SwitchBits::ARM);
    assert_eq!(machine.phase(), Phase::Resting, "arming with the run switch already closed");
    machine.switches = SEATED;
    machine.run(0.2);
    machine.press(SwitchBits::ARM);
    machine.run(7.0);
    assert_eq!(machine.phase(), Phase::Resting, "armed for no longer than six seconds");
    machine.switches |= HELD;
    machine.run(0.5);
    assert_eq!(machine.outputs.valve, 0);
}

#[test]
fn either_channel_of_the_stop_switch_stops_in_the_same_tick() {
    for channel in [SwitchBits::STOP_CLEAR_A, SwitchBits::STOP_CLEAR_B] {
        let mut machine = laying();
        machine.switches &= !channel;
        assert_eq!(machine.ticks_to_stop(1), 1);
        machine.run(0.02);
        assert_eq!(machine.outputs.view.cause, Some(Condition::StopSwitch));
        assert_eq!(machine.phase(), Phase::Latched);
    }
}

/// Seat and run switch flicker by turns, each too shortly to be a condition of its own.
#[test]
fn laying_that_flickering_contacts_interrupt_for_a_tenth_of_a_second_does_not_go_on_by_itself() {
    for (turns, wanted) in [(1, Phase::Laying), (2, Phase::Resting)] {
        let mut machine = laying();
        for _ in 0..turns {
            for flickering in [SwitchBits::RUN_B, SwitchBits::PRESENT] {
                machine.switches = (SEATED | HELD) & !flickering;
                for _ in 0..4 {
                    machine.tick();
                    assert_eq!((machine.outputs.valve, machine.outputs.enable), (0, false));
                }
            }
        }
        machine.switches = SEATED | HELD;
        machine.run(0.5);
        assert_eq!(machine.phase(), wanted, "after {turns} of them");
        assert_eq!(machine.outputs.enable, wanted == Phase::Laying);
        machine.switches = SEATED;
        machine.run(1.0);
        machine.lay();
    }
}

#[test]
fn a_released_stop_switch_only_permits_a_new_start() {
    let mut machine = laying();
    machine.switches &= !(SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B);
    machine.ticks_to_stop(1);
    machine.switches = SEATED | HELD;
    machine.assert_latched(Condition::StopSwitch);
    machine.switches = SEATED;
    machine.assert_latched(Condition::StopSwitch);
    machine.lay();
}

#[test]
fn channels_of_the_stop_switch_that_contradict_each_other_forbid_the_start() {
    let mut machine = Machine::new();
    machine.switches &= !SwitchBits::STOP_CLEAR_B;
    machine.run(0.5);
    machine.switches = SEATED;
    machine.run(0.5);
    machine.press(SwitchBits::ARM);
    assert_eq!(machine.phase(), Phase::Resting, "the broken channel was never seen to open with A");
}

#[test]
fn letting_go_ends_the_row_and_grabbing_again_does_not_resume_it() {
    let mut machine = laying();
    machine.switches &= !HELD;
    assert_eq!(machine.ticks_to_stop(1), 1, "the gate shuts in the same tick");
    machine.run(0.1);
    machine.switches |= HELD;
    machine.run(2.0);
    assert_eq!((machine.phase(), machine.outputs.valve), (Phase::Resting, 0));
}

#[test]
fn leaving_the_place_stops_at_once_and_coming_back_does_not_resume() {
    let mut machine = laying();
    machine.switches &= !SwitchBits::PRESENT;
    assert_eq!(machine.ticks_to_stop(1), 1);
    machine.run(0.3);
    machine.switches |= SwitchBits::PRESENT;
    machine.assert_latched(Condition::OperatorAway);
}

#[test]
fn a_silent_bus_stops_once_the_speed_is_older_than_its_limit() {
    let mut machine = laying();
    machine.bus_mm_s = None;
    // 300 ms until the last speed is stale, 200 ms of patience, one tick each to notice.
    assert!((40..=52).contains(&machine.ticks_to_stop(60)));
    machine.bus_mm_s = Some(1_341);
    machine.assert_latched(Condition::GroundSpeedLost);
}

#[test]
fn an_invalid_speed_is_no_speed_rather_than_zero() {
    let mut machine = laying();
    machine.bus_mm_s = Some(0xFFFE);
    assert!(machine.ticks_to_stop(60) <= 32);
    machine.assert_latched(Condition::GroundSpeedLost);
}

#[test]
fn a_standing_tractor_stops_the_rollers() {
    let mut machine = laying();
    machine.bus_mm_s = Some(0);
    assert!(machine.ticks_to_stop(70) <= 60);
    machine.assert_latched(Condition::GroundStopped);
}

#[test]
fn rollers_that_stall_stop_within_their_patience() {
    let mut machine = laying();
    machine.held_rollers = [Some(0.0), Some(0.0)];
    assert!(machine.ticks_to_stop(90) <= 90);
    machine.assert_latched(Condition::RollersNotTurning);
}

#[test]
fn one_silent_roller_sensor_is_a_disagreement() {
    let mut machine = laying();
    machine.held_rollers = [None, Some(0.0)];
    assert!(machine.ticks_to_stop(90) <= 90);
    machine.assert_latched(Condition::RollersDisagree);
}

#[test]
fn rollers_that_run_on_forbid_the_next_start_and_light_the_lamp() {
    use strewn_controller::wires::LampBits;
    let mut machine = Machine::new();
    machine.held_rollers = [Some(0.5), Some(0.5)];
    machine.run(2.0);
    assert!(machine.outputs.lamps.has(LampBits::STILL_TURNING));
    machine.press(SwitchBits::ARM);
    assert_eq!(machine.phase(), Phase::Resting);
}

#[test]
fn rollers_faster_than_ever_allowed_are_shut_off_by_the_gate_itself() {
    let mut machine = laying();
    machine.held_rollers = [Some(6.0), Some(6.0)];
    assert!(machine.ticks_to_stop(25) <= 22);
    machine.run(0.1);
    assert_eq!(machine.outputs.view.cause, Some(Condition::RollersTooFast));
}

#[test]
fn lasting_pressure_above_the_limit_stops_and_a_spike_does_not() {
    let mut machine = laying();
    let (above, usual) = (3_300, machine.pressure_counts);
    machine.pressure_counts = above;
    machine.run(0.1);
    machine.pressure_counts = usual;
    machine.run(0.5);
    assert_eq!(machine.phase(), Phase::Laying);
    machine.pressure_counts = above;
    assert!(machine.ticks_to_stop(20) <= 16);
    machine.assert_latched(Condition::PressureHigh);
}

#[test]
fn flapping_pressure_cannot_postpone_its_stop() {
    let mut machine = laying();
    let mut stopped = false;
    for flap in 0..60 {
        machine.pressure_counts = if flap % 3 == 2 { 900 } else { 3_300 };
        machine.tick();
        stopped |= machine.outputs.valve == 0;
    }
    assert!(stopped, "two ticks of three above the limit for 0.6 s");
}

#[test]
fn a_lost_sensor_supply_stops() {
    let mut machine = laying();
    machine.reference_counts = 0;
    assert!(machine.ticks_to_stop(2) <= 2);
    machine.assert_latched(Condition::ReferenceLost);
}

#[test]
fn a_late_tick_stops_in_that_tick() {
    let mut machine = laying();
    let outputs = machine.tick_late(40_000);
    assert_eq!((outputs.valve, outputs.enable), (0, false));
    assert_eq!(outputs.view.cause, Some(Condition::TickLate));
}

#[test]
fn the_worst_of_several_conditions_is_named() {
    let mut machine = laying();
    machine.reference_counts = 0;
    machine.switches = 0;
    machine.ticks_to_stop(1);
    assert_eq!(machine.outputs.view.cause, Some(Condition::StopSwitch));
}

/// A press that began before a tick came late is no first act; the next one is.
#[test]
fn a_press_through_a_late_tick_arms_nothing() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    machine.run(0.05);
    machine.tick_late(20_000);
    for _ in 0..50 {
        assert!(!machine.tick().enable, "the test at arming began");
    }
    machine.switches &= !SwitchBits::ARM;
    machine.lay();
}
