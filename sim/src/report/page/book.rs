//! The book as a page: how much was fed, how much of it was wasted, how long the rest lasts.

use super::axis::Axis;
use super::chart::{Chart, Layer};
use super::path::Point;
use super::{document, scrolled, tables::tile};
use crate::book::{By, Day, Entry, HayLeft, Total, totals};
use crate::report::book::lasts;
use crate::report::words::{maybe, number, percent};
use crate::units::KG_PER_LB;
use maud::{Markup, html};

/// The page of these entries; `command` repeats it. Without any it says that nothing was fed.
#[must_use]
pub fn book_page(entries: &[Entry], left: Option<&HayLeft>, command: &str) -> String {
    let days = || entries.iter().map(|entry| entry.feeding.day);
    let (Some(first), Some(last)) = (days().min(), days().max()) else {
        let body = html! { p { "Nothing was fed." } };
        return document("The book of feedings", "", &body, &html! {});
    };
    let lead = format!("What was fed and found from {first} to {last}.");
    let left = left.filter(|left| !left.lots.is_empty());
    let body = html! {
        section {
            h2 { "How much was fed?" }
            @if let Some(total) = totals(entries, By::Day).last() { (tiles(total, left)) }
            (fed_chart(entries, first, last))
            (wasted_chart(entries, first, last))
        }
        @if let Some(left) = left {
            section {
                h2 { "How long does the hay last?" }
                p.verdict { (lasts(left)) }
            }
        }
        section {
            h2 { "To whom, of what, where?" }
            (table(&totals(entries, By::Herd), "herd"))
            (table(&totals(entries, By::Lot), "lot of hay"))
            (table(&totals(entries, By::Place), "place"))
            p.note {
                "Wasted: hay refused and residue found the day after, as a share of the hay fed in the \
                 feedings that were looked at. Head-days: animals times days on which they were fed."
            }
        }
    };
    document("The book of feedings", &lead, &body, &foot(command))
}

fn foot(command: &str) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            p { "The same book gives the same page:" }
            pre { code { (command) } }
            h2 { "Methods and limits" }
            ul {
                li { "Weights, bales and times are as they were entered or logged; a corrected entry counts as \
                      corrected, one struck out not at all." }
                li { "Wasted is known only of feedings that somebody looked at, and only as well as residue can be \
                      weighed: no interval is reckoned from it." }
                li { "Days of hay left: what was counted less what was fed since, at the rate of the last days." }
            }
        }
    }
}

fn tiles(total: &Total, left: Option<&HayLeft>) -> Markup {
    let fed = format!("lb fed ({} kg)", number(total.fed_lb * KG_PER_LB, 0));
    let looked = format!("of the {} lb looked at refused or lost", number(total.looked_lb, 0));
    html! {
        ul.tiles {
            (tile(&number(total.fed_lb, 0), &fed))
            (tile(&number(total.bales, 1), "bales"))
            (tile(&maybe(total.per_head_day_lb(), 1), "lb as fed for an animal and day"))
            (tile(&percent(total.wasted(), 1), &looked))
            @if let Some(left) = left {
                (tile(&maybe(left.days_left(), 0), "days of hay left"))
            }
        }
    }
}

/// Days from the first to the last day of the book, at least a week.
fn day_axis(first: Day, last: Day) -> Axis {
    Axis::exact(0.0, (last.since(first) as f64 + 1.0).max(7.0), 12)
}

fn fed_chart(entries: &[Entry], first: Day, last: Day) -> Markup {
    // A step for each day: what was fed lies over the whole day, nothing is as good as told.
    let length = usize::try_from(last.since(first)).unwrap_or(0) + 1;
    let mut days_lb = vec![0.0; length];
    for Entry { feeding, .. } in entries {
        let place = usize::try_from(feeding.day.since(first)).unwrap_or(0);
        if let Some(day_lb) = days_lb.get_mut(place) {
            *day_lb += feeding.fed_lb;
        }
    }
    let step = |(day, lb): (usize, &f64)| [(day as f64, *lb), (day as f64 + 1.0, *lb)];
    let points: Vec<Point> = days_lb.iter().enumerate().flat_map(step).collect();
    let floor = points.iter().map(|(day, _)| (*day, 0.0)).collect();
    let most = days_lb.iter().copied().fold(0.0, f64::max);
    let axis = format!("days from {first} on");
    Chart {
        id: "fed",
        title: "Hay fed each day",
        description: format!("Pounds as fed, all herds; at most {} lb in a day.", number(most, 0)),
        height: 200.0,
        x: day_axis(first, last),
        x_label: &axis,
        y: Axis::rounded(0.0, most, 6),
        y_unit: "lb",
        beside: Some(("kg", KG_PER_LB)),
        layers: vec![Layer::Band {
            class: "own",
            label: "fed".to_owned(),
            low: floor,
            high: points,
        }],
        marks: Vec::new(),
    }
    .figure()
}

fn wasted_chart(entries: &[Entry], first: Day, last: Day) -> Markup {
    let by_day = totals(entries, By::Day);
    let point = |total: &Total| {
        let day: Day = total.name.parse().ok()?;
        Some((day.since(first) as f64 + 0.5, 100.0 * total.wasted()?))
    };
    let points: Vec<Point> = by_day.iter().filter_map(point).collect();
    if points.is_empty() {
        return html! { p.note { "Nobody has looked yet at what was left or lost." } };
    }
    let most = points.iter().map(|(_, share)| *share).fold(1.0, f64::max);
    let axis = format!("days from {first} on");
    Chart {
        id: "wasted",
        title: "Refused or lost",
        description: "Share of each day's hay, from the looks on the day after.".to_owned(),
        height: 150.0,
        x: day_axis(first, last),
        x_label: &axis,
        y: Axis::rounded(0.0, most, 4),
        y_unit: "%",
        beside: None,
        // Dots: a single look is seen, and no line bridges the days without one.
        layers: vec![Layer::Dots { class: "asked", label: "refused or lost".to_owned(), points }],
        marks: Vec::new(),
    }
    .figure()
}

fn table(totals: &[Total], by: &str) -> Markup {
    let table = html! {
        table {
            caption { "By " (by) }
            thead {
                tr {
                    th scope="col" { (by) }
                    @for head in ["feedings", "bales", "lb", "head-days", "lb/head-day", "minutes", "wasted"] {
                        th scope="col" { (head) }
                    }
                }
            }
            tbody {
                @for total in totals {
                    tr {
                        th scope="row" { (total.name) }
                        td { (total.feedings) }
                        td { (number(total.bales, 1)) }
                        td { (number(total.fed_lb, 0)) }
                        td { (maybe(total.head_days, 0)) }
                        td { (maybe(total.per_head_day_lb(), 1)) }
                        td { (maybe(total.minutes, 0)) }
                        td { (percent(total.wasted(), 1)) }
                    }
                }
            }
        }
    };
    scrolled(&format!("By {by}"), &table)
}
