//! What each set of sensors is good for, as text and as JSON.

use super::many::brackets;
use super::words::{columns, number, percent};
use crate::study::standing::{ClumpStanding, KindStanding, SetStanding, Standing};
use crate::study::summary::{CONFIDENCE, Figure};
use serde_json::{Value, json};

/// What a report of sensor sets is made from.
#[derive(Clone, Copy, Debug)]
pub struct SensorsInput<'a> {
    /// Name of the population.
    pub population: &'a str,
    /// Seed of every random number in it.
    pub seed: u64,
    /// Whether this is the evaluation as it stands in its file.
    pub is_evaluation: bool,
    /// The command that repeats it.
    pub command: &'a str,
    /// The figures.
    pub standing: &'a Standing,
}

/// Most of the unevenness of others that the controller should have.
const GOAL_OF_HAND: f64 = 0.5;
const GOAL_OF_INTEGRAL: f64 = 0.6;

/// Kinds of core and of driver, in the order of the figures.
pub(super) const KINDS: [&str; 2] = ["even and soft core", "dense core"];
pub(super) const DRIVERS: [&str; 2] = ["follows the advice", "does not"];

const CAPTION: &str = "\
Simulated bales. Unevenness over 10 ft: root mean square of laid / target - 1 over whole segments;
median of the bales, then divided by the median of others on the same bales, tractors and seeds:
perfect knowledge of the present without the tufts, a valve set once by hand, a PI on weigh cells.
In brackets: 95 % interval. A goal stands beside each figure.
";

const CLUMPS: &str = "\
Dense cores: bales with a clump, of 1,000, by whether the driver follows the advised speed. Reachable:
of those that perfect knowledge laid without one.
";

const KNOWLEDGE: &str = "\
What the controller knew: share of the moments with the true bite inside the 95 % interval (goal 93 to
97 %); error of the hay accounted for over a whole bale, median, and share of bales within 1 %; share of
the mean square error that no feedback could have prevented, median (Harris 1989); bales without a
dense core that the rollers were held slow for, of 1,000 (goal 1).
";

/// The tables. Ends with a line end.
#[must_use]
pub fn sensors_table(input: &SensorsInput<'_>) -> String {
    let sets = &input.standing.sets;
    let mut text = format!("{CAPTION}\nPopulation: {}, seed {}.\n", input.population, input.seed);
    for (place, name) in KINDS.iter().enumerate() {
        let bales = sets.first().map_or(0, |set| set.kinds[place].bales);
        text += &format!("\n{name}: {bales} bales\n");
        text += &columns(&picked(evenness_rows(sets, place), &[0, 1, 2, 3, 4, 5, 7]), 1);
    }
    text += &format!("\n{CLUMPS}");
    for (place, driver) in DRIVERS.iter().enumerate() {
        text += &format!("\ndriver {driver}\n");
        text += &columns(&picked(clump_rows(sets, place), &[0, 1, 2, 3, 4, 5, 6, 8]), 1);
    }
    let knowledge = picked(knowledge_rows(sets), &[0, 1, 2, 3, 5, 7, 9]);
    text + &format!("\n{KNOWLEDGE}{}", columns(&knowledge, 1))
}

/// Only some columns: a terminal is narrow.
fn picked(rows: Vec<Vec<String>>, places: &[usize]) -> Vec<Vec<String>> {
    let row =
        |row: Vec<String>| places.iter().filter_map(|place| row.get(*place).cloned()).collect();
    rows.into_iter().map(row).collect()
}

/// A head and a row a set, for one kind of core.
pub(super) fn evenness_rows(sets: &[SetStanding], kind: usize) -> Vec<Vec<String>> {
    let of_hand = format!("of hand ({GOAL_OF_HAND})");
    let of_integral = format!("of PI ({GOAL_OF_INTEGRAL})");
    let heads = ["", "median", "of perfect", "", "goal", &of_hand, "", &of_integral, ""];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for SetStanding { set, kinds, .. } in sets {
        let KindStanding { unevenness, of_perfect, of_hand, of_integral, .. } = &kinds[kind];
        let mut row = vec![set.name.clone(), number(unevenness.value, 3)];
        row.extend(cells(of_perfect, 2));
        row.push(number(set.goals[kind], 2));
        row.extend(cells(of_hand, 2));
        row.extend(cells(of_integral, 2));
        rows.push(row);
    }
    rows
}

