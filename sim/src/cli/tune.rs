//! `strewn tune`: a training population into settings, a page of before and after, and a front.

use super::many::stop_on_signal;
use super::{Failure, machine, read_text, say};
use crate::bench::SECTIONS;
use crate::files;
use crate::report::{self, TuneInput, explained};
use crate::study::evaluation::Evaluation;
use crate::study::population::Population;
use crate::tune::knobs::Knobs;
use crate::tune::progress::Progress;
use crate::tune::proof::Proof;
use crate::tune::search::CovarianceSearch;
use crate::tune::trial::Training;
use crate::tune::{self, TRAINING, Watch};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use strewn_controller::settings::Field;

/// How far around the usual settings the search looks at first, of the unbounded scale.
const SPREAD: f64 = 0.08;
/// The proof feeds this many times as many lots as the training.
const PROOF_LOTS: u32 = 3;
/// Largest file of progress, bytes.
const LARGEST_PROGRESS: u64 = 64 << 20;

/// Search the controller's settings on a training population and prove them on other bales
///
/// Tries settings of metering and estimation within their declared ranges, by an evolution strategy that
/// learns which go together. Three objectives count: unevenness over 10 ft and time of laying, both beside
/// perfect knowledge, and clumps. The folder of --out gets tune.toml (a machine file that `strewn feed` and
/// `strewn many` take with --machine), tune.html and tune.json, with before and after on bales under
/// another seed, and tune.progress, so that Ctrl-C loses nothing and --resume goes on. Seeds kept for
/// evaluation are refused. The same numbers give the same bytes on any number of threads.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn tune                                    the training population
  strewn tune --trials 2000 --resume             go on for longer
  strewn many --sensors --machine out/tune.toml  what the settings are worth
  strewn tune --explain                          every setting, its meaning and range
  strewn tune --explain my-machine.toml          whether settings made by hand will do

The training population: sim/src/tune/training.toml.")]
pub(super) struct Arguments {
    /// Training population (TOML); the built-in one if left out
    #[arg(long, value_name = "FILE")]
    population: Option<PathBuf>,
    /// Number that all chance is drawn from; the proof takes the next one
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Lots of bales that each set of settings is tried on; the proof takes three times as many
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    lots: u32,
    /// Sets of settings to try
    #[arg(long, value_name = "N", default_value_t = 600, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    trials: u32,
    /// Folder for the results; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Threads; as many as the machine has cores if left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Keep what an earlier search has tried and go on
    #[arg(long)]
    resume: bool,
    /// Print the results as JSON instead of tables
    #[arg(long)]
    json: bool,
    /// Search nothing; explain the settings of a machine file, or all there are
    #[arg(long, value_name = "FILE", num_args = 0..=1, conflicts_with = "resume")]
    explain: Option<Option<PathBuf>>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    if let Some(path) = &arguments.explain {
        return explain(path.as_deref());
    }
    let seeds = seeds(arguments.seed)?;
    let (text, population) = population(arguments.population.as_deref())?;
    // Before the work, so that a folder that cannot be made is told at once.
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    let knobs = Knobs::default();
    let told = format!("{} {} {knobs:?} {text}", seeds.0, arguments.lots);
    let mut progress = Progress::new(&told);
    let kept = arguments.out.join("tune.progress");
    if arguments.resume && kept.exists() {
        let bytes = files::read(&kept, LARGEST_PROGRESS).map_err(Failure::input)?;
        progress.resume(&bytes).map_err(|error| Failure::in_file(&kept, error))?;
    }
    let stop = stop_on_signal()?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = arguments.threads.map_or(cores, usize::from);
    let training = |seed, lots| {
        let training = Training::new(&knobs, &population, (seed, lots), threads, &stop);
        training
            .map_err(Failure::run)?
            .ok_or_else(|| Failure::run("stopped before the first trial"))
    };
    let all = search(
        arguments,
        &knobs,
        &training(seeds.0, arguments.lots)?,
        &stop,
        &mut progress,
        &kept,
    )?;
    let settings = arguments.out.join("tune.toml");
    if let Some((values, _)) = progress.best() {
        let file = knobs.machine_file(values);
        files::write_whole(&settings, file.as_bytes()).map_err(Failure::run)?;
    }
    if !all {
        return Err(stopped(&progress, arguments, &settings));
    }
    let unseen = training(seeds.1, PROOF_LOTS * arguments.lots)?;
    let best = progress.best().map_or_else(|| knobs.usual(), |(values, _)| values.clone());
    let proof = Proof::new(&unseen, &knobs.usual(), &best)
        .ok_or_else(|| stopped(&progress, arguments, &settings))?;
    let input = TuneInput {
        population: &population.name,
        seeds,
        command: &command_line(arguments),
        knobs: &knobs,
        progress: &progress,
        proof: &proof,
    };
    write_and_say(arguments, &input, &settings)
}

