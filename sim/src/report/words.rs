//! Numbers and findings as people read them: US units first, SI beside.

use super::{ALL, BOUND, Group};
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT};
use strewn_controller::safety::Phase;

/// Stands for a number that there is none of.
const NONE: &str = "-";

/// A number with fixed decimals and commas between thousands; a dash when it is not finite.
pub(super) fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let text = format!("{:.decimals$}", value.abs());
    let (whole, fraction) = text.split_at(text.find('.').unwrap_or(text.len()));
    let is_zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    let mut result = String::from(if value < 0.0 && !is_zero { "-" } else { "" });
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            result.push(',');
        }
        result.push(digit);
    }
    result + fraction
}

/// A number that may be missing.
pub(super) fn maybe(value: Option<f64>, decimals: usize) -> String {
    number(value.unwrap_or(f64::NAN), decimals)
}

/// A share as a percentage.
pub(super) fn percent(share: Option<f64>, decimals: usize) -> String {
    share.map_or_else(|| NONE.to_owned(), |share| number(100.0 * share, decimals) + " %")
}

/// A number of US units with its SI twin in brackets, without the units' names.
fn pair(value_si: f64, si_per_us: f64, decimals: usize) -> String {
    format!("{} ({})", number(value_si / si_per_us, decimals), number(value_si, decimals))
}

/// `lb (kg)`.
pub(super) fn mass(mass_kg: f64) -> String {
    pair(mass_kg, KG_PER_LB, 0)
}

/// `ft (m)`.
pub(super) fn length(length_m: f64) -> String {
    pair(length_m, M_PER_FT, 0)
}

/// `lb/ft (kg/m)`.
pub(super) fn rate(rate_kg_m: Option<f64>, decimals: usize) -> String {
    rate_kg_m.map_or_else(|| NONE.to_owned(), |rate| pair(rate, KG_M_PER_LB_FT, decimals))
}

/// Minutes and seconds.
pub(super) fn minutes(time_s: f64) -> String {
    if !time_s.is_finite() {
        return NONE.to_owned();
    }
    let whole_s = time_s.max(0.0).round() as u64;
    format!("{}:{:02}", whole_s / 60, whole_s % 60)
}

/// `no clump`, `1 clump`, `2 clumps`.
pub(super) fn count(number: usize, thing: &str) -> String {
    match number {
        0 => format!("no {thing}"),
        1 => format!("1 {thing}"),
        _ => format!("{number} {thing}s"),
    }
}

/// What a group of bales is: how many, how heavy, at which rate.
pub(super) fn heading(group: &Group<'_>) -> String {
    let loaded_kg = group.rows.first().map_or(0.0, |row| row.short.loaded_kg);
    let (pounds, kilograms) = (number(loaded_kg / KG_PER_LB, 0), number(loaded_kg, 0));
    let target = match group.target_kg_m {
        Some(target) => {
            let pounds_foot = number(target / KG_M_PER_LB_FT, 2);
            format!("target {pounds_foot} lb/ft ({} kg/m)", number(target, 2))
        }
        None => "targets differ".to_owned(),
    };
    let bales = count(group.bales, "bale");
    format!("{}: {bales}, {pounds} lb ({kilograms} kg), {target}", group.name)
}

/// How the first contender did on a group of bales, beside its first real rival, in one sentence.
pub(super) fn verdict(group: &Group<'_>) -> String {
    let Some((own, others)) = group.rows.split_first() else {
        return "Nobody fed.".to_owned();
    };
    let what = if group.name == ALL { ALL.to_owned() } else { format!("\"{}\"", group.name) };
    let Some(uneven) = own.short.unevenness else {
        return format!("The {} laid no whole 3 ft of {what}.", own.contender);
    };
    let who = format!("The {} laid {what} with", own.contender);
    let clumps = own.short.clumps.len();
    let rival = others.iter().find(|row| row.contender != BOUND);
    match rival.and_then(|row| Some((row, row.short.unevenness.filter(|value| *value > 0.0)?))) {
        Some((row, other)) => format!(
            "{who} {:.2} of the unevenness of the {} ({uneven:.3} against {other:.3} over 3 ft); \
             clumps: {clumps} against {}.",
            uneven / other,
            spoken(row.contender),
            row.short.clumps.len(),
        ),
        None => format!("{who} an unevenness of {uneven:.3} over 3 ft; clumps: {clumps}."),
    }
}

/// A contender's name as it stands in a sentence after "the".
fn spoken(contender: &str) -> &str {
    match contender {
        "speed-proportional" => "speed-proportional drive",
        name => name,
    }
}

/// What the machine is doing.
pub(super) fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Resting => "resting",
        Phase::Testing | Phase::Armed => "armed",
        Phase::Laying => "laying",
        Phase::Paused => "resting",
        Phase::Latched | Phase::Isolated => "stopped",
    }
}

/// Breaks a text between words so that no line is longer than `width` characters, except for single
/// words that are.
pub(super) fn wrap(text: &str, width: usize) -> String {
    let mut result = String::new();
    let mut column = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            result.push('\n');
            column = 0;
        } else if column > 0 {
            result.push(' ');
            column += 1;
        }
        result.push_str(word);
        column += length;
    }
    result
}

/// Rows of cells in columns, the first `words` of them to the left.
pub(super) fn columns(rows: &[Vec<String>], words: usize) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |place: usize| {
        rows.iter()
            .filter_map(|row| row.get(place))
            .map(|cell| cell.chars().count())
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().enumerate().map(|(place, cell)| {
            let width = widths[place];
            if place < words { format!("{cell:<width$}") } else { format!("  {cell:>width$}") }
        });
        cells.collect::<String>().trim_end().to_owned() + "\n"
    };
    rows.iter().map(line).collect()
}
