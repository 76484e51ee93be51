//! A weighed row, or a trial, as text to be read or quoted and as JSON.

use super::words::{columns, number, percent, wrap};
use crate::row::comparison::{Finding, Method};
use crate::row::laid::Laid;
use crate::row::trial::{Source, Trial};
use crate::row::weighed::{Evenness, Interval};
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT};
use serde_json::{Value, json};

const WIDTH: usize = 100;

/// The evenness of a weighed row in sentences; with `laid`, beside what the machine accounted for.
#[must_use]
pub fn row_text(row: &Evenness, laid: Option<&Laid>) -> String {
    let sentences = row_sentences(row, laid);
    sentences.iter().map(|sentence| wrap(sentence, WIDTH) + "\n").collect()
}

/// The sentences of a weighed row.
pub(super) fn row_sentences(row: &Evenness, laid: Option<&Laid>) -> Vec<String> {
    let sure = number(100.0 * row.confidence, 0);
    let rate = in_lb_ft(row.rate_kg_m);
    let mut sentences = vec![
        format!(
            "{} pieces of {} ft ({} m), {} lb ({} kg) on {} ft ({} m).",
            row.pieces,
            number(row.interval_m / M_PER_FT, 2),
            number(row.interval_m, 2),
            number(row.mass_kg / KG_PER_LB, 1),
            number(row.mass_kg, 1),
            number(row.length_m / M_PER_FT, 1),
            number(row.length_m, 1),
        ),
        format!(
            "Mean rate: {} lb/ft ({} kg/m); {sure} % interval {}.",
            number(rate.value, 2),
            number(row.rate_kg_m.value, 2),
            between(rate, 2, "lb/ft"),
        ),
        format!(
            "Coefficient of variation over {} ft: {}; {sure} % interval {} (divisor n - 1).",
            number(row.interval_m / M_PER_FT, 2),
            percent(Some(row.variation.value), 1),
            between(hundredfold(row.variation), 1, "%"),
        ),
        unevenness(row, &sure),
        format!(
            "Within 10 % of {aim}: {} of the pieces; below half: {}; above twice: {}. Heaviest piece: {} lb/ft, {} \
             ft along the row.",
            percent(Some(row.within_tenth), 0),
            percent(Some(row.below_half), 0),
            percent(Some(row.above_twice), 0),
            number(row.heaviest.rate_kg_m() / KG_M_PER_LB_FT, 1),
            number(row.heaviest.from_m / M_PER_FT, 0),
            aim = if row.target_kg_m.is_some() { "the target" } else { "the mean" },
        ),
        grade(row.variation.value).to_owned(),
    ];
    if let Some(target_kg_m) = row.target_kg_m {
        sentences.insert(2, against("the target", target_kg_m, row, &sure));
    }
    if let Some(rate_kg_m) = laid.and_then(Laid::rate_kg_m) {
        sentences.push(against("what the machine accounted for", rate_kg_m, row, &sure));
    }
    if row.neighbours.abs() > 2.0 / (row.pieces as f64).sqrt() {
        sentences.push(format!(
            "Neighbouring pieces are alike (correlation {}): the intervals above take them as \
             independent and are too narrow.",
            number(row.neighbours, 2)
        ));
    }
    sentences
}

fn unevenness(row: &Evenness, sure: &str) -> String {
    let of = if row.target_kg_m.is_some() { "target" } else { "mean, as no target was stated" };
    format!(
        "Unevenness (root mean square of rate over {of}, less 1): {}; {sure} % interval {}.",
        number(row.unevenness.value, 3),
        between(row.unevenness, 3, ""),
    )
}

/// The mean rate beside another, and whether the interval can tell them apart.
fn against(what: &str, other_kg_m: f64, row: &Evenness, sure: &str) -> String {
    let rate = row.rate_kg_m;
    let share = rate.value / other_kg_m - 1.0;
    let told = if (rate.low..=rate.high).contains(&other_kg_m) {
        format!("no more than chance explains ({sure} % interval)")
    } else {
        format!("more than chance explains ({sure} % interval)")
    };
    let side = if share < 0.0 { "below" } else { "above" };
    format!(
        "The mean lies {} {side} {what} of {} lb/ft ({} kg/m): {told}.",
        percent(Some(share.abs()), 1),
        number(other_kg_m / KG_M_PER_LB_FT, 2),
        number(other_kg_m, 2),
    )
}

/// What people who spread other things call such a coefficient.
///
/// Source: Forristal, Teagasc, talk to the Fertiliser Association of Ireland: up to 15 % acceptable,
/// above 20 % costly. No published grade for rows of hay is known.
#[must_use]
pub fn grade(variation: f64) -> &'static str {
    if variation <= 0.15 {
        "Grade: good. Up to 15 % is called acceptable for fertiliser (Forristal, Teagasc); no grade for \
         hay is published."
    } else if variation <= 0.20 {
        "Grade: fair. For fertiliser up to 15 % is called acceptable and above 20 % costly (Forristal, \
         Teagasc); no grade for hay is published."
    } else {
        "Grade: poor. Above 20 % is called costly for fertiliser (Forristal, Teagasc); no grade for hay \
         is published."
    }
}

