//! A short table for a terminal or a pipe: plain text, at most 100 columns.

use super::words::{self, maybe, percent};
use super::{Group, Row, groups};
use crate::bench::record::Run;

const WIDTH: usize = 100;

const CAPTION: &str = "\
Simulated bales. Unevenness: root mean square of laid / target - 1 over whole segments of
3 ft (0.91 m) or 10 ft (3.05 m) from first to last hay; 0 is perfect. CV: of the 3-ft segments,
divisor n - 1. Clump: 3 ft above twice the target and more than 10 lb (4.5 kg) above the target.
Perfect knowledge is of this moment and remembers nothing: who makes errors good can be more even.
";

/// All contenders on each kind of bale, and in plain words how the first of them did.
///
/// Ends with a line end. No runs give one sentence that says so.
#[must_use]
pub fn table(runs: &[Run]) -> String {
    let groups = groups(runs);
    if groups.is_empty() {
        return "Nobody fed.\n".to_owned();
    }
    let mut text = CAPTION.to_owned() + "\n";
    for group in &groups {
        text += &block(group);
    }
    for group in &groups {
        text += &(words::wrap(&words::verdict(group), WIDTH) + "\n");
    }
    text
}

fn block(group: &Group<'_>) -> String {
    let mut text = words::wrap(&words::heading(group), WIDTH) + "\n";
    text +=
        &line(["", "uneven", "uneven", "CV", "heaviest 3 ft", "clumps", "laid", "strip", "time"]);
    text += &line(["", "3 ft", "10 ft", "3 ft", "lb/ft (kg/m)", "", "lb (kg)", "ft (m)", "min:s"]);
    for row in &group.rows {
        text += &contender(row);
    }
    text + "\n"
}

fn contender(row: &Row<'_>) -> String {
    let figures = &row.short;
    line([
        row.contender,
        &maybe(figures.unevenness, 3),
        &maybe(row.long.unevenness, 3),
        &percent(figures.variation, 1),
        &words::rate(figures.heaviest.map(|place| place.laid_kg_m), 1),
        &figures.clumps.len().to_string(),
        &words::mass(figures.laid_kg),
        &words::length(figures.length_m),
        &words::minutes(figures.time_s),
    ])
}

fn line(cells: [&str; 9]) -> String {
    let [name, short, long, variation, heaviest, clumps, laid, strip, time] = cells;
    format!(
        "{name:<19}{short:>8}{long:>8}{variation:>9}{heaviest:>15}{clumps:>8}{laid:>15}{strip:>12}\
         {time:>6}\n"
    )
}
