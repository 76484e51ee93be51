//! Rows of fixed length, as at a bunk: laying ends on the mark, and the next row begins with the next leg.

use strewn::bench::record::{BaleRun, Run};
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, runs};
use strewn::rivals::Law;
use strewn::units::{KG_M_PER_LB_FT, M_PER_FT};

/// The last hay of a row may lie so far from its mark, m: it falls over about as much.
const NEAR_M: f64 = 3.0 * M_PER_FT;

fn fed(text: &str, seed: u64) -> Run {
    let scenario = Scenario::parse(text).unwrap();
    let laws = [Law::Controller];
    runs(&scenario, &MachineFile::default(), &laws, seed, true).unwrap().remove(0)
}

/// Hay between two odometers, kg.
fn hay_kg(run: &Run, (from_m, to_m): (f64, f64)) -> f64 {
    let bin = |at_m: f64| (at_m / Run::BIN_M).round() as usize;
    run.ground_kg[bin(from_m)..bin(to_m).min(run.ground_kg.len())].iter().sum()
}

/// First and last ground with a tenth of the hay asked for between two odometers, m.
fn laid_m(run: &Run, (from_m, to_m): (f64, f64), target_kg_m: f64) -> (f64, f64) {
    let bin = |at_m: f64| (at_m / Run::BIN_M) as usize;
    let bins = bin(from_m)..(bin(to_m) + 40).min(run.ground_kg.len());
    let enough = |bin: &usize| run.ground_kg[*bin] > 0.1 * target_kg_m * Run::BIN_M;
    let at_m = |bin: Option<usize>| bin.unwrap() as f64 * Run::BIN_M;
    (at_m(bins.clone().find(enough)), at_m(bins.rev().find(enough)) + Run::BIN_M)
}

#[test]
fn every_row_ends_on_its_mark_with_its_hay_and_the_next_begins_with_the_next_leg() {
    for (speed_mph, length_ft, sensors) in [
        (1.5, 60.0, ""),
        (2.5, 60.0, "weigh = false"),
        (3.5, 72.0, "pressure = false\ngauge = false"),
    ] {
        let leg = format!("[[drive]]\nspeed_mph = {speed_mph}\nfor_s = 60\n");
        let text = format!(
            "target_lb_per_ft = 4\nrow_length_ft = {length_ft}\n[sensors]\n{sensors}\n{}",
            leg.repeat(3)
        );
        for seed in 0..4 {
            let run = fed(&text, seed);
            let rows: Vec<_> = run.bales[0].rows_m().collect();
            assert_eq!(rows.len(), 3, "{text}");
            for row_m in rows {
                let target_kg_m = 4.0 * KG_M_PER_LB_FT;
                let (first_m, last_m) = laid_m(&run, row_m, target_kg_m);
                let length_m = length_ft * M_PER_FT;
                let off_m = last_m - first_m - length_m;
                let share = hay_kg(&run, row_m) / (target_kg_m * length_m);
                assert!((share - 1.0).abs() < 0.25, "{speed_mph} mph, seed {seed}: {share}");
                assert!(off_m.abs() < NEAR_M, "{speed_mph} mph, seed {seed}: {off_m} m");
            }
        }
    }
}

/// A bale that is fed out before the mark leaves the rest of its row to the next one.
#[test]
fn a_row_goes_on_with_the_next_bale_and_ends_on_its_mark() {
    let text = "target_lb_per_ft = 8\nrow_length_ft = 60\nbetween_bales_s = 8\n\
        [[ticket]]\ndiameter_ft = 3\nwidth_ft = 3\nweight_lb = 300\n[[bale]]\n[[bale]]\n\
        [[drive]]\nspeed_mph = 2\nfor_s = 120\n";
    for seed in 0..4 {
        let run = fed(text, seed);
        let rows: Vec<_> = run.bales.iter().flat_map(BaleRun::rows_m).collect();
        assert_eq!(rows.len(), 2);
        let target_kg_m = 8.0 * KG_M_PER_LB_FT;
        let row_m = (rows[0].0, rows[1].1);
        let (first_m, last_m) = laid_m(&run, row_m, target_kg_m);
        let seam_m = rows[1].0 - rows[0].1;
        let off_m = last_m - first_m - seam_m - 60.0 * M_PER_FT;
        assert!(off_m.abs() < 1.5 * NEAR_M, "seed {seed}: {off_m} m");
    }
}