/// A head and a row a set, for one kind of driver.
pub(super) fn clump_rows(sets: &[SetStanding], driver: usize) -> Vec<Vec<String>> {
    let heads = ["", "bales", "controller", "", "reachable", "", "perfect", "", "hand", ""];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for SetStanding { set, clumps, .. } in sets {
        let ClumpStanding { bales, controller, reachable, perfect, hand, .. } = &clumps[driver];
        let mut row = vec![set.name.clone(), bales.to_string()];
        for figure in [controller, reachable, perfect, hand] {
            row.extend(cells(figure, 0));
        }
        rows.push(row);
    }
    rows
}

/// A head and a row a set.
pub(super) fn knowledge_rows(sets: &[SetStanding]) -> Vec<Vec<String>> {
    let heads = [
        "",
        "bite inside",
        "",
        "account error",
        "",
        "within 1 %",
        "",
        "feedback",
        "",
        "slowed",
        "",
    ];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for of in sets {
        let SetStanding { set, inside, account_error, well_accounted, needless, .. } = of;
        let mut row = vec![set.name.clone()];
        for (figure, decimals) in [(inside, 1), (account_error, 2), (well_accounted, 0)] {
            let [_, interval] = cells(&scaled(*figure, 100.0), decimals);
            row.extend([percent(Some(figure.value), decimals), interval]);
        }
        row.extend(cells(&of.minimum_variance, 2));
        row.extend(cells(needless, 0));
        rows.push(row);
    }
    rows
}

fn scaled(figure: Figure, scale: f64) -> Figure {
    Figure {
        value: scale * figure.value,
        interval: figure.interval.map(|(low, high)| (scale * low, scale * high)),
    }
}

fn cells(figure: &Figure, decimals: usize) -> [String; 2] {
    [number(figure.value, decimals), brackets(*figure, decimals)]
}

/// Every figure with its interval, for other programs. A figure that does not exist is null.
#[must_use]
pub fn sensors_json(input: &SensorsInput<'_>) -> Value {
    json!({
        "population": input.population,
        "seed": input.seed,
        "is_evaluation": input.is_evaluation,
        "source": "simulated bales",
        "confidence": CONFIDENCE,
        "intervals": "of quotients and of the bite by drawing bales anew (Efron and Tibshirani 1993), \
                      of shares by Clopper and Pearson 1934, of medians by order statistics",
        "goals": { "of_valve_set_by_hand": GOAL_OF_HAND, "of_pi_on_weigh_cells": GOAL_OF_INTEGRAL },
        "sets": input.standing.sets.iter().map(set).collect::<Vec<_>>(),
    })
}

fn set(of: &SetStanding) -> Value {
    let kind = |place: usize| {
        let KindStanding { bales, unevenness, of_perfect, of_hand, of_integral } = &of.kinds[place];
        json!({
            "core": KINDS[place],
            "bales": bales,
            "median_unevenness_10_ft": figure(unevenness),
            "of_perfect_knowledge": figure(of_perfect),
            "goal_of_perfect_knowledge": of.set.goals[place],
            "of_valve_set_by_hand": figure(of_hand),
            "of_pi_on_weigh_cells": figure(of_integral),
        })
    };
    let clumps = |place: usize| {
        let ClumpStanding { bales, controller, reachable, perfect, hand, clumps } =
            &of.clumps[place];
        json!({
            "driver": DRIVERS[place],
            "dense_bales": bales,
            "bales_with_clumps_per_1000": figure(controller),
            "of_those_laid_without_by_perfect_knowledge": figure(reachable),
            "of_perfect_knowledge": figure(perfect),
            "of_valve_set_by_hand": figure(hand),
            "clumps_per_1000_bales": clumps,
        })
    };
    json!({
        "sensors": of.set.name,
        "evenness": [kind(0), kind(1)],
        "clumps": [clumps(0), clumps(1)],
        "share_of_bite_inside_interval": figure(&of.inside),
        "median_account_error": figure(&of.account_error),
        "share_accounted_within_1_percent": figure(&of.well_accounted),
        "median_minimum_variance_index": figure(&of.minimum_variance),
        "needless_slowing_per_1000_bales_without_core": figure(&of.needless),
    })
}

fn figure(figure: &Figure) -> Value {
    let (low, high) = figure.interval.unwrap_or((f64::NAN, f64::NAN));
    json!({ "value": figure.value, "low": low, "high": high })
}
