//! What a search for settings found, as text and as JSON; and settings explained.

use super::many::brackets;
use super::words::{columns, number, wrap};
use crate::study::summary::Figure;
use crate::tune::knobs::Knobs;
use crate::tune::progress::Progress;
use crate::tune::proof::Proof;
use crate::tune::trial::Objectives;
use serde_json::{Value, json};
use strewn_controller::settings::Field;

/// What a report of a search is made from.
#[derive(Clone, Copy, Debug)]
pub struct TuneInput<'a> {
    /// Name of the training population.
    pub population: &'a str,
    /// Seeds of training and of proof.
    pub seeds: (u64, u64),
    /// The command that repeats it.
    pub command: &'a str,
    /// What was searched.
    pub knobs: &'a Knobs,
    /// What was tried.
    pub progress: &'a Progress,
    /// Before and after on bales that the search has not seen.
    pub proof: &'a Proof,
}

const CAPTION: &str = "\
Simulated bales. Uneven: unevenness over 10 ft divided by that of perfect knowledge on the same bale,
geometric mean. Clumps: for 1,000 bales. Time: of laying, divided by that of perfect knowledge.
";

/// Width of a line.
const WIDTH: usize = 100;

/// The tables. Ends with a line end.
#[must_use]
pub fn tune_text(input: &TuneInput<'_>) -> String {
    let mut text = CAPTION.to_owned();
    let (training, proof) = input.seeds;
    let tried = input.progress.count();
    text +=
        &format!("\nTraining: {}, seed {training}; {tried} settings tried.\n", input.population);
    text += "Settings that nothing tried betters in everything:\n";
    text += &columns(&front_rows(input), 0);
    text += &format!("\n{}\n", wrap(&verdict(input), WIDTH));
    text += &columns(&proof_rows(input.proof), 1);
    text += &format!("\nProof: {} bales under seed {proof}.\n\n", input.proof.bales);
    text + &columns(&change_rows(input), 1)
}

/// What came of it, in plain words.
pub(super) fn verdict(input: &TuneInput<'_>) -> String {
    let proof = input.proof;
    let Some((low, high)) = proof.unevenness.interval else {
        return "There are too few bales to tell whether anything is better.".to_owned();
    };
    let percent = |share: f64| number(100.0 * (share - 1.0), 1);
    let change = format!(
        "On bales that the search has not seen, unevenness changed by {} % ({} to {} %), clumps by {} {} \
         of 1,000 bales",
        percent(proof.unevenness.value),
        percent(low),
        percent(high),
        number(proof.clumps.value, 0),
        brackets(proof.clumps, 0),
    );
    let judged = if !proof.is_better() {
        "the settings found are no better than the usual ones: keep those"
    } else if high < 1.0 {
        "the settings found are more even"
    } else {
        "the settings found may be better, but so few bales do not show that they are more even"
    };
    format!("{change}: {judged}.")
}

fn objective_cells(objectives: &Objectives) -> Vec<String> {
    let Objectives { unevenness, clumps, time } = objectives;
    vec![number(*unevenness, 3), number(*clumps, 0), number(*time, 3)]
}

/// A head and a row for each member of the front; the chosen one is marked.
pub(super) fn front_rows(input: &TuneInput<'_>) -> Vec<Vec<String>> {
    let mut rows = vec![["uneven", "clumps", "time", ""].map(str::to_owned).to_vec()];
    let best = input.progress.best().map(|(values, _)| values);
    for (values, objectives) in input.progress.front() {
        let mut row = objective_cells(objectives);
        row.push(if Some(values) == best { "chosen".to_owned() } else { String::new() });
        rows.push(row);
    }
    rows
}

/// A head, before, after, and the change.
pub(super) fn proof_rows(proof: &Proof) -> Vec<Vec<String>> {
    let head = ["", "uneven", "clumps", "time"].map(str::to_owned).to_vec();
    let row =
        |name: &str, objectives| [vec![name.to_owned()], objective_cells(objectives)].concat();
    let with = |figure: Figure, decimals| {
        format!("{} {}", number(figure.value, decimals), brackets(figure, decimals))
    };
    let change = vec![
        "change".to_owned(),
        format!("x {}", with(proof.unevenness, 3)),
        with(proof.clumps, 0),
        format!("x {}", with(proof.time, 3)),
    ];
    vec![head, row("before", &proof.before), row("after", &proof.after), change]
}

/// A head and a row for each setting that was changed.
pub(super) fn change_rows(input: &TuneInput<'_>) -> Vec<Vec<String>> {
    let mut rows =
        vec![["setting", "before", "after", "least", "most"].map(str::to_owned).to_vec()];
    let Some((values, _)) = input.progress.best() else { return rows };
    for (knob, value) in input.knobs.0.iter().zip(values) {
        let Field { name, low, high, typical, .. } = knob.field;
        if *value != typical {
            let whole = |value: i32| number(f64::from(value), 0);
            rows.push(vec![
                name.to_owned(),
                whole(typical),
                whole(*value),
                whole(low),
                whole(high),
            ]);
        }
    }
    rows
}

/// Settings with their meaning, a paragraph each: those of a file, or all.
#[must_use]
pub fn explained(settings: &[(&str, Field, Option<i32>)]) -> String {
    let mut text = String::new();
    let mut before = "";
    for (section, field, value) in settings {
        if before != *section {
            text += &format!("[{section}]\n");
            before = *section;
        }
        let Field { name, words, low, high, typical } = field;
        let value = value.map_or_else(String::new, |value| format!(" = {value}"));
        text += &format!("{name}{value}\n   {words} {low} to {high}, usually {typical}.\n");
    }
    text
}

/// Everything, for other programs.
#[must_use]
pub fn tune_json(input: &TuneInput<'_>) -> Value {
    let objectives = |of: &Objectives| {
        json!({
            "unevenness_10_ft_of_perfect_knowledge": of.unevenness,
            "clumps_per_1000_bales": of.clumps,
            "time_of_perfect_knowledge": of.time,
        })
    };
    let settings = |values: &[i32]| {
        let named = input.knobs.0.iter().zip(values);
        named
            .map(|(knob, value)| (knob.field.name.to_owned(), json!(value)))
            .collect::<serde_json::Map<_, _>>()
    };
    let figure = |figure: Figure| {
        let (low, high) = figure.interval.unwrap_or((f64::NAN, f64::NAN));
        json!({ "value": figure.value, "low": low, "high": high })
    };
    let member = |(values, of): &(Vec<i32>, Objectives)| json!({ "objectives": objectives(of), "settings": settings(values) });
    let proof = input.proof;
    json!({
        "population": input.population,
        "training_seed": input.seeds.0,
        "proof_seed": input.seeds.1,
        "source": "simulated bales",
        "tried": input.progress.count(),
        "chosen": input.progress.best().map(member),
        "front": input.progress.front().into_iter().map(member).collect::<Vec<_>>(),
        "proof": {
            "bales": proof.bales,
            "before": objectives(&proof.before),
            "after": objectives(&proof.after),
            "unevenness_after_over_before": figure(proof.unevenness),
            "clumps_after_less_before": figure(proof.clumps),
            "time_after_over_before": figure(proof.time),
        },
    })
}
