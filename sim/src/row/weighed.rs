//! Weighed lengths of a row into evenness with its uncertainty.

use super::distribution::{chi_square_quantile, student_quantile};
use crate::random::Stream;
use crate::score::spread;

/// A weighed piece of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length {
    /// Where it begins along the row, m.
    pub from_m: f64,
    /// Where it ends, m.
    pub to_m: f64,
    /// Hay on it, kg.
    pub mass_kg: f64,
}

impl Length {
    /// Its length, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.to_m - self.from_m
    }

    /// Hay a metre, kg/m.
    #[must_use]
    pub fn rate_kg_m(&self) -> f64 {
        self.mass_kg / self.length_m()
    }
}

/// A value and an interval that holds the true one with the stated confidence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The estimate.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end; not finite when the data set no bound.
    pub high: f64,
}

/// What a weighed row amounts to.
#[derive(Clone, Debug, PartialEq)]
pub struct Evenness {
    /// How many pieces.
    pub pieces: usize,
    /// Mean length of a piece, m: evenness has a meaning only with it.
    pub interval_m: f64,
    /// Length weighed, m.
    pub length_m: f64,
    /// Hay on it, kg.
    pub mass_kg: f64,
    /// Mean rate, kg/m.
    pub rate_kg_m: Interval,
    /// Coefficient of variation of the rates, divisor n - 1.
    pub variation: Interval,
    /// Root mean square of rate / target - 1; the mean rate stands in for a target that nobody stated.
    pub unevenness: Interval,
    /// Target, kg/m, if one was stated.
    pub target_kg_m: Option<f64>,
    /// Share of pieces within 10 % of the target.
    pub within_tenth: f64,
    /// Share of pieces below half the target.
    pub below_half: f64,
    /// Share of pieces above twice the target.
    pub above_twice: f64,
    /// The piece with the highest rate.
    pub heaviest: Length,
    /// Correlation of each piece with the next, -1 to 1; 0 when neighbours have nothing in common.
    pub neighbours: f64,
    /// Share of confidence, 0 to 1, of every interval.
    pub confidence: f64,
}

/// Why pieces cannot be judged.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum WeighedError {
    /// Too few of them.
    #[error("{0} weighed lengths; at least 5 are needed to say anything about evenness")]
    TooFew(usize),
    /// Lengths differ.
    #[error(
        "the lengths reach from {0:.2} to {1:.2} m; pieces of one length (within a tenth) are needed, as a row looks more \
         even over longer pieces"
    )]
    LengthsDiffer(f64, f64),
    /// No hay.
    #[error("no hay was weighed; weights above zero are needed")]
    NoHay,
}

/// How many resamples stand behind the interval of the unevenness.
const RESAMPLES: u64 = 2_000;

/// Evenness of the pieces against a target, kg/m. `confidence` lies between 0 and 1, both excluded.
///
/// The interval of the mean is Student's, that of the variation is the modified McKay one; both take
/// the pieces as independent. That of the unevenness comes from resampling the pieces.
/// Source: Vangel, Confidence intervals for a normal coefficient of variation, The American
/// Statistician, 1996.
///
/// # Errors
/// Fewer than five pieces, pieces of different lengths, no hay at all.
pub fn evenness(
    pieces: &[Length],
    target_kg_m: Option<f64>,
    confidence: f64,
) -> Result<Evenness, WeighedError> {
    if pieces.len() < 5 {
        return Err(WeighedError::TooFew(pieces.len()));
    }
    let lengths = || pieces.iter().map(Length::length_m);
    let (short_m, long_m) = (lengths().fold(f64::MAX, f64::min), lengths().fold(0.0, f64::max));
    if long_m > 1.1 * short_m {
        return Err(WeighedError::LengthsDiffer(short_m, long_m));
    }
    let rates: Vec<f64> = pieces.iter().map(Length::rate_kg_m).collect();
    let count = rates.len() as f64;
    let mean = rates.iter().sum::<f64>() / count;
    let coefficient = spread::coefficient_of_variation(&rates).ok_or(WeighedError::NoHay)?;
    let reach =
        student_quantile(0.5 + confidence / 2.0, count - 1.0) * coefficient * mean / count.sqrt();
    let aim = target_kg_m.unwrap_or(mean);
    let relative: Vec<f64> = rates.iter().map(|rate| rate / aim).collect();
    let share = |passes: fn(f64) -> bool| spread::share(&relative, passes).unwrap_or(0.0);
    let heaviest = pieces.iter().fold(pieces[0], |best, piece| {
        if piece.rate_kg_m() > best.rate_kg_m() { *piece } else { best }
    });
    Ok(Evenness {
        pieces: pieces.len(),
        interval_m: lengths().sum::<f64>() / count,
        length_m: lengths().sum(),
        mass_kg: pieces.iter().map(|piece| piece.mass_kg).sum(),
        rate_kg_m: Interval { value: mean, low: mean - reach, high: mean + reach },
        variation: variation(coefficient, count - 1.0, confidence),
        unevenness: unevenness(&relative, confidence),
        target_kg_m,
        within_tenth: share(|rate| (rate - 1.0).abs() <= 0.1),
        below_half: share(|rate| rate < 0.5),
        above_twice: share(|rate| rate > 2.0),
        heaviest,
        neighbours: neighbours(&rates, mean),
        confidence,
    })
}

/// A coefficient of variation with its modified McKay interval.
#[must_use]
pub fn variation(coefficient: f64, freedom: f64, confidence: f64) -> Interval {
    let square = coefficient * coefficient;
    let end = |probability: f64| {
        let chi = chi_square_quantile(probability, freedom);
        let under = ((chi + 2.0) / (freedom + 1.0) - 1.0) * square + chi / freedom;
        if under > 0.0 { coefficient / under.sqrt() } else { f64::INFINITY }
    };
    let tail = (1.0 - confidence) / 2.0;
    Interval { value: coefficient, low: end(1.0 - tail), high: end(tail) }
}

/// Unevenness with the interval of its resampled values.
fn unevenness(relative: &[f64], confidence: f64) -> Interval {
    let count = relative.len();
    let resampled = |number: u64| {
        let stream = Stream::root(0).named("resample").numbered(number);
        let drawn: Vec<f64> = (0..count as u64)
            .map(|draw| relative[(stream.uniform(draw) * count as f64) as usize % count])
            .collect();
        spread::unevenness(&drawn).unwrap_or(f64::NAN)
    };
    let mut values: Vec<f64> = (0..RESAMPLES).map(resampled).collect();
    values.sort_by(f64::total_cmp);
    let at = |share: f64| values[(share * (values.len() - 1) as f64).round() as usize];
    let tail = (1.0 - confidence) / 2.0;
    let value = spread::unevenness(relative).unwrap_or(f64::NAN);
    Interval { value, low: at(tail), high: at(1.0 - tail) }
}

/// Correlation of each value with the next.
fn neighbours(values: &[f64], mean: f64) -> f64 {
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    let products: f64 = values.windows(2).map(|pair| (pair[0] - mean) * (pair[1] - mean)).sum();
    spread::ratio(products, squares).unwrap_or(0.0)
}
