//! Feeding many lots on several threads, so that nothing done is lost and nothing depends on the order.

use super::parts::{self, Lots, PartError};
use super::population::Population;
use super::results::BaleResult;
use crate::bench::MachineFile;
use crate::rivals::Law;
use crc::{CRC_64_XZ, Crc};
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

/// Most bales of a chunk: a chunk is what a row group, a part and a shard are made of.
const CHUNK_BALES: u32 = 500;

/// A campaign to be run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// What is drawn from.
    pub population: Population,
    /// What everything drawn follows from.
    pub seed: u64,
    /// Bales in all: whole lots, at least one.
    pub bales: u32,
    /// Settings of the controller that replace those made from a scenario.
    pub machine: MachineFile,
    /// Tells campaigns apart whose results must not be mixed.
    pub(super) fingerprint: u64,
}

/// Why a campaign does not come to its end.
#[derive(Debug, thiserror::Error)]
pub enum CampaignError {
    /// The number of bales does not make whole lots.
    #[error("--bales is {bales}; allowed is 1 to {most}, in whole lots of {lot}")]
    Bales {
        /// As given.
        bales: u32,
        /// Bales of a lot.
        lot: u32,
        /// Most bales.
        most: u32,
    },
    /// A lot cannot be fed.
    #[error("lot {lot} cannot be fed: {cause}")]
    Lot {
        /// Counted from 1.
        lot: u32,
        /// Why.
        cause: String,
    },
    /// Results cannot be kept or found.
    #[error(transparent)]
    Part(#[from] PartError),
    /// Results are missing that should be merged.
    #[error(
        "bales {from} to {to} have not all been fed; go on with --resume, or name all --shard folders"
    )]
    Missing {
        /// First bale of the chunk.
        from: u32,
        /// Last bale of the chunk.
        to: u32,
    },
}

impl Plan {
    /// Most bales of a campaign.
    pub const MOST_BALES: u32 = 100_000;

    /// A plan to feed the first `bales` of a population, whose text is `text`.
    ///
    /// # Errors
    /// A number of bales that is none, too large or not a whole number of lots.
    pub fn new(
        population: Population,
        text: &str,
        seed: u64,
        bales: u32,
    ) -> Result<Self, CampaignError> {
        let lot = population.bales_per_lot;
        if !(1..=Self::MOST_BALES).contains(&bales) || !bales.is_multiple_of(lot) {
            return Err(CampaignError::Bales { bales, lot, most: Self::MOST_BALES });
        }
        let names: Vec<_> = Law::ALL.iter().map(|law| law.name()).collect();
        let told = format!("{} {} {seed} {text}", env!("CARGO_PKG_VERSION"), names.join(","));
        let fingerprint = Crc::<u64>::new(&CRC_64_XZ).checksum(told.as_bytes());
        Ok(Self { population, seed, bales, machine: MachineFile::default(), fingerprint })
    }

    /// The same with a controller set by a machine file, whose text is `text`.
    #[must_use]
    pub fn with_machine(self, machine: MachineFile, text: &str) -> Self {
        let told = format!("{} {text}", self.fingerprint);
        let fingerprint = Crc::<u64>::new(&CRC_64_XZ).checksum(told.as_bytes());
        Self { machine, fingerprint, ..self }
    }

    /// Number of lots.
    fn lots(&self) -> u32 {
        self.bales / self.population.bales_per_lot
    }

    fn chunk_lots(&self) -> u32 {
        CHUNK_BALES / self.population.bales_per_lot
    }

    /// Number of chunks.
    #[must_use]
    pub fn chunks(&self) -> u32 {
        self.lots().div_ceil(self.chunk_lots())
    }

    /// The lots of a chunk, both counted from 0.
    #[must_use]
    pub fn lots_of(&self, chunk: u32) -> Range<u32> {
        let first = chunk * self.chunk_lots();
        first..(first + self.chunk_lots()).min(self.lots())
    }

    /// The chunks of shard `shard` (from 1) of `shards`: every so-manieth.
    #[must_use]
    pub fn shard(&self, shard: u32, shards: u32) -> Vec<u32> {
        (0..self.chunks()).filter(|chunk| chunk % shards + 1 == shard).collect()
    }
}

