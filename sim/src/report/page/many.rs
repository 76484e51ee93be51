//! The page of a campaign: how the controller does on a whole population, beside its rivals and bounds.

use super::axis::Axis;
use super::chart::{Chart, Layer};
use super::tables::tile;
use super::{cautions, document, scrolled};
use crate::report::ManyInput;
use crate::report::many::{beaten, brackets};
use crate::report::words::{minutes, number, percent};
use crate::rivals::Law;
use crate::study::summary::{Figure, Group, Line, Worst};
use maud::{Markup, html};

/// The page. Without bales it says so.
#[must_use]
pub fn many_page(input: &ManyInput<'_>) -> String {
    let title = format!("{}: many bales", input.population);
    let lead = "A model: these are simulated bales on simulated tractors, not a field test.";
    document(&title, lead, &body(input), &foot(input))
}

fn body(input: &ManyInput<'_>) -> Markup {
    let Some(whole) = input.summary.groups.first().filter(|group| group.bales > 0) else {
        return html! { p { "Nobody fed." } };
    };
    html! {
        section {
            h2 { "Was it even?" }
            p.verdict { (verdict(whole)) }
            @if let Some(own) = whole.lines.first() { (tiles(own)) }
        }
        section {
            h2 { "How does it compare?" }
            (explanation())
            @for (index, group) in input.summary.groups.iter().enumerate() {
                (table(group))
                (chart(group, &format!("distribution-{index}")))
            }
        }
        section {
            h2 { "Where did it fail?" }
            p { "The bales that the controller laid least evenly over 3 ft, and how even perfect \
                 knowledge of the future laid the same bale." }
            (worst_bales(&input.summary.worst))
            p { "Feed one of them again, with all its pictures:" }
            pre { code { (input.show) " BALE" } }
        }
    }
}

/// How the controller did beside the first rival, in one sentence.
fn verdict(group: &Group) -> String {
    let [own, rival, ..] = group.lines.as_slice() else { return String::new() };
    format!(
        "The controller laid half of {} bales with an unevenness of {} over 3 ft or less; the {} needed \
         {}. It laid {} of the bales more evenly.",
        number(group.bales as f64, 0),
        number(own.unevenness_3_ft[1].value, 3),
        rival.law.name(),
        number(rival.unevenness_3_ft[1].value, 3),
        beaten(rival),
    )
}

fn tiles(own: &Line) -> Markup {
    let [low, median, high] = own.unevenness_3_ft.map(|figure| number(figure.value, 3));
    html! {
        ul.tiles {
            (tile(&median, "median unevenness over 3 ft; 0 is perfect"))
            (tile(&high, "or less in nine bales of ten"))
            (tile(&low, "or less in one bale of ten"))
            (tile(&number(own.with_clump.value, 0), "bales of 1,000 with a clump"))
            (tile(&minutes(own.time_s.value), "min:s of laying, median"))
            (tile(&percent(Some(own.left), 2), "of the hay left on the machine"))
        }
    }
}

fn explanation() -> Markup {
    html! {
        p.note {
            "Unevenness: root mean square of laid / target - 1 over whole 3-ft (0.91 m) or 10-ft (3.05 m) \
             segments from first to last hay; 10 %, half and 90 % of the bales were laid with no more. \
             Clump: 3 ft that hold more than twice the target and more than 10 lb (4.5 kg) above it. \
             Beaten: share of the bales that the controller laid more evenly over 3 ft. In brackets: 95 % \
             intervals, of quantiles by order statistics, of shares by Clopper and Pearson (1934). \
             The three lines of perfect knowledge are measures that no machine can be built for: knowledge of \
             the present without the tufts, which remembers nothing, so that who makes errors good can be \
             more even; with the tufts; and of the future."
        }
    }
}

fn table(group: &Group) -> Markup {
    let table = html! {
        table {
            caption { (group.name) ": " (number(group.bales as f64, 0)) " bales" }
            thead {
                tr {
                    th scope="col" { "contender" }
                    @for interval in ["3 ft", "10 ft"] {
                        th scope="col" { "10 %" small { "over" br; (interval) } }
                        th scope="col" { "median" small { "over" br; (interval) } }
                        th scope="col" { "90 %" small { "over" br; (interval) } }
                    }
                    th scope="col" { "clumps" small { "of 1,000" br; "bales" } }
                    th scope="col" { "bales" small { "with clumps," br; "of 1,000" } }
                    th scope="col" { "beaten" small { "by the" br; "controller" } }
                    th scope="col" { "time" small { "min:s," br; "median" } }
                    th scope="col" { "left" small { "of the" br; "hay" } }
                }
            }
            tbody { @for line in &group.lines { (contender(line)) } }
        }
    };
    scrolled(&group.name, &table)
}

