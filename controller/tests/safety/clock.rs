//! Ticks that come late, a clock that does not tell the time, and the watchdog beside them.

use crate::machine::Machine;
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::step::step;

#[test]
fn three_slow_ticks_in_a_hundred_stop_and_two_do_not() {
    let mut machine = Machine::laying();
    for _ in 0..10 {
        machine.tick_late(10_000);
        machine.run(0.5);
    }
    assert_eq!(machine.phase(), Phase::Laying);
    for _ in 0..3 {
        machine.tick_late(10_000);
        machine.run(0.01);
    }
    machine.assert_latched(Condition::TicksSlow);
}

#[test]
fn the_watchdog_is_fed_at_rest_and_while_laying_but_not_in_a_late_tick() {
    let mut machine = Machine::new();
    machine.run(0.1);
    assert!(machine.outputs.feed_watchdog);
    machine.lay();
    assert!(machine.outputs.feed_watchdog);
    assert!(!machine.tick_late(40_000).feed_watchdog);
}

#[test]
fn a_clock_that_stands_stops_in_that_tick() {
    let mut machine = Machine::laying();
    let inputs = machine.inputs.clone();
    let outputs = step(&machine.settings, &mut machine.state, &inputs);
    assert_eq!((outputs.valve, outputs.enable), (0, false));
    assert_eq!(outputs.view.cause, Some(Condition::ClockBroken));
}

/// The tractor's own ticks go on; only what is told of them is half as long.
#[test]
fn a_clock_that_runs_at_half_its_speed_stops() {
    let mut machine = Machine::new();
    machine.lay();
    machine.half_speed = true;
    assert!(machine.ticks_to_stop(5) <= 3);
    machine.assert_latched(Condition::ClockBroken);
}
