//! Records into tables and a page.

// Stub: what the command needs to compile. The report replaces this file.

use crate::bench::record::Run;

/// What a page is made from.
pub struct PageInput<'a> {
    /// Name of the scenario.
    pub scenario_name: &'a str,
    /// Seed of the runs.
    pub seed: u64,
    /// The command that gives the same page again.
    pub command: &'a str,
    /// The runs, the controller's first.
    pub runs: &'a [Run],
}

/// The figures as a table for a terminal.
#[must_use]
pub fn table(runs: &[Run]) -> String {
    format!("{} runs\n", runs.len())
}

/// The figures as JSON.
#[must_use]
pub fn json(runs: &[Run], seed: u64, scenario_name: &str) -> serde_json::Value {
    serde_json::json!({ "scenario": scenario_name, "seed": seed, "runs": runs.len() })
}

/// The figures as one page of HTML.
#[must_use]
pub fn page(input: &PageInput<'_>) -> String {
    format!("<!doctype html><title>{}</title>\n", input.scenario_name)
}