fn between(interval: Interval, decimals: usize, unit: &str) -> String {
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    if interval.high.is_finite() {
        format!("{} to {}{unit}", number(interval.low, decimals), number(interval.high, decimals))
    } else {
        format!("from {}{unit}, without a bound above", number(interval.low, decimals))
    }
}

fn scaled(interval: Interval, by: f64) -> Interval {
    Interval { value: interval.value * by, low: interval.low * by, high: interval.high * by }
}

fn hundredfold(interval: Interval) -> Interval {
    scaled(interval, 100.0)
}

fn in_lb_ft(interval: Interval) -> Interval {
    scaled(interval, 1.0 / KG_M_PER_LB_FT)
}

/// A weighed row as JSON; units are in the names, a bound that is none is null.
#[must_use]
pub fn row_json(row: &Evenness, laid: Option<&Laid>) -> Value {
    let interval = |interval: Interval| json!({ "value": interval.value, "low": interval.low, "high": interval.high });
    json!({
        "pieces": row.pieces,
        "piece_ft": row.interval_m / M_PER_FT,
        "length_ft": row.length_m / M_PER_FT,
        "hay_lb": row.mass_kg / KG_PER_LB,
        "confidence": row.confidence,
        "mean_rate_lb_ft": interval(in_lb_ft(row.rate_kg_m)),
        "target_lb_ft": row.target_kg_m.map(|target| target / KG_M_PER_LB_FT),
        "accounted_lb_ft": laid.and_then(Laid::rate_kg_m).map(|rate| rate / KG_M_PER_LB_FT),
        "cv": interval(row.variation),
        "cv_divisor": "n - 1",
        "unevenness": interval(row.unevenness),
        "share_within_10_percent": row.within_tenth,
        "share_below_half": row.below_half,
        "share_above_twice": row.above_twice,
        "heaviest_lb_ft": row.heaviest.rate_kg_m() / KG_M_PER_LB_FT,
        "correlation_of_neighbours": row.neighbours,
    })
}