fn contender(line: &Line) -> Markup {
    let cell = |figure: Figure, decimals: usize| {
        html! { td { (number(figure.value, decimals)) small { (brackets(figure, decimals)) } } }
    };
    html! {
        tr {
            th scope="row" { (line.law.name()) }
            @for figure in line.unevenness_3_ft.iter().chain(&line.unevenness_10_ft) {
                (cell(*figure, 3))
            }
            td { (number(line.clumps, 0)) }
            (cell(line.with_clump, 0))
            td { (beaten(line)) }
            td { (minutes(line.time_s.value)) }
            td { (percent(Some(line.left), 1)) }
        }
    }
}

/// The distribution of unevenness: how many bales were laid with no more than so much.
fn chart(group: &Group, id: &str) -> Markup {
    let highest = |line: &Line| line.unevenness_3_ft[2].value;
    let rivals = group.lines.iter().map(highest).filter(|value| value.is_finite());
    let Some(most) = rivals.max_by(f64::total_cmp) else { return html! {} };
    let layer = |(place, line): (usize, &Line)| {
        let steps = line.distribution.len().saturating_sub(1).max(1) as f64;
        let point = |(step, value): (usize, &f64)| (*value, 100.0 * step as f64 / steps);
        Layer::Line {
            class: class(line.law, place),
            label: line.law.name().to_owned(),
            points: line.distribution.iter().enumerate().map(point).collect(),
        }
    };
    // The controller in front: layers are drawn from back to front.
    let layers = group.lines.iter().enumerate().map(layer).rev().collect();
    Chart {
        id,
        title: &format!("{}: how many were laid how evenly", group.name),
        description:
            "Share of the bales that were laid with no more than this unevenness over 3 ft: \
                      the further left and up, the better."
                .to_owned(),
        height: 230.0,
        x: Axis::rounded(0.0, most.min(1.0), 10),
        x_label: "unevenness over 3 ft",
        y: Axis::exact(0.0, 100.0, 5),
        y_unit: "% of bales",
        beside: None,
        layers,
        marks: Vec::new(),
    }
    .figure()
}

/// Colour and dash of a contender's line.
fn class(law: Law, place: usize) -> &'static str {
    match law {
        Law::PerfectKnowledge => "bound1",
        Law::PerfectWithTufts => "bound2",
        Law::PerfectWithFuture => "bound3",
        _ => super::rival_class(place),
    }
}

fn worst_bales(worst: &[Worst]) -> Markup {
    let table = html! {
        table.stops {
            caption { "The most uneven bales" }
            thead {
                tr {
                    th scope="col" { "bale" }
                    th scope="col" { "kind" }
                    th scope="col" { "unevenness" small { "over 3 ft" } }
                    th scope="col" { "perfect" small { "with future" } }
                    th scope="col" { "clumps" }
                    th scope="col" { "laid" small { "lb" } }
                    th scope="col" { "left" small { "lb" } }
                    th scope="col" { "time" small { "min:s" } }
                }
            }
            tbody { @for bale in worst { (worst_bale(bale)) } }
        }
    };
    scrolled("the most uneven bales", &table)
}

fn worst_bale(worst: &Worst) -> Markup {
    let of = &worst.controller;
    let shown = |value: f32, decimals: usize| number(f64::from(value), decimals);
    html! {
        tr {
            th scope="row" { (worst.bale) }
            td { (worst.kind) }
            td { (shown(of.unevenness_3_ft, 2)) }
            td { (shown(worst.bound, 2)) }
            td { (of.clumps) }
            td { (shown(of.laid_lb, 0)) }
            td { (shown(of.left_lb, 0)) }
            td { (minutes(f64::from(of.time_s))) }
        }
    }
}

fn foot(input: &ManyInput<'_>) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            p {
                "Population " strong { (input.population) } ", seed " strong { (input.seed) }
                ". The same population, seed, number of bales and program give the same page and file \
                 of results, byte for byte, on any number of threads:"
            }
            pre { code { (input.command) } }
            (cautions())
        }
    }
}
