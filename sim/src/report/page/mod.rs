//! One self-contained HTML page: no script, nothing from outside, light and dark, printable.
//!
//! First what a rancher asks - was it even, were there clumps, how does it compare - then what an
//! engineer asks of the machine and the estimates. The same runs give the same bytes.

mod axis;
mod bars;
mod book;
mod chart;
pub(super) mod compare;
mod machine;
mod many;
mod path;
pub(super) mod plan;
mod ribbon;
pub(super) mod row;
pub(super) mod sensors;
pub(super) mod stops;
mod strip;
mod tables;
pub(super) mod tune;

pub use book::book_page;
pub use many::many_page;

use super::{groups, ordered, words};
use crate::bench::record::Run;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// What a page is made from.
#[derive(Clone, Copy, Debug)]
pub struct PageInput<'a> {
    /// Name of the scenario.
    pub scenario_name: &'a str,
    /// Seed of every random number in it.
    pub seed: u64,
    /// The command that repeats it.
    pub command: &'a str,
    /// The reported run first, then what it is compared with.
    pub runs: &'a [Run],
}

/// The page. Without runs it says that nobody fed.
#[must_use]
pub fn page(input: &PageInput<'_>) -> String {
    let title = format!("{}: hay laid in a row", input.scenario_name);
    let lead = "A model: these are simulated bales on a simulated tractor, not a field test.";
    document(&title, lead, &body(input.runs), &foot(input))
}

/// A whole page in the one design of all pages: title, a sentence below it, body and foot.
fn document(title: &str, lead: &str, body: &Markup, foot: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    p.model { (lead) }
                }
                main { (body) }
                (foot)
            }
        }
    }
    .into_string()
}

/// Large-print figures: each a number and what it means.
fn figures_in_large(figures: &[(String, String)]) -> Markup {
    html! {
        ul.tiles {
            @for (value, meaning) in figures { (tables::tile(value, meaning)) }
        }
    }
}

/// What may be wider than the screen: it scrolls by itself, by keyboard too, and a screen reader names it.
fn scrolled(name: &str, content: &Markup) -> Markup {
    html! { div.scroll role="group" tabindex="0" aria-label=(name) { (content) } }
}

/// A table of text: a caption, heads, and rows whose first cell is a head too. The first `words`
/// columns are set to the left.
fn text_table(caption: &str, heads: &[&str], rows: &[Vec<String>], words: usize) -> Markup {
    let side = |place: usize| if place < words { Some("words") } else { None };
    // A head without words is no head.
    let head = |place: usize, head: &str| {
        html! { @if head.is_empty() { td {} } @else { th scope="col" class=[side(place)] { (head) } } }
    };
    let table = html! {
        table.plain {
            caption { (caption) }
            thead { tr { @for (place, words) in heads.iter().enumerate() { (head(place, words)) } } }
            tbody {
                @for row in rows {
                    tr {
                        @for (place, cell) in row.iter().enumerate() {
                            @if place == 0 { th.words scope="row" { (cell) } } @else { td class=[side(place)] { (cell) } }
                        }
                    }
                }
            }
        }
    };
    scrolled(caption, &table)
}

fn body(all: &[Run]) -> Markup {
    let runs = ordered(all);
    let groups = groups(all);
    let (Some(own), Some(whole)) = (runs.first(), groups.first()) else {
        return html! { p { "Nobody fed." } };
    };
    let feet = strip::feet_axis(&runs);
    let seconds = machine::time_axis(own);
    html! {
        section {
            h2 { "Was it even?" }
            @for group in &groups { p.verdict { (words::verdict(group)) } }
            @if let Some(row) = whole.rows.first() { (tables::tiles(row)) }
            (strip::bands(&runs, &whole.rows, feet))
            (strip::rates(&runs, feet))
        }
        section {
            h2 { "How does it compare?" }
            @for group in &groups { (tables::comparison(group)) }
            (tables::explanation())
        }
        section {
            h2 { "What did the machine do?" }
            p { "The " (own.contender) "'s run. Upright lines: first hay of a bale." }
            (ribbon::figure(own, seconds))
            (machine::charts(own, seconds))
        }
    }
}

/// Colour and dash of a rival's line by its place; the fifth and later share one.
fn rival_class(place: usize) -> &'static str {
    ["own", "rival1", "rival2", "rival3", "rival4"][place.min(4)]
}

fn foot(input: &PageInput<'_>) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            p {
                "Scenario " strong { (input.scenario_name) } ", seed " strong { (input.seed) }
                ". The same scenario, seed and program give the same page, byte for byte:"
            }
            pre { code { (input.command) } }
            (cautions())
        }
    }
}

/// What to keep in mind when reading a page of modelled bales.
fn cautions() -> Markup {
    html! {
            h2 { "Cautions" }
            ul {
                li {
                    "The bales, the tearing of hay, clumps, valve and driver are a model. Where its laws and \
                     numbers are assumptions, a real bale will differ; measure before relying on it."
                }
                li {
                    "Evenness has a meaning only with its interval: the same row looks more even over 10 ft \
                     than over 3 ft. No figure here claims conformity with a standard."
                }
                li {
                    "Rollers pull in hay, hands and clothes. Stop the engine, relieve the pressure and wait \
                     until everything stands before touching anything. Software is never the only stop."
                }
            }
    }
}
