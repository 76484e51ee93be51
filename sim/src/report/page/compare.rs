//! The page of a comparison of ways of feeding.

use super::axis::Axis;
use super::bars::{Bar, Bars};
use super::{document, figures_in_large, text_table};
use crate::compare::Answer;
use crate::compare::cost::PARTS;
use crate::compare::defaults::WAYS;
use crate::report::compare::{
    DRAWN, asked, cost, effort, inputs, practice_herd, practice_sentence, sureness, swing_name,
};
use crate::report::words::number;
use maud::{Markup, html};

/// Colours of the parts of the cost, in their order.
const COLOURS: [&str; 6] = ["part0", "part1", "part2", "part3", "part4", "part5"];
/// Swings that are drawn.
const SWINGS: usize = 12;

/// The page; `command` repeats it.
#[must_use]
pub fn compare_page(answer: &Answer, command: &str) -> String {
    let content = html! {
        section {
            h2 { "What does it cost?" }
            p.verdict { (asked(answer)) }
            (cheapest(answer))
            (parts(answer))
            (table("Yearly cost, USD, without the hay that is eaten", &cost(answer)))
        }
        section {
            h2 { "How sure is that, and for which herd?" }
            (intervals(answer))
            (table(&format!("USD a head-day: {DRAWN}; herd from which each pays"), &sureness(answer)))
            (tornado(answer))
        }
        section {
            h2 { "What does it take, and what does it leave?" }
            (table("Hay, time in the pasture and on the tractor, ground around the feeding places of a year, nitrogen on it", &effort(answer)))
            p.note {
                "Minutes a bale: from entering the pasture to leaving it. Nitrogen: of all hay fed there, eaten \
                 or not, on the ground around the feeding places; the more on the less ground, the more mess. The manure of a bunk is hauled away."
            }
        }
        section {
            h2 { "What practice says" }
            p { (practice_sentence(answer)) }
            p { (practice_herd(answer)) }
            (practice(answer))
        }
        section {
            h2 { "Every input, and who says so" }
            p.note { "A list is lowest, likeliest, highest. All of them can be changed: strewn compare --example > my-ways.toml" }
            (all_inputs(answer))
        }
    };
    let behind = "A model: published and assumed inputs, each named below. Money in US dollars.";
    document(
        &format!("{}, compared", answer.question.name),
        behind,
        &content,
        &foot(answer, command),
    )
}

fn table(caption: &str, rows: &[Vec<String>]) -> Markup {
    let Some((heads, rows)) = rows.split_first() else { return html! {} };
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    text_table(caption, &heads, rows, 1)
}

fn cheapest(answer: &Answer) -> Markup {
    let mut order: Vec<usize> = (0..WAYS.len()).collect();
    let usd = |way: usize| answer.outcomes[way].head_day_usd;
    order.sort_by(|one, other| usd(*one).total_cmp(&usd(*other)));
    let tiles: Vec<_> = order
        .iter()
        .map(|way| (number(usd(*way), 3), format!("USD a head-day: {}", WAYS[*way])))
        .collect();
    figures_in_large(&tiles)
}

fn parts(answer: &Answer) -> Markup {
    let bar = |way: usize| {
        let mut end = 0.0;
        let parts = answer.outcomes[way].parts_usd.iter().zip(COLOURS).map(|(part, colour)| {
            let from = end;
            end += part;
            (from, end, colour)
        });
        let parts = parts.collect();
        let value = format!("{} USD", number(answer.outcomes[way].total_usd(), 0));
        Bar { name: WAYS[way].to_owned(), value, parts, whisker: None }
    };
    let most = answer.outcomes.iter().map(|outcome| outcome.total_usd()).fold(0.0, f64::max);
    let legend: Vec<_> = COLOURS.into_iter().zip(PARTS).collect();
    Bars {
        id: "parts",
        title: "Yearly cost and its parts",
        description: "With the likeliest inputs; without the hay that is eaten, which is the same for all.",
        x: Axis::rounded(0.0, most, 8),
        x_label: "USD a year",
        legend: &legend,
        marks: &[],
        rows: (0..WAYS.len()).map(bar).collect(),
    }
    .figure()
}

