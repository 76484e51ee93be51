//! Records into tables and a page. Reads runs and figures only; nothing here feeds back into a run.
//!
//! The first run is the one that is reported; the others are what it is compared with.

mod book;
mod compare;
mod json;
mod many;
mod page;
mod plan;
mod row;
mod sensors;
mod stops;
mod table;
mod tune;
mod words;

pub use book::{entries, hay_left, history, totals};
pub use compare::{compare_json, compare_text};
pub use json::json;
pub use many::{ManyInput, many_json, many_table};
pub use page::compare::compare_page;
pub use page::plan::plan_page;
pub use page::row::{row_page, trial_page};
pub use page::sensors::sensors_page;
pub use page::stops::stops_page;
pub use page::tune::tune_page;
pub use page::{PageInput, book_page, many_page, page};
pub use plan::{plan_json, plan_text};
pub use row::{grade, row_json, row_text, trial_json, trial_text};
pub use sensors::{SensorsInput, sensors_json, sensors_table};
pub use stops::{StopsInput, empty_cells, failure_rows, failure_table, stops_text};
pub use table::table;
pub use tune::{TuneInput, explained, tune_json, tune_text};

use crate::bench::record::Run;
use crate::score::{self, Figures};
use crate::units::M_PER_FT;

/// The short interval of every report: 3 ft, m.
const SHORT_M: f64 = score::INTERVAL_M;
/// The long interval of every report: 10 ft, m.
const LONG_M: f64 = 10.0 * M_PER_FT;

/// The contender that knows what nobody can know; a measure, not a rival.
const BOUND: &str = "perfect knowledge";

/// Name of the group of all bales.
const ALL: &str = "all bales";

/// One contender's figures over both intervals.
struct Row<'a> {
    contender: &'a str,
    short: Figures,
    long: Figures,
}

/// What all contenders did with the bales of one name, or with all of them.
struct Group<'a> {
    name: String,
    bales: usize,
    /// Rate asked for, kg/m; `None` when the bales differ.
    target_kg_m: Option<f64>,
    rows: Vec<Row<'a>>,
}

/// The first run, then its rivals as they come, the bound last.
fn ordered(runs: &[Run]) -> Vec<&Run> {
    let is_bound = |index: usize, run: &Run| index > 0 && run.contender == BOUND;
    let pick = |bound: bool| {
        runs.iter().enumerate().filter(move |(index, run)| is_bound(*index, run) == bound)
    };
    pick(false).chain(pick(true)).map(|(_, run)| run).collect()
}

/// One group of all bales, and where they have several names one for each.
fn groups(runs: &[Run]) -> Vec<Group<'_>> {
    let Some(first) = runs.first() else { return Vec::new() };
    let kinds = score::kinds(first);
    if let [only] = kinds[..] {
        return vec![group(runs, only, |_| true, score::whole)];
    }
    let of_kind = |name: &&str| {
        group(
            runs,
            name,
            |bale| bale == *name,
            |run, interval_m| score::kind(run, name, interval_m),
        )
    };
    let mut groups = vec![group(runs, ALL, |_| true, score::whole)];
    groups.extend(kinds.iter().map(of_kind));
    groups
}

fn group<'a>(
    runs: &'a [Run],
    name: &str,
    belongs: impl Fn(&str) -> bool,
    figures: impl Fn(&Run, f64) -> Figures,
) -> Group<'a> {
    let bales = runs.iter().take(1).flat_map(|run| &run.bales);
    let targets: Vec<f64> =
        bales.filter(|bale| belongs(&bale.name)).map(|bale| bale.target_kg_m).collect();
    let same = targets.windows(2).all(|pair| pair[0] == pair[1]);
    let row = |run: &'a Run| Row {
        contender: run.contender,
        short: figures(run, SHORT_M),
        long: figures(run, LONG_M),
    };
    Group {
        name: name.to_owned(),
        bales: targets.len(),
        target_kg_m: targets.first().copied().filter(|_| same),
        rows: ordered(runs).into_iter().map(row).collect(),
    }
}
