//! What faults led to, as text: the failure table out of the controller, and the findings of a grid.

use super::words::{number, wrap};
use crate::faults::{Kind, Wire};
use crate::stops::Moment;
use crate::stops::grid::{Count, Plan, Results, Row, breaches};
use crate::stops::hay::{CLASS_LB_S, CLUMP, From};
use crate::stops::hours::Hours;
use crate::units::M_PER_FT;
use std::collections::BTreeMap;
use strewn_controller::safety::{Condition, Response, TABLE, When};
use strewn_controller::settings::SafetyConfig;
use strewn_controller::units::Span;

/// A wire that never changes by itself, and kinds that can do nothing to it.
const STILL_WIRE: (Wire, [Kind; 2]) = (Wire::Reference, [Kind::Frozen, Kind::Delay]);
/// Why.
const STILL: &str =
    "the reference never changes by itself, so that frozen or late it reads the same";

/// All that a report of stops is made from.
#[derive(Clone, Copy, Debug)]
pub struct StopsInput<'a> {
    /// What was tried.
    pub plan: &'a Plan,
    /// What came of it.
    pub results: &'a Results,
    /// Fault-free hours beside it.
    pub hours: &'a Hours,
    /// The command that repeats it.
    pub command: &'a str,
}

/// What is done, in a word or two.
pub(super) fn response(response: Response) -> &'static str {
    match response {
        Response::CarryOn => "carry on",
        Response::EndRow => "end the row",
        Response::Pause => "pause, or stop and latch",
        Response::StopAndLatch => "stop and latch",
        Response::StopAndIsolate => "stop and isolate",
    }
}

/// How a response ends.
pub(super) fn clears(response: Response) -> &'static str {
    match response {
        Response::CarryOn => "by itself when the cause is gone",
        Response::EndRow => "both acts",
        Response::Pause => "tractor moves on, switch never let go; else both acts",
        Response::StopAndLatch => "cause gone, then both acts",
        Response::StopAndIsolate => "power off and on, cause gone, then both acts",
    }
}

/// Heads of the failure table.
pub(super) const FAILURE_HEADS: [&str; 8] = [
    "condition",
    "usually behind it",
    "counts",
    "within",
    "response",
    "clears",
    "driver reads",
    "remedy or fallback",
];

/// Every condition of the controller, worst first, with the typical settings.
#[must_use]
pub fn failure_rows() -> Vec<Vec<String>> {
    let settings = SafetyConfig::TYPICAL.build().ok();
    let within = |row: &strewn_controller::safety::Row| {
        let span = settings.as_ref().map_or(Span::ZERO, |settings| row.within(settings));
        match (row.condition, span.to_micros() / 1_000) {
            (Condition::NothingLeaves, _) => "80 kg (176 lb) expected".to_owned(),
            (Condition::TicksSlow, _) => "3 in 100 ticks".to_owned(),
            (Condition::RollersNotTurning, millis) => {
                format!("a quarter turn asked, then {millis} ms")
            }
            (_, 0) => "1 tick".to_owned(),
            (_, millis) => format!("{millis} ms"),
        }
    };
    let row = |row: &strewn_controller::safety::Row| {
        vec![
            spaced(row.condition),
            row.behind.to_owned(),
            if row.when == When::Always { "always" } else { "moving" }.to_owned(),
            within(row),
            response(row.response).to_owned(),
            clears(row.response).to_owned(),
            row.words.to_owned(),
            row.remedy.to_owned(),
        ]
    };
    TABLE.iter().rev().map(row).collect()
}

/// The failure table as Markdown, for the hardware notes.
#[must_use]
pub fn failure_table() -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let heads = FAILURE_HEADS.map(str::to_owned);
    let mut text = line(&heads) + &line(&FAILURE_HEADS.map(|_| "---".to_owned()));
    for row in failure_rows() {
        text += &line(&row);
    }
    text
}

