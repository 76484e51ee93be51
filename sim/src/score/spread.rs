//! How far a row of numbers spreads. `None` instead of a number that is none.

/// Root mean square of `value - 1`; `None` for no values.
///
/// For segments over their target it counts both a wrong mean and a wrong spread.
#[must_use]
pub fn unevenness(relative: &[f64]) -> Option<f64> {
    let squares: f64 = relative.iter().map(|value| (value - 1.0) * (value - 1.0)).sum();
    ratio(squares, relative.len() as f64).map(f64::sqrt)
}

/// Standard deviation over mean, with divisor n - 1; `None` below two values or for a mean of 0.
///
/// It counts the spread alone: a row laid evenly at half the target has a coefficient of 0.
#[must_use]
pub fn coefficient_of_variation(values: &[f64]) -> Option<f64> {
    let count = values.len() as f64;
    let mean = ratio(values.iter().sum(), count)?;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    let deviation = ratio(squares, count - 1.0)?.sqrt();
    ratio(deviation, mean)
}

/// Share of the values that pass, 0 to 1; `None` for no values.
#[must_use]
pub fn share(values: &[f64], passes: impl Fn(f64) -> bool) -> Option<f64> {
    let passing = values.iter().filter(|value| passes(**value)).count();
    ratio(passing as f64, values.len() as f64)
}

/// A quotient; `None` unless the divisor is positive and the result finite.
#[must_use]
pub fn ratio(numerator: f64, denominator: f64) -> Option<f64> {
    Some(numerator / denominator).filter(|value| denominator > 0.0 && value.is_finite())
}
