//! Ways of feeding as tables for a terminal and as JSON.

use super::words::{columns, number, percent, wrap};
use crate::compare::cost::{LARGEST_HERD, PARTS};
use crate::compare::defaults::WAYS;
use crate::compare::input::{Estimate, Key};
use crate::compare::practice::Check;
use crate::compare::uncertainty::{Swing, likeliest_farm};
use crate::compare::{Answer, Question};
use crate::units::{KG_PER_LB, M_PER_FT};
use serde_json::{Value, json};

const WIDTH: usize = 100;
/// Square metres in an acre.
const M2_PER_ACRE: f64 = 43_560.0 * M_PER_FT * M_PER_FT;
/// Swings that are told in words.
const TOLD_SWINGS: usize = 5;

/// The comparison as text, at most 100 columns, in US units and dollars.
#[must_use]
pub fn compare_text(answer: &Answer) -> String {
    let mut text = wrap(&asked(answer), WIDTH) + "\n\n";
    text += &columns(&effort(answer), 1);
    text += "\nYearly cost, USD, without the hay that is eaten\n";
    text += &columns(&cost(answer), 1);
    text += &format!("\nHow sure that is: {DRAWN}\n");
    text += &columns(&sureness(answer), 1);
    text += "\n";
    for sentence in [most_uncertain(answer), practice_sentence(answer)] {
        text += &(wrap(&sentence, WIDTH) + "\n");
    }
    text
}

/// What the interval columns mean.
pub(super) const DRAWN: &str = "90 % of 4,000 draws of all inputs between their bounds";

/// Herd and hay of the question.
pub(super) fn asked(answer: &Answer) -> String {
    let farm = likeliest_farm(&answer.question.farm);
    format!(
        "{}: {} head, {} lb of dry hay eaten a head and day, {} days, hay at {} USD a ton, bales of {} lb.",
        answer.question.name,
        number(farm.head, 0),
        number(farm.eaten_kg / KG_PER_LB, 1),
        number(farm.days, 0),
        number(farm.hay_usd_kg * 2_000.0 * KG_PER_LB, 0),
        number(farm.bale_kg / KG_PER_LB, 0),
    )
}

