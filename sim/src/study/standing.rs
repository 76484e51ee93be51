//! How near to perfect knowledge the controller comes with each set of sensors.

use super::evaluation::{Evaluation, SensorSet};
use super::results::{CoreKind, Facts, Outcome};
use super::sensors::{Known, Trial};
use super::statistics::{drawn_interval, quantile, quantile_interval, share_interval};
use super::summary::{CONFIDENCE, Figure};
use crate::bench::scenario::Heed;
use crate::random::Stream;

/// Seed of the draws that intervals are made with.
const INTERVAL_SEED: u64 = 0;
/// Hay accounted for this well is accounted for, as a share.
const WELL_ACCOUNTED: f32 = 0.01;

/// Every set of sensors.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// In the order of the evaluation.
    pub sets: Vec<SetStanding>,
}

/// One set of sensors.
#[derive(Clone, Debug, PartialEq)]
pub struct SetStanding {
    /// Which.
    pub set: SensorSet,
    /// On even and soft cores, and on dense ones.
    pub kinds: [KindStanding; 2],
    /// Clumps on dense cores with drivers who follow the advice, and with those who do not.
    pub clumps: [ClumpStanding; 2],
    /// Share of the moments at which the bite lay within its 95 % interval.
    pub inside: Figure,
    /// Median error of the hay accounted for, whatever its sign, as a share.
    pub account_error: Figure,
    /// Share of the bales accounted for within 1 %.
    pub well_accounted: Figure,
    /// Median of how near rows came to the least variance that feedback could have had, 1 at best.
    pub minimum_variance: Figure,
    /// Of 1,000 bales without a dense core, those that the rollers were held slow for.
    pub needless: Figure,
}

/// Evenness over 10 ft on one kind of core: medians over the bales.
#[derive(Clone, Debug, PartialEq)]
pub struct KindStanding {
    /// Bales, without those that perfect knowledge never came to.
    pub bales: usize,
    /// The controller's unevenness.
    pub unevenness: Figure,
    /// Divided by that of perfect knowledge, of the valve set by hand and of the PI on weigh cells.
    pub of_perfect: Figure,
    /// See there.
    pub of_hand: Figure,
    /// See there.
    pub of_integral: Figure,
}

/// Bales with a clump at least, of 1,000.
#[derive(Clone, Debug, PartialEq)]
pub struct ClumpStanding {
    /// Bales.
    pub bales: usize,
    /// Of the controller.
    pub controller: Figure,
    /// Of the controller, on bales that perfect knowledge laid without a clump.
    pub reachable: Figure,
    /// Of perfect knowledge.
    pub perfect: Figure,
    /// Of the valve set by hand.
    pub hand: Figure,
    /// Clumps of the controller for 1,000 bales, of which one may have several.
    pub clumps: f64,
}

/// One bale fed with one set.
struct Fed<'a> {
    trial: &'a Trial,
    own: &'a Outcome,
    known: &'a Known,
}

impl Standing {
    /// From all trials of an evaluation.
    #[must_use]
    pub fn new(evaluation: &Evaluation, trials: &[Trial]) -> Self {
        let of_set = |(place, set): (usize, &SensorSet)| {
            let fed = |trial| fed_with(trial, place);
            standing(set, &trials.iter().filter_map(fed).collect::<Vec<_>>())
        };
        Self { sets: evaluation.sets.iter().enumerate().map(of_set).collect() }
    }
}

fn fed_with(trial: &Trial, place: usize) -> Option<Fed<'_>> {
    let mut sets = trial.sets.iter();
    let (_, own, known) = sets.find(|(set, ..)| *set == place)?;
    Some(Fed { trial, own, known })
}

fn is_dense(facts: &Facts) -> bool {
    facts.core == CoreKind::Dense
}