/// Feeds a lot, counted from 0. Its results must depend on plan and lot alone.
pub type Feed<'a> = dyn Fn(&Plan, u32) -> Result<Vec<BaleResult>, CampaignError> + Sync + 'a;

/// How a campaign is run.
pub struct Manner<'a> {
    /// How a lot is fed: [`super::feed_lot`], but for tests.
    pub feed: &'a Feed<'a>,
    /// Folder for the parts; it exists.
    pub folder: &'a Path,
    /// Chunks to feed.
    pub chunks: &'a [u32],
    /// Threads, at least one.
    pub threads: usize,
    /// Whether parts that are there already are taken.
    pub resume: bool,
    /// Set by somebody who wants it to stop after the lots now on the machines.
    pub stop: &'a AtomicBool,
}

/// Feeds all lots of some chunks that are not fed yet and keeps them as parts. `progress` is told the
/// lots done and those to be done. Gives whether all was done: if told to stop, parts of chunks are kept
/// too.
///
/// # Errors
/// A lot that cannot be fed; parts that cannot be read or written.
pub fn run(
    plan: &Plan,
    manner: &Manner<'_>,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<bool, CampaignError> {
    let mut open = Open { plan, folder: manner.folder, chunks: BTreeMap::new() };
    let mut to_do = Vec::new();
    for &chunk in manner.chunks {
        let lots = plan.lots_of(chunk);
        let done = match manner.resume {
            true => parts::read(manner.folder, plan, chunk)?,
            false => vec![None; lots.len()],
        };
        let missing = lots.clone().zip(&done).filter(|(_, done)| done.is_none());
        let before = to_do.len();
        to_do.extend(missing.map(|(lot, _)| lot));
        if to_do.len() - before < done.len() && to_do.len() > before {
            open.chunks.insert(chunk, done);
        }
    }
    progress(0, to_do.len());
    let next = AtomicUsize::new(0);
    let (send, receive) = mpsc::sync_channel(2 * manner.threads);
    let worked = thread::scope(|scope| {
        for _ in 0..manner.threads {
            let send = send.clone();
            let (next, to_do) = (&next, &to_do);
            scope.spawn(move || {
                while !manner.stop.load(Ordering::Relaxed)
                    && let Some(&lot) = to_do.get(next.fetch_add(1, Ordering::Relaxed))
                    && send.send((lot, (manner.feed)(plan, lot))).is_ok()
                {}
            });
        }
        drop(send);
        collect(receive, &mut open, |done| progress(done, to_do.len()))
    });
    open.keep()?;
    Ok(worked? == to_do.len())
}

/// Takes results until no worker has any more, or until a lot fails, and then hangs up on the workers;
/// gives how many lots.
fn collect(
    receive: mpsc::Receiver<(u32, Result<Vec<BaleResult>, CampaignError>)>,
    open: &mut Open<'_>,
    mut progress: impl FnMut(usize),
) -> Result<usize, CampaignError> {
    let mut done = 0;
    for (lot, results) in receive {
        open.take(lot, results?)?;
        done += 1;
        progress(done);
    }
    Ok(done)
}

/// Chunks of which some lots are done and some are not.
struct Open<'a> {
    plan: &'a Plan,
    folder: &'a Path,
    chunks: BTreeMap<u32, Lots>,
}

impl Open<'_> {
    fn take(&mut self, lot: u32, results: Vec<BaleResult>) -> Result<(), CampaignError> {
        let chunk = lot / self.plan.chunk_lots();
        let range = self.plan.lots_of(chunk);
        let lots = self.chunks.entry(chunk).or_insert_with(|| vec![None; range.len()]);
        lots[(lot - range.start) as usize] = Some(results);
        if lots.iter().all(Option::is_some) {
            let lots = core::mem::take(lots);
            self.chunks.remove(&chunk);
            parts::write(self.folder, self.plan, chunk, lots)?;
        }
        Ok(())
    }

    /// Keeps what is done of unfinished chunks.
    fn keep(self) -> Result<(), CampaignError> {
        for (chunk, lots) in self.chunks {
            parts::write(self.folder, self.plan, chunk, lots)?;
        }
        Ok(())
    }
}
