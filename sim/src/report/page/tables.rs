//! Figures as HTML tables and tiles.

use super::scrolled;
use crate::report::{Group, Row, words};
use crate::score::Figures;
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT};
use maud::{Markup, html};

/// Kilograms in a short ton over kilograms in a megagram.
const MG_PER_TON: f64 = 2000.0 * KG_PER_LB / 1000.0;

/// The first things to know of a run, in large print.
pub(super) fn tiles(row: &Row<'_>) -> Markup {
    let figures = &row.short;
    let laid = format!(
        "lb laid ({} kg) of {} lb loaded, {} lb left",
        words::number(figures.laid_kg, 0),
        pounds(figures.loaded_kg),
        pounds(figures.left_kg)
    );
    let heaviest = match figures.heaviest {
        Some(place) => format!(
            "lb/ft ({} kg/m) in the heaviest 3 ft, at {} ft",
            words::number(place.laid_kg_m, 1),
            words::number(place.from_m / M_PER_FT, 0)
        ),
        None => "lb/ft in the heaviest 3 ft".to_owned(),
    };
    let clumps = if figures.clumps.len() == 1 { "clump" } else { "clumps" };
    let heaviest_lb_ft = figures.heaviest.map(|place| place.laid_kg_m / KG_M_PER_LB_FT);
    html! {
        ul.tiles {
            (tile(&words::maybe(figures.unevenness, 3), "unevenness over 3 ft; 0 is perfect"))
            (tile(&words::percent(figures.within_tenth, 0), "of the row within 10 % of the target"))
            (tile(&figures.clumps.len().to_string(), clumps))
            (tile(&words::maybe(heaviest_lb_ft, 1), &heaviest))
            (tile(&pounds(figures.laid_kg), &laid))
            (tile(&words::minutes(figures.time_s), "min:s of laying"))
        }
    }
}

/// One of them.
pub(super) fn tile(value: &str, meaning: &str) -> Markup {
    html! { li { strong { (value) } " " span { (meaning) } } }
}

fn pounds(mass_kg: f64) -> String {
    words::number(mass_kg / KG_PER_LB, 0)
}

/// All contenders on one kind of bale.
pub(super) fn comparison(group: &Group<'_>) -> Markup {
    let has_energy = group.rows.iter().any(|row| row.short.energy_kwh_mg.is_some());
    let worst = group.rows.iter().filter_map(|row| row.short.unevenness).fold(0.0, f64::max);
    let table = html! {
        table {
            caption { (words::heading(group)) }
            thead {
                tr {
                    th scope="col" { "contender" }
                    th scope="col" { "uneven" small { "over" br; "3 ft" } }
                    th scope="col" { "uneven" small { "over" br; "10 ft" } }
                    th scope="col" { "CV" small { "over" br; "3 ft" } }
                    th scope="col" { "right" small { "within" br; "10 %" } }
                    th scope="col" { "thin" small { "below" br; "half" } }
                    th scope="col" { "heavy" small { "above" br; "twice" } }
                    th scope="col" { "heaviest" small { "3 ft, lb/ft" br; "(kg/m)" } }
                    th scope="col" { "clumps" }
                    th scope="col" { "laid" small { "lb (kg)" } }
                    th scope="col" { "strip" small { "ft (m)" } }
                    th scope="col" { "time" small { "min:s" } }
                    @if has_energy { th scope="col" { "energy" small { "kWh/ton" br; "(kWh/Mg)" } } }
                }
            }
            tbody { @for row in &group.rows { (contender(row, worst)) } }
        }
    };
    scrolled(&words::heading(group), &table)
}

fn contender(row: &Row<'_>, worst: f64) -> Markup {
    let figures = &row.short;
    html! {
        tr {
            th scope="row" { (row.contender) }
            td { (words::maybe(figures.unevenness, 3)) (bar(figures, worst)) }
            td { (words::maybe(row.long.unevenness, 3)) }
            td { (words::percent(figures.variation, 1)) }
            td { (words::percent(figures.within_tenth, 0)) }
            td { (words::percent(figures.below_half, 1)) }
            td { (words::percent(figures.above_twice, 1)) }
            td { (words::rate(figures.heaviest.map(|place| place.laid_kg_m), 1)) }
            td { (figures.clumps.len()) }
            td { (words::mass(figures.laid_kg)) }
            td { (words::length(figures.length_m)) }
            td { (words::minutes(figures.time_s)) }
            @if let Some(work) = figures.energy_kwh_mg {
                td { (words::number(work * MG_PER_TON, 2)) " (" (words::number(work, 2)) ")" }
            }
        }
    }
}

/// The unevenness as a bar, the worst of the table filling the cell.
fn bar(figures: &Figures, worst: f64) -> Markup {
    let width =
        figures.unevenness.filter(|_| worst > 0.0).map_or(0.0, |value| 80.0 * value / worst);
    html! {
        svg.bar width="80" height="5" aria-hidden="true" {
            rect width=(format!("{width:.1}")) height="5" {}
        }
    }
}

/// What the figures mean.
pub(super) fn explanation() -> Markup {
    html! {
        p.note {
            "Unevenness: root mean square of laid / target - 1 over whole 3-ft (0.91 m) or 10-ft (3.05 m) \
             segments from first to last hay. CV: coefficient of variation of the 3-ft segments, divisor \
             n - 1. Right, thin, heavy: share of the 3-ft segments within 10 % of the target, below half \
             and above twice of it. Clump: 3 ft that hold more than twice the target and more than 10 lb (4.5 kg) above \
             the target; overlapping ones are one. Energy: hydraulic work on the rollers for the hay laid."
        }
    }
}
