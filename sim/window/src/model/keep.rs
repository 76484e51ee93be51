//! Files in and out, and what became of them in one sentence.

use super::{Against, Feeding, Job, lookback};
use std::path::Path;
use strewn::bench::MachineFile;
use strewn::bench::record::Run;
use strewn::files::{read, write_whole};
use strewn::report::{PageInput, page};

/// Largest scenario or machine file, bytes.
const LARGEST_TEXT: u64 = 1 << 20;
/// Largest log, bytes.
const LARGEST_LOG: u64 = 1 << 28;

/// Whether something went well.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// It did.
    Good,
    /// It did not; nothing was changed.
    Bad,
}

/// A sentence for the person at the window.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Whether it went well.
    pub tone: Tone,
    /// What happened.
    pub text: String,
}

impl Note {
    /// Something went well.
    #[must_use]
    pub fn good(text: impl Into<String>) -> Self {
        Self { tone: Tone::Good, text: text.into() }
    }

    /// Something went wrong; the person's work stands as it stood.
    #[must_use]
    pub fn bad(text: impl ToString) -> Self {
        Self { tone: Tone::Bad, text: text.to_string() }
    }
}

fn read_text(path: &Path) -> Result<String, Note> {
    let bytes = read(path, LARGEST_TEXT).map_err(Note::bad)?;
    let wrong = |_| Note::bad(format!("{} is not text (UTF-8)", path.display()));
    String::from_utf8(bytes).map_err(wrong)
}

fn in_file(path: &Path, error: impl ToString) -> Note {
    Note::bad(format!("{}: {}", path.display(), error.to_string()))
}

impl Feeding {
    /// Opens a scenario and begins it. What was fed before is gone unless the file is wrong.
    pub fn open_scenario(&mut self, path: &Path) {
        self.note = Some(self.scenario_of(path).unwrap_or_else(|note| note));
    }

    fn scenario_of(&mut self, path: &Path) -> Result<Note, Note> {
        let text = read_text(path)?;
        let job = Job::parse(&text, Some(path)).map_err(|error| in_file(path, error))?;
        let name = job.scenario.name.clone();
        self.begin(job).map_err(|error| in_file(path, error))?;
        Ok(Note::good(format!("Opened \"{name}\".")))
    }

    /// Opens settings for the controller and begins anew with them.
    pub fn open_settings(&mut self, path: &Path) {
        let opened = machine_of(path).and_then(|machine| {
            self.begin_with(machine).map_err(|error| in_file(path, error))?;
            Ok(Note::good(format!("The controller is set by {}.", path.display())))
        });
        self.note = Some(opened.unwrap_or_else(|note| note));
    }

    /// Feeds the same bales beside it with the controller set by another file.
    pub fn open_rival(&mut self, path: &Path) {
        let opened = machine_of(path).and_then(|machine| {
            self.compare(Against::File(path.to_owned(), machine))
                .map_err(|error| in_file(path, error))?;
            Ok(Note::good(format!("{} feeds beside.", path.display())))
        });
        self.note = Some(opened.unwrap_or_else(|note| note));
    }

    /// Opens a log and replays it; the feeding is put aside until the next start.
    pub fn open_log(&mut self, path: &Path) {
        let opened = read(path, LARGEST_LOG).map_err(Note::bad).and_then(|log| {
            let lane = lookback::lane(path, &log).map_err(|error| in_file(path, error))?;
            let told = lane.report().map_or_else(String::new, |report| {
                let (ticks, name, seed) = (report.ticks, &report.scenario, report.seed);
                format!("{ticks} ticks replay bit for bit (scenario \"{name}\", seed {seed}).")
            });
            self.show_log(lane);
            Ok(Note::good(told))
        });
        self.note = Some(opened.unwrap_or_else(|note| note));
    }

    /// Saves the scenario with the sliders as they are.
    pub fn save_scenario(&mut self, path: &Path) {
        self.saved(path, &self.job.text(), "The scenario");
    }

    /// Saves the controller's settings that differ from the scenario's as a machine file.
    pub fn save_settings(&mut self, path: &Path) {
        self.saved(path, &self.machine().text(), "The settings");
    }

    /// Saves the page with pictures, as `strewn feed` writes it, of what was fed so far.
    pub fn save_page(&mut self, path: &Path) {
        let Some(runs) = self.runs() else {
            self.note = Some(Note::bad("A log has no page: it holds no truth to score."));
            return;
        };
        let command = self.command();
        let input = PageInput {
            scenario_name: &self.job.scenario.name,
            seed: self.seed,
            command: &command,
            runs: &runs,
        };
        self.saved(path, &page(&input), "The page");
    }

    /// Saves the controller's log so far, for `strewn replay` and for this window.
    pub fn save_log(&mut self, path: &Path) {
        let Some(live) = self.first_live() else {
            self.note = Some(Note::bad("This is a log already; copy its file."));
            return;
        };
        self.note = Some(match live.save_log(path) {
            Ok(None) => Note::good(format!("The log is in {}.", path.display())),
            Ok(Some(at_s)) => Note::good(format!(
                "The log is in {}, up to {at_s:.0} s: there the settings were changed, and a log holds \
                 one set of them.",
                path.display()
            )),
            Err(error) => Note::bad(error),
        });
    }

    fn saved(&mut self, path: &Path, text: &str, what: &str) {
        self.note = Some(match write_whole(path, text.as_bytes()) {
            Ok(()) => Note::good(
                format!("{what} is in {}.", path.display()).replace("settings is", "settings are"),
            ),
            Err(error) => Note::bad(error),
        });
    }

    /// What repeats it.
    fn command(&self) -> String {
        if self.is_meddled() {
            return "none: it was meddled with in the window".to_owned();
        }
        let path = self.job.path.as_ref().map(|path| format!(" {}", path.display()));
        format!("strewn feed{} --seed {}", path.unwrap_or_default(), self.seed)
    }

    /// Every lane's run; `None` for a log.
    fn runs(&mut self) -> Option<Vec<Run>> {
        self.all_runs().filter(|runs| !runs.is_empty())
    }
}

fn machine_of(path: &Path) -> Result<MachineFile, Note> {
    MachineFile::parse(&read_text(path)?).map_err(|error| in_file(path, error))
}
