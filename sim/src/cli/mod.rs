//! The command `strewn`: arguments in, files and text out, one sentence for whatever is wrong.

mod book;
mod check_row;
mod compare;
mod feed;
mod fit;
mod hand_over;
mod many;
mod plan;
mod replay;
mod sensors;
mod stops;
mod tune;

use crate::bench::MachineFile;
use crate::files;
use clap::{CommandFactory, Parser, Subcommand};
use std::ffi::OsString;
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use std::process::ExitCode;

const ABOUT: &str = "Meters round bales onto pasture: models the job and shows what was laid where";

const LONG_ABOUT: &str = "\
Meters round bales onto pasture.

Two rollers pull a round bale apart and lay it in a row. `strewn feed` lets the controller of such a \
machine, and others for comparison, feed modelled bales behind a modelled or recorded tractor, and \
writes what was laid where. Without a command it feeds the demonstration.

Units: pounds, feet and miles an hour where people read and write; each key of a scenario and each \
column of a table ends in its unit.";

const CAUTIONS: &str = "\
Cautions:
  The bales, the tractor and the machine are models; no figure here replaces a trial on the field.
  Rollers pull in hay, hands and clothes, and do not let go. Before touching them or clearing hay:
  stop the engine, relieve the hydraulic pressure, wait until everything stands still.
  Keep people and cattle away from a machine that may turn; nobody rides on it.
  Oil under pressure goes through skin. Look for leaks with cardboard, never with a hand.
  Software is never the only stop: a hard-wired stop, guards and lock-out belong to the machine.
  Follow local codes, and have the safety of a machine judged by those licensed to do so.";

const EXAMPLES: &str = "\
Examples:
  strewn                                         feed the demonstration
  strewn feed my-farm.toml --seed 7              feed a farm of your own
  strewn feed --ground-speed drive.nmea          behind your own tractor
  strewn many --bales 500                        many bales, with intervals
  strewn replay out/strewn.log                   prove that a log replays bit for bit
  strewn plan my-farm.toml                       from herd and hay to pounds a foot
  strewn compare                                 what other ways of feeding cost
  strewn check-row weighed.csv                   how even it really was
  strewn book add --help                         enter a feeding into the book
  strewn fit out/strewn.log --out machine.toml   learn a machine from its logs
  strewn tune                                    search the controller's settings
  strewn hand-over machine.toml --port COM3      settings into the board in the cab
  strewn stops                                   every fault on every wire
  strewn window                                  how to watch a feeding and pull its plugs";

const WINDOW: &str = "\
The window is a program of its own, so that this one builds fast. From a clone:

  cargo run --release -p strewn-window -- [SCENARIO.toml]
  cargo install --path sim/window && strewn-window

It feeds a scenario live and faster than life: pull plugs, hold the run switch, move settings and the
world, compare side by side, look back, open the logs that `strewn feed` writes.
";

#[derive(Parser)]
#[command(name = "strewn", version, about = ABOUT, long_about = LONG_ABOUT)]
#[command(after_help = EXAMPLES, after_long_help = format!("{EXAMPLES}\n\n{CAUTIONS}"))]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    Feed(feed::Arguments),
    Many(many::Arguments),
    Replay(replay::Arguments),
    Plan(plan::Arguments),
    Compare(compare::Arguments),
    CheckRow(check_row::Arguments),
    Book(book::Arguments),
    Fit(fit::Arguments),
    Stops(stops::Arguments),
    Tune(tune::Arguments),
    HandOver(hand_over::Arguments),
    /// Say how to open the window: a feeding live and faster than life, with plugs and sliders
    #[command(after_help = "Example:\n  cargo run --release -p strewn-window -- my-farm.toml")]
    Window,
    /// Write the completion script of a shell
    #[command(after_help = "Example:\n  strewn completion bash > ~/.bash_completion.d/strewn")]
    Completion {
        /// The shell
        shell: clap_complete::Shell,
    },
}

/// Why the command ends with something other than success.
struct Failure {
    /// 1: the run failed. 2: the input or its use was wrong.
    code: u8,
    /// One sentence for the person.
    sentence: String,
}

impl Failure {
    /// The input or its use was wrong.
    fn input(sentence: impl ToString) -> Self {
        Self { code: 2, sentence: sentence.to_string() }
    }

    /// Something in a file was wrong.
    fn in_file(path: &Path, sentence: impl std::fmt::Display) -> Self {
        Self::input(format!("{}: {sentence}", path.display()))
    }

    /// The run failed.
    fn run(sentence: impl ToString) -> Self {
        Self { code: 1, sentence: sentence.to_string() }
    }
}

/// Runs the command with the process's arguments, the first being its own name.
///
/// Ends with 0; with 1 if the run failed; with 2 if the input or its use was wrong.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments: Vec<_> = arguments.into_iter().collect();
    let outcome = match Cli::try_parse_from(&arguments) {
        Ok(cli) => obey(cli.command),
        Err(error) if error.use_stderr() => Err(Failure::input(usage(&error))),
        // Help and version.
        Err(error) => say(&error.render().to_string()),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(Failure { code, sentence }) => {
            // With stderr closed there is nobody left to tell.
            let _ = writeln!(io::stderr(), "strewn: {sentence}");
            ExitCode::from(code)
        }
    }
}

fn obey(command: Option<Command>) -> Result<(), Failure> {
    match command {
        None => feed::run(&feed::Arguments::default()),
        Some(Command::Feed(arguments)) => feed::run(&arguments),
        Some(Command::Many(arguments)) => many::run(&arguments),
        Some(Command::Replay(arguments)) => replay::run(&arguments),
        Some(Command::Plan(arguments)) => plan::run(&arguments),
        Some(Command::Compare(arguments)) => compare::run(&arguments),
        Some(Command::CheckRow(arguments)) => check_row::run(&arguments),
        Some(Command::Book(arguments)) => book::run(&arguments),
        Some(Command::Fit(arguments)) => fit::run(&arguments),
        Some(Command::Stops(arguments)) => stops::run(&arguments),
        Some(Command::Tune(arguments)) => tune::run(&arguments),
        Some(Command::HandOver(arguments)) => hand_over::run(&arguments),
        Some(Command::Window) => say(WINDOW),
        Some(Command::Completion { shell }) => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "strewn", &mut script);
            say(&String::from_utf8_lossy(&script))
        }
    }
}

/// What is wrong with the arguments, in one sentence: the message and the tip of the argument parser
/// without its layout.
fn usage(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let parts = text.trim_start_matches("error: ").split("\n\n").map(str::trim);
    let told = parts.filter(|part| !part.starts_with("Usage:") && !part.starts_with("For more"));
    let told: Vec<_> =
        told.map(|part| part.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    format!("{}; see `strewn --help`", told.join("; "))
}

/// The text of a TOML file.
fn read_text(path: &Path) -> Result<String, Failure> {
    /// Largest such file, bytes.
    const LARGEST: u64 = 1 << 20;
    let bytes = files::read(path, LARGEST).map_err(Failure::input)?;
    String::from_utf8(bytes)
        .map_err(|_| Failure::in_file(path, "this is not text; a TOML file is wanted"))
}

/// A machine file.
fn machine(path: &Path) -> Result<MachineFile, Failure> {
    MachineFile::parse(&read_text(path)?).map_err(|error| Failure::in_file(path, error))
}

/// Prints to stdout. A reader that has gone, as `head` does, is no failure.
fn say(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::run(format!("cannot write to standard output: {error}")))
        }
        _ => Ok(()),
    }
}
