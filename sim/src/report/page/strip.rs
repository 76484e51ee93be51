//! The strip as laid: a band of colours for each contender, and the rates as lines.

use super::axis::Axis;
use super::chart::{Chart, LEFT, Layer, RIGHT, across, drawing, horizontal};
use super::path::{Point, pixel};
use super::{rival_class, scrolled};
use crate::bench::record::{BaleRun, Run};
use crate::report::{Row, SHORT_M, words};
use crate::score::{self, Segment};
use crate::units::{KG_M_PER_LB_FT, M_PER_FT};
use maud::{Markup, html};
use std::fmt::Write;

/// Upper ends of the classes of laid / target; above the last is one class more.
const EDGES: [f64; 8] = [0.25, 0.5, 0.75, 0.9, 1.1, 1.25, 1.5, 2.0];
const NAMES: [&str; 9] = [
    "below 1/4 of the target",
    "1/4 to 1/2",
    "1/2 to 3/4",
    "3/4 to 0.9",
    "within 10 %",
    "1.1 to 1.25",
    "1.25 to 1.5",
    "1.5 to 2",
    "above twice the target",
];

/// Height of one contender in the band picture and of its parts, px.
const ROW: f64 = 52.0;
const LABEL: f64 = 14.0;
const BAND: f64 = 20.0;
/// Room above the first contender for the names of the bales, px.
const TOP: f64 = 20.0;

/// The feet that all strips cover, from the first hay of any contender to the last.
pub(super) fn feet_axis(runs: &[&Run]) -> Axis {
    let bales = || runs.iter().flat_map(|run| &run.bales);
    let low = bales().map(|bale| bale.strip_m.0).fold(f64::MAX, f64::min);
    let high = bales().map(|bale| bale.strip_m.1).fold(0.0, f64::max);
    Axis::exact(low / M_PER_FT, high / M_PER_FT, 10)
}

