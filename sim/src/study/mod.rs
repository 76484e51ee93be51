//! Many bales: what a controller does to a whole winter's hay, and not to the one bale of a
//! demonstration.
//!
//! [`population`] says what bales there may be; [`lot`] draws one job of it as a scenario;
//! [`campaign`] feeds them on all cores and keeps what is done in [`parts`]; [`join`] puts the parts
//! together, [`columns`] makes a file of the [`mod@results`] and [`summary`] figures with their intervals
//! ([`statistics`], of counts kept in a [`tally`]). A bale's result depends on population, seed and number alone: not on the count of
//! threads, on shards or on where a run was broken off.
//!
//! [`evaluation`] is the measuring stick: bales and sets of sensors that nothing is ever tuned on.
//! [`sensors`] feeds them, [`standing`] says how near to perfect knowledge each set comes.

pub mod campaign;
pub mod columns;
pub mod evaluation;
pub mod join;
pub mod lot;
pub mod minimum_variance;
pub mod parts;
pub mod pool;
pub mod population;
pub mod results;
mod roughness;
pub mod sensors;
pub mod standing;
pub mod statistics;
pub mod summary;
pub mod tally;

use crate::bench::runs;
use crate::bench::scenario::Scenario;
use crate::rivals::Law;
use campaign::{CampaignError, Plan};
use results::{BaleResult, results};

/// Feeds one lot of a campaign, counted from 0, to every contender.
///
/// # Errors
/// A lot that cannot be fed, which a checked population does not have.
pub fn feed_lot(plan: &Plan, lot: u32) -> Result<Vec<BaleResult>, CampaignError> {
    let drawn = plan.population.lot(plan.seed, lot);
    let fault = |cause: String| CampaignError::Lot { lot: lot + 1, cause };
    let scenario = Scenario::parse(&drawn.text).map_err(|error| fault(error.to_string()))?;
    let runs = runs(&scenario, &plan.machine, &Law::ALL, drawn.seed, false)
        .map_err(|error| fault(error.to_string()))?;
    let first = lot * plan.population.bales_per_lot + 1;
    Ok(results(&scenario, &runs, (first, lot + 1)))
}
