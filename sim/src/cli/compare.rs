//! `strewn compare`: ways of feeding into what they cost.

use super::{Failure, read_text, say};
use crate::compare::{Answer, Question};
use crate::{files, report};
use clap::Args;
use std::path::{Path, PathBuf};

/// Compare eight ways of feeding: hay lost, time, ground, yearly cost, and for which herd each pays
///
/// From a whole bale on open ground to rollers that fill a bunk. Tables are printed; the folder of --out
/// gets compare.html with pictures and every input beside its source. The same inputs and seed give the
/// same bytes.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn compare                                 with the usual inputs
  strewn compare --example > my-ways.toml        every input with its source, to be changed
  strewn compare my-ways.toml --json | less")]
pub(super) struct Arguments {
    /// Inputs that differ from the usual ones (TOML; USD, lb, ft, mph)
    inputs: Option<PathBuf>,
    /// Print a file with every input and its source, and end
    #[arg(long, conflicts_with_all = ["inputs", "json"])]
    example: bool,
    /// Folder for the page; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Number that all chance is drawn from
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Print JSON instead of tables
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let question = arguments.inputs.as_deref().map_or_else(|| Ok(Question::default()), question)?;
    if arguments.example {
        return say(&question.to_toml());
    }
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    let answer = Answer::of(question, arguments.seed);
    let path = arguments.out.join("compare.html");
    let page = report::compare_page(&answer, &command_line(arguments));
    files::write_whole(&path, page.as_bytes()).map_err(Failure::run)?;
    if arguments.json {
        return say(&format!("{:#}\n", report::compare_json(&answer)));
    }
    let text = report::compare_text(&answer);
    say(&format!("{text}\nPage with pictures and every input's source: {}\n", path.display()))
}

fn question(path: &Path) -> Result<Question, Failure> {
    Question::parse(&read_text(path)?).map_err(|error| Failure::in_file(path, error))
}

/// The command that gives the same figures again.
fn command_line(arguments: &Arguments) -> String {
    let inputs =
        arguments.inputs.as_ref().map_or(String::new(), |path| format!(" {}", path.display()));
    format!("strewn compare{inputs} --seed {}", arguments.seed)
}