/// A trial as text: for each measure a sentence, the means and the analysis of variance.
#[must_use]
pub fn trial_text(trial: &Trial, findings: &[Finding<'_>]) -> String {
    let design = wrap(&design(trial), WIDTH) + "\n";
    let blocks = findings.iter().map(|finding| {
        let mut text = format!("\n{}\n\n", wrap(&verdict(finding), WIDTH));
        text += &columns(&means(trial, finding), 1);
        text += &format!("\n{}\n\n", wrap(&footnote(finding), WIDTH));
        text + &columns(&variance(finding), 1)
    });
    design + &blocks.collect::<String>()
}

/// What kind of trial it was.
pub(super) fn design(trial: &Trial) -> String {
    let (treatments, blocks) = (trial.treatments.len(), trial.blocks.len());
    if blocks == 0 {
        let plots = trial.measures.first().map_or(0, |measure| measure.plots.len());
        return format!("Completely randomized design: {treatments} treatments on {plots} plots.");
    }
    format!("Randomized complete block design: {treatments} treatments in {blocks} blocks.")
}

/// Whether treatments differed, as a bulletin would say it.
pub(super) fn verdict(finding: &Finding<'_>) -> String {
    let name = &finding.measure.name;
    let Some(comparison) = &finding.comparison else {
        return format!("{name}: the plots leave no error to judge by; nothing can be tested.");
    };
    let (ratio, probability) = finding.analysis.treatments.test(&finding.analysis.error);
    let differed = if probability < comparison.level { "differed" } else { "did not differ" };
    format!(
        "{name}: treatments {differed} (F = {} on {} and {} degrees of freedom, {}).",
        number(ratio, 2),
        number(finding.analysis.treatments.freedom, 0),
        number(finding.analysis.error.freedom, 0),
        chance(probability, "P"),
    )
}

/// A probability as papers print it.
fn chance(probability: f64, name: &str) -> String {
    if probability < 0.001 {
        format!("{name} < 0.001")
    } else {
        format!("{name} = {}", number(probability, 3))
    }
}

/// Means with standard errors, highest first; heads first.
pub(super) fn means(trial: &Trial, finding: &Finding<'_>) -> Vec<Vec<String>> {
    let analysis = &finding.analysis;
    let mut order: Vec<usize> = (0..trial.treatments.len()).collect();
    order.sort_by(|one, other| analysis.means[*other].total_cmp(&analysis.means[*one]));
    let decimals = decimals(analysis.error.mean_square().sqrt());
    let mut rows =
        vec![["treatment", "plots", "mean", "standard error", "group"].map(str::to_owned).to_vec()];
    rows.extend(order.into_iter().map(|treatment| {
        let letters = finding.comparison.as_ref().map_or("", |all| &all.letters[treatment]);
        vec![
            trial.treatments[treatment].clone(),
            number(analysis.counts[treatment], 0),
            number(analysis.means[treatment], decimals),
            number(analysis.standard_error(treatment), decimals + 1),
            letters.to_owned(),
        ]
    }));
    rows
}

/// Decimals that a mean with such a deviation deserves.
fn decimals(deviation: f64) -> usize {
    if deviation > 0.0 { (1.0 - libm::log10(deviation)).ceil().clamp(0.0, 6.0) as usize } else { 3 }
}

/// What the letters mean, and the differences behind them.
pub(super) fn footnote(finding: &Finding<'_>) -> String {
    let Some(comparison) = &finding.comparison else { return String::new() };
    let level = percent(Some(comparison.level), 0);
    let (_, probability) = finding.analysis.treatments.test(&finding.analysis.error);
    let (low, high) = comparison
        .pairs
        .iter()
        .fold((f64::MAX, 0.0), |(low, high), pair| (pair.reach.min(low), pair.reach.max(high)));
    let decimals = decimals(finding.analysis.error.mean_square().sqrt()) + 1;
    let needed = if high - low > 1e-9 * high {
        format!("{} to {}", number(low, decimals), number(high, decimals))
    } else {
        number(high, decimals)
    };
    let method = match comparison.method {
        Method::Tukey => "Tukey's honestly significant difference",
        Method::LeastDifference => "the least significant difference",
    };
    let mut note = format!(
        "Means that share a letter do not differ by {method} at {level} ({needed}). Coefficient of \
         variation {}.",
        percent(Some(finding.analysis.variation()), 1)
    );
    if comparison.method == Method::LeastDifference && probability >= comparison.level {
        note += " As F is not significant, differences between means should not be claimed.";
    }
    note
}

/// The table of variance; heads first.
pub(super) fn variance(finding: &Finding<'_>) -> Vec<Vec<String>> {
    let analysis = &finding.analysis;
    let decimals = decimals(analysis.error.mean_square().sqrt()) + 1;
    let line = |name: &str, source: &Source, tested: bool| {
        let (ratio, probability) = source.test(&analysis.error);
        let tested = tested && finding.comparison.is_some();
        let or_none = |text: String| if tested { text } else { String::new() };
        vec![
            name.to_owned(),
            number(source.freedom, 0),
            number(source.squares, decimals),
            number(source.mean_square(), decimals),
            or_none(number(ratio, 2)),
            or_none(if probability < 0.001 {
                "< 0.001".to_owned()
            } else {
                number(probability, 3)
            }),
        ]
    };
    let heads = ["source", "degrees of freedom", "sum of squares", "mean square", "F", "P"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    rows.push(line("treatments", &analysis.treatments, true));
    rows.extend(analysis.blocks.as_ref().map(|blocks| line("blocks", blocks, true)));
    rows.push(line("error", &analysis.error, false));
    let mut total = line("total", &analysis.total, false);
    total[3].clear();
    rows.push(total);
    rows
}

/// A trial as JSON.
#[must_use]
pub fn trial_json(trial: &Trial, findings: &[Finding<'_>]) -> Value {
    let measures: Vec<Value> =
        findings.iter().map(|finding| measure_json(trial, finding)).collect();
    json!({ "treatments": trial.treatments, "blocks": trial.blocks, "measures": measures })
}

fn measure_json(trial: &Trial, finding: &Finding<'_>) -> Value {
    let analysis = &finding.analysis;
    let source = |source: &Source| json!({ "degrees_of_freedom": source.freedom, "sum_of_squares": source.squares });
    let (ratio, probability) = analysis.treatments.test(&analysis.error);
    let means: Vec<Value> = (0..trial.treatments.len())
        .map(|treatment| {
            json!({
                "treatment": trial.treatments[treatment],
                "plots": analysis.counts[treatment],
                "mean": analysis.means[treatment],
                "standard_error": analysis.standard_error(treatment),
                "letters": finding.comparison.as_ref().map(|all| &all.letters[treatment]),
            })
        })
        .collect();
    let pairs: Vec<Value> = finding
        .comparison
        .iter()
        .flat_map(|all| &all.pairs)
        .map(|pair| {
            json!({
                "treatments": [trial.treatments[pair.treatments.0], trial.treatments[pair.treatments.1]],
                "difference": pair.difference,
                "interval": [pair.difference - pair.reach, pair.difference + pair.reach],
                "p": pair.probability,
            })
        })
        .collect();
    json!({
        "measure": finding.measure.name,
        "f": ratio,
        "p": probability,
        "sources": {
            "treatments": source(&analysis.treatments),
            "blocks": analysis.blocks.as_ref().map(source),
            "error": source(&analysis.error),
            "total": source(&analysis.total),
        },
        "means": means,
        "pairs": pairs,
    })
}
