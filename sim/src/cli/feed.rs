//! `strewn feed`: a scenario into a contest, its figures, its page and its log.

use super::{Failure, read_text, say};
use crate::bench::ground_speed::Recording;
use crate::bench::scenario::Scenario;
use crate::bench::{Contest, ContestError, configuration, contest_with};
use crate::board::{self, Board};
use crate::faults::Fault;
use crate::{files, report};
use clap::{Args, Parser};
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};
use std::path::{Path, PathBuf};

/// Largest recording, bytes.
const LARGEST_RECORDING: u64 = 256 << 20;

/// Feed the bales of a scenario and show what was laid where
///
/// The controller feeds first; then a valve set by hand, a drive proportional to ground speed and one
/// with perfect knowledge feed the same bales behind the same tractor. A table of figures is printed;
/// the folder of --out gets report.html (one page with pictures), figures.json and strewn.log (every
/// tick, for `strewn replay`). The same scenario and seed give the same bytes.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn feed                                    the demonstration
  strewn feed my-farm.toml --out monday
  strewn feed --ground-speed drive.csv --json | less
  strewn feed --fault roller-b:off@60            a cable breaks after a minute
  strewn feed --board=board.elf                  the emulated board beside the library

A scenario is a TOML file in which every key may be left out. The demonstration explains each of them: \
sim/src/bench/demo.toml.")]
pub(super) struct Arguments {
    /// Scenario file (TOML; lb/ft, ft, lb, mph); the built-in demonstration if left out
    scenario: Option<PathBuf>,
    /// Recorded drive that replaces the scenario's speeds: NMEA 0183 (RMC, VTG), CSV (t_s, speed_m_s)
    /// or a log of `candump -l`
    #[arg(long, value_name = "FILE")]
    ground_speed: Option<PathBuf>,
    /// Machine file, as `strewn fit` writes it: settings in place of those made from the scenario. The modelled
    /// sensors stay as they are, so that a calibration other than theirs is fed with as a wrong one
    #[arg(long, value_name = "FILE")]
    machine: Option<PathBuf>,
    /// Also write all of the controller's settings as the record that its firmware keeps (postcard)
    #[arg(long, value_name = "FILE")]
    settings_record: Option<PathBuf>,
    /// Fault on a wire from a time on, as `bus:off@30`; may be given again. Wires and kinds: `strewn stops --list`
    #[arg(long = "fault", value_name = "WIRE:KIND@SECONDS")]
    faults: Vec<Fault>,
    /// Folder for the page, the figures and the log; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Number that all chance is drawn from
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Afterwards let the emulated board make every tick of the controller beside the library, and
    /// compare all outputs and the whole state; IMAGE as `tests/run board` builds it
    #[arg(long, value_name = "IMAGE", num_args = 0..=1, require_equals = true)]
    board: Option<Option<PathBuf>>,
    /// Print the figures as JSON instead of a table
    #[arg(long)]
    json: bool,
}

impl Default for Arguments {
    /// As if nothing had been said.
    fn default() -> Self {
        #[derive(Parser)]
        struct Alone {
            #[command(flatten)]
            arguments: Arguments,
        }
        Alone::parse_from(["strewn"]).arguments
    }
}

impl Arguments {
    /// To feed a scenario file under a seed.
    pub(super) fn of(
        scenario: PathBuf,
        seed: u64,
        machine: Option<PathBuf>,
        out: PathBuf,
        json: bool,
    ) -> Self {
        Self { scenario: Some(scenario), seed, machine, out, json, ..Self::default() }
    }
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let scenario = scenario(arguments.scenario.as_deref())?;
    let recording = arguments.ground_speed.as_deref().map(recording).transpose()?;
    let machine = arguments.machine.as_deref().map(super::machine).transpose()?.unwrap_or_default();
    // Before the work, so that a folder that cannot be made is told at once; a board likewise.
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    let board = arguments.board.as_ref().map(|named| start_board(named.as_deref())).transpose()?;
    let contest = with_progress("feeding", |progress| {
        contest_with(
            &scenario,
            recording.as_ref(),
            &machine,
            &arguments.faults,
            arguments.seed,
            progress,
        )
    })
    .map_err(|error| match (&error, &arguments.machine) {
        (ContestError::Machine(_) | ContestError::Setting(_), Some(path)) => {
            Failure::in_file(path, error)
        }
        _ => Failure::run(error),
    })?;
    write_and_say(arguments, &scenario, &contest)?;
    board.map_or(Ok(()), |board| beside_board(board, &contest))
}

