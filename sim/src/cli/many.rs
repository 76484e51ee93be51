//! `strewn many`: a population into a campaign, its file of results, its table and its page.

use super::{Failure, feed, machine, read_text, say, sensors};
use crate::files;
use crate::report::{self, ManyInput};
use crate::study;
use crate::study::campaign::{self, CampaignError, Manner, Plan};
use crate::study::join::JoinError;
use crate::study::population::Population;
use crate::study::summary::Summary;
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{self, IsTerminal, stderr};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Bales and seed if none are given.
const BALES: u32 = 2_000;
const SEED: u64 = 1;
/// Folder of what is done, within the folder of --out.
const PARTS: &str = "parts";

/// Feed many bales of a population and show how evenly they were laid, with intervals
///
/// Bales, tickets, sensors and drives are drawn from a population; the controller, its rivals and the
/// bounds of perfect knowledge each feed all of them. A table is printed; the folder of --out gets
/// many.html (with pictures), many.json and many.parquet (one row a bale and contender), and keeps what
/// is done in parts/, so that Ctrl-C loses nothing and --resume goes on, also to more bales. The same
/// population, seed and number of bales give the same bytes on any number of threads and shards.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn many                                     2,000 bales of the usual population
  strewn many --bales 10000 --resume              more of them, keeping what is done
  strewn many --show 17                           bale 17 again, with all pictures
  strewn many --shard 1/2 --out a                 half of the work, here
  strewn many --shard 2/2 --out b                 the other half, elsewhere
  strewn many --merge a b --out all               and the results of both
  strewn many --sensors                           what each sensor is good for

A population is a TOML file in which every key may be left out. The usual one explains each of them: \
sim/src/study/population.toml.")]
pub(super) struct Arguments {
    /// Population file (TOML); the usual population if left out
    #[arg(long, value_name = "FILE")]
    population: Option<PathBuf>,
    /// Number of bales, up to 100,000; 2,000 if left out
    #[arg(long, value_name = "N")]
    bales: Option<u32>,
    /// Number that all chance is drawn from; 1 if left out
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Machine file, as `strewn fit` and `strewn tune` write it: settings in place of the usual ones
    #[arg(long, value_name = "FILE")]
    machine: Option<PathBuf>,
    /// Feed with every set of sensors and compare each with perfect knowledge; bales, seed and sets are
    /// those kept for evaluation (sim/src/study/evaluation.toml) unless others are asked for
    #[arg(long, conflicts_with_all = ["resume", "shard", "merge", "show"])]
    sensors: bool,
    /// Folder for the results; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Threads; as many as the machine has cores if left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Keep what an earlier run has done and do the rest
    #[arg(long)]
    resume: bool,
    /// Do shard K of N only, to be merged later
    #[arg(long, value_name = "K/N", conflicts_with_all = ["merge", "show"], value_parser = shard)]
    shard: Option<(u32, u32)>,
    /// Feed nothing; put together what these folders have done
    #[arg(long, value_name = "DIR", num_args = 1.., conflicts_with_all = ["resume", "show"])]
    merge: Vec<PathBuf>,
    /// Print the figures as JSON instead of a table
    #[arg(long)]
    json: bool,
    /// Feed this one bale (with its lot) again and write its scenario, page, figures and log
    #[arg(long, value_name = "BALE", conflicts_with = "resume")]
    show: Option<u32>,
}

fn shard(text: &str) -> Result<(u32, u32), String> {
    let numbers = text.split_once('/').and_then(|(shard, shards)| {
        Some((shard.parse::<u32>().ok()?, shards.parse::<u32>().ok()?))
    });
    let good = numbers.filter(|(shard, shards)| (1..=*shards).contains(shard));
    good.ok_or_else(|| "allowed is K/N with K from 1 to N, such as 1/4".to_owned())
}

impl From<CampaignError> for Failure {
    fn from(error: CampaignError) -> Self {
        match error {
            CampaignError::Bales { .. } => Self::input(error),
            _ => Self::run(error),
        }
    }
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    if arguments.sensors {
        let Arguments { population, bales, seed, machine, out, json, .. } = arguments;
        let threads = threads(arguments);
        let request = sensors::Request {
            population: population.as_deref(),
            bales: *bales,
            seed: *seed,
            machine: machine.as_deref(),
            out,
            threads,
            json: *json,
        };
        return sensors::run(&request);
    }
    let plan = plan(arguments)?;
    if let Some(bale) = arguments.show {
        return show(arguments, &plan, bale);
    }
    // Before the work, so that a folder that cannot be made is told at once.
    let own = arguments.out.join(PARTS);
    if arguments.merge.is_empty() {
        files::make_folder(&own).map_err(Failure::input)?;
        feed_all(arguments, &plan, &own)?;
        if let Some((shard, shards)) = arguments.shard {
            let out = arguments.out.display();
            return say(&format!(
                "Shard {shard} of {shards} is done and kept in {out}; put all of them together with \
                 --merge.\n"
            ));
        }
        return write_and_say(arguments, &plan, &[&own]);
    }
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    let folders: Vec<_> = arguments.merge.iter().map(|folder| folder.join(PARTS)).collect();
    if let Some(missing) = folders.iter().position(|folder| !folder.is_dir()) {
        let sentence = "there is nothing to merge here; `strewn many --out` makes such a folder";
        return Err(Failure::in_file(&arguments.merge[missing], sentence));
    }
    let folders: Vec<_> = folders.iter().map(PathBuf::as_path).collect();
    write_and_say(arguments, &plan, &folders)
}

