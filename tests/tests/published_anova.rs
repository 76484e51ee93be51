//! Analysis of variance, comparisons and intervals against published examples of a general statistics
//! library and of a textbook.

use proptest::prelude::*;
use strewn::random::Stream;
use strewn::row::comparison::{Method, compare};
use strewn::row::distribution::{
    student_quantile, studentized_range_below, studentized_range_quantile,
};
use strewn::row::trial::{Analysis, Measure, Plot, Trial, analyse};
use strewn::row::weighed::{Length, evenness, variation};
use strewn::score::spread::coefficient_of_variation;

#[track_caller]
fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected}");
}

/// A trial of one measure; a row for each treatment, its places the blocks if it is blocked.
fn trial(rows: &[&[f64]], blocked: bool) -> Trial {
    let plots = rows.iter().enumerate().flat_map(|(treatment, row)| {
        row.iter().enumerate().map(move |(block, value)| Plot {
            treatment,
            block: blocked.then_some(block),
            value: *value,
        })
    });
    let blocks = if blocked { rows[0].len() } else { 0 };
    Trial {
        treatments: (0..rows.len()).map(|name| name.to_string()).collect(),
        blocks: (0..blocks).map(|name| name.to_string()).collect(),
        measures: vec![Measure { name: "value".to_owned(), plots: plots.collect() }],
    }
}

fn analysis(rows: &[&[f64]], blocked: bool) -> Analysis {
    let trial = trial(rows, blocked);
    trial.check_design().unwrap();
    analyse(&trial, &trial.measures[0])
}

/// Example of SciPy, documentation of `scipy.stats.tukey_hsd`: time to relieve headaches. It prints the
/// differences, the probabilities to three places and the intervals.
#[test]
fn tukey_on_the_example_of_a_library() {
    let found = analysis(
        &[
            &[24.5, 23.5, 26.4, 27.1, 29.9],
            &[28.4, 34.2, 29.5, 32.2, 30.1],
            &[26.1, 28.3, 24.3, 26.2, 27.8],
        ],
        false,
    );
    let all = compare(&found, Method::Tukey, 0.05);
    let printed = [
        ((0, 1), -4.600, 0.014, -8.249, -0.951),
        ((0, 2), -0.260, 0.980, -3.909, 3.389),
        ((1, 2), 4.340, 0.020, 0.691, 7.989),
    ];
    for (pair, (treatments, difference, probability, low, high)) in all.pairs.iter().zip(printed) {
        assert_eq!(pair.treatments, treatments);
        near(pair.difference, difference, 5e-4);
        near(pair.probability, probability, 5e-4);
        near(pair.difference - pair.reach, low, 5e-4);
        near(pair.difference + pair.reach, high, 5e-4);
    }
    assert_eq!(all.letters, ["b", "a", "b"]);
}

/// Example of SciPy, documentation of `scipy.stats.f_oneway`: mussel shells from five places, with
/// unequal counts (data of McDonald, Seed and Koehn, 1991). It prints F and P.
#[test]
fn one_way_analysis_on_the_example_of_a_library() {
    let found = analysis(
        &[
            &[0.0571, 0.0813, 0.0831, 0.0976, 0.0817, 0.0859, 0.0735, 0.0659, 0.0923, 0.0836],
            &[0.0873, 0.0662, 0.0672, 0.0819, 0.0749, 0.0649, 0.0835, 0.0725],
            &[0.0974, 0.1352, 0.0817, 0.1016, 0.0968, 0.1064, 0.105],
            &[0.1033, 0.0915, 0.0781, 0.0685, 0.0677, 0.0697, 0.0764, 0.0689],
            &[0.0703, 0.1026, 0.0956, 0.0973, 0.1039, 0.1045],
        ],
        false,
    );
    let (ratio, probability) = found.treatments.test(&found.error);
    near(ratio, 7.121_019_471_642_447, 1e-9);
    near(probability, 0.000_281_224_231_453_454_4, 1e-12);
}

