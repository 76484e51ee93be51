//! The bite of each lot: what leaves a full bale per roller turn, and how it falls against the law
//! that the ticket expects.

use super::Finding;
use super::gather::BaleTrack;
use super::sums::{Parts, jackknife};

/// Fewer weighings than these tell nothing.
const LEAST_WEIGHINGS: usize = 400;
/// A bale of which less than this was torn tells nothing, as a share of the ticket's mass.
const LEAST_TORN: f64 = 0.3;
/// A bale counts as fed to its end if less than this was left.
const EMPTY: f64 = 0.1;

/// What is known of the bite of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct BiteFit {
    /// The ticket, counted from 0.
    pub ticket: usize,
    /// Bales that tell.
    pub bales: usize,
    /// Bite of a full bale, kg a turn, by the ticket's law scaled to the hay.
    pub full_kg: Finding,
    /// The bite when half of the bale is gone, over what the ticket's law expects there, both taken
    /// against the full bale: 1 if the bite falls as expected, less if it falls faster.
    pub half_over_law: Finding,
}

/// What one bale tells: a figure and its standard error.
type Told = (f64, f64);

/// Fits the bite to the bales of several logs, a lot at a time.
pub(super) fn fit(bales: &[BaleTrack]) -> Vec<BiteFit> {
    let mut tickets: Vec<usize> = bales.iter().map(|bale| bale.ticket).collect();
    tickets.sort_unstable();
    tickets.dedup();
    let of_ticket = |ticket| {
        let bales: Vec<&BaleTrack> = bales.iter().filter(|bale| bale.ticket == ticket).collect();
        let scales: Vec<Told> = bales.iter().filter_map(|bale| scale(bale)).collect();
        let falls: Vec<Told> = bales.iter().filter_map(|bale| fall(bale)).collect();
        let by_ticket_kg = bales.first().map_or(0.0, |bale| bale.full_bite_kg);
        BiteFit {
            ticket,
            bales: scales.len(),
            full_kg: pooled(&scales, by_ticket_kg, 0.2, "no bale was weighed or fed to its end"),
            half_over_law: pooled(&falls, 1.0, 0.15, "no bale was weighed over enough of its hay"),
        }
    };
    tickets.into_iter().map(of_ticket).collect()
}

/// Creep, drift and tilt of weigh cells bend what all bales tell by about this share. Common practice,
/// no source.
const CELLS_BEND: f64 = 0.005;

/// Mean of what the bales tell, times `unit`. Bales of a lot differ, and between several of them the
/// difference shows; a single one has only its own error.
fn pooled(told: &[Told], unit: f64, most: f64, none: &str) -> Finding {
    let count = told.len() as f64;
    let mean = told.iter().map(|(value, _)| value).sum::<f64>() / count;
    let own = told.iter().map(|(_, error)| error * error).sum::<f64>().sqrt() / count;
    let error = match told {
        [] => return Finding::CannotSay(none.to_owned()),
        [_] => own,
        _ => {
            let squares: f64 = told.iter().map(|(value, _)| (value - mean) * (value - mean)).sum();
            own.max((squares / (count - 1.0) / count).sqrt())
        }
    };
    let error = error.hypot(CELLS_BEND * mean);
    if error > most * mean.abs() {
        return Finding::CannotSay(format!("it is {mean:.2} +/- {error:.2} of the ticket's"));
    }
    Finding::Found { value: mean * unit, deviation: error * unit }
}

fn is_weighed(bale: &BaleTrack) -> bool {
    bale.weighings.len() >= LEAST_WEIGHINGS && bale.expected_kg > LEAST_TORN * bale.ticket_kg
}

/// The bite over the ticket's, taken over the whole bale.
///
/// Weighed: the slope of mass against hay expected. Not weighed, but fed to its end: the ticket's
/// mass over the hay expected for the turns that it took.
fn scale(bale: &BaleTrack) -> Option<Told> {
    if is_weighed(bale) {
        let mut parts = Parts::default();
        for (place, weighing) in bale.weighings.iter().enumerate() {
            let row = [1.0, weighing.expected_kg];
            parts.add(place, bale.weighings.len(), row, weighing.mass_kg);
        }
        let figure = |without| parts.without(without).solve().map(|[_, slope]| [-slope]);
        let ([value], [error]) = jackknife(figure)?;
        return Some((value, error));
    }
    let was_emptied = bale.weighings.is_empty() && bale.left_share.is_some_and(|left| left < EMPTY);
    let value = bale.ticket_kg / bale.expected_kg;
    was_emptied.then_some((value, value * bale.ticket_share))
}

/// The bite at half of the bale over that of the full bale, both over the ticket's.
fn fall(bale: &BaleTrack) -> Option<Told> {
    if !is_weighed(bale) {
        return None;
    }
    let mut parts = Parts::default();
    for (place, weighing) in bale.weighings.iter().enumerate() {
        let row = [1.0, weighing.expected_kg, weighing.gone_kg];
        parts.add(place, bale.weighings.len(), row, weighing.mass_kg);
    }
    let figure = |without| {
        let [_, full, gone] = parts.without(without).solve()?;
        Some([(full + 0.5 * gone) / full])
    };
    let ([value], [error]) = jackknife(figure)?;
    Some((value, error))
}
