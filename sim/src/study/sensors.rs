//! The same bales fed with every set of sensors, beside a valve set by hand, a PI on the weigh cells and
//! perfect knowledge.
//!
//! Who the controller is compared with feeds each bale once, with all sensors fitted; the controller feeds
//! it with each set. Bale, tractor and seeds are the same.

use super::evaluation::{Evaluation, SensorSet};
use super::minimum_variance::minimum_variance_index;
use super::results::{Facts, Outcome, last};
use crate::bench::record::{BaleRun, Run, Sample};
use crate::bench::scenario::Scenario;
use crate::bench::{MachineFile, runs};
use crate::rivals::Law;
use crate::score;
use crate::units::M_PER_FT;
use serde::{Deserialize, Serialize};
use strewn_controller::safety::Phase;

/// Two-sided 95 % of a normal distribution, in deviations.
const DEVIATIONS: f64 = 1.959_964;

/// What the controller is compared with: the bound first.
const COMPARED: [Law; 3] = [Law::PerfectKnowledge, Law::SetByHand, Law::WeighCells];

/// One bale.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// What was fed, and how; its sensors are all.
    pub facts: Facts,
    /// Perfect knowledge of the present without the tufts.
    pub perfect: Outcome,
    /// The valve set by hand.
    pub hand: Outcome,
    /// The proportional and integral law on the weigh cells.
    pub integral: Outcome,
    /// The controller with each set that was tried on this bale: the set's place and what came of it.
    pub sets: Vec<(usize, Outcome, Known)>,
}

/// How well the controller knew one bale.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Known {
    /// Moments of laying, ten a second.
    pub moments: u32,
    /// Of these, moments at which the true bite lay within the stated 95 % interval.
    pub inside: u32,
    /// Hay torn off by the controller's account over what was truly torn off, less 1.
    pub account_error: f32,
    /// Whether the rollers were ever held slow for a core.
    pub slowed: bool,
    /// How near the row came to the least variance that feedback could have had; see
    /// [`minimum_variance_index`]. Not a number for short rows.
    pub minimum_variance: f32,
}

/// Why a bale cannot be fed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("bale {bale} cannot be fed: {cause}")]
pub struct TrialError {
    bale: u32,
    cause: String,
}

/// One bale to feed: one of those that some sets share, because as many bales are fed before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Task {
    /// Bales of the lot fed before.
    pub fed_before: u32,
    /// Number among these, counted from 0.
    pub number: u32,
}

/// Every bale of an evaluation, in a fixed order.
#[must_use]
pub fn tasks(evaluation: &Evaluation) -> Vec<Task> {
    let mut before: Vec<u32> = evaluation.sets.iter().map(|set| set.fed_before).collect();
    before.sort_unstable();
    before.dedup();
    let task = |fed_before| move |number| Task { fed_before, number };
    before.into_iter().flat_map(|before| (0..evaluation.bales).map(task(before))).collect()
}

/// Feeds one bale to everybody.
///
/// # Errors
/// A bale that cannot be fed, which a checked population and a fitting machine file do not have.
pub fn feed(
    evaluation: &Evaluation,
    machine: &MachineFile,
    seed: u64,
    task: Task,
) -> Result<Trial, TrialError> {
    let fault = |cause: String| TrialError { bale: task.number + 1, cause };
    let mut population = evaluation.population.clone();
    population.bales_per_lot = task.fed_before + 1;
    let drawn = population.lot(seed, task.number);
    let mut scenario = Scenario::parse(&drawn.text).map_err(|error| fault(error.to_string()))?;
    let fed = |scenario: &Scenario, laws: &[Law], keep_samples| {
        runs(scenario, machine, laws, drawn.seed, keep_samples)
            .map_err(|error| fault(error.to_string()))
    };
    ALL.fit(&mut scenario);
    let compared = fed(&scenario, &COMPARED, false)?;
    let (facts, outcomes) = last(&scenario, &compared);
    let [perfect, hand, integral] = <[Outcome; 3]>::try_from(outcomes)
        .map_err(|_| fault("a contender is missing".to_owned()))?;
    let mut sets = Vec::new();
    for (place, set) in evaluation.sets.iter().enumerate() {
        if set.fed_before == task.fed_before {
            set.fit(&mut scenario);
            let own = fed(&scenario, &[Law::Controller], true)?;
            let (_, outcomes) = last(&scenario, &own);
            let known = own.first().map(|run| known(&scenario, run));
            sets.extend(
                outcomes.into_iter().zip(known).map(|(outcome, known)| (place, outcome, known)),
            );
        }
    }
    Ok(Trial { facts, perfect, hand, integral, sets })
}

/// All sensors.
const ALL: SensorSet = SensorSet {
    name: String::new(),
    weigh: true,
    pressure: true,
    gauge: true,
    fed_before: 0,
    goals: [1.0; 2],
};

/// How well the controller knew the last bale of a run.
fn known(scenario: &Scenario, run: &Run) -> Known {
    let mut known = Known {
        moments: 0,
        inside: 0,
        account_error: f32::NAN,
        slowed: false,
        minimum_variance: f32::NAN,
    };
    let Some(bale) = run.bales.last() else { return known };
    let from = run.samples.partition_point(|sample| sample.time_s < bale.time_s.0);
    let to = run.samples.partition_point(|sample| sample.time_s <= bale.time_s.1);
    for sample in run.samples.get(from..to).unwrap_or_default() {
        known.slowed |= sample.core_near;
        if sample.phase == Phase::Laying && sample.bite_kg > 0.0 {
            let (bite_kg, deviation_kg) = sample.bite_estimate_kg;
            known.moments += 1;
            known.inside +=
                u32::from((bite_kg - sample.bite_kg).abs() <= DEVIATIONS * deviation_kg);
        }
    }
    known.minimum_variance = minimum_variance(scenario, run).map_or(f32::NAN, |index| index as f32);
    known.account_error = account_error(&run.samples, bale, from, to) as f32;
    known
}

/// Of the last bale's row, a foot at a time.
fn minimum_variance(scenario: &Scenario, run: &Run) -> Option<f64> {
    let bale = run.bales.len().checked_sub(1)?;
    let segments = score::segments(run, M_PER_FT);
    let own = segments.iter().filter(|segment| segment.bale == bale);
    let errors: Vec<f64> = own.map(|segment| segment.relative() - 1.0).collect();
    let (strip_m, time_s) = (run.bales[bale].strip_m, run.bales[bale].time_s);
    let speed_m_s = (strip_m.1 - strip_m.0) / (time_s.1 - time_s.0);
    let lag_s = scenario.machine.valve_lag_s + scenario.machine.fall_s;
    minimum_variance_index(&errors, (speed_m_s * lag_s / M_PER_FT).ceil() as usize)
}

/// Hay that the controller saw leave between two moments over what truly left, less 1.
fn account_error(samples: &[Sample], bale: &BaleRun, from: usize, to: usize) -> f64 {
    let left_kg = |place: usize| samples.get(place).map(|sample| sample.left_estimate_kg.0);
    let first_kg = left_kg(from.saturating_sub(1));
    let last_kg = left_kg(to.min(samples.len().saturating_sub(1)));
    let seen_kg = first_kg.zip(last_kg).map_or(f64::NAN, |(first, last)| first - last);
    seen_kg / (bale.mass_kg - bale.left_kg) - 1.0
}
