//! `strewn plan`: a farm into a feeding: pounds a foot, speed, loads, and a scenario.

use super::{Failure, read_text, say};
use crate::plan::ask::{Answers, ask, file};
use crate::plan::{Farm, Plan, make};
use crate::{files, report};
use clap::Args;
use std::io::{IsTerminal, stderr, stdin, stdout};
use std::path::PathBuf;

/// Plan a feeding: from herd, hay, bales and place to pounds a foot, speed and loads
///
/// What is known comes from a farm's file, or from options; at a terminal, what is missing is asked for.
/// Prints the plan with what to mind in it; the folder of --out gets plan.html, scenario.toml (for
/// `strewn feed`: the first trip) and, where the file was not given, farm.toml with the answers.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn plan                                    ask for everything
  strewn plan --head 120 --weight-lb 1280 --bale-weight-lb 1180
  strewn plan --example > my-farm.toml           an invented farm, to be changed
  strewn plan my-farm.toml --json | less
  strewn feed out/scenario.toml                  feed what was planned")]
pub(super) struct Arguments {
    /// The farm (TOML; lb, ft, mph)
    #[arg(conflicts_with = "known")]
    farm: Option<PathBuf>,
    /// Print the file of an invented farm, and end
    #[arg(long, conflicts_with_all = ["farm", "known", "json"])]
    example: bool,
    #[command(flatten)]
    known: Known,
    /// Folder for the page and the scenario; made if need be
    #[arg(long, value_name = "DIR", default_value = "./out")]
    out: PathBuf,
    /// Print the plan as JSON
    #[arg(long)]
    json: bool,
}

/// What may be said instead of a file.
#[derive(Args)]
#[group(id = "known", multiple = true)]
struct Known {
    /// Days that one feeding lasts
    #[arg(long, value_name = "DAYS")]
    days: Option<f64>,
    /// Class of the animals: dry cow, lactating cow, bred heifer, bull, growing
    #[arg(long)]
    class: Option<String>,
    /// How many animals
    #[arg(long, value_name = "N")]
    head: Option<f64>,
    /// Weight of one, lb
    #[arg(long, value_name = "LB")]
    weight_lb: Option<f64>,
    /// Digestible nutrients of the hay, %
    #[arg(long, value_name = "PERCENT")]
    tdn_percent: Option<f64>,
    /// Width of a bale, ft
    #[arg(long, value_name = "FT")]
    bale_width_ft: Option<f64>,
    /// Diameter of a bale, ft
    #[arg(long, value_name = "FT")]
    bale_diameter_ft: Option<f64>,
    /// Weight of a bale, lb
    #[arg(long, value_name = "LB")]
    bale_weight_lb: Option<f64>,
    /// Moisture of the hay, %
    #[arg(long, value_name = "PERCENT")]
    moisture_percent: Option<f64>,
    /// Bales at hand
    #[arg(long, value_name = "N")]
    bales: Option<f64>,
    /// Length to lay a feeding on, ft
    #[arg(long, value_name = "FT")]
    strip_ft: Option<f64>,
    /// Ground speed, mph
    #[arg(long, value_name = "MPH")]
    speed_mph: Option<f64>,
}

impl Known {
    /// In the order of the questions.
    fn answers(&self) -> Answers {
        // Debug writes a float as TOML does: with a point, or as `inf` and `NaN`, which are refused.
        let number = |value: Option<f64>| value.map(|value| format!("{value:?}"));
        [
            number(self.days),
            self.class.clone(),
            number(self.head),
            number(self.weight_lb),
            number(self.tdn_percent),
            number(self.bale_width_ft),
            number(self.bale_diameter_ft),
            number(self.bale_weight_lb),
            number(self.moisture_percent),
            number(self.bales),
            number(self.strip_ft),
            number(self.speed_mph),
        ]
    }
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    if arguments.example {
        return say(Farm::EXAMPLE);
    }
    let (farm, answers) = match &arguments.farm {
        Some(path) => {
            let farm = Farm::parse(&read_text(path)?);
            (farm.map_err(|error| Failure::in_file(path, error))?, None)
        }
        None => {
            let text = told(&arguments.known)?;
            // The lines of a file that nobody has seen would only confuse.
            let farm = Farm::parse(&text).map_err(|error| Failure::input(error.problem))?;
            (farm, Some(text))
        }
    };
    let plan = make(farm).map_err(Failure::input)?;
    files::make_folder(&arguments.out).map_err(Failure::input)?;
    write_and_say(arguments, &plan, answers.as_deref())
}

/// The farm's file from options and, where a person sits at a terminal, from questions.
fn told(known: &Known) -> Result<String, Failure> {
    let answers = known.answers();
    if !(stdin().is_terminal() && stdout().is_terminal()) {
        if known.head.is_none() || known.weight_lb.is_none() {
            return Err(Failure::input(
                "nothing says how many animals are fed; give a farm's file (`strewn plan --example` prints one) or \
                 --head and --weight-lb",
            ));
        }
        return Ok(file(&answers));
    }
    let asked = ask(answers, &mut stdin().lock(), &mut stderr().lock());
    match asked.map_err(|error| Failure::run(format!("cannot ask: {error}")))? {
        Some(answers) => Ok(file(&answers)),
        None => Err(Failure::input("the questions were not answered to the end; no plan was made")),
    }
}

fn write_and_say(arguments: &Arguments, plan: &Plan, answers: Option<&str>) -> Result<(), Failure> {
    let out = |name: &str| arguments.out.join(name);
    let mut command = String::from("strewn plan ");
    command += &match &arguments.farm {
        Some(path) => path.display().to_string(),
        None => out("farm.toml").display().to_string(),
    };
    let write = |name: &str, text: &str| {
        files::write_whole(&out(name), text.as_bytes()).map_err(Failure::run)
    };
    if let Some(answers) = answers {
        write("farm.toml", answers)?;
    }
    write("scenario.toml", &plan.scenario())?;
    write("plan.html", &report::plan_page(plan, &command))?;
    if arguments.json {
        return say(&format!("{:#}\n", report::plan_json(plan)));
    }
    say(&format!(
        "{}\nPage with pictures: {}\nTo feed it: strewn feed {}\n",
        report::plan_text(plan),
        out("plan.html").display(),
        out("scenario.toml").display()
    ))
}
