//! What the controller was doing over time, in words, and why it stopped.

use super::axis::Axis;
use super::chart::{LEFT, across, drawing, horizontal};
use super::path::pixel;
use super::scrolled;
use crate::bench::record::{Run, Sample};
use crate::report::words;
use crate::units::KG_PER_LB;
use maud::{Markup, html};

/// Height of a row and its block, px.
const ROW: f64 = 28.0;
const BLOCK: f64 = 20.0;
/// Stops listed in full; the rest is counted.
const LISTED: usize = 12;

/// A stretch of time with one word for it.
struct Block {
    from_s: f64,
    to_s: f64,
    class: &'static str,
    text: String,
}

/// Rows of blocks - bales, phases, what held the rollers, clumps - and the list of stops.
pub(super) fn figure(run: &Run, x: Axis) -> Markup {
    let title = "What the controller was doing";
    let stops = stops(run);
    let description = format!(
        "Bales, phases, and where the rollers were held back, over time; {}, {} out of the core.",
        words::count(stops.len(), "stop"),
        words::count(run.bales.iter().map(|bale| bale.clumps.len()).sum(), "clump"),
    );
    let bales = run.bales.iter().map(|bale| Block {
        from_s: bale.time_s.0,
        to_s: bale.time_s.1,
        class: "bale",
        text: bale.name.clone(),
    });
    let rows = [
        ("bale", bales.collect()),
        ("phase", blocks(&run.samples, phase)),
        ("held", blocks(&run.samples, held)),
    ];
    let bottom = ROW * rows.len() as f64 + 14.0;
    let content = html! {
        @for (index, (name, blocks)) in rows.iter().enumerate() {
            (row(name, blocks, x, 4.0 + ROW * index as f64))
        }
        (clumps(run, x, ROW * rows.len() as f64))
        (horizontal(x, "time, s", bottom))
    };
    html! {
        figure {
            figcaption { h3 { (title) } p { (description) } (legend()) }
            (scrolled(title, &drawing("ribbon", title, &description, bottom + 38.0, &content)))
            (stop_list(&stops))
        }
    }
}

/// The words for a phase name its colour as well.
fn phase(sample: &Sample) -> Option<(&'static str, &'static str)> {
    let words = words::phase(sample.phase);
    Some((words, words))
}

fn held(sample: &Sample) -> Option<(&'static str, &'static str)> {
    match (sample.holding, sample.core_near) {
        (true, _) => Some(("holding", "waiting for the ground")),
        (false, true) => Some(("core", "slow for the core")),
        (false, false) => None,
    }
}

/// Samples in a row that say the same, as one block up to the next sample.
fn blocks(
    samples: &[Sample],
    says: impl Fn(&Sample) -> Option<(&'static str, &'static str)>,
) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut next = 0;
    for group in samples.chunk_by(|a, b| says(a) == says(b)) {
        next += group.len();
        let to_s = samples.get(next).unwrap_or(&group[group.len() - 1]).time_s;
        if let Some((class, text)) = says(&group[0]) {
            blocks.push(Block { from_s: group[0].time_s, to_s, class, text: text.to_owned() });
        }
    }
    blocks
}

fn row(name: &str, blocks: &[Block], x: Axis, top: f64) -> Markup {
    html! {
        text x=(LEFT - 8.0) y=(pixel(top + 14.5)) text-anchor="end" { (name) }
        @for block in blocks {
            @let (from, to) = (across(x, block.from_s), across(x, block.to_s));
            @let width = (to - from).max(0.5);
            rect class={ "block " (block.class) } x=(pixel(from)) y=(pixel(top)) width=(pixel(width))
                height=(BLOCK) {}
            @if width > 7.0 * block.text.chars().count() as f64 + 6.0 {
                text class={ "on-" (block.class) } x=(pixel(from + 5.0)) y=(pixel(top + 14.5)) {
                    (block.text)
                }
            }
        }
    }
}

fn clumps(run: &Run, x: Axis, top: f64) -> Markup {
    html! {
        @for (time_s, mass_kg) in run.bales.iter().flat_map(|bale| &bale.clumps) {
            path.clump d=(format!("M{} {}l5 8h-10z", pixel(across(x, *time_s)), pixel(top + 4.0))) {
                title { (words::number(mass_kg / KG_PER_LB, 0)) " lb" }
            }
        }
    }
}

fn legend() -> Markup {
    let entries = [
        ("laying", "laying"),
        ("armed", "armed"),
        ("resting", "resting"),
        ("stopped", "stopped by a condition"),
        ("core", "slow for the core"),
        ("holding", "waiting for the ground to catch up"),
    ];
    html! {
        ul.legend {
            @for (class, text) in entries {
                li {
                    svg width="18" height="12" aria-hidden="true" {
                        rect class={ "block " (class) } x="1" y="1" width="16" height="10" {}
                    }
                    (text)
                }
            }
            li {
                svg width="14" height="12" aria-hidden="true" { path.clump d="M7 2l5 8h-10z" {} }
                "clump out of the core"
            }
        }
    }
}

/// Time and cause of each stop.
fn stops(run: &Run) -> Vec<(f64, &'static str)> {
    let mut last = None;
    let mut stops = Vec::new();
    for sample in &run.samples {
        if let Some(cause) = sample.cause.filter(|_| sample.cause != last) {
            stops.push((sample.time_s, cause.words()));
        }
        last = sample.cause;
    }
    stops
}

fn stop_list(stops: &[(f64, &'static str)]) -> Markup {
    html! {
        @if !stops.is_empty() {
            table.stops {
                caption { "Stops and their causes" }
                thead { tr { th scope="col" { "time, s" } th scope="col" { "cause" } } }
                tbody {
                    @for (time_s, cause) in stops.iter().take(LISTED) {
                        tr { th scope="row" { (words::number(*time_s, 1)) } td { (cause) } }
                    }
                }
            }
            @if stops.len() > LISTED { p { "and " (stops.len() - LISTED) " more." } }
        }
    }
}
