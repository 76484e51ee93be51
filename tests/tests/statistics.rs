//! Quantiles and intervals against their published definitions, a reference library and chance itself.

use proptest::prelude::*;
use statrs::distribution::{Binomial, DiscreteCDF};
use statrs::function::beta::beta_reg;
use statrs::statistics::{Data, OrderStatistics};
use strewn::random::Stream;
use strewn::study::statistics::{
    binomial_at_most, drawn_interval, quantile, quantile_interval, regularised_beta, share_interval,
};
use strewn::study::tally::Tally;

#[track_caller]
fn assert_near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected}");
}

proptest! {
    /// The reference library's incomplete beta function, by its own implementation.
    #[test]
    fn the_beta_function_agrees_with_statrs(x in 0.0..=1.0f64, a in 0.1..800.0f64, b in 0.1..800.0f64) {
        prop_assert!((regularised_beta(x, a, b) - beta_reg(a, b, x)).abs() < 1e-9);
    }

    #[test]
    fn the_binomial_agrees_with_statrs(count in 1u64..5_000, share in 0.001..0.999f64, part in 0.0..1.0f64) {
        let number = (part * count as f64) as u64;
        let expected = Binomial::new(share, count).expect("a binomial").cdf(number);
        prop_assert!((binomial_at_most(number, count, share) - expected).abs() < 1e-9);
    }

    /// The reference library's quantile is definition 8 of Hyndman and Fan, Sample quantiles in
    /// statistical packages, The American Statistician 1996, as here.
    #[test]
    fn quantiles_agree_with_statrs(
        mut values in proptest::collection::vec(-100.0..100.0f32, 1..60), share in 0.0..=1.0f64,
    ) {
        values.sort_by(f32::total_cmp);
        let wide: Vec<f64> = values.iter().copied().map(f64::from).collect();
        let expected = Data::new(wide).quantile(share);
        let found = quantile(&values, share).expect("values");
        prop_assert!((found - expected).abs() < 1e-9, "{found} instead of {expected}");
    }

    /// Clopper and Pearson, Biometrika 1934: at each end of the interval, as much or more of what was
    /// seen has a chance of exactly half of what is left to chance.
    #[test]
    fn share_intervals_have_their_defining_property(tried in 1u64..3_000, part in 0.0..=1.0f64) {
        let passed = (part * tried as f64) as u64;
        let (low, high) = share_interval(passed, tried, 0.95);
        prop_assert!(low <= passed as f64 / tried as f64 && passed as f64 / tried as f64 <= high);
        if passed > 0 {
            let more = 1.0 - Binomial::new(low, tried).expect("a binomial").cdf(passed - 1);
            prop_assert!((more - 0.025).abs() < 1e-7, "{more}");
        }
        if passed < tried {
            let less = Binomial::new(high, tried).expect("a binomial").cdf(passed);
            prop_assert!((less - 0.025).abs() < 1e-7, "{less}");
        }
    }
}

/// Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 1998,
/// table I, method 5, the exact one of Clopper and Pearson (from memory).
#[test]
fn share_intervals_agree_with_newcombe() {
    let table = [
        ((81, 263), (0.2527, 0.3676)),
        ((15, 148), (0.0578, 0.1617)),
        ((0, 20), (0.0, 0.1684)),
        ((1, 29), (0.0009, 0.1776)),
    ];
    for ((passed, tried), (low, high)) in table {
        let found = share_interval(passed, tried, 0.95);
        assert_near(found.0, low, 5e-5);
        assert_near(found.1, high, 5e-5);
    }
    assert_eq!(share_interval(0, 0, 0.95), (0.0, 1.0), "nothing tried, nothing known");
}

/// With none seen the upper end has a closed form: (1 - high)^n is half of what is left to chance.
#[test]
fn the_interval_of_nothing_seen_is_exact() {
    for tried in [1, 10, 100, 10_000] {
        let (low, high) = share_interval(0, tried, 0.95);
        assert_eq!(low, 0.0);
        assert_near(high, 1.0 - 0.025f64.powf(1.0 / tried as f64), 1e-12);
    }
}

/// Intervals of the median at 95 % that tables of order statistics list: of 6 values the first to the
/// last, of 10 the second to the ninth, of 20 the sixth to the fifteenth. Source: David and Nagaraja,
/// Order Statistics, 2003, section 7.1 (from memory).
#[test]
fn intervals_of_the_median_agree_with_tables_of_order_statistics() {
    for (count, ends) in [(6, (1.0, 6.0)), (10, (2.0, 9.0)), (20, (6.0, 15.0))] {
        let rising: Vec<f32> = (1..=count).map(|value| value as f32).collect();
        assert_eq!(quantile_interval(&rising, 0.5, 0.95), Some(ends), "of {count}");
    }
    let five = [1.0, 2.0, 3.0, 4.0, 5.0];
    assert_eq!(quantile_interval(&five, 0.5, 0.95), None, "five values cannot bound it");
    assert_eq!(quantile(&[], 0.5), None);
    assert_eq!(quantile(&[1.0, f32::INFINITY, f32::INFINITY], 0.9), Some(f64::INFINITY));
}

