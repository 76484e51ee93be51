//! What the bales have taught outlasts power-off: with power cycled between bales, through the bytes
//! that a board keeps, the same hay lies on the ground, but for whose turn it was when power came back.

use strewn::bench::record::Run;
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, Power, Trouble, runs_in};
use strewn::rivals::Law;
use strewn::score;
use strewn::study::population::Population;

/// Three unlike bales of a lot and one of another, small and laid thick: a few seconds each.
const BALES: &str = "
target_lb_per_ft = 8
between_bales_s = 8
[[ticket]]
name = \"a\"
diameter_ft = 3.5
width_ft = 3.5
weight_lb = 360
[[ticket]]
name = \"b\"
diameter_ft = 3.5
width_ft = 3.5
weight_lb = 380
hay = \"wrapped\"
[[bale]]
weight_lb = 330
[[bale]]
ticket = \"b\"
[[bale]]
weight_lb = 390
[[bale]]
weight_lb = 350
[[drive]]
speed_mph = 0
for_s = 2
[[drive]]
speed_mph = 2.5
for_s = 400
";

/// Root mean square of the difference between two rows, as a share of the rate: who forgets what was taught is
/// further off.
const MOST_APART: f64 = 0.015;
/// Ten feet.
const INTERVAL_M: f64 = 3.048;

const TICKET_ALONE: &str = "weigh = false\npressure = false\ngauge = false";

fn fed(power: Power, scenario: &Scenario) -> Run {
    let laws = [Law::Controller];
    let trouble = Trouble { power, ..Trouble::default() };
    runs_in(trouble, scenario, &MachineFile::default(), &laws, 7, true).unwrap().remove(0)
}

/// Asserts that power cycled between bales changes next to nothing of the row, though it was cycled.
fn assert_kept(scenario: &Scenario) {
    let (kept, cycled) = (fed(Power::Stays, scenario), fed(Power::Cycled, scenario));
    assert!(kept.bales.len() > 3, "{:?}", kept.bales);
    let pairs = segments(&kept).into_iter().zip(segments(&cycled));
    let squares: Vec<f64> = pairs.map(|(kept, cycled)| (kept - cycled).powi(2)).collect();
    let apart = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    assert!(apart < MOST_APART, "{}: {:?}: {apart}", scenario.name, scenario.sensors);
    // What is not kept is gone: why it stopped last.
    let causes = |run: &Run| Vec::from_iter(run.samples.iter().map(|sample| sample.cause));
    assert_ne!(causes(&kept), causes(&cycled));
}

/// Hay laid over hay asked for, ten feet at a time.
fn segments(run: &Run) -> Vec<f64> {
    score::segments(run, INTERVAL_M).iter().map(|segment| segment.relative()).collect()
}

#[test]
fn power_cycled_between_bales_changes_next_to_nothing_of_the_row() {
    for sensors in [TICKET_ALONE, "weigh = false", "gauge = false", ""] {
        assert_kept(&Scenario::parse(&format!("{BALES}\n[sensors]\n{sensors}\n")).unwrap());
    }
}

#[test]
fn the_bales_of_a_drawn_lot_teach_over_power_off() {
    let small = "name = \"small\"\nbales_per_lot = 6\nleast_target_lb_per_ft = 6\n\
        most_target_lb_per_ft = 9\n[size]\nleast_diameter_ft = 3\nmost_diameter_ft = 3\n\
        least_width_ft = 3\nmost_width_ft = 3\n";
    let population = Population::parse(small).unwrap();
    for lot in 0..3 {
        let mut scenario = Scenario::parse(&population.lot(5, lot).text).unwrap();
        assert_kept(&scenario);
        let sensors = &mut scenario.sensors;
        (sensors.weigh, sensors.pressure, sensors.gauge) = (false, false, false);
        assert_kept(&scenario);
    }
}
