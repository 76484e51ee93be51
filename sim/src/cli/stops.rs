//! `strewn stops`: faults on every wire in every moment, and fault-free hours beside them.

use super::{Failure, read_text, say};
use crate::faults::{Kind, Wire};
use crate::files;
use crate::report::{StopsInput, empty_cells, failure_table, stops_page, stops_text};
use crate::stops::grid::{self, Plan, Results};
use crate::stops::hours::{self, Shifts};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};
use std::path::{Path, PathBuf};

/// Results are saved each time so many rows have come.
const SAVED_ROWS: usize = 50;

/// Try whether it always stops: every fault on every wire in every moment of a job
///
/// Each cell - a wire, a kind of fault, a moment - is drawn --draws times on drawn machines. Every trial
/// is judged on what hands and machine truly did; fault-free hours at the worst legal noise show what
/// stopping early costs. A trial whose fault changed nothing is drawn again. The folder of --out gets
/// stops.html, a page for a reviewer, and stops.csv and hours.csv, which are saved as they grow: interrupt
/// at any time and go on with --resume. Ends with 1 if anything was unsafe; what both contacts
/// of one switch do together is counted, but not so: no program sees it.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn stops                                   a quick look, 5,400 injections
  strewn stops --draws 112 --out grid            302,400 injections
  strewn stops --draws 112 --out grid --resume   go on where it was interrupted
  strewn stops --pairs --draws 1                 two faults at a time
  strewn stops --table                           the failure table")]
pub(super) struct Arguments {
    /// Draws of each cell; with --pairs, of each pair of kinds on each pair of wires
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=1_000))]
    draws: u32,
    /// Two faults at a time
    #[arg(long)]
    pairs: bool,
    /// Fault-free machine hours beside it
    #[arg(long, value_name = "H", default_value_t = 10, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    hours: u32,
    /// Folder for the page and the results; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Go on with the results in the folder
    #[arg(long)]
    resume: bool,
    /// Number that all chance is drawn from
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Print the failure table and end
    #[arg(long, conflicts_with = "resume")]
    table: bool,
    /// Print the wires and kinds of faults and end
    #[arg(long, conflicts_with_all = ["resume", "table"])]
    list: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    if arguments.table {
        return say(&failure_table());
    }
    if arguments.list {
        return say(&list());
    }
    let plan = Plan { draws: arguments.draws, pairs: arguments.pairs, seed: arguments.seed };
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    let path = arguments.out.join("stops.csv");
    let before = if arguments.resume { resumed(&plan, &path)? } else { Results::new() };
    let results = all_rows(&plan, before, &path)?;
    let hours = hours::total(&all_hours(arguments)?);
    let command = command_line(arguments);
    let input = StopsInput { plan: &plan, results: &results, hours: &hours, command: &command };
    let page_path = arguments.out.join("stops.html");
    files::write_whole(&page_path, stops_page(&input).as_bytes()).map_err(Failure::run)?;
    say(&format!("{}\nPage for a reviewer: {}\n", stops_text(&input), page_path.display()))?;
    judge(&plan, &results)
}

fn list() -> String {
    let words = |words: Vec<&str>| words.join(", ");
    format!(
        "Wires: {}\nKinds: {}\n",
        words(Wire::ALL.iter().map(|wire| wire.word()).collect()),
        words(Kind::ALL.iter().map(|kind| kind.word()).collect())
    )
}

fn resumed(plan: &Plan, path: &Path) -> Result<Results, Failure> {
    grid::read(plan, &read_text(path)?).map_err(|told| not_resumed(path, &told))
}

fn not_resumed(path: &Path, told: &str) -> Failure {
    Failure::in_file(path, format!("these results cannot be gone on with: {told}"))
}

/// Runs what is missing; results are saved as they come.
fn all_rows(plan: &Plan, before: Results, path: &Path) -> Result<Results, Failure> {
    let rows = plan.rows().len() as u64;
    let mut failure = None;
    let results = with_bar("faults", rows, |bar| {
        let mut saved = before.len();
        grid::run(plan, before, &mut |results| {
            bar.set_position(results.len() as u64);
            if results.len() >= saved + SAVED_ROWS || results.len() as u64 == rows {
                saved = results.len();
                let bytes = grid::write(plan, results);
                failure = failure.take().or(files::write_whole(path, bytes.as_bytes()).err());
            }
            failure.is_none()
        })
    })
    .map_err(Failure::run)?;
    failure.map_or(Ok(results), |error| Err(Failure::run(error)))
}

/// Runs the fault-free hours that are missing; shifts are saved as they come.
fn all_hours(arguments: &Arguments) -> Result<Shifts, Failure> {
    let Arguments { seed, hours, out, resume, .. } = arguments;
    let path = out.join("hours.csv");
    let before = match *resume && path.exists() {
        true => hours::read(*seed, &read_text(&path)?).map_err(|told| not_resumed(&path, &told))?,
        false => Shifts::new(),
    };
    let wanted = hours::shifts_in(f64::from(*hours));
    let mut failure = None;
    let shifts = with_bar("fault-free hours", wanted, |bar| {
        let mut saved = before.len();
        hours::run(*seed, f64::from(*hours), before, &mut |shifts| {
            bar.set_position(shifts.len() as u64);
            if shifts.len() >= saved + SAVED_ROWS || shifts.len() as u64 == wanted {
                saved = shifts.len();
                let bytes = hours::write(*seed, shifts);
                failure = failure.take().or(files::write_whole(&path, bytes.as_bytes()).err());
            }
            failure.is_none()
        })
    })
    .map_err(Failure::run)?;
    failure.map_or(Ok(shifts), |error| Err(Failure::run(error)))
}

/// Shows the share done on stderr if a person watches it.
fn with_bar<T>(what: &'static str, steps: u64, work: impl FnOnce(&ProgressBar) -> T) -> T {
    let bar = if stderr().is_terminal() { ProgressBar::new(steps) } else { ProgressBar::hidden() };
    if let Ok(style) = ProgressStyle::with_template("{msg} {bar:40} {percent:>3} %, {eta} left") {
        bar.set_style(style);
    }
    bar.set_message(what);
    let done = work(&bar);
    bar.finish_and_clear();
    done
}

fn judge(plan: &Plan, results: &Results) -> Result<(), Failure> {
    let (_, others) = grid::breaches(plan, results);
    match (others, empty_cells(plan, results)) {
        (0, 0) => Ok(()),
        (0, empty) => Err(Failure::run(format!(
            "{empty} cells were without effect; more --draws may fill them"
        ))),
        (others, _) => {
            Err(Failure::run(format!("{others} injections ended unsafe; the table names them")))
        }
    }
}

/// The command that gives the same results again.
fn command_line(arguments: &Arguments) -> String {
    let pairs = if arguments.pairs { " --pairs" } else { "" };
    let Arguments { draws, hours, seed, .. } = arguments;
    format!("strewn stops{pairs} --draws {draws} --hours {hours} --seed {seed}")
}
