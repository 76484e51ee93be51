//! What the controller is judged by: bales, seeds and sets of sensors in one file that is never tuned on.

use super::population::Population;
use crate::bench::scenario::{Scenario, ScenarioError};
use crate::table::{Table, parsed};
use std::ops::RangeInclusive;

/// Most sets of sensors in a file.
const MOST_SETS: usize = 16;
/// Seeds that a file may name.
const SEEDS: RangeInclusive<f64> = 0.0..=1e12;

/// Bales, seeds and sets of sensors.
#[derive(Clone, Debug, PartialEq)]
pub struct Evaluation {
    /// What is drawn from; its shares of weigh cells, pressure and gauge do not count.
    pub population: Population,
    /// Seeds kept for evaluation; not empty.
    pub seeds: RangeInclusive<u64>,
    /// Bales for each set.
    pub bales: u32,
    /// The sets; not empty.
    pub sets: Vec<SensorSet>,
}

/// What is fitted to the machine, what it has fed before, and what is hoped for.
#[derive(Clone, Debug, PartialEq)]
pub struct SensorSet {
    /// Words for it.
    pub name: String,
    /// Weigh cells under the cradle.
    pub weigh: bool,
    /// Oil pressure across the roller motors.
    pub pressure: bool,
    /// Distance to the bale's face.
    pub gauge: bool,
    /// Bales of the same lot fed before the one that is judged.
    pub fed_before: u32,
    /// Median unevenness over 10 ft divided by that of perfect knowledge: on even and soft cores, and on
    /// dense ones.
    pub goals: [f64; 2],
}

impl Evaluation {
    /// The evaluation that is built in.
    pub const TEXT: &str = include_str!("evaluation.toml");

    /// Reads an evaluation: a population with the table `[evaluation]` and one `[[set]]` at least.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line.
    pub fn parse(text: &str) -> Result<Self, ScenarioError> {
        parsed(text, |top| {
            let mut table = top
                .table("evaluation")?
                .ok_or_else(|| top.missing("evaluation", "a table [evaluation]"))?;
            let first = table.needed("first_seed", SEEDS)? as u64;
            let last = table.needed("last_seed", first as f64..=*SEEDS.end())? as u64;
            let bales = table.needed("bales", 1.0..=100_000.0)? as u32;
            table.finish()?;
            let tables = top.tables("set", MOST_SETS)?;
            let sets = tables.into_iter().map(set).collect::<Result<Vec<_>, _>>()?;
            if sets.is_empty() {
                return Err(top.missing("set", "1 table [[set]] at least"));
            }
            let population = Population::fill(top)?;
            Ok(Self { population, seeds: first..=last, bales, sets })
        })
    }

    /// Whether a seed is kept for evaluation, so that nothing may be tuned on it.
    ///
    /// # Errors
    /// A built-in evaluation that cannot be read, which a test rules out.
    pub fn keeps(seed: u64) -> Result<bool, ScenarioError> {
        Ok(Self::parse(Self::TEXT)?.seeds.contains(&seed))
    }
}

impl SensorSet {
    /// Puts these sensors in place of a scenario's.
    pub fn fit(&self, scenario: &mut Scenario) {
        scenario.sensors.weigh = self.weigh;
        scenario.sensors.pressure = self.pressure;
        scenario.sensors.gauge = self.gauge;
    }
}

fn set(mut table: Table<'_>) -> Result<SensorSet, ScenarioError> {
    let fitted = |flag: Option<bool>| flag.unwrap_or(false);
    let set = SensorSet {
        name: table.text("name")?.unwrap_or("unnamed").to_owned(),
        weigh: fitted(table.flag("weigh")?),
        pressure: fitted(table.flag("pressure")?),
        gauge: fitted(table.flag("gauge")?),
        fed_before: table.number("fed_before", 0.0..=20.0)?.unwrap_or(0.0) as u32,
        goals: [
            table.needed("goal_even_and_soft", 1.0..=10.0)?,
            table.needed("goal_dense", 1.0..=10.0)?,
        ],
    };
    table.finish()?;
    Ok(set)
}
