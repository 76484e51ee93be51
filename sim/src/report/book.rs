//! The book as text for a terminal or a pipe.

use super::words::{count, maybe, number, percent};
use crate::book::{Entry, Feeding, HayLeft, Total, Version};

/// Columns set side by side: words to the left, numbers to the right as `right` says.
fn columns(rows: &[Vec<String>], right: &[bool]) -> String {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..right.len()).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for ((cell, width), right) in row.iter().zip(&widths).zip(right) {
            line += &if *right { format!("{cell:>width$}  ") } else { format!("{cell:<width$}  ") };
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

fn cells<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

/// The entries, a line each. None of them gives a sentence that says so.
#[must_use]
pub fn entries(entries: &[Entry]) -> String {
    if entries.is_empty() {
        return "No entries.\n".to_owned();
    }
    let mut rows = vec![cells([
        "no.", "day", "time", "herd", "head", "lot", "place", "bales", "lb", "wasted", "note",
    ])];
    rows.extend(entries.iter().map(|entry| {
        let mut row = vec![entry.number.to_string()];
        row.extend(feeding(&entry.feeding));
        row.push(percent(entry.wasted(), 1));
        row.push(entry.feeding.note.clone());
        row
    }));
    let right = [true, false, false, false, true, false, false, true, true, true, false];
    columns(&rows, &right)
}

fn feeding(feeding: &Feeding) -> [String; 8] {
    let time = |time: Option<crate::book::Clock>| time.map_or_else(String::new, |t| t.to_string());
    let (entered, left) = (time(feeding.entered), time(feeding.left));
    let times = if left.is_empty() { entered } else { format!("{entered}-{left}") };
    [
        feeding.day.to_string(),
        times,
        feeding.herd.clone(),
        feeding.head.map_or_else(|| "-".to_owned(), |head| head.to_string()),
        feeding.lot.clone(),
        feeding.place.clone(),
        number(feeding.bales, 1),
        number(feeding.fed_lb, 0),
    ]
}

/// Every version of an entry, a line each.
#[must_use]
pub fn history(versions: &[Version]) -> String {
    let mut rows = vec![cells([
        "version", "written", "day", "time", "herd", "head", "lot", "place", "bales", "lb",
        "reason",
    ])];
    rows.extend(versions.iter().map(|version| {
        let mut row = vec![version.version.to_string(), version.written.clone()];
        row.extend(feeding(&version.feeding));
        let struck = if version.struck { "struck out: " } else { "" };
        row.push(format!("{struck}{}", version.reason));
        row
    }));
    let right = [true, false, false, false, false, true, false, false, true, true, false];
    columns(&rows, &right)
}

/// Totals, a line each; `by` names what they are made for.
#[must_use]
pub fn totals(totals: &[Total], by: &str) -> String {
    let mut rows = vec![cells([
        by,
        "feedings",
        "bales",
        "lb",
        "head-days",
        "lb/head-day",
        "min",
        "looked at, lb",
        "wasted",
    ])];
    rows.extend(totals.iter().map(|total| {
        vec![
            total.name.clone(),
            total.feedings.to_string(),
            number(total.bales, 1),
            number(total.fed_lb, 0),
            maybe(total.head_days, 0),
            maybe(total.per_head_day_lb(), 1),
            maybe(total.minutes, 0),
            number(total.looked_lb, 0),
            percent(total.wasted(), 1),
        ]
    }));
    let mut right = [true; 9];
    right[0] = false;
    columns(&rows, &right)
}

/// How long the hay lasts, in sentences.
#[must_use]
pub fn hay_left(left: Option<&HayLeft>) -> String {
    let Some(left) = left.filter(|left| !left.lots.is_empty()) else {
        return "No lot was ever counted; `strewn book count` enters how much there is.\n"
            .to_owned();
    };
    let mut rows =
        vec![cells(["lot", "counted on", "bales", "counted, lb", "fed since, lb", "left, lb"])];
    rows.extend(left.lots.iter().map(|lot| {
        vec![
            lot.counted.lot.clone(),
            lot.counted.day.to_string(),
            number(lot.counted.bales, 1),
            number(lot.counted.weight_lb, 0),
            number(lot.fed_lb, 0),
            number(lot.left_lb, 0),
        ]
    }));
    let right = [false, false, true, true, true, true];
    let mut text = columns(&rows, &right) + &lasts(left) + "\n";
    for lot in left.lots.iter().filter(|lot| lot.left_lb < 0.0) {
        text +=
            &format!("More was fed of \"{}\" than was counted; count it anew.\n", lot.counted.lot);
    }
    for lot in &left.uncounted {
        text += &format!("\"{lot}\" was fed and never counted; it is not in this.\n");
    }
    text
}

/// How long the hay lasts, in one sentence.
pub(super) fn lasts(left: &HayLeft) -> String {
    let days = count(usize::try_from(left.days).unwrap_or(0), "day");
    let Some(lasting) = left.days_left() else {
        return format!(
            "After {}: {} lb left, and nothing fed yet to tell for how long.",
            left.day,
            number(left.left_lb(), 0)
        );
    };
    format!(
        "After {}: {} lb left; at {} lb a day, as in the last {days} of the book, that is {} days.",
        left.day,
        number(left.left_lb(), 0),
        number(left.a_day_lb, 0),
        number(lasting, 0)
    )
}