fn standing(set: &SensorSet, fed: &[Fed<'_>]) -> SetStanding {
    let of_kind = |dense: bool| {
        // A bale that even perfect knowledge never came to, behind others of its lot, tells nothing.
        let told = |fed: &&Fed<'_>| fed.trial.perfect.unevenness_10_ft.is_finite();
        let chosen = fed.iter().filter(|fed| is_dense(&fed.trial.facts) == dense).filter(told);
        kind(&chosen.collect::<Vec<_>>())
    };
    let of_driver = |heeds: bool| {
        let chosen = fed.iter().filter(|fed| {
            is_dense(&fed.trial.facts) && (fed.trial.facts.heed != Heed::Never) == heeds
        });
        clumps(&chosen.collect::<Vec<_>>())
    };
    let coreless = fed.iter().filter(|fed| !is_dense(&fed.trial.facts));
    let errors = rising(fed.iter().map(|fed| fed.known.account_error.abs()));
    let indices = fed.iter().map(|fed| fed.known.minimum_variance);
    let well = errors.iter().filter(|error| **error <= WELL_ACCOUNTED).count();
    SetStanding {
        set: set.clone(),
        kinds: [of_kind(false), of_kind(true)],
        clumps: [of_driver(true), of_driver(false)],
        inside: inside(fed),
        account_error: median(&errors),
        well_accounted: share(well, fed.len(), 1.0),
        minimum_variance: median(&rising(indices.filter(|index| index.is_finite()))),
        needless: share(
            coreless.clone().filter(|fed| fed.known.slowed).count(),
            coreless.count(),
            1000.0,
        ),
    }
}

fn kind(fed: &[&Fed<'_>]) -> KindStanding {
    let of = |outcome: &dyn Fn(&Fed<'_>) -> f32| fed.iter().map(|fed| outcome(fed)).collect();
    let own: Vec<f32> = of(&|fed| fed.own.unevenness_10_ft);
    KindStanding {
        bales: fed.len(),
        unevenness: median(&rising(own.iter().copied())),
        of_perfect: ratio(&own, &of(&|fed| fed.trial.perfect.unevenness_10_ft)),
        of_hand: ratio(&own, &of(&|fed| fed.trial.hand.unevenness_10_ft)),
        of_integral: ratio(&own, &of(&|fed| fed.trial.integral.unevenness_10_ft)),
    }
}

fn clumps(fed: &[&Fed<'_>]) -> ClumpStanding {
    let with = |fed: &[&Fed<'_>], outcome: fn(&Fed<'_>) -> u32| {
        share(fed.iter().filter(|fed| outcome(fed) > 0).count(), fed.len(), 1000.0)
    };
    let free = fed.iter().copied().filter(|fed| fed.trial.perfect.clumps == 0);
    let clumps: u32 = fed.iter().map(|fed| fed.own.clumps).sum();
    ClumpStanding {
        bales: fed.len(),
        controller: with(fed, |fed| fed.own.clumps),
        reachable: with(&free.collect::<Vec<_>>(), |fed| fed.own.clumps),
        perfect: with(fed, |fed| fed.trial.perfect.clumps),
        hand: with(fed, |fed| fed.trial.hand.clumps),
        clumps: 1000.0 * f64::from(clumps) / fed.len() as f64,
    }
}

/// Moments of one bale are alike, so the interval counts bales.
fn inside(fed: &[Fed<'_>]) -> Figure {
    let share = |places: &mut dyn Iterator<Item = usize>| {
        let (mut inside, mut moments) = (0.0, 0.0);
        for place in places {
            inside += f64::from(fed[place].known.inside);
            moments += f64::from(fed[place].known.moments);
        }
        inside / moments
    };
    let random = Stream::root(INTERVAL_SEED).named("inside");
    Figure {
        value: share(&mut (0..fed.len())),
        interval: drawn_interval(fed.len(), CONFIDENCE, random, |places| {
            share(&mut places.iter().copied())
        }),
    }
}

fn rising(values: impl Iterator<Item = f32>) -> Vec<f32> {
    let mut values: Vec<f32> = values.collect();
    values.sort_unstable_by(f32::total_cmp);
    values
}

fn median(rising: &[f32]) -> Figure {
    Figure {
        value: quantile(rising, 0.5).unwrap_or(f64::NAN),
        interval: quantile_interval(rising, 0.5, CONFIDENCE),
    }
}

fn share(passed: usize, tried: usize, scale: f64) -> Figure {
    let (low, high) = share_interval(passed as u64, tried as u64, CONFIDENCE);
    let interval = (tried > 0).then_some((scale * low, scale * high));
    Figure { value: scale * passed as f64 / tried as f64, interval }
}

/// The quotient of the medians; the interval draws whole bales, so that pairs stay pairs.
fn ratio(own: &[f32], other: &[f32]) -> Figure {
    let median = |values: &[f32], places: &mut dyn Iterator<Item = usize>| {
        let mut drawn: Vec<f32> = places.map(|place| values[place]).collect();
        drawn.sort_unstable_by(f32::total_cmp);
        quantile(&drawn, 0.5).unwrap_or(f64::NAN)
    };
    let all = 0..own.len();
    let random = Stream::root(INTERVAL_SEED).named("medians");
    Figure {
        value: median(own, &mut all.clone()) / median(other, &mut all.clone()),
        interval: drawn_interval(own.len(), CONFIDENCE, random, |places| {
            let drawn = || places.iter().copied();
            median(own, &mut drawn()) / median(other, &mut drawn())
        }),
    }
}