fn intervals(answer: &Answer) -> Markup {
    let bar = |way: usize| {
        let spread = &answer.spreads[way];
        Bar {
            name: WAYS[way].to_owned(),
            value: format!(
                "{} ({} to {})",
                number(spread.median_usd, 3),
                number(spread.low_usd, 3),
                number(spread.high_usd, 3)
            ),
            parts: vec![(0.0, spread.median_usd, "part0")],
            whisker: Some((spread.low_usd, spread.high_usd)),
        }
    };
    let most = answer.spreads.iter().map(|spread| spread.high_usd).fold(0.0, f64::max);
    Bars {
        id: "intervals",
        title: "Cost a head-day, and its interval",
        description: "Middle of the draws; the line spans 90 % of them. All inputs are drawn between their bounds.",
        x: Axis::rounded(0.0, most, 8),
        x_label: "USD a head-day",
        legend: &[],
        marks: &[],
        rows: (0..WAYS.len()).map(bar).collect(),
    }
    .figure()
}

fn tornado(answer: &Answer) -> Markup {
    let (detail, against) = (answer.question.detail, answer.question.against);
    let middle = answer.outcomes[detail].head_day_usd - answer.outcomes[against].head_day_usd;
    let shown = &answer.swings[..answer.swings.len().min(SWINGS)];
    let ends = || shown.iter().flat_map(|swing| [swing.difference_usd.0, swing.difference_usd.1]);
    let (low, high) = (ends().fold(middle, f64::min), ends().fold(middle, f64::max));
    let room = 0.05 * (high - low);
    let bar = |swing: &crate::compare::uncertainty::Swing| Bar {
        name: swing_name(swing),
        value: format!("{} to {}", number(swing.bounds.0, 1), number(swing.bounds.1, 1)),
        parts: vec![
            (middle, swing.difference_usd.0, "part2"),
            (middle, swing.difference_usd.1, "part0"),
        ],
        whisker: None,
    };
    Bars {
        id: "swings",
        title: &format!("What is most uncertain: {} less {}", WAYS[detail], WAYS[against]),
        description: "Each input alone from its lowest to its highest, all others at their likeliest. Left of zero it pays.",
        x: Axis::exact(low - room, high + room, 8),
        x_label: "difference, USD a head-day",
        legend: &[("part2", "input at its lowest"), ("part0", "input at its highest")],
        marks: &[0.0, middle],
        rows: shown.iter().map(bar).collect(),
    }
    .figure()
}

fn practice(answer: &Answer) -> Markup {
    let row = |check: &crate::compare::practice::Check| {
        let verdict = if check.agrees { "agrees" } else { check.why };
        vec![check.what.clone(), check.practice.clone(), check.given.clone(), verdict.to_owned()]
    };
    let rows: Vec<_> = answer.checks.iter().map(row).collect();
    let caption =
        "Common practice, no source. Times may differ by a quarter, the herd by a factor of 3.";
    text_table(caption, &["what", "practice", "here", "and why not"], &rows, 4)
}

fn all_inputs(answer: &Answer) -> Markup {
    let rows: Vec<_> = inputs(&answer.question).into_iter().map(|line| line.to_vec()).collect();
    text_table("Inputs", &["of", "key", "value", "source"], &rows, 4)
}

fn foot(answer: &Answer, command: &str) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            p { "The same inputs, seed (" (answer.seed) ") and program give the same page, byte for byte:" }
            pre { code { (command) } }
            h2 { "Methods and limits" }
            ul {
                li { "Capital recovery by the annuity formula; taxes, insurance and housing on the mean of price and \
                      salvage value; fuel 0.0438 gal/h for each hp, oil 15 % of it; the tractor counts with fuel, \
                      oil and repairs only, as it is there anyway." }
                li { "Losses divide: what must be fed is what is eaten over one less the share lost." }
                li { "Inputs are drawn from triangular distributions, each independent of the others." }
                li { "Herds are fed every day of the season; a herd that is fed several days at once loses more hay." }
            }
        }
    }
}
