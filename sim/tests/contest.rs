//! The main job end to end: the same bytes twice, a log that replays, an even bale laid evenly.

use strewn::bench::ground_speed::Recording;
use strewn::bench::record::Run;
use strewn::bench::scenario::Scenario;
use strewn::bench::{Contest, contest, replay};
use strewn::report::{PageInput, json, page};
use strewn::score;
use strewn::units::{KG_M_PER_LB_FT, M_PER_FT};

fn feed(scenario: &Scenario, recording: Option<&Recording>, seed: u64) -> Contest {
    contest(scenario, recording, seed, &mut |_| {}).expect("the scenario feeds")
}

fn demonstration() -> Scenario {
    Scenario::parse(Scenario::DEMO).expect("the demonstration is allowed")
}

fn unevenness(run: &Run, bale: usize) -> f64 {
    score::bale(run, bale, score::INTERVAL_M).unevenness.expect("hay was laid")
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let scenario = demonstration();
    let whole = |seed| {
        let Contest { runs, log } = feed(&scenario, None, seed);
        let input =
            PageInput { scenario_name: &scenario.name, seed, command: "strewn feed", runs: &runs };
        (json(&runs, seed, &scenario.name).to_string(), page(&input), log)
    };
    let first = whole(1);
    assert!(first == whole(1));
    assert!(first.2 != whole(2).2);
}

#[test]
fn the_even_bale_is_laid_with_at_most_half_the_unevenness_of_a_valve_set_by_hand() {
    let runs = feed(&demonstration(), None, 1).runs;
    assert!(unevenness(&runs[0], 0) <= 0.5 * unevenness(&runs[1], 0));
}

#[test]
fn every_pound_that_left_the_machine_lies_on_the_ground() {
    for run in feed(&demonstration(), None, 3).runs {
        let left_kg: f64 = run.bales.iter().map(|bale| bale.mass_kg - bale.left_kg).sum();
        let ground_kg: f64 = run.ground_kg.iter().sum();
        assert!(
            (left_kg - ground_kg).abs() <= 1e-9 * left_kg,
            "{}: {left_kg} {ground_kg}",
            run.contender
        );
    }
}

#[test]
fn a_log_replays_and_a_changed_byte_never_passes() {
    let short = "[[bale]]\nweight_lb = 400\n[[drive]]\nspeed_mph = 3\nfor_s = 12\n";
    let scenario = Scenario::parse(short).expect("a short scenario is allowed");
    let log = feed(&scenario, None, 1).log;
    let report = replay(&log).expect("an untouched log replays");
    assert_eq!((report.seed, report.ticks > 1_000), (1, true));
    for at in (0..log.len()).step_by(97) {
        let mut changed = log.clone();
        changed[at] ^= 0x10;
        assert!(replay(&changed).is_err(), "byte {at} changed without a word");
    }
    assert!(replay(&log[..log.len() / 2]).is_err());
}

/// A made-up drive with a rise and a turn, as CSV and as the sentences of a receiver at 1 Hz.
fn recordings() -> [Recording; 2] {
    let speed_m_s = |second: u32| match second {
        0..5 => 0.3 * f64::from(second),
        5..60 => 1.5 + 0.3 * libm::sin(f64::from(second) / 6.0),
        _ => 1.1,
    };
    let mut csv = String::from("t_s,speed_m_s\n");
    let mut nmea = String::new();
    for second in 0..90 {
        csv += &format!("{second},{:.3}\n", speed_m_s(second));
        let knots = speed_m_s(second) * 3600.0 / 1852.0;
        let body = format!(
            "GPRMC,1200{:02}.00,A,0000.000,N,00000.000,E,{knots:.3},90.0,010126,,,A",
            second % 60
        );
        let body = body.replace(",1200", if second < 60 { ",1200" } else { ",1201" });
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        nmea += &format!("${body}*{sum:02X}\n");
    }
    [csv, nmea].map(|text| Recording::parse(text.as_bytes()).expect("a good recording"))
}

#[test]
fn a_drive_recorded_twice_is_laid_alike() {
    let scenario = demonstration();
    let [csv, nmea] = recordings().map(|recording| {
        let run = feed(&scenario, Some(&recording), 1).runs.swap_remove(0);
        score::bale(&run, 0, score::INTERVAL_M)
    });
    let rate = |figures: &score::Figures| figures.laid_kg / figures.length_m / KG_M_PER_LB_FT;
    assert!((rate(&csv) / rate(&nmea) - 1.0).abs() < 0.02, "{} {}", rate(&csv), rate(&nmea));
    assert!((rate(&csv) / 3.0 - 1.0).abs() < 0.05, "{} lb/ft", rate(&csv));
    assert!(csv.length_m / M_PER_FT > 200.0);
}
