//! What is done of a campaign, in a folder: one file for each chunk of bales, whole or in part.
//!
//! A part says which campaign it belongs to, so that parts of another one are never taken for it.

use super::campaign::Plan;
use super::results::BaleResult;
use crate::files::{self, FileError};
use crc::{CRC_32_ISO_HDLC, Crc};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Largest part, bytes.
const LARGEST: u64 = 64 << 20;
const CHECK: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The results of a chunk, a lot each; `None` for those not fed yet.
pub type Lots = Vec<Option<Vec<BaleResult>>>;

#[derive(Serialize, Deserialize)]
struct Part {
    fingerprint: u64,
    chunk: u32,
    lots: Lots,
}

/// Why a part cannot be taken.
#[derive(Debug, thiserror::Error)]
pub enum PartError {
    /// It cannot be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// It is not a part, or not all of one.
    #[error("{0} is damaged; remove it and go on with --resume")]
    Damaged(PathBuf),
    /// It belongs to a campaign with another population, seed or program.
    #[error(
        "{0} belongs to another campaign: population, seed or program differ; use another --out"
    )]
    Other(PathBuf),
}

/// Where the part of a chunk lies in a folder of parts.
#[must_use]
pub fn path(folder: &Path, chunk: u32) -> PathBuf {
    folder.join(format!("part-{chunk:06}"))
}

/// Writes the part of a chunk.
///
/// # Errors
/// Whatever keeps it from being written.
pub fn write(folder: &Path, plan: &Plan, chunk: u32, lots: Lots) -> Result<(), PartError> {
    let path = path(folder, chunk);
    let part = Part { fingerprint: plan.fingerprint, chunk, lots };
    let mut bytes = postcard::to_stdvec(&part).map_err(|_| PartError::Damaged(path.clone()))?;
    bytes.extend(CHECK.checksum(&bytes).to_le_bytes());
    Ok(files::write_whole(&path, &bytes)?)
}

/// Reads the part of a chunk: its lots as many as the plan has there, all `None` if there is no part.
///
/// # Errors
/// A part that cannot be read, is damaged or belongs to another campaign.
pub fn read(folder: &Path, plan: &Plan, chunk: u32) -> Result<Lots, PartError> {
    let path = path(folder, chunk);
    let wanted = plan.lots_of(chunk).len();
    if !path.exists() {
        return Ok(vec![None; wanted]);
    }
    let bytes = files::read(&path, LARGEST)?;
    let damaged = || PartError::Damaged(path.clone());
    let (body, check) = bytes.split_last_chunk().ok_or_else(damaged)?;
    if CHECK.checksum(body).to_le_bytes() != *check {
        return Err(damaged());
    }
    let part: Part = postcard::from_bytes(body).map_err(|_| damaged())?;
    if part.fingerprint != plan.fingerprint {
        return Err(PartError::Other(path));
    }
    if part.chunk != chunk {
        return Err(damaged());
    }
    // The last chunk of a shorter campaign is the beginning of a longer one's, and the other way round.
    let mut lots = part.lots;
    lots.resize(wanted, None);
    Ok(lots)
}
