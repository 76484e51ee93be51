//! All contenders on one scenario, and the replay of a log.

// Stub: what the command needs to compile. The lockstep replaces this file.

use super::ground_speed::Recording;
use super::log::{Header, Log, LogError, LogWriter};
use super::record::Run;
use super::scenario::Scenario;

/// What a contest leaves.
pub struct Contest {
    /// A run of each contender, the controller's first.
    pub runs: Vec<Run>,
    /// The controller's log.
    pub log: Vec<u8>,
}

/// Lets every contender feed the scenario under the same seed. `progress` is told the share done.
pub fn contest(
    scenario: &Scenario,
    _recording: Option<&Recording>,
    seed: u64,
    progress: &mut dyn FnMut(f64),
) -> Contest {
    progress(1.0);
    let header = Header { scenario: scenario.name.clone(), seed, configuration: Vec::new() };
    let log = LogWriter::new(Vec::new(), &header).and_then(LogWriter::finish).unwrap_or_default();
    Contest { runs: Vec::new(), log }
}

/// What a replay found.
pub struct ReplayReport {
    /// Name of the scenario.
    pub scenario: String,
    /// Seed of the run.
    pub seed: u64,
    /// Ticks replayed, all alike.
    pub ticks: usize,
}

/// Why a log does not replay.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    /// The file is no whole log.
    #[error(transparent)]
    Log(#[from] LogError),
    /// The controller did something else this time.
    #[error("the controller's outputs differ from the log in tick {0}")]
    Differs(usize),
}

/// Feeds the inputs of a log to the controller again and compares its outputs.
///
/// # Errors
/// A log that is not whole, and the first tick whose outputs differ.
pub fn replay(log: &[u8]) -> Result<ReplayReport, ReplayError> {
    let log = Log::read(log)?;
    Ok(ReplayReport {
        scenario: log.header.scenario,
        seed: log.header.seed,
        ticks: log.ticks.len(),
    })
}
