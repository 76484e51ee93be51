//! Training bales fed with some settings: how even, how many clumps, how long.

use super::knobs::Knobs;
use crate::bench::scenario::Scenario;
use crate::bench::{MachineFile, runs};
use crate::rivals::Law;
use crate::study::pool;
use crate::study::population::Population;
use crate::study::results::{BaleResult, results};
use serde::{Deserialize, Serialize};
use std::sync::atomic::AtomicBool;

/// A bale counts as no more and no less even than this, so that one alone decides nothing.
const UNEVENNESS: (f32, f32) = (0.01, 3.0);
/// What a clump on every bale is worth, as a logarithm of unevenness: one on a bale of ten counts as a
/// fifth more unevenness.
const CLUMP_WEIGHT: f64 = 2.0;
/// What time is worth: a tenth more counts as a twentieth more unevenness.
const TIME_WEIGHT: f64 = 0.5;

/// What settings amount to on some bales; the less, the better.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Objectives {
    /// Unevenness over 10 ft divided by that of perfect knowledge, geometric mean over the bales.
    pub unevenness: f64,
    /// Clumps for 1,000 bales.
    pub clumps: f64,
    /// Time of laying divided by that of perfect knowledge.
    pub time: f64,
}

impl Objectives {
    /// All three.
    #[must_use]
    pub fn all(&self) -> [f64; 3] {
        [self.unevenness, self.clumps, self.time]
    }

    /// The three in one number, which a search makes small.
    #[must_use]
    pub fn merit(&self) -> f64 {
        libm::log(self.unevenness)
            + CLUMP_WEIGHT * self.clumps / 1_000.0
            + TIME_WEIGHT * libm::log(self.time)
    }
}

/// What one bale adds to the objectives: the controller's and perfect knowledge's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Logarithm of the quotient of the two unevennesses.
    pub unevenness: f64,
    /// Clumps.
    pub clumps: f64,
    /// Time of laying, s.
    pub time_s: f64,
    /// Time of laying with perfect knowledge, s.
    pub perfect_time_s: f64,
}

/// The objectives of some bales. Of none they are not numbers.
#[must_use]
pub fn objectives<'a>(shares: impl Iterator<Item = &'a Share>) -> Objectives {
    let (mut bales, mut sum) = (0.0, [0.0; 4]);
    for share in shares {
        let Share { unevenness, clumps, time_s, perfect_time_s } = *share;
        bales += 1.0;
        for (sum, value) in sum.iter_mut().zip([unevenness, clumps, time_s, perfect_time_s]) {
            *sum += value;
        }
    }
    let [unevenness, clumps, time_s, perfect_time_s] = sum;
    Objectives {
        unevenness: libm::exp(unevenness / bales),
        clumps: 1_000.0 * clumps / bales,
        time: time_s / perfect_time_s,
    }
}

/// Why bales cannot be trained on.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("lot {lot} cannot be fed: {cause}")]
pub struct TrainingError {
    lot: u32,
    cause: String,
}

/// One lot.
struct Lot {
    scenario: Scenario,
    seed: u64,
    /// What perfect knowledge made of it.
    perfect: Vec<BaleResult>,
}

/// Bales to train on, already fed with perfect knowledge.
pub struct Training<'a> {
    knobs: &'a Knobs,
    lots: Vec<Lot>,
    threads: usize,
    stop: &'a AtomicBool,
}

impl<'a> Training<'a> {
    /// Draws so many lots. `None` if `stop` was set meanwhile.
    ///
    /// # Errors
    /// A lot that cannot be fed, which a checked population does not have.
    pub fn new(
        knobs: &'a Knobs,
        population: &Population,
        (seed, lots): (u64, u32),
        threads: usize,
        stop: &'a AtomicBool,
    ) -> Result<Option<Self>, TrainingError> {
        let draw = |lot: usize| {
            let fault = |cause: String| TrainingError { lot: lot as u32 + 1, cause };
            let drawn = population.lot(seed, lot as u32);
            let scenario =
                Scenario::parse(&drawn.text).map_err(|error| fault(error.to_string()))?;
            let usual = MachineFile::default();
            let perfect = fed(&scenario, &usual, Law::PerfectKnowledge, drawn.seed);
            Ok(Lot { perfect: perfect.map_err(fault)?, scenario, seed: drawn.seed })
        };
        let lots = pool::map(lots as usize, threads, stop, &draw, &mut |_| {});
        let lots = lots.map(|lots| lots.into_iter().collect::<Result<Vec<_>, _>>()).transpose()?;
        Ok(lots.map(|lots| Self { knobs, lots, threads, stop }))
    }

    /// Feeds all bales with these settings. `None` if stopped, or if they cannot be set.
    #[must_use]
    pub fn shares(&self, values: &[i32]) -> Option<Vec<Share>> {
        let machine = self.knobs.machine(values).ok()?;
        let work = |place: usize| {
            let Lot { scenario, seed, perfect } = &self.lots[place];
            let own = fed(scenario, &machine, Law::Controller, *seed).ok()?;
            Some(own.iter().zip(perfect).filter_map(|(own, perfect)| share(own, perfect)).collect())
        };
        let lots = pool::map(self.lots.len(), self.threads, self.stop, &work, &mut |_| {})?;
        Some(lots.into_iter().collect::<Option<Vec<Vec<_>>>>()?.concat())
    }

    /// The objectives of [`Training::shares`].
    #[must_use]
    pub fn objectives(&self, values: &[i32]) -> Option<Objectives> {
        Some(objectives(self.shares(values)?.iter()))
    }
}

fn fed(
    scenario: &Scenario,
    machine: &MachineFile,
    law: Law,
    seed: u64,
) -> Result<Vec<BaleResult>, String> {
    let runs = runs(scenario, machine, &[law], seed, false).map_err(|error| error.to_string())?;
    Ok(results(scenario, &runs, (1, 1)))
}

fn share(own: &BaleResult, perfect: &BaleResult) -> Option<Share> {
    let (own, perfect) = (own.outcomes.first()?, perfect.outcomes.first()?);
    let held = |value: f32| f64::from(value.clamp(UNEVENNESS.0, UNEVENNESS.1));
    Some(Share {
        unevenness: libm::log(held(own.unevenness_10_ft) / held(perfect.unevenness_10_ft)),
        clumps: f64::from(own.clumps),
        time_s: f64::from(own.time_s),
        perfect_time_s: f64::from(perfect.time_s),
    })
}