/// Chance itself: of intervals from even draws, at least 95 % hold the true quantile, and for samples
/// of this size hardly more.
#[test]
fn intervals_hold_the_true_quantile_as_often_as_they_say() {
    const SAMPLES: u64 = 4_000;
    for share in [0.1, 0.5, 0.9] {
        let mut held = 0;
        for sample in 0..SAMPLES {
            let random = Stream::root(7).numbered(sample);
            let mut values: Vec<f32> = (0..200).map(|count| random.uniform(count) as f32).collect();
            values.sort_by(f32::total_cmp);
            let interval = quantile_interval(&values, share, 0.95);
            held += u64::from(interval.is_some_and(|(low, high)| low <= share && share <= high));
        }
        let (low, high) = share_interval(held, SAMPLES, 1.0 - 1e-6);
        assert!(high >= 0.95 && low <= 0.975, "{held} of {SAMPLES} for {share}");
    }
}

/// The interval of a median of normal draws, against the one that order statistics give: alike in length
/// and right in most samples.
#[test]
fn drawn_intervals_hold_the_truth_as_often_as_they_say() {
    let (samples, count) = (400, 60);
    let mut held = 0;
    let mut lengths = [0.0, 0.0];
    for sample in 0..samples {
        let draw = Stream::root(77).numbered(sample);
        let values: Vec<f32> = (0..count).map(|number| draw.normal(number) as f32).collect();
        let median = |places: &[usize]| {
            let mut drawn: Vec<f32> = places.iter().map(|place| values[*place]).collect();
            drawn.sort_by(f32::total_cmp);
            quantile(&drawn, 0.5).expect("values")
        };
        let (low, high) =
            drawn_interval(values.len(), 0.95, draw.named("again"), median).expect("an interval");
        held += u64::from(low <= 0.0 && 0.0 <= high);
        let mut rising = values.clone();
        rising.sort_by(f32::total_cmp);
        let (least, most) = quantile_interval(&rising, 0.5, 0.95).expect("an interval");
        lengths[0] += high - low;
        lengths[1] += most - least;
    }
    let (low, high) = share_interval(held, samples, 0.999);
    assert!(low < 0.97 && high > 0.93, "{held} of {samples}");
    assert_near(lengths[0] / lengths[1], 0.95, 0.1);
    assert_eq!(drawn_interval(19, 0.95, Stream::root(1), |_| 1.0), None);
    assert_eq!(drawn_interval(20, 0.95, Stream::root(1), |_| f64::NAN), None);
    assert_eq!(drawn_interval(20, 0.95, Stream::root(1), |_| 1.0), Some((1.0, 1.0)));
}

/// What is counted in classes has the quantiles of the values themselves, to within half a class.
#[test]
fn a_tally_has_the_quantiles_of_its_values() {
    let random = Stream::root(3);
    // Even over many doublings, with some at the ends.
    let value = |number: u64| match number % 50 {
        0 => 0.0,
        1 => f32::INFINITY,
        _ => (random.uniform(number) as f32 * 12.0 - 6.0).exp2(),
    };
    let mut values: Vec<f32> = (0..4_000).map(value).collect();
    let (mut tally, mut more) = (Tally::default(), Tally::default());
    values[..1_000].iter().for_each(|value| tally.add(*value));
    values[1_000..].iter().for_each(|value| more.add(*value));
    tally.merge(&more);
    let ranks = tally.ranks();
    values.sort_by(f32::total_cmp);
    let alike = |found: f64, exact: f64| found == exact || (found / exact - 1.0).abs() < 5e-4;
    for share in [0.0, 0.01, 0.1, 0.37, 0.5, 0.9, 0.99, 1.0] {
        let (found, exact) = (ranks.quantile(share), quantile(&values, share));
        assert!(alike(found.expect("values"), exact.expect("values")), "{found:?}, {exact:?}");
        let found = ranks.quantile_interval(share, 0.95);
        let exact = quantile_interval(&values, share, 0.95);
        let ends = found.zip(exact).map(|(a, b)| alike(a.0, b.0) && alike(a.1, b.1));
        assert!(ends.unwrap_or(found == exact), "{share}: {found:?} instead of {exact:?}");
    }
    assert_eq!(Tally::default().ranks().quantile(0.5), None);
}