fn plan(arguments: &Arguments) -> Result<Plan, Failure> {
    let text = match &arguments.population {
        None => Population::USUAL.to_owned(),
        Some(path) => read_text(path)?,
    };
    let population = Population::parse(&text).map_err(|error| match &arguments.population {
        None => Failure::input(error),
        Some(path) => Failure::in_file(path, error),
    })?;
    let seed = arguments.seed.unwrap_or(SEED);
    let plan = Plan::new(population, &text, seed, arguments.bales.unwrap_or(BALES))?;
    match &arguments.machine {
        None => Ok(plan),
        Some(path) => Ok(plan.with_machine(machine(path)?, &read_text(path)?)),
    }
}

fn threads(arguments: &Arguments) -> usize {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    arguments.threads.map_or(cores, usize::from)
}

/// Writes the scenario of a bale's lot and feeds it.
fn show(arguments: &Arguments, plan: &Plan, bale: u32) -> Result<(), Failure> {
    let lot = bale.checked_sub(1).map(|index| index / plan.population.bales_per_lot);
    let Some(lot) = lot.filter(|_| bale <= Plan::MOST_BALES) else {
        let most = Plan::MOST_BALES;
        return Err(Failure::input(format!("--show is {bale}; allowed is 1 to {most}")));
    };
    let drawn = plan.population.lot(plan.seed, lot);
    let path = arguments.out.join(format!("bale-{bale}.toml"));
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    files::write_whole(&path, drawn.text.as_bytes()).map_err(Failure::run)?;
    let out = arguments.out.clone();
    let machine = arguments.machine.clone();
    feed::run(&feed::Arguments::of(path, drawn.seed, machine, out, arguments.json))
}

fn feed_all(arguments: &Arguments, plan: &Plan, folder: &Path) -> Result<(), Failure> {
    let chunks = match arguments.shard {
        Some((shard, shards)) => plan.shard(shard, shards),
        None => plan.shard(1, 1),
    };
    let stop = stop_on_signal()?;
    let manner = Manner {
        feed: &study::feed_lot,
        folder,
        chunks: &chunks,
        threads: threads(arguments),
        resume: arguments.resume,
        stop: &stop,
    };
    let bar = bar("lots");
    let mut counts = (0, 0);
    let done = campaign::run(plan, &manner, &mut |done, all| {
        counts = (done, all);
        bar.set_length(all as u64);
        bar.set_position(done as u64);
    });
    bar.finish_and_clear();
    if done? {
        return Ok(());
    }
    let (done, all) = counts;
    Err(Failure::run(format!(
        "stopped after {done} of {all} lots; they are kept in {}, go on with --resume",
        folder.display()
    )))
}

/// A flag that is set when a person presses Ctrl-C or the system asks the program to end.
pub(super) fn stop_on_signal() -> Result<Arc<AtomicBool>, Failure> {
    let stop = Arc::new(AtomicBool::new(false));
    let seen = Arc::clone(&stop);
    ctrlc::set_handler(move || seen.store(true, Ordering::Relaxed))
        .map_err(|error| Failure::run(format!("cannot watch for Ctrl-C: {error}")))?;
    Ok(stop)
}

/// Shows the things fed and the time left on stderr if a person watches it.
pub(super) fn bar(things: &'static str) -> ProgressBar {
    let bar = if stderr().is_terminal() { ProgressBar::new(0) } else { ProgressBar::hidden() };
    bar.set_message(things);
    let template = "feeding {bar:40} {pos} of {len} {msg}, {eta} left";
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar
}

/// Writes the file of results and sums them up on the way.
fn join(plan: &Plan, folders: &[&Path], path: &Path) -> Result<Summary, Failure> {
    let mut joined = None;
    let written = files::write_whole_by(path, |file| {
        joined = Some(study::join::join(plan, folders, file));
        match &joined {
            Some(Err(error)) => Err(io::Error::other(error.to_string())),
            _ => Ok(()),
        }
    });
    match (joined, written) {
        (Some(Ok(summary)), Ok(())) => Ok(summary),
        (Some(Err(JoinError::Campaign(error))), _) => Err(error.into()),
        (_, Err(error)) => Err(Failure::run(error)),
        (_, Ok(())) => Err(Failure::run("nothing was put together")),
    }
}

fn write_and_say(arguments: &Arguments, plan: &Plan, folders: &[&Path]) -> Result<(), Failure> {
    let file = |name: &str| arguments.out.join(name);
    let summary = join(plan, folders, &file("many.parquet"))?;
    let words = file_words(arguments);
    let input = ManyInput {
        population: &plan.population.name,
        seed: plan.seed,
        command: &format!("strewn many{words} --bales {} --seed {}", plan.bales, plan.seed),
        show: &format!("strewn many{words} --seed {} --show", plan.seed),
        summary: &summary,
    };
    let figures = format!("{:#}\n", report::many_json(&input));
    let page = file("many.html");
    files::write_whole(&file("many.json"), figures.as_bytes()).map_err(Failure::run)?;
    files::write_whole(&page, report::many_page(&input).as_bytes()).map_err(Failure::run)?;
    if arguments.json {
        return say(&figures);
    }
    let table = report::many_table(&input);
    say(&format!("{table}\nPage with pictures: {}\n", page.display()))
}

fn file_words(arguments: &Arguments) -> String {
    let words = |option: &str, path: &Option<PathBuf>| {
        path.as_ref().map_or_else(String::new, |path| format!(" {option} {}", path.display()))
    };
    words("--population", &arguments.population) + &words("--machine", &arguments.machine)
}
