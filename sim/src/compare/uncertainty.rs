//! How sure a comparison is: draws over the bounds of all inputs, and one input at a time.

use super::Question;
use super::cost::outcome;
use super::defaults::WAYS;
use super::input::{Estimate, Farm, Way};
use crate::random::Stream;

/// How many times all inputs are drawn.
pub const DRAWS: u64 = 4_000;

/// What the draws say of one way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Cost for each head and day that a twentieth of the draws stay below, USD.
    pub low_usd: f64,
    /// That half of them stay below.
    pub median_usd: f64,
    /// That all but a twentieth stay below.
    pub high_usd: f64,
    /// Share of the draws in which it costs less than the way it is held against.
    pub beats: f64,
    /// Share in which it costs the least of all.
    pub cheapest: f64,
}

/// One input's swing of a difference in cost.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// Which way the input belongs to; empty for what all share.
    pub of: &'static str,
    /// The input's key.
    pub key: &'static str,
    /// Its bounds in the key's unit.
    pub bounds: (f64, f64),
    /// The difference at its lowest and at its highest, all else at its likeliest, USD a head and day.
    pub difference_usd: (f64, f64),
}

impl Swing {
    /// How far apart the two ends are.
    #[must_use]
    pub fn width_usd(&self) -> f64 {
        (self.difference_usd.1 - self.difference_usd.0).abs()
    }
}

/// The likeliest numbers of an estimate.
#[must_use]
pub fn likeliest_farm(farm: &Farm<Estimate>) -> Farm<f64> {
    farm.map(|_, estimate| estimate.mode)
}

/// The likeliest numbers of an estimate.
#[must_use]
pub fn likeliest_way(way: &Way<Estimate>) -> Way<f64> {
    way.map(|_, estimate| estimate.mode)
}

/// Draws all inputs [`DRAWS`] times, each evenly likely by its triangular distribution and independent
/// of the others; what all ways share is the same for all of them in one draw.
#[must_use]
pub fn spreads(question: &Question, seed: u64) -> Vec<Spread> {
    let root = Stream::root(seed);
    let mut costs: Vec<Vec<f64>> = vec![Vec::new(); WAYS.len()];
    let (mut beats, mut cheapest) = (vec![0.0; WAYS.len()], vec![0.0; WAYS.len()]);
    for draw in 0..DRAWS {
        let shared = root.named("farm");
        let farm = question
            .farm
            .map(|key, estimate| estimate.quantile(shared.named(key.name).uniform(draw)));
        let drawn: Vec<f64> = question
            .ways
            .iter()
            .zip(WAYS)
            .map(|(way, name)| {
                let own = root.named(name);
                let numbers =
                    way.map(|key, estimate| estimate.quantile(own.named(key.name).uniform(draw)));
                outcome(&farm, &numbers).head_day_usd
            })
            .collect();
        let least = drawn.iter().copied().fold(f64::MAX, f64::min);
        for (way, cost) in drawn.iter().enumerate() {
            costs[way].push(*cost);
            beats[way] += f64::from(u8::from(*cost < drawn[question.against])) / DRAWS as f64;
            cheapest[way] += f64::from(u8::from(*cost <= least)) / DRAWS as f64;
        }
    }
    let spread = |way: usize| {
        let mut sorted = costs[way].clone();
        sorted.sort_by(f64::total_cmp);
        let at = |share: f64| sorted[(share * (sorted.len() - 1) as f64).round() as usize];
        Spread {
            low_usd: at(0.05),
            median_usd: at(0.5),
            high_usd: at(0.95),
            beats: beats[way],
            cheapest: cheapest[way],
        }
    };
    (0..WAYS.len()).map(spread).collect()
}

/// How far each input alone moves the cost of the way in detail less that of the way it is held
/// against, the widest first; inputs that move nothing are left out.
#[must_use]
pub fn swings(question: &Question) -> Vec<Swing> {
    let farm = likeliest_farm(&question.farm);
    let (way, other) = (&question.ways[question.detail], &question.ways[question.against]);
    let difference = |farm: &Farm<f64>, way: &Way<f64>, other: &Way<f64>| {
        outcome(farm, way).head_day_usd - outcome(farm, other).head_day_usd
    };
    let (own, others) = (likeliest_way(way), likeliest_way(other));
    let mut swings = Vec::new();
    question.farm.map(|key, estimate| {
        let at = |value: f64| {
            let moved =
                farm.map(|inner, usual| if inner.name == key.name { value } else { *usual });
            difference(&moved, &own, &others)
        };
        swings.push(swing("", key.name, key.unit, estimate, at));
    });
    for (of, estimates, is_own) in
        [(WAYS[question.detail], way, true), (WAYS[question.against], other, false)]
    {
        estimates.map(|key, estimate| {
            let at = |value: f64| {
                let moved = |way: &Way<f64>| {
                    way.map(|inner, usual| if inner.name == key.name { value } else { *usual })
                };
                if is_own {
                    difference(&farm, &moved(&own), &others)
                } else {
                    difference(&farm, &own, &moved(&others))
                }
            };
            swings.push(swing(of, key.name, key.unit, estimate, at));
        });
    }
    swings.retain(|swing| swing.width_usd() > 1e-9);
    swings.sort_by(|one, other| other.width_usd().total_cmp(&one.width_usd()));
    swings
}

fn swing(
    of: &'static str,
    key: &'static str,
    unit: f64,
    estimate: &Estimate,
    difference_usd: impl Fn(f64) -> f64,
) -> Swing {
    Swing {
        of,
        key,
        bounds: (estimate.low / unit, estimate.high / unit),
        difference_usd: (difference_usd(estimate.low), difference_usd(estimate.high)),
    }
}
