//! Figures of a run: limits, identities and nonsense.

use proptest::prelude::*;
use strewn::bench::record::{BaleRun, Run};
use strewn::score::{self, INTERVAL_M, WINDOW_M, spread};
use strewn::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT};

fn bale(from_bin: f64, to_bin: f64, target_lb_ft: f64) -> BaleRun {
    BaleRun {
        name: "bale".to_owned(),
        mass_kg: 500.0,
        left_kg: 0.0,
        target_kg_m: target_lb_ft * KG_M_PER_LB_FT,
        time_s: (0.0, 60.0),
        strip_m: (from_bin * Run::BIN_M, to_bin * Run::BIN_M),
        between_rows_m: Vec::new(),
        clumps: Vec::new(),
    }
}

fn run(bales: Vec<BaleRun>, ground_kg: Vec<f64>) -> Run {
    Run { contender: "controller", bales, samples: Vec::new(), ground_kg, energy_j: 0.0 }
}

/// 100 ft at the target, with so many pounds more in some bins.
fn row_with(target_lb_ft: f64, extra: &[(usize, f64)]) -> Run {
    let mut ground_kg = vec![target_lb_ft * 0.1 * KG_PER_LB; 1000];
    for (bin, pounds) in extra {
        ground_kg[*bin] += pounds * KG_PER_LB;
    }
    run(vec![bale(0.0, 1000.0, target_lb_ft)], ground_kg)
}

fn clumps(target_lb_ft: f64, extra: &[(usize, f64)]) -> usize {
    score::whole(&row_with(target_lb_ft, extra), INTERVAL_M).clumps.len()
}

#[test]
fn nothing_laid_has_no_figures_instead_of_wrong_ones() {
    for run in [run(Vec::new(), Vec::new()), run(vec![bale(0.0, 0.0, 3.0)], Vec::new())] {
        let figures = score::whole(&run, INTERVAL_M);
        assert_eq!(figures.segments, 0);
        assert_eq!((figures.unevenness, figures.variation), (None, None));
        assert_eq!((figures.heaviest, figures.mean_kg_m()), (None, None));
        assert_eq!(figures.energy_kwh_mg, None);
        assert_eq!((figures.laid_kg, figures.length_m), (0.0, 0.0));
    }
    let row = row_with(3.0, &[]);
    assert_eq!(score::bale(&row, 1, INTERVAL_M), score::kind(&row, "unknown", INTERVAL_M));
}

#[test]
fn an_even_row_at_half_the_target_is_uneven_but_does_not_vary() {
    let half = run(vec![bale(0.0, 1000.0, 6.0)], vec![0.3 * KG_PER_LB; 1000]);
    let figures = score::whole(&half, INTERVAL_M);
    assert!((figures.unevenness.unwrap() - 0.5).abs() < 1e-12);
    assert!(figures.variation.unwrap() < 1e-12);
    assert_eq!(figures.within_tenth, Some(0.0));
}

#[test]
fn a_clump_is_above_twice_the_target_and_ten_pounds_above_it() {
    // At 3 lb/ft 3 ft hold 9 lb: ten pounds more decide. At 5 lb/ft they hold 15: as much again does.
    assert_eq!((clumps(3.0, &[(500, 9.9)]), clumps(3.0, &[(500, 10.1)])), (0, 1));
    assert_eq!((clumps(5.0, &[(500, 14.9)]), clumps(5.0, &[(500, 15.1)])), (0, 1));
}

#[test]
fn windows_that_overlap_are_one_clump() {
    assert_eq!(clumps(3.0, &[(500, 30.0), (540, 30.0)]), 1);
    assert_eq!(clumps(3.0, &[(500, 30.0), (570, 30.0)]), 2);
    let figures = score::whole(&row_with(3.0, &[(500, 30.0)]), INTERVAL_M);
    let clump = figures.clumps[0];
    assert!((clump.heaviest_kg / KG_PER_LB - 39.0).abs() < 1e-9);
    assert!(clump.from_m <= 50.0 * M_PER_FT && clump.to_m >= 50.1 * M_PER_FT);
    let heaviest = figures.heaviest.unwrap();
    assert!((heaviest.laid_kg_m * WINDOW_M - clump.heaviest_kg).abs() < 1e-9);
}