/// One band of colours under the other, clumps marked below each.
pub(super) fn bands(runs: &[&Run], rows: &[Row<'_>], x: Axis) -> Markup {
    let title = "Every 3 ft (0.91 m) of the row: laid against target";
    let clumps: Vec<String> = rows
        .iter()
        .map(|row| format!("{} {}", row.contender, words::count(row.short.clumps.len(), "clump")))
        .collect();
    let description = format!(
        "White is right, blue is too thin, orange too heavy; a triangle below marks a clump, a frame \
         is a row of one bale. Clumps: {}.",
        clumps.join(", ")
    );
    let bottom = TOP + ROW * runs.len() as f64;
    let content = html! {
        @if let Some(first) = runs.first() { (bale_names(first, x)) }
        @for (index, (run, row)) in runs.iter().zip(rows).enumerate() {
            (band(run, row, x, TOP + ROW * index as f64))
        }
        (horizontal(x, "distance driven, ft", bottom))
    };
    html! {
        figure {
            figcaption { h3 { (title) } p { (description) } (legend()) }
            (scrolled(title, &drawing("bands", title, &description, bottom + 38.0, &content)))
        }
    }
}

/// Names over the bales of the first contender, where there is room for them.
fn bale_names(run: &Run, x: Axis) -> Markup {
    let place = |at_m: f64| across(x, at_m / M_PER_FT);
    html! {
        @for bale in &run.bales {
            @let (from, to) = (place(bale.strip_m.0), place(bale.strip_m.1));
            @if to - from > 7.0 * bale.name.chars().count() as f64 {
                text.unit x=(pixel((from + to) / 2.0)) y="12" text-anchor="middle" { (bale.name) }
            }
        }
    }
}

fn band(run: &Run, row: &Row<'_>, x: Axis, top: f64) -> Markup {
    let place = |at_m: f64| across(x, at_m / M_PER_FT);
    let top_of_band = top + LABEL + 5.0;
    let finding = format!(
        "unevenness {}, {}",
        words::maybe(row.short.unevenness, 3),
        words::count(row.short.clumps.len(), "clump")
    );
    html! {
        text.name x=(LEFT) y=(pixel(top + LABEL)) { (row.contender) }
        text x=(RIGHT) y=(pixel(top + LABEL)) text-anchor="end" { (finding) }
        @for (class, data) in colours(&score::segments(run, SHORT_M), x, top_of_band).iter().enumerate() {
            @if !data.is_empty() { path class={ "heat" (class) } d=(data) {} }
        }
        @for (from_m, to_m) in run.bales.iter().flat_map(BaleRun::rows_m) {
            @let (from, to) = (place(from_m), place(to_m));
            rect.frame x=(pixel(from)) y=(pixel(top_of_band)) width=(pixel((to - from).max(0.0)))
                height=(BAND) {}
        }
        @for clump in &row.short.clumps {
            @let at = pixel(place((clump.from_m + clump.to_m) / 2.0));
            path.clump d=(format!("M{at} {}l5 8h-10z", pixel(top_of_band + BAND + 2.0))) {}
        }
    }
}

/// Path data for each class; segments of one class that touch become one block.
fn colours(segments: &[Segment], x: Axis, top: f64) -> [String; 9] {
    let mut data: [String; 9] = Default::default();
    let class = |segment: &Segment| EDGES.partition_point(|edge| *edge < segment.relative());
    let touches = |a: &Segment, b: &Segment| class(a) == class(b) && a.bale == b.bale;
    for block in segments.chunk_by(touches) {
        let from = across(x, block[0].from_m / M_PER_FT);
        let to = across(x, (block[0].from_m + SHORT_M * block.len() as f64) / M_PER_FT);
        let width = pixel((to * 10.0).round() / 10.0 - (from * 10.0).round() / 10.0);
        // Writing into a String cannot fail.
        let _ = write!(
            data[class(&block[0])],
            "M{} {}h{width}v{BAND}h-{width}z",
            pixel(from),
            pixel(top)
        );
    }
    data
}

fn legend() -> Markup {
    html! {
        ul.legend {
            @for (class, name) in NAMES.iter().enumerate() {
                li {
                    svg width="18" height="12" aria-hidden="true" {
                        rect.frame x="0.5" y="0.5" width="17" height="11" {}
                        rect class={ "heat" (class) } x="1" y="1" width="16" height="10" {}
                    }
                    (name)
                }
            }
        }
    }
}

/// Laid rate of every 3 ft against the target, rivals lighter.
pub(super) fn rates(runs: &[&Run], x: Axis) -> Markup {
    let segments: Vec<Vec<Segment>> =
        runs.iter().map(|run| score::segments(run, SHORT_M)).collect();
    let Some(own) = segments.first() else { return html! {} };
    let highest = own
        .iter()
        .map(|segment| segment.laid_kg_m.max(2.5 * segment.target_kg_m))
        .fold(0.0, f64::max);
    let y = Axis::rounded(0.0, highest / KG_M_PER_LB_FT, 6);
    let beyond = segments.iter().flatten().any(|s| s.laid_kg_m > y.high * KG_M_PER_LB_FT);
    let mut layers: Vec<Layer> = Vec::new();
    for (index, (run, segments)) in runs.iter().zip(&segments).enumerate().skip(1).rev() {
        let points = middles(segments, |segment| segment.laid_kg_m);
        layers.push(Layer::Line {
            class: rival_class(index),
            label: run.contender.to_owned(),
            points,
        });
    }
    layers.push(Layer::Line {
        class: "target",
        label: "target".to_owned(),
        points: middles(own, |s| s.target_kg_m),
    });
    layers.push(Layer::Line {
        class: "own",
        label: runs[0].contender.to_owned(),
        points: middles(own, |segment| segment.laid_kg_m),
    });
    let cut = if beyond {
        " Rivals leave the picture at the top; the table has their heaviest 3 ft."
    } else {
        ""
    };
    Chart {
        id: "rates",
        title: "Laid rate along the row",
        description: format!("Pounds a foot of every 3 ft (0.91 m), first to last hay.{cut}"),
        height: 230.0,
        x,
        x_label: "distance driven, ft",
        y,
        y_unit: "lb/ft",
        beside: Some(("kg/m", KG_M_PER_LB_FT)),
        layers,
        marks: runs[0].bales.iter().map(|bale| bale.strip_m.0 / M_PER_FT).collect(),
    }
    .figure()
}

/// A point in the middle of each segment, a break between bales.
fn middles(segments: &[Segment], rate_kg_m: impl Fn(&Segment) -> f64) -> Vec<Point> {
    let mut points = Vec::new();
    for bale in segments.chunk_by(|a, b| a.bale == b.bale) {
        for segment in bale {
            let middle_ft = (segment.from_m + SHORT_M / 2.0) / M_PER_FT;
            points.push((middle_ft, rate_kg_m(segment) / KG_M_PER_LB_FT));
        }
        points.push((f64::NAN, f64::NAN));
    }
    points
}
