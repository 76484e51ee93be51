//! `strewn hand-over`: settings into the board in the cab, which keeps them.

use super::{Failure, feed, say};
use crate::bench::scenario::Scenario;
use crate::bench::{ContestError, MachineFile, configured};
use crate::hand_over::{self, Board};
use clap::Args;
use std::io;
use std::path::{Path, PathBuf};
use strewn_controller::settings::Config;

const NO_SETTINGS: &str =
    "the board keeps no settings yet and needs all of them; name a scenario with --scenario FILE";

/// Hand settings over to the board in the cab, which keeps them
///
/// Asks the board over its serial line which settings it keeps, puts those of the file in their place, has
/// the board write them into its flash, reads them back, compares every byte, and tells what has changed.
/// All is checked before anything is sent. A board whose machine is not at rest, or stopped by a fault,
/// refuses; one at rest starts anew for it. Whatever fails, and if the power goes, the board keeps the old
/// settings or the new ones, never a mixture.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn hand-over machine.toml --port /dev/ttyUSB0   what `strewn fit` or `strewn tune` found
  strewn hand-over machine.toml --port COM3           the same on Windows
  strewn hand-over --scenario farm.toml --port COM3   every setting, for a board that has none

The line is that of the board's program: 115,200 baud, 8 bits, no parity, one stop bit.")]
pub(super) struct Arguments {
    /// Machine file (TOML), as `strewn fit` and `strewn tune` write it, or with the machine's own calibration
    /// and limits; `strewn tune --explain` lists all that it may hold
    #[arg(required_unless_present = "scenario")]
    settings: Option<PathBuf>,
    /// Serial port that the board hangs on, as /dev/ttyUSB0, /dev/cu.usbserial-1 or COM3
    #[arg(long)]
    port: PathBuf,
    /// Scenario file (TOML): rate, tickets and sensors as `strewn feed` sets them from it, in place of all
    /// that the board keeps; sensors are taken to count as the modelled ones do
    #[arg(long, value_name = "FILE")]
    scenario: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let Arguments { settings, port, scenario } = arguments;
    let machine = settings.as_deref().map(super::machine).transpose()?.unwrap_or_default();
    let unfit = |error| match settings {
        Some(path) => Failure::in_file(path, error),
        None => Failure::input(error),
    };
    let scenario = scenario.as_deref().map(|path| feed::scenario(Some(path))).transpose()?;
    let whole = scenario.map(|scenario| whole(&scenario, &machine).map_err(unfit)).transpose()?;
    let line = hand_over::open(port).map_err(|error| no_port(port, &error))?;
    let failed = |error| Failure::run(format!("{}: {error}", port.display()));
    let mut board = Board::new(line);
    let before = board.ask().map_err(failed)?;
    let after = match (whole, before.as_ref()) {
        (Some(whole), _) => whole,
        (None, Some(before)) => replaced(before, &machine).map_err(unfit)?,
        (None, None) => return Err(Failure::input(NO_SETTINGS)),
    };
    let changes = hand_over::changes(before.as_ref(), &after);
    if changes.is_empty() {
        return say("The board keeps exactly these settings already; nothing was sent.\n");
    }
    board.keep(&after).map_err(failed)?;
    say(&format!(
        "The board keeps the new settings; read back, they are alike in every byte. What has changed:\n  {}\n",
        changes.join("\n  ")
    ))
}

/// Every setting, as a scenario makes them.
fn whole(scenario: &Scenario, machine: &MachineFile) -> Result<Config, ContestError> {
    allowed(configured(scenario, None, machine)?)
}

/// What the board keeps, with the settings of a machine file in their place.
fn replaced(before: &Config, machine: &MachineFile) -> Result<Config, ContestError> {
    let mut config = before.clone();
    machine.apply(&mut config)?;
    allowed(config)
}

fn allowed(config: Config) -> Result<Config, ContestError> {
    config.build()?;
    Ok(config)
}

/// That a port cannot be opened, and which there are.
fn no_port(port: &Path, error: &io::Error) -> Failure {
    let ports = hand_over::ports();
    let ports = if ports.is_empty() { "none was found".to_owned() } else { ports.join(", ") };
    Failure::input(format!(
        "cannot open the serial port {}: {error}; ports of this computer: {ports}",
        port.display()
    ))
}
