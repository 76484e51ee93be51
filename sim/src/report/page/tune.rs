//! The page of a search for settings: what it found, and before and after on other bales.

use super::axis::Axis;
use super::chart::{Chart, Layer};
use super::{cautions, document, text_table};
use crate::report::TuneInput;
use crate::report::tune::{change_rows, front_rows, proof_rows, verdict};
use crate::tune::trial::Objectives;
use maud::{Markup, html};

/// Of the settings tried, those that are worse than this many times the best are not drawn.
const DRAWN: f64 = 1.6;

/// The page.
#[must_use]
pub fn tune_page(input: &TuneInput<'_>) -> String {
    let title = format!("{}: settings searched", input.population);
    let lead = "A model: these are simulated bales on simulated tractors, not a field test.";
    document(&title, lead, &body(input), &foot(input))
}

/// A table from rows whose first is the head.
fn table(caption: &str, rows: &[Vec<String>], words: usize) -> Markup {
    let Some((heads, rows)) = rows.split_first() else { return html! {} };
    text_table(caption, &heads.iter().map(String::as_str).collect::<Vec<_>>(), rows, words)
}

fn body(input: &TuneInput<'_>) -> Markup {
    html! {
        section {
            h2 { "Is it better?" }
            p.verdict { (verdict(input)) }
            (table(
                &format!("before and after on {} bales that the search has not seen", input.proof.bales),
                &proof_rows(input.proof),
                1,
            ))
            p.note {
                "Uneven: unevenness over 10 ft (3.05 m) divided by that of perfect knowledge of the present \
                 without the tufts on the same bale, geometric mean. Clumps: for 1,000 bales; 3 ft (0.91 m) \
                 that hold more than twice the target and more than 10 lb (4.5 kg) above it. Time: of \
                 laying, divided by that of perfect knowledge. In brackets: 95 % intervals, by drawing \
                 bales anew."
            }
        }
        section {
            h2 { "What was changed?" }
            (table("settings that differ from the usual ones", &change_rows(input), 1))
        }
        section {
            h2 { "What else was there?" }
            p.note {
                "On the training bales: every dot is one set of settings; those that nothing betters in \
                 unevenness, clumps and time stand out. The one chosen has the least sum of the logarithm \
                 of unevenness, 2 for a clump on every bale and half the logarithm of time."
            }
            (chart(input))
            (table("settings that nothing tried betters in everything", &front_rows(input), 0))
        }
    }
}

fn chart(input: &TuneInput<'_>) -> Markup {
    let point = |of: &Objectives| (of.unevenness, of.clumps);
    let tried = input.progress.objectives();
    let least = tried.iter().map(|of| of.unevenness).fold(f64::INFINITY, f64::min);
    let near = |of: &&Objectives| of.unevenness <= DRAWN * least;
    let shown: Vec<_> = tried.iter().filter(near).map(point).collect();
    let most = shown.iter().map(|(_, clumps)| *clumps).fold(1.0, f64::max);
    let front = input.progress.front();
    let chosen = input.progress.best().map(|(_, of)| point(of));
    let dots = |class, label: &str, points| Layer::Dots { class, label: label.to_owned(), points };
    let outstanding = front.iter().map(|(_, of)| of).filter(near).map(point).collect();
    Chart {
        id: "front",
        title: "settings tried",
        description:
            "Clumps for 1,000 bales against unevenness of every set of settings tried on the training bales: \
                      the further left and down, the better."
                .to_owned(),
        height: 260.0,
        x: Axis::exact(0.98 * least, DRAWN * least, 8),
        x_label: "unevenness over 10 ft, of perfect knowledge",
        y: Axis::rounded(0.0, most, 5),
        y_unit: "clumps",
        beside: None,
        layers: vec![
            dots("", "tried", shown),
            dots("own", "nothing betters it", outstanding),
            dots("asked", "chosen", chosen.into_iter().collect()),
        ],
        marks: Vec::new(),
    }
    .figure()
}

fn foot(input: &TuneInput<'_>) -> Markup {
    let (training, proof) = input.seeds;
    html! {
        footer {
            h2 { "Repeat it" }
            p {
                "Population " strong { (input.population) } ", seed " strong { (training) }
                " for training and " strong { (proof) } " for the proof. The same command and program give \
                 the same page, byte for byte, on any number of threads:"
            }
            pre { code { (input.command) } }
            (cautions())
        }
    }
}
