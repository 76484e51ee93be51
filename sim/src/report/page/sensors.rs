//! The page of the sensor sets: what each is good for.

use super::{cautions, document, text_table};
use crate::report::SensorsInput;
use crate::report::sensors::{DRIVERS, KINDS, clump_rows, evenness_rows, knowledge_rows};
use maud::{Markup, html};

/// The page.
#[must_use]
pub fn sensors_page(input: &SensorsInput<'_>) -> String {
    let title = format!("{}: what sensors are good for", input.population);
    let lead = "A model: these are simulated bales on simulated tractors, not a field test.";
    document(&title, lead, &body(input), &foot(input))
}

/// A table from rows whose first is the head.
fn table(caption: &str, rows: &[Vec<String>], words: usize) -> Markup {
    let Some((heads, rows)) = rows.split_first() else { return html! {} };
    text_table(caption, &heads.iter().map(String::as_str).collect::<Vec<_>>(), rows, words)
}

fn body(input: &SensorsInput<'_>) -> Markup {
    let sets = &input.standing.sets;
    html! {
        section {
            h2 { "How near to perfect?" }
            p.note {
                "Unevenness over 10 ft (3.05 m): root mean square of laid / target - 1 over whole segments \
                 from first to last hay; the median of the bales, and that divided by the median of others \
                 on the same bales, tractors and seeds: perfect knowledge of the present without the tufts, \
                 a valve set once by hand for each lot, a proportional and integral law on the weigh cells. \
                 They feed with all sensors fitted. In brackets: 95 % intervals."
            }
            @for (place, kind) in KINDS.iter().enumerate() {
                @let bales = sets.first().map_or(0, |set| set.kinds[place].bales);
                (table(&format!("{kind}: {bales} bales"), &evenness_rows(sets, place), 1))
            }
        }
        section {
            h2 { "Did the dense core come out without a clump?" }
            p.note {
                "Bales with a clump, of 1,000, on dense cores, by whether the driver follows the advised \
                 speed. Reachable: of the bales that perfect knowledge laid without a clump. Where it \
                 makes clumps itself, this model may not allow to do without."
            }
            @for (place, driver) in DRIVERS.iter().enumerate() {
                (table(&format!("driver {driver}: bales with a clump, of 1,000"), &clump_rows(sets, place), 1))
            }
        }
        section {
            h2 { "Did it know what it knew?" }
            p.note {
                "Share of the moments of laying at which the true bite, without tufts, lay within the \
                 controller's 95 % interval: 93 to 97 % is honest. Hay accounted for: from the first to the \
                 last hay of a bale as the controller saw it, against the truth. Feedback: share of the mean \
                 square error over 1 ft (0.30 m) that no feedback on the row could have prevented, because \
                 nothing older than valve lag and fall told of it (Harris 1989). Slowed needlessly: bales \
                 without a dense core that the rollers were held slow for, of 1,000."
            }
            (table("what the controller knew", &knowledge_rows(sets), 1))
        }
    }
}

fn foot(input: &SensorsInput<'_>) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            p {
                "Population " strong { (input.population) } ", seed " strong { (input.seed) } ". "
                @if input.is_evaluation {
                    "These bales and seeds are kept for evaluation: nothing was tuned on them. "
                }
                "The same command and program give the same page, byte for byte, on any number of threads:"
            }
            pre { code { (input.command) } }
            (cautions())
        }
    }
}