/// Snedecor and Cochran, Statistical Methods, 7th edition, 1980, table 14.2.1: soybeans of 100 that failed
/// to emerge, four seed treatments and none, in five blocks (from memory; the sums were recomputed with
/// NumPy and SciPy).
#[test]
fn randomized_blocks_of_a_textbook() {
    let found = analysis(
        &[
            &[8.0, 10.0, 12.0, 13.0, 11.0],
            &[2.0, 6.0, 7.0, 11.0, 5.0],
            &[4.0, 10.0, 9.0, 8.0, 10.0],
            &[3.0, 5.0, 9.0, 10.0, 6.0],
            &[9.0, 7.0, 5.0, 5.0, 3.0],
        ],
        true,
    );
    near(found.treatments.squares, 83.84, 1e-9);
    near(found.blocks.unwrap().squares, 49.84, 1e-9);
    near(found.error.squares, 86.56, 1e-9);
    near(found.total.squares, 220.24, 1e-9);
    assert_eq!((found.treatments.freedom, found.error.freedom), (4.0, 16.0));
    let (ratio, probability) = found.treatments.test(&found.error);
    near(ratio, 3.874_306_839_186_691_5, 1e-9);
    near(probability, 0.021_886_162_926_237_91, 1e-9);
    near(found.error.mean_square(), 5.41, 1e-9);
    near(found.standard_error(0), (5.41f64 / 5.0).sqrt(), 1e-9);
    // Least significant difference: t of 16 degrees, 2.120 in any table, times sqrt(2 x 5.41 / 5).
    let least = compare(&found, Method::LeastDifference, 0.05);
    near(least.pairs[0].reach, 2.119_905 * (2.0f64 * 5.41 / 5.0).sqrt(), 1e-5);
    // The control differs from all others by it.
    assert_eq!(least.letters, ["a", "b", "ab", "b", "b"]);
}

/// Upper five per cent points: Pearson and Hartley, Biometrika Tables for Statisticians, 1966 (from memory),
/// to the two places of the table; to five places as SciPy 1.17 gives them.
#[test]
fn studentized_range_against_tables() {
    for (groups, freedom, table, exact) in [
        (3, 10.0, 3.88, 3.876_776_75),
        (4, 9.0, 4.41, 4.414_890_03),
        (4, 20.0, 3.96, 3.958_293_56),
        (5, 16.0, 4.33, 4.332_687_84),
        (8, 60.0, 4.44, 4.441_079_08),
        (2, 5.0, 3.64, 3.635_351_69),
    ] {
        let found = studentized_range_quantile(0.95, groups, freedom);
        near(found, table, 0.0051);
        near(found, exact, 1e-5);
    }
    near(studentized_range_below(3.5, 3, 10.0), 0.922_896_69, 1e-7);
    near(studentized_range_below(2.0, 4, 20.0), 0.494_559_65, 1e-7);
    near(studentized_range_below(6.0, 10, 5.0), 0.910_600_19, 1e-7);
    assert!(studentized_range_below(f64::NAN, 3, 10.0).is_nan());
    assert!(studentized_range_quantile(0.95, 1, 10.0).is_nan());
}

#[test]
fn two_groups_make_the_range_a_t() {
    // Exact: for two groups the range over its deviation is sqrt 2 times the absolute value of t.
    for freedom in [2.0, 5.0, 12.0, 60.0] {
        let range = studentized_range_quantile(0.95, 2, freedom);
        near(range, 2f64.sqrt() * student_quantile(0.975, freedom), 1e-4);
    }
}

