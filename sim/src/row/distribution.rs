//! Distributions that tests and intervals need. Not a number where the arguments make no sense.

use libm::{erfc, exp, lgamma, log};
use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, StudentsT};
use std::f64::consts::{FRAC_1_SQRT_2, LN_2, PI};

/// Value that Student's t stays below with this probability.
#[must_use]
pub fn student_quantile(probability: f64, freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom).map_or(f64::NAN, |law| law.inverse_cdf(probability))
}

/// Probability that Student's t lies farther from zero than `t`, to either side.
#[must_use]
pub fn student_beyond(t: f64, freedom: f64) -> f64 {
    if t.is_nan() {
        return f64::NAN;
    }
    // Beyond the largest finite number nothing lies; the library does not take an infinite one.
    let t = t.abs().min(f64::MAX);
    StudentsT::new(0.0, 1.0, freedom).map_or(f64::NAN, |law| 2.0 * law.sf(t))
}

/// Value that chi-square stays below with this probability.
#[must_use]
pub fn chi_square_quantile(probability: f64, freedom: f64) -> f64 {
    ChiSquared::new(freedom).map_or(f64::NAN, |law| law.inverse_cdf(probability))
}

/// Probability that F lies above `value`.
#[must_use]
pub fn f_above(value: f64, above: f64, below: f64) -> f64 {
    if !value.is_finite() {
        // No error at all: an infinite ratio never comes by chance, none at all says nothing.
        return if value == f64::INFINITY { 0.0 } else { f64::NAN };
    }
    FisherSnedecor::new(above, below).map_or(f64::NAN, |law| law.sf(value.max(0.0)))
}

/// Steps over the standard normal; the trapezoid rule is then exact to rounding, as its ends vanish.
const NORMAL_STEPS: usize = 160;
/// Beyond this many deviations a normal density counts for nothing.
const FAR: f64 = 8.0;
/// Steps over the deviation in the denominator.
const DEVIATION_STEPS: usize = 240;

/// Probability that the studentized range of `groups` means, with a variance estimated on `freedom`
/// degrees, stays below `value`. At least two groups and one degree of freedom.
///
/// Double integral of its definition: the range of normals over an independent deviation.
#[must_use]
pub fn studentized_range_below(value: f64, groups: usize, freedom: f64) -> f64 {
    if !(value.is_finite() && freedom >= 1.0 && groups >= 2) {
        return f64::NAN;
    }
    if value <= 0.0 {
        return 0.0;
    }
    let range = NormalRange::new(groups);
    // The root of the deviation is the variable: it spreads the steps towards zero, where a wide range
    // comes from.
    let widest = (1.0 + 9.0 / (2.0 * freedom).sqrt()).sqrt();
    let narrowest = (1.0 - 9.0 / (2.0 * freedom).sqrt()).max(0.0).sqrt();
    let step = (widest - narrowest) / DEVIATION_STEPS as f64;
    let half = freedom / 2.0;
    let scale = half * log(half) - lgamma(half) + LN_2;
    let inner = |count: usize| {
        let root = narrowest + step * count as f64;
        let deviation = root * root;
        if deviation == 0.0 {
            return 0.0;
        }
        let density = exp(scale + (freedom - 1.0) * log(deviation) - half * deviation * deviation);
        2.0 * root * density * range.below(value * deviation)
    };
    // Simpson's rule.
    let weight = |count: usize| match count {
        0 | DEVIATION_STEPS => 1.0,
        odd if odd % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let sum: f64 = (0..=DEVIATION_STEPS).map(|count| weight(count) * inner(count)).sum();
    (sum * step / 3.0).clamp(0.0, 1.0)
}

/// Value that the studentized range stays below with this probability (above 0, below 1), found by
/// halving to a millionth.
#[must_use]
pub fn studentized_range_quantile(probability: f64, groups: usize, freedom: f64) -> f64 {
    let (mut low, mut high) = (0.0, 500.0);
    let reached = studentized_range_below(high, groups, freedom);
    if reached.is_nan() || reached < probability {
        return f64::NAN;
    }
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        if studentized_range_below(middle, groups, freedom) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The range of several standard normals.
struct NormalRange {
    groups: i32,
    /// Place, density times step, and the probability below the place.
    places: Vec<(f64, f64, f64)>,
}

impl NormalRange {
    fn new(groups: usize) -> Self {
        let step = 2.0 * FAR / NORMAL_STEPS as f64;
        let place = |count: usize| {
            let z = -FAR + step * count as f64;
            (z, step * exp(-0.5 * z * z) / (2.0 * PI).sqrt(), normal_below(z))
        };
        Self {
            groups: i32::try_from(groups).unwrap_or(i32::MAX),
            places: (0..=NORMAL_STEPS).map(place).collect(),
        }
    }

    /// Probability that it stays below `width`: one of the normals is the highest, all others lie
    /// within `width` under it.
    fn below(&self, width: f64) -> f64 {
        let sum: f64 = self
            .places
            .iter()
            .map(|(z, density, below)| {
                density * (below - normal_below(z - width)).max(0.0).powi(self.groups - 1)
            })
            .sum();
        f64::from(self.groups) * sum
    }
}

fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}
