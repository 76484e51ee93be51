//! The test of the valve's path at arming: what it sends, and what it does not pass.

use crate::machine::{Machine, config};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::wires::SwitchBits;

#[test]
fn the_pulse_at_arming_stays_in_the_dead_band_and_proves_the_path() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    let most = (0..40).map(|_| machine.tick().valve).max().expect("ticks");
    machine.switches &= !SwitchBits::ARM;
    assert!((1_600..=1_640).contains(&most), "5 % of 32,767: {most}");
    assert_eq!(machine.phase(), Phase::Armed);
    assert!(machine.outputs.valve == 0 && !machine.outputs.enable);
}

#[test]
fn a_path_that_does_not_answer_the_pulse_is_not_armed() {
    let broken: [fn(&mut Machine); 2] = [|m| m.held_coil = Some(0), |m| m.held_supply = Some(0)];
    for break_path in broken {
        let mut machine = Machine::new();
        machine.run(0.5);
        break_path(&mut machine);
        machine.press(SwitchBits::ARM);
        assert_eq!(machine.phase(), Phase::Latched);
        assert_eq!(machine.outputs.view.cause, Some(Condition::ValveTestFailed));
    }
}

#[test]
fn a_driver_that_is_stuck_on_fails_the_test_before_the_spool_can_move() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    machine.run_while(20, |machine| machine.phase() != Phase::Testing);
    machine.held_coil = Some(1_500);
    let mut enabled = 0;
    machine.run_while(50, |machine| {
        enabled += u32::from(machine.outputs.enable);
        machine.phase() == Phase::Testing
    });
    assert!(enabled <= 2, "enabled for {enabled} ticks");
    assert_eq!(machine.outputs.view.cause, Some(Condition::ValveTestFailed));
}

#[test]
fn a_current_that_stays_after_the_pulse_fails_the_test() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= SwitchBits::ARM;
    machine.run_while(20, |machine| machine.outputs.valve == 0);
    machine.run(0.04);
    machine.held_coil = Some(100);
    machine.run_while(50, |machine| machine.phase() == Phase::Testing);
    assert_eq!(machine.outputs.view.cause, Some(Condition::ValveTestFailed));
}

#[test]
fn a_command_too_small_to_draw_a_current_that_can_be_told_says_nothing() {
    let mut weak = config();
    weak.safety.test_duty_permille = 10;
    let mut machine = Machine::under(&weak);
    machine.run(0.5);
    machine.held_coil = Some(0);
    machine.press(SwitchBits::ARM);
    assert_eq!(machine.phase(), Phase::Armed);
}
