//! `strewn many --sensors`: the evaluation, its tables and its page.

use super::many::{bar, stop_on_signal};
use super::{Failure, machine, read_text, say};
use crate::bench::MachineFile;
use crate::report::{self, SensorsInput};
use crate::study::evaluation::Evaluation;
use crate::study::population::Population;
use crate::study::sensors::{self, Trial};
use crate::study::standing::Standing;
use crate::{files, study};
use std::path::Path;

/// What was asked for; what was not is the evaluation's.
pub(super) struct Request<'a> {
    pub(super) population: Option<&'a Path>,
    pub(super) bales: Option<u32>,
    pub(super) seed: Option<u64>,
    pub(super) machine: Option<&'a Path>,
    pub(super) out: &'a Path,
    pub(super) threads: usize,
    pub(super) json: bool,
}

pub(super) fn run(request: &Request<'_>) -> Result<(), Failure> {
    let mut evaluation = Evaluation::parse(Evaluation::TEXT).map_err(Failure::run)?;
    if let Some(path) = request.population {
        evaluation.population =
            Population::parse(&read_text(path)?).map_err(|error| Failure::in_file(path, error))?;
    }
    if let Some(bales) = request.bales {
        if !(1..=100_000).contains(&bales) {
            let sentence = format!("--bales is {bales}; allowed is 1 to 100000");
            return Err(Failure::input(sentence));
        }
        evaluation.bales = bales;
    }
    let seed = request.seed.unwrap_or(*evaluation.seeds.start());
    let machine = request.machine.map(machine).transpose()?.unwrap_or_default();
    // Before the work, so that a folder that cannot be made is told at once.
    files::make_folder(request.out).map_err(Failure::input)?;
    let trials = feed_all(request, &evaluation, &machine, seed)?;
    let standing = Standing::new(&evaluation, &trials);
    let input = SensorsInput {
        population: &evaluation.population.name,
        seed,
        is_evaluation: request.population.is_none() && evaluation.seeds.contains(&seed),
        command: &command_line(request, evaluation.bales, seed),
        standing: &standing,
    };
    let figures = format!("{:#}\n", report::sensors_json(&input));
    let page = request.out.join("sensors.html");
    files::write_whole(&request.out.join("sensors.json"), figures.as_bytes())
        .map_err(Failure::run)?;
    files::write_whole(&page, report::sensors_page(&input).as_bytes()).map_err(Failure::run)?;
    if request.json {
        return say(&figures);
    }
    say(&format!("{}\nPage: {}\n", report::sensors_table(&input), page.display()))
}

fn feed_all(
    request: &Request<'_>,
    evaluation: &Evaluation,
    machine: &MachineFile,
    seed: u64,
) -> Result<Vec<Trial>, Failure> {
    let tasks = sensors::tasks(evaluation);
    let stop = stop_on_signal()?;
    let bar = bar("bales");
    bar.set_length(tasks.len() as u64);
    let work = |piece: usize| sensors::feed(evaluation, machine, seed, tasks[piece]);
    let trials = study::pool::map(tasks.len(), request.threads, &stop, &work, &mut |done| {
        bar.set_position(done as u64);
    });
    bar.finish_and_clear();
    let trials = trials.ok_or_else(|| Failure::run("stopped before all bales were fed"))?;
    trials.into_iter().collect::<Result<_, _>>().map_err(Failure::run)
}

/// The command that gives the same figures again.
fn command_line(request: &Request<'_>, bales: u32, seed: u64) -> String {
    let words = |option: &str, path: Option<&Path>| {
        path.map_or_else(String::new, |path| format!(" {option} {}", path.display()))
    };
    let population = words("--population", request.population);
    let machine = words("--machine", request.machine);
    format!("strewn many --sensors{population}{machine} --bales {bales} --seed {seed}")
}
