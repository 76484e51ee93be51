//! The window as a program.

use clap::Parser;
use std::path::PathBuf;
use std::process::ExitCode;
use strewn::bench::scenario::Scenario;
use strewn_window::model::{Feeding, Goal, Job};
use strewn_window::panels::Window;

/// Watch a feeding and meddle with it: live, faster than life, side by side
#[derive(Parser)]
#[command(name = "strewn-window", version)]
struct Arguments {
    /// Scenario file (TOML), as `strewn feed` takes it; the built-in demonstration if left out
    scenario: Option<PathBuf>,
    /// Number that all chance is drawn from
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Run to this moment at once and stand there, seconds
    #[arg(long, value_name = "SECONDS")]
    at: Option<f64>,
    /// Write a picture of the window there once time stands, and shut it
    #[arg(long, value_name = "FILE.png")]
    picture: Option<PathBuf>,
    /// Begin dark
    #[arg(long)]
    dark: bool,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    match open(&arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(told) => {
            eprintln!("strewn-window: {told}");
            ExitCode::from(2)
        }
    }
}

/// Opens the window and comes back when it is shut. A wrong scenario is told in the window, on top of
/// the demonstration.
fn open(arguments: &Arguments) -> Result<(), String> {
    let job = Job::parse(Scenario::DEMO, None).map_err(|error| error.to_string())?;
    let mut feeding = Feeding::new(job, arguments.seed).map_err(|error| error.to_string())?;
    if let Some(path) = &arguments.scenario {
        feeding.open_scenario(path);
    }
    if let Some(at_s) = arguments.at {
        feeding.clock.run_to(Goal::Time(at_s));
    }
    let mut window = Window::new(feeding);
    window.desk.dark = arguments.dark;
    window.desk.last_picture.clone_from(&arguments.picture);
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("strewn")
            .with_inner_size([1366.0, 740.0])
            .with_min_inner_size([480.0, 320.0]),
        ..Default::default()
    };
    eframe::run_native("strewn-window", options, Box::new(|_| Ok(Box::new(window))))
        .map_err(|error| format!("the window cannot be opened: {error}"))
}
