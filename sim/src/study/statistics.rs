//! Quantiles and intervals of samples. Nothing is assumed about how the values are distributed.

use crate::random::Stream;

/// Quantile of values in rising order: definition 8 of Hyndman and Fan, Sample quantiles in statistical
/// packages, The American Statistician 1996, which is nearly median-unbiased whatever the distribution.
///
/// `share` is 0 to 1; a share nearer to 0 or 1 than the sample can tell gives its end. `None` for no
/// values.
#[must_use]
pub fn quantile(rising: &[f32], share: f64) -> Option<f64> {
    quantile_at(rising.len(), share, |place| f64::from(rising[place]))
}

/// [`quantile`] of `count` values of which `at` gives the one at a place in rising order, from 0.
#[must_use]
pub fn quantile_at(count: usize, share: f64, at: impl Fn(usize) -> f64) -> Option<f64> {
    let last = count.checked_sub(1)?;
    // Place among the values, counted from 0.
    let place = (count as f64 + 1.0 / 3.0) * share + 1.0 / 3.0 - 1.0;
    let below = (place.floor().max(0.0) as usize).min(last);
    let above = (below + 1).min(last);
    let (low, high) = (at(below), at(above));
    let part = (place - below as f64).clamp(0.0, 1.0);
    Some(if part == 0.0 || low == high { low } else { low + (high - low) * part })
}

/// Interval of a quantile from two values of the sample itself, those in rising order: in a share of at
/// least `confidence` of all samples the true quantile lies within it.
///
/// Source: order statistics, David and Nagaraja, Order Statistics, 2003, section 7.1 (from memory).
/// `None` when the sample is too small to bound it on both sides.
#[must_use]
pub fn quantile_interval(rising: &[f32], share: f64, confidence: f64) -> Option<(f64, f64)> {
    quantile_interval_at(rising.len(), share, confidence, |place| f64::from(rising[place]))
}

/// [`quantile_interval`] of `count` values of which `at` gives the one at a place in rising order, from 0.
#[must_use]
pub fn quantile_interval_at(
    count: usize,
    share: f64,
    confidence: f64,
    at: impl Fn(usize) -> f64,
) -> Option<(f64, f64)> {
    let count = count as u64;
    let tail = (1.0 - confidence) / 2.0;
    // The number of values below the true quantile is binomial. The lower end must not lie above it,
    // nor the upper end below it, more often than in a tail.
    let at_most = |number: u64| binomial_at_most(number, count, share);
    let low = first(count, |number| at_most(number) > tail).checked_sub(1)?;
    let high = first(count, |number| at_most(number) >= 1.0 - tail);
    let value = |place: u64| (place < count).then(|| at(place as usize));
    value(low).zip(value(high))
}

/// The first whole number from 0 that passes a test which all later ones pass too; `count` if none
/// below it does.
fn first(count: u64, passes: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (0, count);
    while low < high {
        let middle = low + (high - low) / 2;
        if passes(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// Interval of a share of which `passed` of `tried` (not fewer) were seen: it is never too short.
///
/// Source: Clopper and Pearson, The use of confidence or fiducial limits illustrated in the case of the
/// binomial, Biometrika 1934. Of nothing tried nothing is known: 0 to 1.
#[must_use]
pub fn share_interval(passed: u64, tried: u64, confidence: f64) -> (f64, f64) {
    let tail = (1.0 - confidence) / 2.0;
    let (passed, failed) = (passed as f64, (tried - passed) as f64);
    let low = if passed == 0.0 { 0.0 } else { beta_quantile(tail, passed, failed + 1.0) };
    let high = if failed == 0.0 { 1.0 } else { beta_quantile(1.0 - tail, passed + 1.0, failed) };
    (low, high)
}

/// Samples drawn anew for an interval.
const RESAMPLES: u64 = 1_000;

/// Interval of a figure that is made from `count` things, by drawing as many of them anew, with repetition,
/// again and again: `figure` is given the places of those drawn.
///
/// Source: Efron and Tibshirani, An Introduction to the Bootstrap, 1993, the percentile interval (from
/// memory). `None` for fewer than 20 things or where the figure is not finite.
#[must_use]
pub fn drawn_interval(
    count: usize,
    confidence: f64,
    random: Stream,
    figure: impl Fn(&[usize]) -> f64,
) -> Option<(f64, f64)> {
    const LEAST: usize = 20;
    if count < LEAST {
        return None;
    }
    let mut places = vec![0; count];
    let mut figures = Vec::new();
    for resample in 0..RESAMPLES {
        let draw = random.numbered(resample);
        for (place, number) in places.iter_mut().zip(0..) {
            *place = ((draw.uniform(number) * count as f64) as usize).min(count - 1);
        }
        figures.push(figure(&places) as f32);
    }
    figures.sort_unstable_by(f32::total_cmp);
    let tail = (1.0 - confidence) / 2.0;
    let ends = quantile(&figures, tail).zip(quantile(&figures, 1.0 - tail));
    ends.filter(|(low, high)| low.is_finite() && high.is_finite())
}

/// Chance that of `count` trials, each with a chance of `share`, at most `number` pass.
#[must_use]
pub fn binomial_at_most(number: u64, count: u64, share: f64) -> f64 {
    if number >= count {
        return 1.0;
    }
    regularised_beta(1.0 - share, (count - number) as f64, number as f64 + 1.0)
}

/// The value that a beta-distributed number stays below with a chance: 60 halvings.
fn beta_quantile(chance: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if regularised_beta(middle, a, b) < chance {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// The regularised incomplete beta function: chance that a beta-distributed number is below `x`, 0 to 1.
/// `a` and `b` are above zero.
///
/// Source: continued fraction of NIST Digital Library of Mathematical Functions, 8.17(v), which
/// converges fast below the mean; above it the function of the complement is taken.
#[must_use]
pub fn regularised_beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        0.0
    } else if x >= 1.0 {
        1.0
    } else if x > (a + 1.0) / (a + b + 2.0) {
        1.0 - regularised_beta_below_mean(1.0 - x, b, a)
    } else {
        regularised_beta_below_mean(x, a, b)
    }
}

fn regularised_beta_below_mean(x: f64, a: f64, b: f64) -> f64 {
    let log_front = libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b)
        + a * libm::log(x)
        + b * libm::log1p(-x);
    libm::exp(log_front) / a / continued_fraction(x, a, b)
}

/// The fraction by the method of Lentz, both signs of a term in one round. The count of rounds only
/// guards against rounding: about the root of `a + b` are needed.
fn continued_fraction(x: f64, a: f64, b: f64) -> f64 {
    const NEARLY_ZERO: f64 = 1e-300;
    const ROUNDS: u32 = 10_000;
    let away = |value: f64| if value.abs() < NEARLY_ZERO { NEARLY_ZERO } else { value };
    let (mut value, mut upper, mut lower) = (1.0, 1.0, 0.0);
    for round in 0..ROUNDS {
        let m = f64::from(round);
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let next = m + 1.0;
        let even = next * (b - next) * x / ((a + 2.0 * next - 1.0) * (a + 2.0 * next));
        let before = value;
        for term in [odd, even] {
            lower = 1.0 / away(1.0 + term * lower);
            upper = away(1.0 + term / upper);
            value *= upper * lower;
        }
        if (value / before - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}
