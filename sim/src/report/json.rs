//! The figures as one JSON object for other programs. Units are in the names; a figure that does not
//! exist is null. Numbers are rounded far below what they mean.

use super::{LONG_M, SHORT_M, ordered};
use crate::bench::record::Run;
use crate::score::{self, Clump, Figures};
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT};
use serde_json::{Value, json};

/// Kilograms in a short ton, 2000 lb.
const KG_PER_TON: f64 = 2000.0 * KG_PER_LB;

/// Every contender's figures over the run and for each bale, with what is needed to repeat them.
#[must_use]
pub fn json(runs: &[Run], seed: u64, scenario_name: &str) -> Value {
    let contenders: Vec<Value> = ordered(runs).into_iter().map(contender).collect();
    json!({
        "scenario": scenario_name,
        "seed": seed,
        "source": "simulated bales",
        "interval_short_ft": 3,
        "interval_long_ft": 10,
        "cv_divisor": "n - 1",
        "contenders": contenders,
    })
}

fn contender(run: &Run) -> Value {
    let bales = run.bales.iter().enumerate().map(|(index, bale)| {
        let mut value =
            figures(&score::bale(run, index, SHORT_M), &score::bale(run, index, LONG_M));
        value["name"] = json!(bale.name);
        value["target_lb_ft"] = round(bale.target_kg_m / KG_M_PER_LB_FT);
        value["target_kg_m"] = round(bale.target_kg_m);
        value
    });
    let bales: Vec<Value> = bales.collect();
    let whole = figures(&score::whole(run, SHORT_M), &score::whole(run, LONG_M));
    json!({ "contender": run.contender, "whole": whole, "bales": bales })
}

fn figures(short: &Figures, long: &Figures) -> Value {
    let heaviest = short.heaviest.map(|place| {
        json!({
            "lb_ft": round(place.laid_kg_m / KG_M_PER_LB_FT),
            "kg_m": round(place.laid_kg_m),
            "from_ft": round(place.from_m / M_PER_FT),
            "from_m": round(place.from_m),
        })
    });
    let clumps: Vec<Value> = short.clumps.iter().map(clump).collect();
    json!({
        "segments_3_ft": short.segments,
        "unevenness_3_ft": maybe(short.unevenness),
        "unevenness_10_ft": maybe(long.unevenness),
        "cv_3_ft": maybe(short.variation),
        "cv_10_ft": maybe(long.variation),
        "share_within_10_percent_3_ft": maybe(short.within_tenth),
        "share_below_half_3_ft": maybe(short.below_half),
        "share_above_twice_3_ft": maybe(short.above_twice),
        "heaviest_3_ft": heaviest,
        "clumps": clumps,
        "loaded_lb": round(short.loaded_kg / KG_PER_LB),
        "loaded_kg": round(short.loaded_kg),
        "left_lb": round(short.left_kg / KG_PER_LB),
        "left_kg": round(short.left_kg),
        "laid_lb": round(short.laid_kg / KG_PER_LB),
        "laid_kg": round(short.laid_kg),
        "strip_ft": round(short.length_m / M_PER_FT),
        "strip_m": round(short.length_m),
        "seams_ft": round(short.seams_m / M_PER_FT),
        "seams_m": round(short.seams_m),
        "time_s": round(short.time_s),
        "mean_rate_lb_ft": maybe(short.mean_kg_m().map(|rate| rate / KG_M_PER_LB_FT)),
        "mean_rate_kg_m": maybe(short.mean_kg_m()),
        "energy_kwh_per_ton": maybe(short.energy_kwh_mg.map(|work| work * KG_PER_TON / 1000.0)),
        "energy_kwh_per_mg": maybe(short.energy_kwh_mg),
    })
}

fn clump(clump: &Clump) -> Value {
    json!({
        "from_ft": round(clump.from_m / M_PER_FT),
        "to_ft": round(clump.to_m / M_PER_FT),
        "from_m": round(clump.from_m),
        "to_m": round(clump.to_m),
        "heaviest_3_ft_lb": round(clump.heaviest_kg / KG_PER_LB),
        "heaviest_3_ft_kg": round(clump.heaviest_kg),
    })
}

/// Rounded to a millionth; null when not finite.
fn round(value: f64) -> Value {
    json!((value * 1e6).round() / 1e6)
}

fn maybe(value: Option<f64>) -> Value {
    round(value.unwrap_or(f64::NAN))
}
