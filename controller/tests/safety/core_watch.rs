//! A dense core that is no longer watched for.

use crate::machine::{HELD, Machine, config};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::{Config, Core};

type Bring = fn(&mut Machine);

/// Settings for the stories, with a lot of dense cores.
fn dense() -> Config {
    let mut config = config();
    config.tickets[0].core = Core::Dense { ratio_permille: 2_000, radius_permille: 300 };
    config
}

/// A sensor that tells of a dense core and falls out on the way there stops the row. Who arms again goes on without the sensor.
#[test]
fn a_sensor_lost_on_the_way_to_a_dense_core_stops_the_row_once() {
    let sensors: [(Condition, Bring); 2] = [
        (Condition::PressureLost, |m| m.pressure_counts = 0),
        (Condition::WeighLost, |m| m.held_kilograms = Some(9_000.0)),
    ];
    for (condition, lose) in sensors {
        let mut machine = Machine::under(&dense());
        machine.run(0.5);
        machine.lay();
        lose(&mut machine);
        let ticks = machine.ticks_to_stop(25);
        assert!(ticks > 15, "patience with a sensor that comes back: {ticks}");
        machine.assert_latched(Condition::CoreUnwatched);
        machine.switches &= !HELD;
        machine.lay();
        machine.run(3.0);
        assert_eq!(machine.phase(), Phase::Laying);
        assert!(machine.outputs.view.carrying_on.has(condition), "{condition:?}");
    }
}

/// What was never good in the row is not missed, nor is a sensor that is back soon.
#[test]
fn a_dense_core_that_nobody_watched_stops_nothing() {
    let mut machine = Machine::under(&dense());
    machine.pressure_counts = 0;
    machine.run(0.5);
    machine.lay();
    for _ in 0..5 {
        machine.held_kilograms = Some(9_000.0);
        machine.run(0.1);
        machine.held_kilograms = None;
        machine.run(1.0);
    }
    assert_eq!(machine.phase(), Phase::Laying);
}

/// A core sheds more than the bite lets expect, and on a rough ride no clump is seen in it: then the account is
/// wrong, and the scale that says so tells the truth.
#[test]
fn hay_that_leaves_a_core_unseen_makes_no_liar_of_the_scale() {
    let mut machine = Machine::under(&dense());
    machine.kilograms = 120.0;
    machine.run(0.5);
    machine.lay();
    let ride = |machine: &mut Machine, ticks: u32| {
        for tick in 0..ticks {
            let jolt = if tick % 4 < 2 { 12.0 } else { -12.0 };
            machine.held_kilograms = Some(machine.kilograms + jolt);
            machine.tick();
        }
    };
    ride(&mut machine, 200);
    machine.kilograms -= 22.0;
    ride(&mut machine, 300);
    assert_eq!(machine.phase(), Phase::Laying, "{:?}", machine.outputs.view.cause);
    assert!(!machine.outputs.view.carrying_on.has(Condition::WeighLost));
    let left = f64::from(machine.outputs.view.left.to_milli()) * 1e-3;
    assert!((left - machine.kilograms).abs() < 8.0, "{left} of {}", machine.kilograms);
}