fn heads(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn rows(first: Vec<String>, row: impl Fn(usize) -> Vec<String>) -> Vec<Vec<String>> {
    let named = (0..WAYS.len()).map(|way| [vec![WAYS[way].to_owned()], row(way)].concat());
    std::iter::once(first).chain(named).collect()
}

/// Hay, time and ground of each way; heads first.
pub(super) fn effort(answer: &Answer) -> Vec<Vec<String>> {
    let names =
        ["", "lost fed", "in all", "bales", "min/bale", "min/day", "ground ac", "N lb/ac there"];
    rows(heads(&names), |way| {
        let outcome = &answer.outcomes[way];
        let lb_acre = outcome.nitrogen_kg_m2 * M2_PER_ACRE / KG_PER_LB;
        vec![
            percent(Some(outcome.lost_kg / outcome.fed_kg), 1),
            percent(Some(outcome.lost), 1),
            number(outcome.bales, 0),
            number(outcome.pasture_s / 60.0, 1),
            number(outcome.day_s / 60.0, 0),
            number(outcome.ground_m2 / M2_PER_ACRE, 2),
            number(lb_acre, 0),
        ]
    })
}

/// Parts of the yearly cost of each way; heads first.
pub(super) fn cost(answer: &Answer) -> Vec<Vec<String>> {
    let names =
        ["", "capital", "taxes etc", "repair", "fuel", "labor", "hay lost", "total", "head-day"];
    rows(heads(&names), |way| {
        let outcome = &answer.outcomes[way];
        let parts = outcome.parts_usd.iter().map(|part| number(*part, 0));
        parts.chain([number(outcome.total_usd(), 0), number(outcome.head_day_usd, 3)]).collect()
    })
}

/// Intervals and herds; heads first.
pub(super) fn sureness(answer: &Answer) -> Vec<Vec<String>> {
    let names = ["", "USD/head-day", "middle", "cheaper", "cheapest", "pays from"];
    rows(heads(&names), |way| {
        let spread = &answer.spreads[way];
        let is_base = way == answer.question.against;
        let pays = match answer.pays_from[way] {
            _ if is_base => "the base".to_owned(),
            Some(herd) => format!("{herd} head"),
            None => "never".to_owned(),
        };
        let cheaper = if is_base { String::new() } else { percent(Some(spread.beats), 0) };
        vec![
            format!("{} to {}", number(spread.low_usd, 3), number(spread.high_usd, 3)),
            number(spread.median_usd, 3),
            cheaper,
            percent(Some(spread.cheapest), 0),
            pays,
        ]
    })
}

/// What an input is called in a sentence or picture.
pub(super) fn swing_name(swing: &Swing) -> String {
    if swing.of.is_empty() { swing.key.to_owned() } else { format!("{} ({})", swing.key, swing.of) }
}

fn most_uncertain(answer: &Answer) -> String {
    let told: Vec<String> = answer
        .swings
        .iter()
        .take(TOLD_SWINGS)
        .map(|swing| {
            format!(
                "{} from {} to {} moves it by {}",
                swing_name(swing),
                number(swing.bounds.0, 1),
                number(swing.bounds.1, 1),
                number(swing.width_usd(), 3)
            )
        })
        .collect();
    format!(
        "Most uncertain in the cost a head-day of {} less {}, in USD: {}. Pays from: the herd from which on, up to \
         {LARGEST_HERD} head, it costs no more than the base.",
        WAYS[answer.question.detail],
        WAYS[answer.question.against],
        told.join("; ")
    )
}

/// How the comparison stands to common practice.
pub(super) fn practice_sentence(answer: &Answer) -> String {
    let (agree, differ): (Vec<&Check>, Vec<&Check>) =
        answer.checks.iter().partition(|check| check.agrees);
    let mut sentence = format!(
        "Of {} figures of common practice (no source), {} agree with this comparison",
        answer.checks.len(),
        agree.len()
    );
    if differ.is_empty() {
        return sentence + ".";
    }
    let told: Vec<String> = differ
        .iter()
        .map(|check| format!("{} (here {}, practice {})", check.what, check.given, check.practice))
        .collect();
    sentence += &format!("; it differs in {}; the page says why.", told.join("; "));
    sentence
}

/// What would follow from practice's own figure for rollers.
pub(super) fn practice_herd(answer: &Answer) -> String {
    let herd = answer.practice_herd.map_or_else(
        || format!("would not pay against an open ring for any herd up to {LARGEST_HERD}"),
        |herd| format!("would pay against an open ring from {herd} head"),
    );
    format!("With a loss of 5 %, the most that practice says, rollers without chains {herd}.")
}

/// Every input of the question: whose it is, its key, its value, its source.
pub(super) fn inputs(question: &Question) -> Vec<[String; 4]> {
    let mut lines = Vec::new();
    let line = |of: &str, key: &Key, estimate: &Estimate| {
        let value = crate::compare::written(key, estimate);
        [of.to_owned(), key.name.to_owned(), value, estimate.source.to_owned()]
    };
    question.farm.map(|key, estimate| lines.push(line("all ways", &key, estimate)));
    for (name, way) in WAYS.iter().zip(&question.ways) {
        way.map(|key, estimate| lines.push(line(name, &key, estimate)));
    }
    lines
}

/// The comparison as JSON.
#[must_use]
pub fn compare_json(answer: &Answer) -> Value {
    let ways: Vec<Value> = (0..WAYS.len()).map(|way| way_json(answer, way)).collect();
    let swings: Vec<Value> = answer
        .swings
        .iter()
        .map(|swing| {
            json!({
                "input": swing.key,
                "of": swing.of,
                "bounds": [swing.bounds.0, swing.bounds.1],
                "difference_usd_per_head_day": [swing.difference_usd.0, swing.difference_usd.1],
            })
        })
        .collect();
    let inputs: Vec<Value> = inputs(&answer.question)
        .into_iter()
        .map(|[of, key, value, source]| json!({ "of": of, "key": key, "value": value, "source": source }))
        .collect();
    let checks: Vec<Value> = answer
        .checks
        .iter()
        .map(|check| {
            json!({
                "what": check.what,
                "common_practice": check.practice,
                "here": check.given,
                "agrees": check.agrees,
            })
        })
        .collect();
    json!({
        "name": answer.question.name,
        "seed": answer.seed,
        "against": WAYS[answer.question.against],
        "ways": ways,
        "detail": WAYS[answer.question.detail],
        "swings": swings,
        "common_practice": checks,
        "inputs": inputs,
    })
}

fn way_json(answer: &Answer, way: usize) -> Value {
    let (outcome, spread) = (&answer.outcomes[way], &answer.spreads[way]);
    let parts: serde_json::Map<String, Value> = PARTS
        .iter()
        .zip(outcome.parts_usd)
        .map(|(name, part)| ((*name).to_owned(), json!(part)))
        .collect();
    json!({
        "way": WAYS[way],
        "hay_lost_percent": 100.0 * outcome.lost_kg / outcome.fed_kg,
        "hay_lost_with_storage_percent": 100.0 * outcome.lost,
        "bales": outcome.bales,
        "pasture_min_per_bale": outcome.pasture_s / 60.0,
        "min_per_day": outcome.day_s / 60.0,
        "ground_acres": outcome.ground_m2 / M2_PER_ACRE,
        "nitrogen_lb_per_acre": outcome.nitrogen_kg_m2 * M2_PER_ACRE / KG_PER_LB,
        "yearly_usd": { "parts": parts, "total": outcome.total_usd() },
        "usd_per_head_day": outcome.head_day_usd,
        "interval_90_percent": [spread.low_usd, spread.high_usd],
        "median": spread.median_usd,
        "share_cheaper_than_base": spread.beats,
        "share_cheapest": spread.cheapest,
        "pays_from_head": answer.pays_from[way],
    })
}
