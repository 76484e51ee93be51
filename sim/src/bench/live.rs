//! A run in progress that somebody watches and meddles with, one tick at a time.

use super::contest::{ContestError, Recorder, configured};
use super::driver::Hands;
use super::lockstep::{AFTERMATH_S, Lockstep, Setup};
use super::machine::MachineFile;
use super::record::{BaleRun, Run, Sample};
use super::scenario::Scenario;
use super::settings::{instruments, usual_motion};
use crate::faults::{Kind, Wire};
use crate::files::{FileError, write_whole_by};
use crate::rivals::{Contender, Job, Law};
use crate::world::World;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use strewn_controller::settings::{Config, Settings};
use strewn_controller::wires::{Inputs, Outputs};
use tempfile::NamedTempFile;

/// One contender on one job. Equal arguments and calls give equal bits.
pub struct Live {
    law: Law,
    /// As at the start: what the controller was told.
    told: Scenario,
    seed: u64,
    config: Config,
    lockstep: Lockstep<'static>,
    contender: Contender,
    over_s: Option<f64>,
    by_hand: bool,
    log: LiveLog,
}

impl Live {
    /// Ticks a second.
    pub const TICKS_S: u64 = super::lockstep::TICKS_S;

    /// A run before its first tick, the controller set by a machine file on top of the scenario.
    ///
    /// The log goes into a temporary file, so that a long run takes no memory; where there cannot be
    /// one, the run goes on and [`Live::save_log`] says why.
    ///
    /// # Errors
    /// A scenario beyond what the controller can be set to; a machine file that does not fit to it.
    pub fn new(
        scenario: &Scenario,
        law: Law,
        machine: &MachineFile,
        seed: u64,
    ) -> Result<Self, ContestError> {
        let config = configured(scenario, None, machine)?;
        let settings = config.build()?;
        let setup = Setup {
            scenario,
            settings: &settings,
            instruments: &instruments(scenario, None),
            usual: usual_motion(scenario, None),
            faults: &[],
            seed,
            keep_samples: false,
            power_cycled: None,
        };
        Ok(Self {
            law,
            told: scenario.clone(),
            seed,
            lockstep: Lockstep::new(&setup, None),
            contender: Contender::new(law, setup.job()),
            over_s: None,
            by_hand: false,
            log: LiveLog::begin(scenario, seed, &config),
            config,
        })
    }

    /// A hundredth of a second. The scenario's driver works the switches unless there are hands
    /// instead; afterwards he goes on with the bale on the machine. Nothing happens once the drive is
    /// over, except by hand.
    pub fn tick(&mut self, instead: Option<Hands>) {
        if instead.is_some() {
            self.over_s = None;
        } else if self.is_over() {
            return;
        } else if self.by_hand {
            self.lockstep.driver.resume(self.bale());
        }
        self.by_hand = instead.is_some();
        let done = self.lockstep.sense(self.over_s.is_some(), instead);
        let lockstep = &self.lockstep;
        let coming_m_s = |ticks| lockstep.coming_m_s(ticks);
        let outputs = self.contender.tick(&lockstep.sight(&coming_m_s));
        self.lockstep.outputs = outputs;
        self.log.tick(&self.lockstep.inputs, &outputs);
        self.lockstep.advance();
        if done {
            self.over_s.get_or_insert(self.lockstep.world.time_s());
        }
    }

    /// Whether the drive is over and all hay has landed.
    #[must_use]
    pub fn is_over(&self) -> bool {
        let time_s = self.lockstep.world.time_s();
        self.over_s.is_some_and(|over_s| time_s >= over_s + AFTERMATH_S)
    }

    /// Ticks since the start.
    #[must_use]
    pub fn ticks(&self) -> u64 {
        self.lockstep.tick
    }

    /// Who feeds.
    #[must_use]
    pub fn law(&self) -> Law {
        self.law
    }

    /// The truth.
    #[must_use]
    pub fn world(&self) -> &World {
        &self.lockstep.world
    }

    /// What the controller was shown in the last tick.
    #[must_use]
    pub fn inputs(&self) -> &Inputs {
        &self.lockstep.inputs
    }

    /// What it commanded then.
    #[must_use]
    pub fn outputs(&self) -> &Outputs {
        &self.lockstep.outputs
    }

    /// How the controller is set.
    #[must_use]
    pub fn config(&self) -> &Config {
        &self.config
    }

    /// The bale on the machine or just taken from it, counted from 0; `None` before the first.
    #[must_use]
    pub fn bale(&self) -> Option<usize> {
        self.lockstep.bales.len().checked_sub(1)
    }

