//! Logs into what a machine is like: valve, delays and bite, each with its uncertainty.
//!
//! Everything is learned from the wires that the controller recorded, by least squares; nothing of
//! the model's truth is known here, so that a real machine is fitted as a modelled one is.

mod bite;
mod gather;
mod sums;
mod valve;
mod write;

pub use bite::BiteFit;
pub use valve::DriveFit;
pub use write::{machine_file, words};

use crate::bench::{ReplayError, configuration};
use gather::Gathered;
use strewn_controller::settings::Config;

/// A figure, or why there is none.
#[derive(Clone, Debug, PartialEq)]
pub enum Finding {
    /// The data tell.
    Found {
        /// The figure.
        value: f64,
        /// One standard error.
        deviation: f64,
    },
    /// They do not; a clause that says why.
    CannotSay(String),
}

impl Finding {
    /// The figure, if there is one.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::Found { value, .. } => Some(*value),
            Self::CannotSay(_) => None,
        }
    }
}

/// What logs tell of a machine and its hay.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Valve and rollers.
    pub drive: DriveFit,
    /// Each lot that was fed.
    pub bites: Vec<BiteFit>,
    /// What the controller was set to.
    pub config: Config,
}

/// Why logs cannot be fitted.
#[derive(Debug, thiserror::Error)]
pub enum FitError {
    /// A log that cannot be used; counted from 0.
    #[error("{1}")]
    Log(usize, ReplayError),
    /// A log of another machine or with other tickets than the first one; counted from 0.
    #[error(
        "its settings differ from those of the first log; allowed are logs of one machine with the same tickets"
    )]
    OtherMachine(usize),
}

impl FitError {
    /// Which log, counted from 0.
    #[must_use]
    pub fn log(&self) -> usize {
        match self {
            Self::Log(log, _) | Self::OtherMachine(log) => *log,
        }
    }
}

/// Fits one machine to one or more logs of it; `None` without any log.
///
/// # Errors
/// The first log that does not replay, and the first that is of another machine.
pub fn fit(logs: &[Vec<u8>]) -> Result<Option<Fit>, FitError> {
    let mut first: Option<Config> = None;
    let mut gathered = Vec::new();
    for (number, log) in logs.iter().enumerate() {
        let config = configuration(log).map_err(|error| FitError::Log(number, error))?;
        let alike =
            |first: &Config| first.tickets == config.tickets && first.signals == config.signals;
        if first.as_ref().is_some_and(|first| !alike(first)) {
            return Err(FitError::OtherMachine(number));
        }
        first.get_or_insert(config);
        gathered.push(Gathered::read(log).map_err(|error| FitError::Log(number, error))?);
    }
    let ticks: Vec<_> = gathered.iter().map(|log| log.ticks.as_slice()).collect();
    let bales: Vec<_> = gathered.iter().flat_map(|log| log.bales.iter().cloned()).collect();
    Ok(first.map(|config| Fit { drive: valve::fit(&ticks), bites: bite::fit(&bales), config }))
}
