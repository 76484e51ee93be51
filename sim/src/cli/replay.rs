//! `strewn replay`: a log through the controller once more.

use super::{Failure, say};
use crate::bench::{ReplayError, replay};
use crate::files;
use clap::Args;
use std::path::PathBuf;

/// Largest log, bytes.
const LARGEST_LOG: u64 = 1 << 30;

/// Feed the inputs of a log to the controller again and compare its outputs, tick by tick
///
/// Ends with 0 if every tick gives the same outputs bit for bit, with 1 at the first one that differs,
/// with 2 if the file is no whole log.
#[derive(Args)]
#[command(after_help = "Example:\n  strewn replay out/strewn.log")]
pub(super) struct Arguments {
    /// The log, as `strewn feed` writes it
    log: PathBuf,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let path = &arguments.log;
    let bytes = files::read(path, LARGEST_LOG).map_err(Failure::input)?;
    match replay(&bytes) {
        Ok(report) => say(&format!(
            "{}: {} ticks replay bit for bit (scenario \"{}\", seed {}).\n",
            path.display(),
            report.ticks,
            report.scenario,
            report.seed
        )),
        Err(error @ ReplayError::Log(_)) => Err(Failure::in_file(path, error)),
        Err(error) => Err(Failure::run(format!("{}: {error}", path.display()))),
    }
}