/// Coverage of the interval of a coefficient of variation, by draws from a normal law: no source; that it
/// is close to the stated confidence is the claim of Vangel, The American Statistician, 1996.
#[test]
fn the_interval_of_a_coefficient_covers_as_stated() {
    let (truth, count, trials) = (0.15, 20, 2_000);
    let covered = (0..trials).filter(|trial| {
        let stream = Stream::root(7).numbered(*trial);
        // Twelve even draws make a draw much closer to normal than the stream's own four.
        let normal =
            |draw: u64| (0..12).map(|part| stream.uniform(12 * draw + part)).sum::<f64>() - 6.0;
        let values: Vec<f64> = (0..count).map(|draw| 1.0 + truth * normal(draw)).collect();
        let found = coefficient_of_variation(&values).unwrap();
        let interval = variation(found, count as f64 - 1.0, 0.95);
        (interval.low..=interval.high).contains(&truth)
    });
    let share = covered.count() as f64 / trials as f64;
    // Three deviations of 2,000 trials are 1.5 points.
    near(share, 0.95, 0.015);
}

#[test]
fn a_weighed_row_of_known_rates() {
    // Arithmetic, no source: ten rates whose deviations square to exactly 1: mean 5, deviation 1/3.
    let rates = [5.0, 5.2, 4.9, 4.4, 5.6, 5.1, 4.8, 5.3, 4.7, 5.0];
    let piece = |(place, rate): (usize, &f64)| Length {
        from_m: place as f64,
        to_m: place as f64 + 1.0,
        mass_kg: *rate,
    };
    let pieces: Vec<Length> = rates.iter().enumerate().map(piece).collect();
    let found = evenness(&pieces, Some(5.0), 0.95).unwrap();
    near(found.variation.value, 1.0 / 15.0, 1e-9);
    // Student's t of 9 degrees, 2.262 in any table.
    near(found.rate_kg_m.high, 5.0 + 2.262_157 / 3.0 / 10f64.sqrt(), 1e-5);
    // Unevenness has divisor n: sqrt(0.1) / 5.
    near(found.unevenness.value, 0.1f64.sqrt() / 5.0, 1e-9);
    assert!(found.unevenness.low < found.unevenness.value);
    assert!(found.unevenness.value < found.unevenness.high);
}

proptest! {
    #[test]
    fn what_a_whole_block_shares_does_not_count(
        values in proptest::collection::vec(-50.0..50.0f64, 12),
        shifts in proptest::collection::vec(-1e3..1e3f64, 4),
    ) {
        let rows: Vec<&[f64]> = values.chunks(4).collect();
        let shifted: Vec<Vec<f64>> =
            rows.iter().map(|row| row.iter().zip(&shifts).map(|(value, shift)| value + shift).collect()).collect();
        let shifted: Vec<&[f64]> = shifted.iter().map(Vec::as_slice).collect();
        let (plain, moved) = (analysis(&rows, true), analysis(&shifted, true));
        let scale = plain.total.squares;
        prop_assert!((plain.treatments.squares - moved.treatments.squares).abs() < 1e-6 * scale);
        prop_assert!((plain.error.squares - moved.error.squares).abs() < 1e-4 * scale);
    }

    #[test]
    fn two_share_a_letter_exactly_if_they_do_not_differ(
        values in proptest::collection::vec(0.0..10.0f64, 15),
        steps in proptest::collection::vec(0.0..12.0f64, 5),
        drop in 0usize..2,
    ) {
        // Counts differ where plots are dropped, so that reach differs between pairs.
        let rows: Vec<Vec<f64>> = values
            .chunks(3)
            .zip(&steps)
            .enumerate()
            .map(|(at, (row, step))| {
                row.iter().skip(usize::from(at % 2 == 0) * drop).map(|value| value + step).collect()
            })
            .collect();
        let rows: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let all = compare(&analysis(&rows, false), Method::LeastDifference, 0.05);
        for pair in &all.pairs {
            let (one, other) = (&all.letters[pair.treatments.0], &all.letters[pair.treatments.1]);
            let share = one.chars().any(|letter| other.contains(letter));
            prop_assert_eq!(share, pair.difference.abs() <= pair.reach, "{:?}", all.letters);
        }
    }
}
