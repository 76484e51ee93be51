//! The page of a grid of faults, for whoever checks safe stop.

use super::axis::Axis;
use super::bars::{Bar, Bars};
use super::{document, figures_in_large, text_table};
use crate::faults::{Kind, Wire};
use crate::report::stops::{
    FAILURE_HEADS, HAY_HEADS, MOMENT_HEADS, StopsInput, by_fault, by_moment, failure_rows,
    hay_rows, hours_sentence, moment_rows, spaced, total, verdict,
};
use crate::report::words::number;
use crate::stops::grid::Count;
use crate::stops::hay::{CLUMP, From};
use maud::{Markup, html};

/// The page.
#[must_use]
pub fn stops_page(input: &StopsInput<'_>) -> String {
    let lead = "A model: simulated faults on a simulated machine. It shows how the program answers, not that a \
                machine is safe.";
    let content = html! {
        section {
            h2 { "Does it stop?" }
            p.verdict { (verdict(input)) }
            p.verdict { (hours_sentence(input.hours)) }
            (tiles(input))
            (text_table("Each moment: longest times and longest way of all trials", &MOMENT_HEADS, &moment_rows(input), 1))
            p.note {
                "Onset to zero: from the fault to valve command zero and enable off, where the fault stopped the rollers. \
                 Zero to still: until the rollers stand."
            }
            (text_table("Hay that lands after a stop, by the rate at which it was torn", &HAY_HEADS, &hay_rows(input), 1))
            p.note {
                "Rollers that stand tear nothing: what lands after they stood was in the air by then, the rate times \
                 what is left of the time of fall. A clump that broke out of the core in the second before \
                 makes a row of its own. Rollers that stopped sooner would leave more of it in \
                 the air and less in all."
            }
            (breaches(input))
        }
        (faults(input))
        (conditions(input))
        section {
            h2 { "What is answered how" }
            (text_table("Every condition the controller knows, worst first, with typical settings", &FAILURE_HEADS, &failure_rows(), FAILURE_HEADS.len()))
        }
    };
    document("Does it always stop, and never start by itself?", lead, &content, &foot(input))
}

fn tiles(input: &StopsInput<'_>) -> Markup {
    let all = total(input.results);
    let classes = all.hay.classes().into_iter().filter(|class| *class != CLUMP);
    let most_lb =
        classes.map(|class| all.hay.quantile_lb(From::Still, class, 1.0)).fold(0.0, f64::max);
    figures_in_large(&[
        (number(all.breaches as f64, 0), "unsafe of all injections".to_owned()),
        (number(all.late as f64, 0), "of them late".to_owned()),
        (
            format!("{} s", number(all.still_s, 2)),
            "longest from command zero to rollers still".to_owned(),
        ),
        (
            format!("{} lb", number(most_lb, 1)),
            "most hay, but for clumps, in the air when the rollers stood".to_owned(),
        ),
        (
            number(input.hours.false_stops.values().sum::<u64>() as f64, 0),
            format!("false stops in {} fault-free hours", number(input.hours.machine_h, 0)),
        ),
    ])
}

fn breaches(input: &StopsInput<'_>) -> Markup {
    let unsafe_rows = input.plan.rows().into_iter().filter_map(|row| {
        let count = input.results.get(&row.name()).filter(|count| count.breaches > 0)?;
        let unseen = if row.is_one_switch() { " (both contacts of one switch)" } else { "" };
        Some(vec![
            row.name() + unseen,
            number(count.breaches as f64, 0),
            number(count.trials as f64, 0),
            count.example.clone().unwrap_or_default(),
        ])
    });
    let rows: Vec<_> = unsafe_rows.collect();
    html! {
        @if !rows.is_empty() {
            (text_table("Unsafe", &["cell", "unsafe", "trials", "first"], &rows, 1))
        }
    }
}

