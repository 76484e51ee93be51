//! `strewn fit`: logs into a machine file.

use super::{Failure, say};
use crate::bench::ReplayError;
use crate::{files, fit};
use clap::Args;
use std::path::PathBuf;

/// Largest log, bytes.
const LARGEST_LOG: u64 = 1 << 30;

/// Learn a machine from its logs: dead band, gain and lag of the valve, the bite of each lot
///
/// Uses only what the controller recorded. Every figure has its standard error; where the data cannot
/// say, that is said and nothing is written. The machine file replaces the settings that `strewn feed`
/// makes from a scenario; it must not name more tickets than the scenario has.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn fit out/strewn.log                      see what a log tells
  strewn fit monday.log tuesday.log --out machine.toml
  strewn feed my-farm.toml --machine machine.toml")]
pub(super) struct Arguments {
    /// Logs of one machine with the same tickets
    #[arg(required = true, value_name = "LOG")]
    logs: Vec<PathBuf>,
    /// Machine file to write
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let read = |path: &PathBuf| files::read(path, LARGEST_LOG).map_err(Failure::input);
    let logs = arguments.logs.iter().map(read).collect::<Result<Vec<_>, _>>()?;
    let found = fit::fit(&logs).map_err(|error| {
        let path = arguments.logs.get(error.log()).cloned().unwrap_or_default();
        match error {
            fit::FitError::Log(_, ReplayError::Log(_)) | fit::FitError::OtherMachine(_) => {
                Failure::in_file(&path, error)
            }
            fit::FitError::Log(..) => Failure::run(format!("{}: {error}", path.display())),
        }
    })?;
    let Some(found) = found else { return Ok(()) };
    let words = fit::words(&found);
    match (&arguments.out, fit::machine_file(&found)) {
        (None, _) => say(&words),
        (Some(path), Some(file)) => {
            files::write_whole(path, file.as_bytes()).map_err(Failure::run)?;
            say(&format!("{words}\nMachine file: {}\n", path.display()))
        }
        (Some(_), None) => Err(Failure::run(
            "the logs tell nothing that a machine file could hold; `strewn fit` without --out says why",
        )),
    }
}
