//! What a search has tried, kept so that it can be broken off and gone on with.
//!
//! A search asks for the same settings again when it is told the same values, so what is kept is nothing
//! but settings and what came of them.

use super::front::front;
use super::trial::Objectives;
use crc::{CRC_32_ISO_HDLC, CRC_64_XZ, Crc};
use serde::{Deserialize, Serialize};

const CHECK: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Everything tried, in the order tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Progress {
    fingerprint: u64,
    tried: Vec<(Vec<i32>, Objectives)>,
}

/// Why what was kept cannot be gone on with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ProgressError {
    /// It is not what was written.
    #[error("this is damaged; remove it and begin anew")]
    Damaged,
    /// It is of another search.
    #[error("this belongs to another search: population, seed, lots or program differ")]
    Other,
}

impl Progress {
    /// Nothing tried yet. `told` tells searches apart.
    #[must_use]
    pub fn new(told: &str) -> Self {
        let told = format!("{} {told}", env!("CARGO_PKG_VERSION"));
        let fingerprint = Crc::<u64>::new(&CRC_64_XZ).checksum(told.as_bytes());
        Self { fingerprint, tried: Vec::new() }
    }

    /// What came of these settings, if they were tried.
    #[must_use]
    pub fn find(&self, values: &[i32]) -> Option<Objectives> {
        self.tried.iter().find(|(tried, _)| tried == values).map(|(_, found)| *found)
    }

    pub(super) fn add(&mut self, values: Vec<i32>, objectives: Objectives) {
        self.tried.push((values, objectives));
    }

    /// How many were tried.
    #[must_use]
    pub fn count(&self) -> usize {
        self.tried.len()
    }

    /// The settings of least merit, the first of equals.
    #[must_use]
    pub fn best(&self) -> Option<&(Vec<i32>, Objectives)> {
        self.tried.iter().min_by(|(_, a), (_, b)| a.merit().total_cmp(&b.merit()))
    }

    /// What all came to, in the order tried.
    #[must_use]
    pub fn objectives(&self) -> Vec<Objectives> {
        self.tried.iter().map(|(_, objectives)| *objectives).collect()
    }

    /// The settings that no others better in every objective.
    #[must_use]
    pub fn front(&self) -> Vec<&(Vec<i32>, Objectives)> {
        front(&self.objectives()).into_iter().map(|place| &self.tried[place]).collect()
    }

    /// As a file.
    ///
    /// # Errors
    /// None that a person could cause.
    pub fn write(&self) -> Result<Vec<u8>, ProgressError> {
        let mut bytes = postcard::to_stdvec(self).map_err(|_| ProgressError::Damaged)?;
        bytes.extend(CHECK.checksum(&bytes).to_le_bytes());
        Ok(bytes)
    }

    /// Takes over what a file of the same search holds.
    ///
    /// # Errors
    /// A damaged file, or one of another search; nothing is taken over then.
    pub fn resume(&mut self, bytes: &[u8]) -> Result<(), ProgressError> {
        let (body, check) = bytes.split_last_chunk().ok_or(ProgressError::Damaged)?;
        if CHECK.checksum(body).to_le_bytes() != *check {
            return Err(ProgressError::Damaged);
        }
        let kept: Self = postcard::from_bytes(body).map_err(|_| ProgressError::Damaged)?;
        if kept.fingerprint != self.fingerprint {
            return Err(ProgressError::Other);
        }
        *self = kept;
        Ok(())
    }
}