/// A condition's name in words.
pub(super) fn spaced(condition: Condition) -> String {
    let mut words = String::new();
    for letter in format!("{condition:?}").chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(letter.to_lowercase());
    }
    words
}

/// The sum of all rows.
pub(super) fn total(results: &Results) -> Count {
    sum(results.values())
}

fn sum<'a>(counts: impl Iterator<Item = &'a Count>) -> Count {
    counts.fold(Count::default(), |mut all, count| {
        all.merge(count);
        all
    })
}

/// Whether a fault could change anything in a row.
fn can_show(row: &Row) -> bool {
    let (still, kinds) = STILL_WIRE;
    match row {
        Row::Single(wire, kind, _) => *wire != still || !kinds.contains(kind),
        Row::Pair(..) => true,
    }
}

/// Rows in which no draw changed anything although something could have been changed.
#[must_use]
pub fn empty_cells(plan: &Plan, results: &Results) -> usize {
    let rows = plan.rows();
    let empty = rows
        .iter()
        .filter(|row| can_show(row))
        .filter(|row| results.get(&row.name()).is_none_or(|count| count.altered == 0));
    empty.count()
}

/// Sums of the rows of each moment, in the order of a job; none for pairs.
pub(super) fn by_moment(plan: &Plan, results: &Results) -> Vec<(Moment, Count)> {
    let rows = plan.rows();
    let of = |wanted: Moment| {
        let names =
            rows.iter().filter(|row| matches!(row, Row::Single(_, _, moment) if *moment == wanted));
        sum(names.filter_map(|row| results.get(&row.name())))
    };
    if plan.pairs { Vec::new() } else { Moment::ALL.map(|moment| (moment, of(moment))).to_vec() }
}

/// Sums of the rows of each wire and kind; none for pairs.
pub(super) fn by_fault(plan: &Plan, results: &Results) -> BTreeMap<(Wire, Kind), Count> {
    let mut sums: BTreeMap<(Wire, Kind), Count> = BTreeMap::new();
    for row in plan.rows() {
        if let (Row::Single(wire, kind, _), Some(count)) = (row, results.get(&row.name())) {
            sums.entry((wire, kind)).or_default().merge(count);
        }
    }
    sums
}

/// Heads and rows of the table of moments.
pub(super) const MOMENT_HEADS: [&str; 7] = [
    "moment",
    "trials",
    "stopped by the fault",
    "unsafe",
    "onset to zero, s",
    "zero to still, s",
    "way from zero to last hay, ft",
];

pub(super) fn moment_rows(input: &StopsInput<'_>) -> Vec<Vec<String>> {
    let row = |name: &str, count: &Count| {
        vec![
            name.to_owned(),
            number(count.trials as f64, 0),
            number(count.stopped as f64, 0),
            number(count.breaches as f64, 0),
            number(count.zero_s, 2),
            number(count.still_s, 2),
            number(count.after_m / M_PER_FT, 1),
        ]
    };
    let moments = by_moment(input.plan, input.results);
    let mut rows: Vec<_> =
        moments.iter().map(|(moment, count)| row(moment.word(), count)).collect();
    rows.push(row("all", &total(input.results)));
    rows
}

/// Heads and rows of the table of hay.
pub(super) const HAY_HEADS: [&str; 6] = [
    "rate, lb/s",
    "stops",
    "after still, median lb",
    "after still, 95 in 100, lb",
    "after still, most, lb",
    "after zero, most, lb",
];

pub(super) fn hay_rows(input: &StopsInput<'_>) -> Vec<Vec<String>> {
    let hay = total(input.results).hay;
    let row = |class: u32| {
        let low = f64::from(class) * CLASS_LB_S;
        let rate = match class {
            CLUMP => "clump".to_owned(),
            _ => format!("{low:.0} to {:.0}", low + CLASS_LB_S),
        };
        let still = |share| number(hay.quantile_lb(From::Still, class, share), 1);
        vec![
            rate,
            number(hay.stops(class) as f64, 0),
            still(0.5),
            still(0.95),
            still(1.0),
            number(hay.quantile_lb(From::Zero, class, 1.0), 1),
        ]
    };
    hay.classes().into_iter().map(row).collect()
}

