//! All contenders on one scenario, and the replay of a log.

use super::ground_speed::Recording;
use super::lockstep::{Setup, run};
use super::log::{Header, Log, LogError, LogWriter};
use super::machine::{MachineError, MachineFile};
use super::record::Run;
use super::scenario::Scenario;
use super::settings::{config, instruments, usual_motion};
use crate::faults::Fault;
use crate::rivals::Law;
use std::io::Write;
use strewn_controller::learned::settings_digest;
use strewn_controller::record::{decode, digest};
use strewn_controller::settings::{Config, SettingError, Settings};
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs};

/// What a contest leaves.
pub struct Contest {
    /// A run of each contender, the controller's first.
    pub runs: Vec<Run>,
    /// The controller's log.
    pub log: Vec<u8>,
}

/// Why a contest cannot be held.
#[derive(Debug, thiserror::Error)]
pub enum ContestError {
    /// The scenario asks for something that the controller cannot be set to.
    #[error("the controller cannot be set so: {0}")]
    Setting(#[from] SettingError),
    /// The machine file does not fit to the scenario.
    #[error(transparent)]
    Machine(#[from] MachineError),
    /// The log cannot be written.
    #[error("the log cannot be written: {0}")]
    Log(#[from] std::io::Error),
}

/// Longest configuration in a log, bytes.
const LONGEST_CONFIGURATION: usize = 4_096;

/// Lets every contender feed the scenario under the same seed. `progress` is told the share done.
///
/// # Errors
/// A scenario beyond what the controller can be set to.
pub fn contest(
    scenario: &Scenario,
    recording: Option<&Recording>,
    seed: u64,
    progress: &mut dyn FnMut(f64),
) -> Result<Contest, ContestError> {
    contest_with(scenario, recording, &MachineFile::default(), &[], seed, progress)
}

/// [`contest`] with a controller set by a machine file, and faults on the wires of every contender.
///
/// # Errors
/// As [`contest`], and a machine file that does not fit to the scenario.
pub fn contest_with(
    scenario: &Scenario,
    recording: Option<&Recording>,
    machine: &MachineFile,
    faults: &[Fault],
    seed: u64,
    progress: &mut dyn FnMut(f64),
) -> Result<Contest, ContestError> {
    let config = configured(scenario, recording, machine)?;
    let settings = config.build()?;
    let instruments = instruments(scenario, recording);
    let setup = Setup {
        scenario,
        settings: &settings,
        instruments: &instruments,
        usual: usual_motion(scenario, recording),
        faults,
        seed,
        keep_samples: true,
        power_cycled: None,
    };
    let mut recorder = Recorder::new(Vec::new(), scenario, seed, &config)?;
    let mut runs = Vec::new();
    for (done, law) in Law::FEW.into_iter().enumerate() {
        progress(done as f64 / Law::FEW.len() as f64);
        runs.push(run(&setup, recording, law, &mut |inputs, outputs| {
            if law == Law::Controller {
                recorder.tick(inputs, outputs);
            }
        }));
    }
    progress(1.0);
    Ok(Contest { runs, log: recorder.finish()? })
}

/// The controller's configuration for a scenario and a machine file.
///
/// # Errors
/// A machine file that does not fit to the scenario.
pub fn configured(
    scenario: &Scenario,
    recording: Option<&Recording>,
    machine: &MachineFile,
) -> Result<Config, MachineError> {
    let mut config = config(scenario, recording);
    machine.apply(&mut config)?;
    Ok(config)
}

/// What becomes of the controller's power between one bale and the next.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Power {
    /// It stays on.
    #[default]
    Stays,
    /// It goes off and on again: only what a board keeps is known afterwards.
    Cycled,
}

/// What a run has to cope with.
#[derive(Clone, Copy, Debug, Default)]
pub struct Trouble<'a> {
    /// Faults on the wires of every contender.
    pub faults: &'a [Fault],
    /// The controller's power.
    pub power: Power,
}

/// Lets contenders feed the scenario under the same seed as [`contest_with`] does, without log and
/// faults, and without samples unless they are kept: for a job that is one of many.
///
/// # Errors
/// As [`contest_with`].
pub fn runs(
    scenario: &Scenario,
    machine: &MachineFile,
    laws: &[Law],
    seed: u64,
    keep_samples: bool,
) -> Result<Vec<Run>, ContestError> {
    runs_in(Trouble::default(), scenario, machine, laws, seed, keep_samples)
}

/// [`runs`] in some trouble.
///
/// # Errors
/// As [`runs`].
pub fn runs_in(
    trouble: Trouble<'_>,
    scenario: &Scenario,
    machine: &MachineFile,
    laws: &[Law],
    seed: u64,
    keep_samples: bool,
) -> Result<Vec<Run>, ContestError> {
    let config = configured(scenario, None, machine)?;
    let settings = config.build()?;
    let instruments = instruments(scenario, None);
    let setup = Setup {
        scenario,
        settings: &settings,
        instruments: &instruments,
        usual: usual_motion(scenario, None),
        faults: trouble.faults,
        seed,
        keep_samples,
        power_cycled: (trouble.power == Power::Cycled).then(|| settings_digest(&config)),
    };
    Ok(laws.iter().map(|law| run(&setup, None, *law, &mut |_, _| {})).collect())
}

/// The log of a controller that is shown these wires from power-on.
///
/// # Errors
/// Settings that are not allowed.
pub fn log_of(
    scenario: &Scenario,
    seed: u64,
    config: &Config,
    wires: &[Inputs],
) -> Result<Vec<u8>, ContestError> {
    let settings = config.build()?;
    let mut state = State::new(&settings);
    let mut recorder = Recorder::new(Vec::new(), scenario, seed, config)?;
    for inputs in wires {
        recorder.tick(inputs, &step(&settings, &mut state, inputs));
    }
    Ok(recorder.finish()?)
}

/// Writes the controller's log.
pub(super) struct Recorder<W: Write> {
    writer: LogWriter<W>,
    failure: Option<std::io::Error>,
}

impl<W: Write> Recorder<W> {
    pub(super) fn new(
        out: W,
        scenario: &Scenario,
        seed: u64,
        config: &Config,
    ) -> std::io::Result<Self> {
        let mut buffer = [0; LONGEST_CONFIGURATION];
        let configuration = postcard::to_slice(config, &mut buffer).map_err(other)?.to_vec();
        let header = Header { scenario: scenario.name.clone(), seed, configuration };
        Ok(Self { writer: LogWriter::new(out, &header)?, failure: None })
    }

