//! A row of fixed length: it ends on its mark, and another one takes both acts.

use crate::machine::{HELD, Machine, config};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::Config;

/// Settings for the stories, with rows of 12 m.
fn bunk() -> Config {
    let mut config = config();
    config.metering.row_length_mm = 12_000;
    config
}

/// Ticks until the row has ended.
fn row(machine: &mut Machine) -> u64 {
    machine.lay();
    let ticks = machine.ticks_to_stop(3_000);
    machine.run(0.1);
    assert_eq!(machine.phase(), Phase::Resting);
    assert_eq!(machine.outputs.view.cause, Some(Condition::MarkReached));
    ticks
}

#[test]
fn a_row_of_fixed_length_ends_by_itself_and_the_next_takes_both_acts() {
    let mut machine = Machine::under(&bunk());
    machine.run(0.5);
    let first = row(&mut machine);
    for _ in 0..500 {
        let outputs = machine.tick();
        assert_eq!((outputs.valve, outputs.enable), (0, false), "the switch held from before");
    }
    machine.switches &= !HELD;
    machine.run(0.1);
    // A row begun just where the last one ended is a whole one too.
    let second = row(&mut machine);
    assert!(first.abs_diff(second) < 30, "{first} and {second} ticks");
}

/// Whoever lets go and goes on in the same place lays what is missing, and no more.
#[test]
fn a_row_let_go_and_gone_on_with_ends_on_the_same_mark() {
    let mut machine = Machine::under(&bunk());
    machine.run(0.5);
    let whole = row(&mut machine);
    let mut machine = Machine::under(&bunk());
    machine.run(0.5);
    machine.lay();
    machine.run(whole as f64 * 0.005);
    machine.switches &= !HELD;
    machine.run(0.3);
    let rest = row(&mut machine);
    assert!(rest < whole * 3 / 4, "{rest} of {whole} ticks");
}
