//! `strewn check-row`: weighed lengths or a trial into evenness or an analysis of variance.

use super::{Failure, say};
use crate::row::comparison::{Method, findings};
use crate::row::laid::Laid;
use crate::row::sheet::Sheet;
use crate::row::trial::Trial;
use crate::row::weighed::{Length, evenness};
use crate::units::KG_M_PER_LB_FT;
use crate::{files, report};
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Largest sheet and largest figures, bytes.
const LARGEST_SHEET: u64 = 16 << 20;
/// Largest log, bytes.
const LARGEST_LOG: u64 = 1 << 30;

/// Check what was really laid: weighed lengths of a row, or a small trial
///
/// The header of the CSV file tells which. A row has `weight_lb` (or `weight_kg`) and `length_ft` (or
/// `length_m`), or instead of the length `from_ft` and `to_ft` (or `from_m` and `to_m`): a line for each
/// sheet or length, in the order they lie. A trial has `treatment`, `block` (left out if plots were not
/// blocked) and one column for each measure. The findings are printed; the folder of --out gets
/// row.html or trial.html.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn check-row weighed.csv --target-lb-per-ft 5
  strewn check-row weighed.csv --against out/strewn.log
  strewn check-row trial.csv --method lsd --json

A row of five sheets:        A trial in two blocks:
  length_ft,weight_lb          block,treatment,loss_percent
  3,14.6                       north,ring,8.2
  3,15.9                       north,row,6.1
  3,13.8                       south,ring,9.0
  3,15.1                       south,row,6.6
  3,14.9")]
pub(super) struct Arguments {
    /// The sheet: a CSV file with a header
    sheet: PathBuf,
    /// Rate that was wanted, lb/ft
    #[arg(long, value_name = "RATE", value_parser = target)]
    target_lb_per_ft: Option<f64>,
    /// A log (strewn.log) or figures (figures.json) to compare the weighed rate with
    #[arg(long, value_name = "FILE")]
    against: Option<PathBuf>,
    /// Confidence of the intervals, and for a trial 100 less the accepted error, per cent
    #[arg(long, value_name = "PERCENT", default_value = "95", value_parser = confidence)]
    confidence: f64,
    /// How treatments of a trial are compared
    #[arg(long, value_enum, default_value = "tukey")]
    method: MethodName,
    /// Folder for the page; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Print JSON instead of sentences
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, ValueEnum)]
enum MethodName {
    /// Tukey's honestly significant difference
    Tukey,
    /// The least significant difference
    Lsd,
}

fn target(text: &str) -> Result<f64, String> {
    within(text, 0.1, 100.0)
}

fn confidence(text: &str) -> Result<f64, String> {
    within(text, 50.0, 99.9)
}

fn within(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let number = text.parse().ok().filter(|number| (low..=high).contains(number));
    number.ok_or_else(|| format!("allowed is a number from {low} to {high}"))
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let path = &arguments.sheet;
    let bytes = files::read(path, LARGEST_SHEET).map_err(Failure::input)?;
    match Sheet::parse(&bytes).map_err(|error| Failure::in_file(path, error))? {
        Sheet::Row(pieces) => row(arguments, &pieces),
        Sheet::Trial(sheet) => trial(arguments, &sheet),
    }
}

fn row(arguments: &Arguments, pieces: &[Length]) -> Result<(), Failure> {
    let target_kg_m = arguments.target_lb_per_ft.map(|target| target * KG_M_PER_LB_FT);
    let found = evenness(pieces, target_kg_m, arguments.confidence / 100.0)
        .map_err(|error| Failure::in_file(&arguments.sheet, error))?;
    let laid = arguments.against.as_deref().map(laid).transpose()?;
    let page = report::row_page(&found, pieces, laid.as_ref(), &command_line(arguments));
    let text = if arguments.json {
        format!("{:#}\n", report::row_json(&found, laid.as_ref()))
    } else {
        report::row_text(&found, laid.as_ref())
    };
    write_and_say(arguments, "row.html", &page, &text)
}

fn trial(arguments: &Arguments, trial: &Trial) -> Result<(), Failure> {
    let unused = [
        ("--target-lb-per-ft", arguments.target_lb_per_ft.is_some()),
        ("--against", arguments.against.is_some()),
    ];
    if let Some((name, _)) = unused.iter().find(|(_, given)| *given) {
        let sentence = format!("this is a trial; {name} is for a weighed row");
        return Err(Failure::in_file(&arguments.sheet, sentence));
    }
    let method = match arguments.method {
        MethodName::Tukey => Method::Tukey,
        MethodName::Lsd => Method::LeastDifference,
    };
    let found = findings(trial, method, 1.0 - arguments.confidence / 100.0);
    let page = report::trial_page(trial, &found, &command_line(arguments));
    let text = if arguments.json {
        format!("{:#}\n", report::trial_json(trial, &found))
    } else {
        report::trial_text(trial, &found)
    };
    write_and_say(arguments, "trial.html", &page, &text)
}

fn laid(path: &Path) -> Result<Laid, Failure> {
    let bytes = files::read(path, LARGEST_LOG).map_err(Failure::input)?;
    let text = std::str::from_utf8(&bytes).ok().filter(|text| text.trim_start().starts_with('{'));
    let laid = match text {
        Some(text) => Laid::from_figures(text).ok_or_else(|| {
            Failure::in_file(path, "these are not figures as `strewn feed` writes them")
        }),
        None => Laid::from_log(&bytes).map_err(|error| Failure::in_file(path, error)),
    }?;
    if laid.rate_kg_m().is_none() {
        return Err(Failure::in_file(path, "no hay was laid in it; nothing can be compared"));
    }
    Ok(laid)
}

fn write_and_say(arguments: &Arguments, name: &str, page: &str, text: &str) -> Result<(), Failure> {
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    let path = arguments.out.join(name);
    files::write_whole(&path, page.as_bytes()).map_err(Failure::run)?;
    if arguments.json {
        return say(text);
    }
    say(&format!("{text}\nPage with pictures: {}\n", path.display()))
}

/// The command that gives the same page again.
fn command_line(arguments: &Arguments) -> String {
    let mut line = format!("strewn check-row {}", arguments.sheet.display());
    if let Some(target) = arguments.target_lb_per_ft {
        line += &format!(" --target-lb-per-ft {target}");
    }
    if let Some(path) = &arguments.against {
        line += &format!(" --against {}", path.display());
    }
    if let MethodName::Lsd = arguments.method {
        line += " --method lsd";
    }
    line + &format!(" --confidence {}", arguments.confidence)
}
