//! The minimum-variance index on series whose index theory tells.
//!
//! Source: Harris, Assessment of control loop performance, Canadian Journal of Chemical Engineering 1989
//! (from memory): of a series made from the last `delay` shocks alone nothing could have been prevented;
//! of a first-order series with factor a, a share of 1 - a^(2 delay) is left.

use proptest::prelude::*;
use strewn::random::Stream;
use strewn::study::minimum_variance::minimum_variance_index;

const LENGTH: u64 = 20_000;

fn shocks(seed: u64) -> Vec<f64> {
    (0..LENGTH).map(|count| Stream::root(seed).normal(count)).collect()
}

fn first_order(factor: f64, shocks: &[f64]) -> Vec<f64> {
    let mut value = 0.0;
    let mut next = |shock: &f64| {
        value = factor * value + shock;
        value
    };
    shocks.iter().map(&mut next).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]

    #[test]
    fn a_first_order_series_leaves_what_theory_says(
        seed in 0u64..1_000, factor in -0.95..0.95f64, delay in 1usize..6,
    ) {
        let index = minimum_variance_index(&first_order(factor, &shocks(seed)), delay).unwrap();
        let expected = 1.0 - factor.powi(2 * delay as i32);
        // By chance: the factor is told with a deviation of the root of (1 - factor^2) / LENGTH, and errors
        // of several steps ahead overlap, so that six of them and a hundredth are allowed.
        let slope = 2.0 * delay as f64 * factor.abs().powi(2 * delay as i32 - 1);
        let chance = slope * ((1.0 - factor * factor) / LENGTH as f64).sqrt();
        prop_assert!((index - expected).abs() < 6.0 * chance + 0.01, "{index} instead of {expected}");
    }

    #[test]
    fn what_the_last_shocks_alone_made_could_not_be_prevented(seed in 0u64..1_000, delay in 1usize..6) {
        let shocks = shocks(seed);
        let sums: Vec<f64> = shocks.windows(delay).map(|last| last.iter().sum()).collect();
        let index = minimum_variance_index(&sums, delay).unwrap();
        prop_assert!(index > 0.98, "{index}");
        // One step later it could.
        if delay > 1 {
            let sooner = minimum_variance_index(&sums, delay - 1).unwrap();
            prop_assert!(sooner < index);
        }
    }

    /// A row laid evenly at a wrong rate: all of it could have been prevented. Its scale does not matter.
    #[test]
    fn a_lasting_error_could_have_been_prevented(seed in 0u64..1_000, scale in 0.001..100.0f64) {
        let lasting: Vec<f64> =
            shocks(seed).iter().map(|shock| scale * (1.0 + 0.05 * shock)).collect();
        let index = minimum_variance_index(&lasting, 3).unwrap();
        prop_assert!(index < 0.01, "{index}");
    }
}

#[test]
fn too_short_or_perfect_rows_have_none() {
    assert_eq!(minimum_variance_index(&[0.1; 40], 3), None);
    assert_eq!(minimum_variance_index(&[0.0; 400], 3), None);
    assert_eq!(minimum_variance_index(&[], 0), None);
}
