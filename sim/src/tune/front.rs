//! Of several objectives, what nothing else betters in all of them.

use super::trial::Objectives;

/// Whether one is at least as good as another in everything and better in something.
#[must_use]
pub fn betters(one: &Objectives, other: &Objectives) -> bool {
    let pairs = || one.all().into_iter().zip(other.all());
    pairs().all(|(one, other)| one <= other) && pairs().any(|(one, other)| one < other)
}

/// The places of those that nothing betters, the most even first; of equals the first one alone.
///
/// Source: Pareto efficiency as in Deb, Multi-Objective Optimization using Evolutionary Algorithms, 2001
/// (from memory).
#[must_use]
pub fn front(tried: &[Objectives]) -> Vec<usize> {
    let is_first = |place: usize| !tried[..place].contains(&tried[place]);
    let unbettered = |place: usize| !tried.iter().any(|other| betters(other, &tried[place]));
    let mut places: Vec<usize> =
        (0..tried.len()).filter(|place| is_first(*place) && unbettered(*place)).collect();
    places.sort_by(|a, b| tried[*a].unevenness.total_cmp(&tried[*b].unevenness));
    places
}
