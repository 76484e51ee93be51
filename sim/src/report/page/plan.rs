//! The page of a plan.

use super::axis::Axis;
use super::bars::{Bar, Bars};
use super::chart::{LEFT, across, drawing, horizontal};
use super::path::pixel;
use super::{document, figures_in_large, scrolled, text_table};
use crate::plan::caution::cautions;
use crate::plan::hitch::FRONT_SHARE;
use crate::plan::{Kind, Plan};
use crate::report::plan::{hitch, lines, load_name, loads, sentence};
use crate::report::words::{minutes, number, percent};
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH};
use maud::{Markup, html};

/// Most passes that are drawn; they begin with the last one fed on before.
const PASSES: usize = 40;

/// The page; `command` repeats it.
#[must_use]
pub fn plan_page(plan: &Plan, command: &str) -> String {
    let cautions = cautions(plan);
    let content = html! {
        section {
            h2 { "What to lay" }
            (figures_in_large(&[
                (number(plan.rate_kg_m / KG_M_PER_LB_FT, 2), "lb/ft wanted on the ground".to_owned()),
                (number(plan.strip_m / M_PER_FT, 0), "ft of row".to_owned()),
                (number(plan.bales.iter().sum(), 2), "bales".to_owned()),
                (number(plan.speed_m_s / M_S_PER_MPH, 1), "mph".to_owned()),
                (minutes(plan.pasture_s), "min:s in the pasture".to_owned()),
            ]))
            table.plain {
                tbody {
                    @for (name, sentence) in lines(plan) {
                        tr { th.words scope="row" { (name) } td.sentence { (sentence) } }
                    }
                }
            }
        }
        section {
            h2 { "What to mind" }
            @if cautions.is_empty() { p { "Nothing in it is unusual." } }
            @for caution in &cautions { p.warning { (capital(sentence(caution).trim_start_matches("- "))) } }
        }
        @if plan.farm.place.kind == Kind::Pasture {
            section { h2 { "Where today, where next" } (pasture(plan)) }
        }
        @if !plan.loads.is_empty() {
            section { h2 { "What the tractor carries" } (axles(plan)) (load_table(plan)) p.note { (hitch(plan)) } }
        }
    };
    let behind = "Reckoned from what is known of herd, hay and machine; published figures name their source, \
                  the laws of tearing are assumed.";
    document(&format!("{}: plan of a feeding", plan.farm.name), behind, &content, &foot(command))
}

/// The sentence with a capital letter in front.
fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters
        .next()
        .map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// The passes of the pasture: fed on before, today, next.
fn pasture(plan: &Plan) -> Markup {
    const PASS: f64 = 12.0;
    let place = &plan.farm.place;
    let first = (plan.place.today.row - 2.0).max(0.0);
    let shown = (place.rows - first).clamp(1.0, PASSES as f64) as usize;
    let x = Axis::exact(0.0, place.row_m / M_PER_FT, 10);
    let from_m = place.used_m;
    let stretches = [
        (0.0, from_m, "part4"),
        (from_m, from_m + plan.strip_m, "part0"),
        (from_m + plan.strip_m, from_m + 2.0 * plan.strip_m, "part2"),
    ];
    let bottom = 6.0 + PASS * shown as f64;
    let content = html! {
        @for pass in 0..shown {
            @let (begin_m, top) = ((first + pass as f64) * place.row_m, 6.0 + PASS * pass as f64);
            text x=(LEFT - 8.0) y=(pixel(top + 9.0)) text-anchor="end" { (number(first + pass as f64 + 1.0, 0)) }
            path.grid d=(format!("M{} {}H{}", pixel(across(x, 0.0)), pixel(top + 5.0), pixel(across(x, x.high)))) {}
            @for (from, to, class) in &stretches {
                @let (from, to) = ((from - begin_m).max(0.0), (to - begin_m).min(place.row_m));
                @if to > from {
                    @let (from, to) = (across(x, from / M_PER_FT), across(x, to / M_PER_FT));
                    rect class=(class) x=(pixel(from)) y=(pixel(top)) width=(pixel(to - from)) height=(PASS - 3.0) {}
                }
            }
        }
        (horizontal(x, "along the pass, ft", bottom))
    };
    let description = "Passes of the pasture, side by side; the number is that of the pass.";
    html! {
        figure {
            figcaption {
                h3 { "Passes" }
                p { (description) }
                ul.legend {
                    @for (class, label) in [("part4", "fed on before"), ("part0", "this feeding"), ("part2", "the next")] {
                        li { svg width="16" height="10" aria-hidden="true" { rect class=(class) width="16" height="10" {} } (label) }
                    }
                }
            }
            (scrolled("Passes", &drawing("passes", "Passes", description, bottom + 38.0, &content)))
        }
    }
}

fn axles(plan: &Plan) -> Markup {
    let pounds = |mass_kg: f64| mass_kg / KG_PER_LB;
    let bar = |load: &crate::plan::hitch::Load| Bar {
        name: load_name(load),
        value: format!(
            "{} of the tractor on the front axle",
            percent(Some(load.axles.front_share), 1)
        ),
        parts: vec![
            (0.0, pounds(load.axles.front_kg), "part0"),
            (
                pounds(load.axles.front_kg.max(0.0)),
                pounds(load.axles.front_kg.max(0.0) + load.axles.rear_kg),
                "part4",
            ),
        ],
        whisker: None,
    };
    let most = plan
        .loads
        .iter()
        .map(|load| load.axles.front_kg.max(0.0) + load.axles.rear_kg)
        .fold(0.0, f64::max);
    let least = plan.loads.iter().map(|load| load.axles.front_kg).fold(0.0, f64::min);
    let needed_kg =
        plan.farm.hitch.as_ref().map_or(0.0, |hitch| FRONT_SHARE * hitch.tractor.own_kg());
    Bars {
        id: "axles",
        title: "Axle loads",
        description: "Front and rear axle; the upright line is what the front axle must carry at least: a fifth of the tractor.",
        x: Axis::rounded(pounds(least), pounds(most), 8),
        x_label: "lb",
        legend: &[("part0", "front axle"), ("part4", "rear axle")],
        marks: &[pounds(needed_kg)],
        rows: plan.loads.iter().map(bar).collect(),
    }
    .figure()
}

fn load_table(plan: &Plan) -> Markup {
    let rows = loads(plan);
    let Some((heads, rows)) = rows.split_first() else { return html! {} };
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    text_table("Loads on hitch and axles, with the heaviest bale in use", &heads, rows, 1)
}

fn foot(command: &str) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            pre { code { (command) } }
            h2 { "Cautions" }
            ul {
                li { "Axle loads are arithmetic over the masses and measures stated; weigh tractor and machine before \
                      relying on them, and keep to the tractor's own manual." }
                li { "Rollers pull in hay, hands and clothes. Stop the engine, relieve the pressure and wait \
                      until everything stands before touching anything. Software is never the only stop." }
                li { "No figure here claims conformity with a standard." }
            }
        }
    }
}