/// Wire by kind: how often the fault stopped the rollers.
fn faults(input: &StopsInput<'_>) -> Markup {
    let sums = by_fault(input.plan, input.results);
    if sums.is_empty() {
        return html! {};
    }
    let heads: Vec<&str> =
        std::iter::once("wire").chain(Kind::ALL.iter().map(|kind| kind.word())).collect();
    let cell = |wire: Wire, kind: Kind| {
        sums.get(&(wire, kind)).map_or_else(String::new, |count| match count.breaches {
            0 => format!("{} %", number(100.0 * share_stopped(count), 0)),
            breaches => format!("{breaches} unsafe"),
        })
    };
    let row = |wire: &Wire| {
        let cells = Kind::ALL.iter().map(|kind| cell(*wire, *kind));
        std::iter::once(wire.word().to_owned()).chain(cells).collect()
    };
    let rows: Vec<Vec<String>> = Wire::ALL.iter().map(row).collect();
    html! {
        section {
            h2 { "Which faults stop the rollers" }
            (text_table("Share of trials in which the fault stopped laying within 2.5 s, all moments", &heads, &rows, 1))
            p.note {
                "Where a fault does not stop, laying goes on without the sensor, or the fault is too small to matter, \
                 or nothing was being laid. All trials go on to a new start and an ordered stop, which are judged too."
            }
        }
    }
}

fn share_stopped(count: &Count) -> f64 {
    count.stopped as f64 / (count.trials as f64).max(1.0)
}

/// Condition by moment, and a bar of the longest time for each.
fn conditions(input: &StopsInput<'_>) -> Markup {
    let all = total(input.results);
    let moments = by_moment(input.plan, input.results);
    let heads: Vec<&str> = std::iter::once("condition")
        .chain(moments.iter().map(|(moment, _)| moment.word()))
        .collect();
    let row = |cause: &strewn_controller::safety::Condition| {
        let cells = moments.iter().map(|(_, count)| match count.causes.get(cause) {
            Some((times, zero_s)) if *zero_s > 0.0 => format!("{times}, {zero_s:.2} s"),
            Some((times, _)) => times.to_string(),
            None => "-".to_owned(),
        });
        std::iter::once(spaced(*cause)).chain(cells).collect()
    };
    let rows: Vec<Vec<String>> = all.causes.keys().rev().map(row).collect();
    let bars = all.causes.iter().rev().filter(|(_, (_, zero_s))| *zero_s > 0.0).map(
        |(cause, (times, zero_s))| Bar {
            name: spaced(*cause),
            value: format!("{times} times, at most {zero_s:.2} s"),
            parts: vec![(0.0, *zero_s, "part0")],
            whisker: None,
        },
    );
    let picture = Bars {
        id: "conditions",
        title: "Longest time from a fault that is there at once to command zero, by the condition named",
        description: "Wires cut or shorted. It includes what the machine takes to show it: rollers that run up, a tractor that moves on.",
        x: Axis::rounded(0.0, 2.5, 6),
        x_label: "s",
        legend: &[],
        marks: &[],
        rows: bars.collect(),
    };
    html! {
        section {
            h2 { "What was named" }
            (picture.figure())
            @if !moments.is_empty() {
                (text_table("How often each condition was named, and the longest time from a cut or short to command zero", &heads, &rows, 1))
            }
        }
    }
}

fn foot(input: &StopsInput<'_>) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            pre { code { (input.command) } }
            h2 { "What is unsafe here" }
            p {
                "A valve command or enable after a hand has stopped; motion without both acts since the last stop; a \
                 command in a late tick; oil that flows uncommanded; rollers too fast, running away or stalled at an open valve; \
                 pressure above its limit; laying on the spot - each beyond its deadline, as sim/src/stops/judge.rs \
                 states. Hands are judged by what they truly did, the machine by what it truly did."
            }
            h2 { "Cautions" }
            ul {
                li { "No figure here claims conformity with a standard or a performance level." }
                li {
                    "Software is never the only stop. A hard-wired emergency stop, guards and lock-out belong to the \
                     machine: hardware-notes/safety.md."
                }
                li { "No event in n trials bounds its rate only to about 3 in n, and only for the machine modelled here." }
            }
        }
    }
}