    /// Bales put on the machine so far.
    #[must_use]
    pub fn bales(&self) -> &[BaleRun] {
        &self.lockstep.bales
    }

    /// The present moment.
    #[must_use]
    pub fn sample(&self) -> Sample {
        self.lockstep.sample()
    }

    /// These faults from the next tick on, and no others; one that is there already goes on.
    pub fn plug(&mut self, faults: &[(Wire, Kind)]) {
        self.lockstep.plug(faults);
    }

    /// Goes on with another machine and tractor, another target and other settings. The controller
    /// is told of the new target and settings alone; tickets, bales and drive stay as they were.
    ///
    /// The log ends where the controller's settings change: it holds one set of them.
    ///
    /// # Errors
    /// As [`Live::new`]; nothing is changed then.
    pub fn refit(
        &mut self,
        scenario: &Scenario,
        machine: &MachineFile,
    ) -> Result<(), ContestError> {
        let told = Scenario { target_kg_m: scenario.target_kg_m, ..self.told.clone() };
        let config = configured(&told, None, machine)?;
        let settings = config.build()?;
        if config != self.config {
            self.log.close(self.lockstep.world.time_s());
        }
        self.lockstep.refit(scenario);
        let job = self.job(settings, scenario);
        self.contender.resettle(self.law, job);
        (self.told, self.config) = (told, config);
        Ok(())
    }

    fn job(&self, settings: Settings, scenario: &Scenario) -> Job {
        let setup = Setup {
            scenario,
            settings: &settings,
            instruments: &instruments(&self.told, None),
            usual: usual_motion(&self.told, None),
            faults: &[],
            seed: self.seed,
            keep_samples: false,
            power_cycled: None,
        };
        setup.job()
    }

    /// The run so far, with samples that whoever watched has kept.
    #[must_use]
    pub fn run(&mut self, samples: Vec<Sample>) -> Run {
        self.lockstep.close_bale();
        let world = &self.lockstep.world;
        Run {
            contender: self.law.name(),
            bales: self.lockstep.bales.clone(),
            samples,
            ground_kg: world.ground_kg().to_vec(),
            energy_j: world.energy_j(),
        }
    }

    /// Writes the log so far as a whole file. Gives the time, s, at which it ends if that is not now:
    /// settings were changed then.
    ///
    /// # Errors
    /// Whatever keeps the file from being written, or kept the log from being kept; then no file is
    /// written.
    pub fn save_log(&mut self, path: &Path) -> Result<Option<f64>, FileError> {
        let log = &mut self.log;
        write_whole_by(path, |file| log.copy(file))?;
        Ok(match self.log {
            LiveLog::Closed { at_s, .. } => Some(at_s),
            _ => None,
        })
    }
}

/// A log in a temporary file.
enum LiveLog {
    Open { recorder: Box<Recorder<BufWriter<File>>>, file: NamedTempFile },
    Closed { file: NamedTempFile, end: Vec<u8>, at_s: f64 },
    Failed(io::Error),
}

impl LiveLog {
    fn begin(scenario: &Scenario, seed: u64, config: &Config) -> Self {
        let open = || {
            let file = NamedTempFile::new()?;
            let out = BufWriter::new(file.reopen()?);
            let recorder = Box::new(Recorder::new(out, scenario, seed, config)?);
            Ok(Self::Open { recorder, file })
        };
        open().unwrap_or_else(Self::Failed)
    }

    fn tick(&mut self, inputs: &Inputs, outputs: &Outputs) {
        if let Self::Open { recorder, .. } = self {
            recorder.tick(inputs, outputs);
        }
    }

    fn close(&mut self, at_s: f64) {
        let placeholder = Self::Failed(io::ErrorKind::Other.into());
        *self = match std::mem::replace(self, placeholder) {
            Self::Open { mut recorder, file } => match recorder.end() {
                Ok(end) => Self::Closed { file, end, at_s },
                Err(error) => Self::Failed(error),
            },
            ended => ended,
        };
    }

    /// Copies it, whole.
    fn copy(&mut self, out: &mut File) -> io::Result<()> {
        let (file, end) = match self {
            Self::Open { recorder, file } => (file, recorder.end()?),
            Self::Closed { file, end, .. } => (file, end.clone()),
            Self::Failed(error) => return Err(io::Error::new(error.kind(), error.to_string())),
        };
        io::copy(&mut file.reopen()?, out)?;
        out.write_all(&end)
    }
}