fn stopped(progress: &Progress, arguments: &Arguments, settings: &Path) -> Failure {
    Failure::run(format!(
        "stopped after {} of {} trials; the best so far is in {}, go on with --resume",
        progress.count(),
        arguments.trials,
        settings.display()
    ))
}

/// The seeds of training and proof, none of them kept for evaluation.
fn seeds(seed: u64) -> Result<(u64, u64), Failure> {
    let next = seed.wrapping_add(1);
    let evaluation = Evaluation::parse(Evaluation::TEXT).map_err(Failure::run)?;
    if evaluation.seeds.contains(&seed) || evaluation.seeds.contains(&next) {
        let (first, last) = (evaluation.seeds.start(), evaluation.seeds.end());
        return Err(Failure::input(format!(
            "--seed is {seed}, but {first} to {last} are kept for evaluation, on which nothing is tuned; \
             allowed is any other"
        )));
    }
    Ok((seed, next))
}

fn population(path: Option<&Path>) -> Result<(String, Population), Failure> {
    let text = path.map_or_else(|| Ok(TRAINING.to_owned()), read_text)?;
    let population = Population::parse(&text).map_err(|error| match path {
        Some(path) => Failure::in_file(path, error),
        None => Failure::run(error),
    })?;
    Ok((text, population))
}

/// Searches; gives whether it came to its end.
fn search(
    arguments: &Arguments,
    knobs: &Knobs,
    training: &Training<'_>,
    stop: &AtomicBool,
    progress: &mut Progress,
    kept: &Path,
) -> Result<bool, Failure> {
    let trials = arguments.trials as usize;
    let bar = bar(trials as u64);
    let mut failure = None;
    let search = CovarianceSearch { seed: arguments.seed, spread: SPREAD };
    let mut watch = Watch {
        trial: &mut |done, best| {
            bar.set_position(done as u64);
            bar.set_message(format!("{best:.4}"));
            !stop.load(Ordering::Relaxed)
        },
        keep: &mut |progress| {
            let written = progress
                .write()
                .map_err(Failure::run)
                .and_then(|bytes| files::write_whole(kept, &bytes).map_err(Failure::run));
            failure = failure.take().or(written.err());
        },
    };
    let try_out = |values: &[i32]| training.objectives(values);
    let all = tune::tune(knobs, &search, trials, &try_out, progress, &mut watch);
    bar.finish_and_clear();
    failure.map_or(Ok(all), Err)
}

/// Shows the trials done, the best merit and the time left on stderr if a person watches it.
fn bar(trials: u64) -> ProgressBar {
    let bar = if stderr().is_terminal() { ProgressBar::new(trials) } else { ProgressBar::hidden() };
    let template = "trying {bar:40} {pos} of {len}, best {msg}, {eta} left";
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar
}

fn write_and_say(
    arguments: &Arguments,
    input: &TuneInput<'_>,
    settings: &Path,
) -> Result<(), Failure> {
    let figures = format!("{:#}\n", report::tune_json(input));
    let page = arguments.out.join("tune.html");
    let write = |path: &Path, bytes: &[u8]| files::write_whole(path, bytes).map_err(Failure::run);
    write(&arguments.out.join("tune.json"), figures.as_bytes())?;
    write(&page, report::tune_page(input).as_bytes())?;
    if arguments.json {
        return say(&figures);
    }
    let text = report::tune_text(input);
    say(&format!("{text}\nSettings: {}\nPage: {}\n", settings.display(), page.display()))
}

/// The command that gives the same results again.
fn command_line(arguments: &Arguments) -> String {
    let Arguments { seed, lots, trials, .. } = arguments;
    let path = arguments.population.as_ref();
    let population =
        path.map_or_else(String::new, |path| format!(" --population {}", path.display()));
    format!("strewn tune{population} --lots {lots} --trials {trials} --seed {seed}")
}

/// Settings with their meaning: those of a file, which is checked thereby, or all.
fn explain(path: Option<&Path>) -> Result<(), Failure> {
    let given: Vec<(&str, Field, Option<i32>)> = match path {
        Some(path) => {
            let values = machine(path)?.values();
            values
                .into_iter()
                .map(|(section, field, value)| (section, field, Some(value)))
                .collect()
        }
        None => {
            let of = |section| move |field: &Field| (section, *field, None);
            let all = SECTIONS.iter();
            all.flat_map(|section| section.fields.iter().map(of(section.name))).collect()
        }
    };
    say(&explained(&given))
}