/// One sentence on the fault-free hours.
pub(super) fn hours_sentence(hours: &Hours) -> String {
    let stops: Vec<_> = hours
        .false_stops
        .iter()
        .map(|(cause, times)| format!("{} {times}", spaced(*cause)))
        .collect();
    let false_stops = hours.false_stops.values().sum::<u64>();
    format!(
        "Beside it: {} machine hours without a fault at the worst legal noise, {} of them laying: {false_stops} \
         false stops{}; {} stops on a bale that truly jammed.",
        number(hours.machine_h, 1),
        number(hours.laying_h, 1),
        if stops.is_empty() { String::new() } else { format!(" ({})", stops.join(", ")) },
        hours.true_stops,
    )
}

/// The findings in a sentence.
pub(super) fn verdict(input: &StopsInput<'_>) -> String {
    let all = total(input.results);
    let rows = input.plan.rows();
    let still = rows.iter().filter(|row| !can_show(row)).count();
    let told = match still {
        0 => String::new(),
        still => format!("; {still} more cannot have one: {STILL}"),
    };
    let unseen = match breaches(input.plan, input.results) {
        (0, _) => String::new(),
        (unseen, _) => {
            format!(" ({unseen} with both contacts of one switch at fault, which no program sees)")
        }
    };
    format!(
        "{} injections: {} unsafe{unseen}, {} of them late; {} of {} cells without effect{told}. Every fault \
         changed something in {} of the injections.",
        number(all.trials as f64, 0),
        all.breaches,
        all.late,
        empty_cells(input.plan, input.results),
        number((rows.len() - still) as f64, 0),
        number(all.altered as f64, 0),
    )
}

/// What the command prints.
#[must_use]
pub fn stops_text(input: &StopsInput<'_>) -> String {
    let mut text = wrap(&verdict(input), 100) + "\n\n";
    text += &columns(&MOMENT_HEADS, &moment_rows(input));
    text += "\nHay that lands after a stop, by the rate at which it was torn:\n\n";
    text += &columns(&HAY_HEADS, &hay_rows(input));
    let examples: Vec<_> =
        input.results.values().filter_map(|count| count.example.as_deref()).take(10).collect();
    if !examples.is_empty() {
        text += &format!(
            "\nUnsafe, the first of each row (at most ten):\n  {}\n",
            examples.join("\n  ")
        );
    }
    text + "\n" + &wrap(&hours_sentence(input.hours), 100) + "\n"
}

/// Right-justified columns, the first to the left; long heads are broken.
fn columns(heads: &[&str], rows: &[Vec<String>]) -> String {
    const WIDTH: usize = 12;
    let parts: Vec<Vec<String>> =
        heads.iter().map(|head| wrap(head, WIDTH).lines().map(str::to_owned).collect()).collect();
    let deepest = parts.iter().map(Vec::len).max().unwrap_or(0);
    let mut text = String::new();
    for level in 0..deepest {
        let words = parts.iter().map(|lines: &Vec<String>| {
            let gap = deepest - lines.len();
            level.checked_sub(gap).and_then(|at| lines.get(at)).cloned().unwrap_or_default()
        });
        text += &line(&words.collect::<Vec<_>>(), WIDTH);
    }
    rows.iter().fold(text, |text, row| text + &line(row, WIDTH))
}

fn line(cells: &[String], width: usize) -> String {
    let mut text = String::new();
    for (place, cell) in cells.iter().enumerate() {
        text += &if place == 0 { format!("{cell:width$}") } else { format!(" {cell:>width$}") };
    }
    text.trim_end().to_owned() + "\n"
}
