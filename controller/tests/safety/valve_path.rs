//! Coil current and valve supply to the count: where each begins to contradict the command.

use crate::machine::{HELD, Machine, config};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::SafetyConfig;
use strewn_controller::wires::SwitchBits;

/// Typical counts: none up to 60, 3,000 at full command, shorted above 3,800.
const NONE: u16 = 60;
const FULL: i32 = 3_000;
const MOST: u16 = 3_800;

/// What the coil should draw at the command of the last tick, to the nearest count.
fn expected(machine: &Machine) -> i32 {
    (FULL * i32::from(machine.outputs.valve) + (1 << 14)) >> 15
}

#[test]
fn half_of_what_the_command_draws_is_enough_and_a_count_less_is_not() {
    for (less, open) in [(0, false), (1, true)] {
        let mut machine = Machine::laying();
        for _ in 0..100 {
            machine.held_coil = u16::try_from((expected(&machine) >> 1) - less).ok();
            machine.tick();
        }
        assert_eq!(machine.outputs.view.cause == Some(Condition::CoilOpen), open, "{less} less");
    }
}

#[test]
fn a_count_above_the_most_is_a_short() {
    for (counts, shorted) in [(MOST, false), (MOST + 1, true)] {
        let mut machine = Machine::laying();
        machine.held_coil = Some(counts);
        machine.tick();
        assert_eq!(machine.outputs.view.cause == Some(Condition::CoilShorted), shorted);
    }
}

#[test]
fn a_count_above_none_at_rest_is_a_driver_that_drives_by_itself() {
    for (counts, driven) in [(NONE, false), (NONE + 1, true)] {
        let mut machine = Machine::new();
        machine.held_coil = Some(counts);
        machine.run(1.0);
        assert_eq!(machine.phase() == Phase::Isolated, driven, "{counts} counts");
    }
}

#[test]
fn the_current_has_its_time_to_die_away_and_no_longer() {
    // Decay 150 ms and patience 50 ms after the command: in the twentieth tick, one to notice.
    let mut machine = Machine::laying();
    machine.switches &= !HELD;
    machine.ticks_to_stop(1);
    machine.held_coil = Some(NONE + 1);
    let mut ticks = 0;
    machine.run_while(30, |machine| {
        ticks += 1;
        machine.phase() != Phase::Isolated
    });
    assert_eq!(machine.outputs.view.cause, Some(Condition::CoilUnasked));
    assert!((19..=21).contains(&ticks), "{ticks} ticks");
}

#[test]
fn the_supply_is_there_from_its_count_on() {
    // Typical: supplied from 1,500 counts on.
    for (counts, there) in [(1_500, true), (1_499, false)] {
        let mut machine = Machine::laying();
        machine.held_supply = Some(counts);
        machine.run(0.5);
        assert_eq!(machine.phase() == Phase::Laying, there, "{counts} counts");
        let mut machine = Machine::new();
        machine.held_supply = Some(counts);
        machine.run(0.5);
        assert_eq!(machine.phase() == Phase::Isolated, there, "{counts} counts without enable");
    }
}

#[test]
fn where_half_of_the_pulse_cannot_be_told_from_none_nothing_is_said() {
    // 4 % of the command: 120 counts, half of it 60.
    for (none, armed) in [(60, true), (59, false)] {
        let mut weak = config();
        weak.safety =
            SafetyConfig { test_duty_permille: 40, coil_none_counts: none, ..weak.safety };
        let mut machine = Machine::under(&weak);
        machine.run(0.5);
        machine.held_coil = Some(0);
        machine.press(SwitchBits::ARM);
        assert_eq!(machine.phase() == Phase::Armed, armed, "none up to {none}");
    }
}

/// More than twice the pulse's current and what counts as none: a driver that gives more than it is told.
#[test]
fn a_pulse_that_draws_more_than_twice_its_current_fails_the_test() {
    // 5 % of the command: 150 counts.
    for (counts, armed) in [(60 + 2 * 150, true), (60 + 2 * 150 + 1, false)] {
        let mut machine = Machine::new();
        machine.run(0.5);
        machine.switches |= SwitchBits::ARM;
        machine.run_while(20, |machine| machine.outputs.valve == 0);
        machine.held_coil = Some(counts);
        machine.run_while(20, |machine| machine.outputs.valve != 0);
        machine.held_coil = None;
        machine.run(0.3);
        assert_eq!(machine.phase() == Phase::Armed, armed, "{counts} counts");
    }
}

/// Whoever feels no current does not know what the driver truly does: the supply is off again before a spool
/// that is driven wide open has left its dead band.
#[test]
fn a_pulse_without_an_answer_is_cut_short() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.held_coil = Some(0);
    machine.switches |= SwitchBits::ARM;
    let mut enabled = 0;
    machine.run_while(40, |machine| {
        enabled += u32::from(machine.outputs.enable);
        machine.outputs.view.cause != Some(Condition::ValveTestFailed)
    });
    assert_eq!(enabled, 3);
}

/// No more than the pulse may draw, but without being asked: it goes with the supply and would not be seen after.
#[test]
fn a_driver_that_leaks_while_the_supply_is_on_fails_the_test() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    machine.run_while(20, |machine| machine.outputs.valve == 0);
    machine.run_while(20, |machine| machine.outputs.valve != 0);
    machine.held_coil = Some(100);
    machine.run_while(20, |machine| machine.outputs.enable);
    machine.held_coil = Some(0);
    machine.run(0.3);
    assert_eq!(machine.outputs.view.cause, Some(Condition::ValveTestFailed));
}

/// The pulse for 80 ms, the supply alone for 60 ms, then 100 ms in which both must go.
#[test]
fn the_test_takes_its_time() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    machine.run_while(20, |machine| machine.phase() != Phase::Testing);
    let (mut alone, mut pulse, mut release) = (0, 0, 0);
    machine.run_while(50, |machine| {
        match (machine.outputs.valve != 0, machine.outputs.enable) {
            (true, _) => pulse += 1,
            (false, true) => alone += 1,
            (false, false) => release += 1,
        }
        machine.phase() == Phase::Testing
    });
    assert_eq!((pulse, alone), (7, 6));
    // Before the first tick of the test, and the tick that arms.
    assert!((10..=12).contains(&release), "{release}");
}