fn start_board(named: Option<&Path>) -> Result<Board, Failure> {
    let image = board::image(named).map_err(Failure::input)?;
    Board::start(&image).map(|(board, _)| board).map_err(Failure::run)
}

/// The controller's ticks once more, on the board beside the library. Told on stderr, because what goes
/// to stdout may be figures for another program.
fn beside_board(mut board: Board, contest: &Contest) -> Result<(), Failure> {
    let alike =
        with_progress("board", |progress| board::lockstep(&mut board, &contest.log, progress))
            .map_err(Failure::run)?;
    eprintln!(
        "Emulated board: {} ticks with the same outputs and state, bit for bit; the dearest took {} \
         instructions, the one in the middle {}.",
        alike.ticks, alike.worst, alike.median
    );
    Ok(())
}

pub(super) fn scenario(path: Option<&Path>) -> Result<Scenario, Failure> {
    let Some(path) = path else {
        return Scenario::parse(Scenario::DEMO).map_err(Failure::input);
    };
    Scenario::parse(&read_text(path)?).map_err(|error| Failure::in_file(path, error))
}

fn recording(path: &Path) -> Result<Recording, Failure> {
    let bytes = files::read(path, LARGEST_RECORDING).map_err(Failure::input)?;
    Recording::parse(&bytes).map_err(|error| Failure::in_file(path, error))
}

/// Shows the share done on stderr if a person watches it.
fn with_progress<T>(what: &'static str, work: impl FnOnce(&mut dyn FnMut(f64)) -> T) -> T {
    const STEPS: u64 = 1_000;
    let bar = if stderr().is_terminal() { ProgressBar::new(STEPS) } else { ProgressBar::hidden() };
    if let Ok(style) = ProgressStyle::with_template("{msg} {bar:40} {percent:>3} %") {
        bar.set_style(style);
        bar.set_message(what);
    }
    let done = work(&mut |share| bar.set_position((share * STEPS as f64) as u64));
    bar.finish_and_clear();
    done
}

fn write_and_say(
    arguments: &Arguments,
    scenario: &Scenario,
    contest: &Contest,
) -> Result<(), Failure> {
    let command = command_line(arguments);
    let page = report::page(&report::PageInput {
        scenario_name: &scenario.name,
        seed: arguments.seed,
        command: &command,
        runs: &contest.runs,
    });
    let figures = report::json(&contest.runs, arguments.seed, &scenario.name);
    let figures = format!("{figures:#}\n");
    let page_path = arguments.out.join("report.html");
    let write = |path: &Path, bytes: &[u8]| files::write_whole(path, bytes).map_err(Failure::run);
    if let Some(path) = &arguments.settings_record {
        let config = configuration(&contest.log).map_err(Failure::run)?;
        write(path, &postcard::to_stdvec(&config).map_err(Failure::run)?)?;
    }
    write(&arguments.out.join("strewn.log"), &contest.log)?;
    write(&arguments.out.join("figures.json"), figures.as_bytes())?;
    write(&page_path, page.as_bytes())?;
    if arguments.json {
        return say(&figures);
    }
    let table = report::table(&contest.runs);
    say(&format!("{}\n\nPage with pictures: {}\n", table.trim_end(), page_path.display()))
}

/// The command that gives the same figures again.
fn command_line(arguments: &Arguments) -> String {
    let mut line = String::from("strewn feed");
    if let Some(path) = &arguments.scenario {
        line += &format!(" {}", path.display());
    }
    if let Some(path) = &arguments.ground_speed {
        line += &format!(" --ground-speed {}", path.display());
    }
    if let Some(path) = &arguments.machine {
        line += &format!(" --machine {}", path.display());
    }
    for Fault { wire, kind, onset_s } in &arguments.faults {
        line += &format!(" --fault {wire}:{kind}@{onset_s}");
    }
    line + &format!(" --seed {}", arguments.seed)
}
