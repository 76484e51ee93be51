//! All parts of a campaign into one file of results and a summary, in order of bales.

use super::campaign::{CampaignError, Plan};
use super::columns::Columns;
use super::parts::{self, Lots};
use super::results::BaleResult;
use super::summary::{Gathering, Summary};
use parquet::errors::ParquetError;
use std::io::Write;
use std::path::Path;

/// Why parts cannot be put together.
#[derive(Debug, thiserror::Error)]
pub enum JoinError {
    /// Results are missing, damaged or of another campaign.
    #[error(transparent)]
    Campaign(#[from] CampaignError),
    /// The file cannot be written.
    #[error("the file of results cannot be written: {0}")]
    File(#[from] ParquetError),
}

/// Writes the results of a campaign into a file and sums them up, a chunk at a time; each chunk is
/// looked for in every folder of parts.
///
/// # Errors
/// A chunk of which not all lots are done; parts that cannot be read; a file that cannot be written.
pub fn join(plan: &Plan, folders: &[&Path], file: impl Write + Send) -> Result<Summary, JoinError> {
    let mut columns = Columns::new(file)?;
    let mut gathering = Gathering::default();
    for chunk in 0..plan.chunks() {
        let results = whole(plan, folders, chunk)?;
        columns.add(&results)?;
        gathering.add(&results);
    }
    columns.finish()?;
    Ok(gathering.finish())
}

fn whole(plan: &Plan, folders: &[&Path], chunk: u32) -> Result<Vec<BaleResult>, CampaignError> {
    let range = plan.lots_of(chunk);
    let mut results: Lots = vec![None; range.len()];
    for folder in folders {
        for (lot, found) in results.iter_mut().zip(parts::read(folder, plan, chunk)?) {
            *lot = lot.take().or(found);
        }
    }
    let lot = plan.population.bales_per_lot;
    let missing = CampaignError::Missing { from: range.start * lot + 1, to: range.end * lot };
    let whole: Option<Vec<_>> = results.into_iter().collect();
    Ok(whole.ok_or(missing)?.concat())
}