#[test]
fn a_heap_shorter_than_a_segment_is_still_a_clump() {
    let heap = run(vec![bale(100.0, 110.0, 3.0)], [vec![0.0; 100], vec![10.0; 10]].concat());
    let figures = score::whole(&heap, INTERVAL_M);
    assert_eq!((figures.segments, figures.unevenness), (0, None));
    assert_eq!(figures.clumps.len(), 1);
    assert!((figures.heaviest.unwrap().laid_kg_m - 100.0 / WINDOW_M).abs() < 1e-9);
}

#[test]
fn strips_that_overlap_count_no_hay_twice_and_a_heap_on_the_seam_is_one() {
    let mut ground_kg = vec![0.3 * KG_PER_LB; 2000];
    ground_kg[998] += 40.0 * KG_PER_LB;
    ground_kg[1002] += 40.0 * KG_PER_LB;
    let seam = run(vec![bale(0.0, 1004.0, 3.0), bale(1000.0, 2000.0, 3.0)], ground_kg);
    let whole = score::whole(&seam, INTERVAL_M);
    let on_ground: f64 = seam.ground_kg.iter().sum();
    assert!((whole.laid_kg - on_ground).abs() < 1e-9);
    assert_eq!((whole.clumps.len(), whole.seams_m), (1, 0.0));
}

#[test]
fn ground_between_bales_is_told_apart_from_the_strips() {
    let ground_kg = vec![0.3 * KG_PER_LB; 2000];
    let apart = run(vec![bale(0.0, 900.0, 3.0), bale(1000.0, 2000.0, 3.0)], ground_kg);
    let whole = score::whole(&apart, INTERVAL_M);
    assert!((whole.seams_m / M_PER_FT - 10.0).abs() < 1e-9);
    assert!((whole.length_m / M_PER_FT - 190.0).abs() < 1e-9);
    assert_eq!(whole.segments, 30 + 33);
}

#[test]
fn a_kilowatt_hour_on_a_megagram_is_one() {
    let mut row = run(vec![bale(0.0, 1000.0, 3.0)], vec![1.0; 1000]);
    row.energy_j = 3.6e6;
    assert!((score::whole(&row, INTERVAL_M).energy_kwh_mg.unwrap() - 1.0).abs() < 1e-12);
    assert_eq!(score::bale(&row, 0, INTERVAL_M).energy_kwh_mg, None);
}

proptest! {
    /// Mean square about 1 is the square of the mean's distance from 1 plus the variance.
    #[test]
    fn unevenness_is_wrong_mean_and_spread_together(
        values in proptest::collection::vec(0.05..4.0f64, 2..60),
    ) {
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let deviation = spread::coefficient_of_variation(&values).unwrap() * mean;
        let expected = (mean - 1.0).powi(2) + deviation.powi(2) * (count - 1.0) / count;
        prop_assert!((spread::unevenness(&values).unwrap().powi(2) - expected).abs() < 1e-9);
    }

    #[test]
    fn where_the_row_lies_does_not_matter(
        lead in 0usize..500, hay in proptest::collection::vec(0.0..0.5f64, 60..400),
    ) {
        let placed = |lead: usize| {
            let ground_kg = [vec![0.0; lead], hay.clone()].concat();
            let end = ground_kg.len();
            score::whole(&run(vec![bale(lead as f64, end as f64, 3.0)], ground_kg), INTERVAL_M)
        };
        let (here, there) = (placed(0), placed(lead));
        prop_assert_eq!(here.segments, hay.len() / 30);
        prop_assert_eq!(here.unevenness, there.unevenness);
        prop_assert_eq!(here.variation, there.variation);
        prop_assert_eq!(here.laid_kg, there.laid_kg);
        prop_assert_eq!(here.clumps.len(), there.clumps.len());
    }

    #[test]
    fn nonsense_gives_no_panic_and_no_number_that_is_none(
        from in any::<f64>(), to in any::<f64>(), target in any::<f64>(), interval in any::<f64>(),
        bins in 0usize..200,
    ) {
        let run = run(vec![bale(from, to, target), bale(to, from, 3.0)], vec![0.1; bins]);
        let figures = score::whole(&run, interval);
        let shares = [figures.within_tenth, figures.below_half, figures.above_twice];
        prop_assert!(shares.into_iter().flatten().all(|share| (0.0..=1.0).contains(&share)));
        let numbers = [figures.unevenness, figures.variation, figures.mean_kg_m()];
        prop_assert!(numbers.into_iter().flatten().all(f64::is_finite));
    }
}