    /// A failure is kept for the end, so that the run itself is not disturbed.
    pub(super) fn tick(&mut self, inputs: &Inputs, outputs: &Outputs) {
        if let Err(error) = self.writer.tick(inputs, outputs) {
            self.failure.get_or_insert(error);
        }
    }

    /// What would end the log here; see [`LogWriter::end`].
    ///
    /// # Errors
    /// The first failure since the start; those of `out`.
    pub(super) fn end(&mut self) -> std::io::Result<Vec<u8>> {
        match &self.failure {
            Some(error) => Err(std::io::Error::new(error.kind(), error.to_string())),
            None => self.writer.end(),
        }
    }

    fn finish(self) -> std::io::Result<W> {
        match self.failure {
            Some(error) => Err(error),
            None => self.writer.finish(),
        }
    }
}

fn other(error: impl ToString) -> std::io::Error {
    std::io::Error::other(error.to_string())
}

/// What a replay found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReplayReport {
    /// Name of the scenario.
    pub scenario: String,
    /// Seed of the run.
    pub seed: u64,
    /// Ticks replayed, all alike.
    pub ticks: usize,
    /// Digest of all outputs.
    pub digest: u32,
}

/// Why a log does not replay.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    /// The file is no whole log.
    #[error(transparent)]
    Log(#[from] LogError),
    /// The configuration in it is not one that this controller knows.
    #[error("the log's configuration is not one of this version of the controller")]
    Configuration,
    /// The frame of a tick cannot be read.
    #[error("the log is damaged at tick {0}")]
    Tick(usize),
    /// The controller did something else this time.
    #[error("the controller's outputs differ from the log in tick {0}")]
    Differs(usize),
}

/// Feeds the inputs of a log to the controller again and compares its outputs bit for bit.
///
/// # Errors
/// A log that is not whole, and the first tick (counted from 1) whose outputs differ.
pub fn replay(log: &[u8]) -> Result<ReplayReport, ReplayError> {
    replay_watched(log, &mut |_, _, _| {})
}

/// The controller's configuration of a log.
///
/// # Errors
/// A log that is not whole; a configuration that this controller does not know.
pub fn configuration(log: &[u8]) -> Result<Config, ReplayError> {
    read_configuration(&Log::read(log)?)
}

fn read_configuration(log: &Log<'_>) -> Result<Config, ReplayError> {
    postcard::from_bytes(&log.header.configuration).map_err(|_| ReplayError::Configuration)
}

/// [`replay`], in which `watch` sees settings, inputs and outputs of every tick that was alike.
///
/// # Errors
/// As [`replay`].
pub(super) fn replay_watched(
    log: &[u8],
    watch: &mut dyn FnMut(&Settings, &Inputs, &Outputs),
) -> Result<ReplayReport, ReplayError> {
    let log = Log::read(log)?;
    let settings = read_configuration(&log)?.build().map_err(|_| ReplayError::Configuration)?;
    let mut state = State::new(&settings);
    let mut previous = Inputs::default();
    let mut running = 0;
    for (number, frame) in (1..).zip(&log.ticks) {
        let (inputs, stated, _) =
            decode(&previous, frame).map_err(|_| ReplayError::Tick(number))?;
        let outputs = step(&settings, &mut state, &inputs);
        running = digest(running, &outputs);
        if running != stated {
            return Err(ReplayError::Differs(number));
        }
        watch(&settings, &inputs, &outputs);
        previous = inputs;
    }
    Ok(ReplayReport {
        scenario: log.header.scenario,
        seed: log.header.seed,
        ticks: log.ticks.len(),
        digest: running,
    })
}
