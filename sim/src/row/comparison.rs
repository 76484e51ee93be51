//! Comparison of every treatment with every other, after the analysis of variance.

use super::distribution::{
    student_beyond, student_quantile, studentized_range_below, studentized_range_quantile,
};
use super::trial::{Analysis, Measure, Trial, analyse};
use std::f64::consts::SQRT_2;

/// How treatments are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Tukey's honestly significant difference, in Kramer's form for unequal counts: the stated
    /// probability of error holds for all pairs together.
    Tukey,
    /// Fisher's least significant difference: it holds for each pair alone, and only after a
    /// significant F.
    LeastDifference,
}

/// One pair of treatments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Indices of the two.
    pub treatments: (usize, usize),
    /// Mean of the first less mean of the second.
    pub difference: f64,
    /// Interval of the difference: it reaches this far to either side.
    pub reach: f64,
    /// Probability of a difference as large by chance.
    pub probability: f64,
}

/// All pairs of an analysis.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// How they were compared.
    pub method: Method,
    /// Probability of error that was accepted.
    pub level: f64,
    /// Every pair once.
    pub pairs: Vec<Pair>,
    /// For each treatment the letters it shares with those it does not differ from.
    pub letters: Vec<String>,
}

/// What a trial says about one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding<'a> {
    /// What was measured.
    pub measure: &'a Measure,
    /// The analysis of variance.
    pub analysis: Analysis,
    /// The comparison of treatments; nothing where the plots leave no error to compare with.
    pub comparison: Option<Comparison>,
}

/// Analyses every measure of a trial whose design was checked.
#[must_use]
pub fn findings(trial: &Trial, method: Method, level: f64) -> Vec<Finding<'_>> {
    let finding = |measure| {
        let analysis = analyse(trial, measure);
        let has_error = analysis.error.squares > 1e-12 * analysis.total.squares;
        let comparison = has_error.then(|| compare(&analysis, method, level));
        Finding { measure, analysis, comparison }
    };
    trial.measures.iter().map(finding).collect()
}

/// Compares all pairs at a probability of error `level`, above 0 and below 1.
#[must_use]
pub fn compare(analysis: &Analysis, method: Method, level: f64) -> Comparison {
    let groups = analysis.means.len();
    let freedom = analysis.error.freedom;
    // As a multiple of the standard error of a difference.
    let critical = match method {
        Method::Tukey => studentized_range_quantile(1.0 - level, groups, freedom) / SQRT_2,
        Method::LeastDifference => student_quantile(1.0 - level / 2.0, freedom),
    };
    let pair = |first: usize, second: usize| {
        let difference = analysis.means[first] - analysis.means[second];
        let both = 1.0 / analysis.counts[first] + 1.0 / analysis.counts[second];
        let deviation = (analysis.error.mean_square() * both).sqrt();
        let ratio = difference.abs() / deviation;
        let probability = match method {
            Method::Tukey => 1.0 - studentized_range_below(ratio * SQRT_2, groups, freedom),
            Method::LeastDifference => student_beyond(ratio, freedom),
        };
        Pair { treatments: (first, second), difference, reach: critical * deviation, probability }
    };
    let pairs: Vec<Pair> = (0..groups)
        .flat_map(|first| (first + 1..groups).map(move |second| (first, second)))
        .map(|(first, second)| pair(first, second))
        .collect();
    let different: Vec<(usize, usize)> = pairs
        .iter()
        .filter(|pair| pair.difference.abs() > pair.reach)
        .map(|pair| pair.treatments)
        .collect();
    Comparison { method, level, letters: letters(&analysis.means, &different), pairs }
}

/// Letters such that two treatments share one exactly if they do not differ, "a" with the highest mean.
///
/// Source: Piepho, An algorithm for a letter-based representation of all-pairwise comparisons,
/// Journal of Computational and Graphical Statistics, 2004: insert and absorb.
fn letters(means: &[f64], different: &[(usize, usize)]) -> Vec<String> {
    let mut columns: Vec<Vec<usize>> = vec![(0..means.len()).collect()];
    for (first, second) in different {
        let (split, kept): (Vec<_>, Vec<_>) = columns
            .into_iter()
            .partition(|column: &Vec<usize>| column.contains(first) && column.contains(second));
        columns = kept;
        for column in split {
            for dropped in [first, second] {
                let rest: Vec<usize> =
                    column.iter().copied().filter(|member| member != dropped).collect();
                let holds_rest = |other: &Vec<usize>| rest.iter().all(|one| other.contains(one));
                if !columns.iter().any(holds_rest) {
                    columns.push(rest);
                }
            }
        }
    }
    // A column made early may lie within one made later.
    let all = columns.clone();
    let within = |small: &Vec<usize>, large: &Vec<usize>| {
        small.len() < large.len() && small.iter().all(|one| large.contains(one))
    };
    columns.retain(|column| !all.iter().any(|other| within(column, other)));
    let highest = |column: &Vec<usize>| {
        column.iter().map(|member| means[*member]).fold(f64::NEG_INFINITY, f64::max)
    };
    let lowest = |column: &Vec<usize>| {
        column.iter().map(|member| means[*member]).fold(f64::INFINITY, f64::min)
    };
    columns.sort_by(|one, other| {
        highest(other).total_cmp(&highest(one)).then(lowest(other).total_cmp(&lowest(one)))
    });
    let name = |place: usize| char::from(b'a' + (place % 26) as u8);
    (0..means.len())
        .map(|member| {
            let shared = columns.iter().enumerate().filter(|(_, column)| column.contains(&member));
            shared.map(|(place, _)| name(place)).collect()
        })
        .collect()
}
