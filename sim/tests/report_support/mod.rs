//! Made-up runs that look like real ones, for looking at reports. No figure of theirs is checked
//! against anything but itself.

use std::f64::consts::TAU;
use strewn::bench::record::{BaleRun, Run, Sample};
use strewn::random::Stream;
use strewn::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH, PA_PER_PSI};
use strewn_controller::safety::{Condition, Phase};

const TARGET_KG_M: f64 = 3.0 * KG_M_PER_LB_FT;
const BALE_KG: f64 = 1100.0 * KG_PER_LB;
const SPEED_M_S: f64 = 3.0 * M_S_PER_MPH;
const NAMES: [&str; 3] = ["even bale", "soft-core bale", "dense-core bale"];
/// Feet driven before each bale's first hay.
const LEAD_FT: f64 = 12.0;

/// Five contenders with growing unevenness on three bales each, about 280 s long.
pub(crate) fn contest() -> Vec<Run> {
    vec![
        run("controller", 0.12, 14.0),
        run("valve set by hand", 0.30, 60.0),
        run("speed-proportional", 0.22, 35.0),
        run("perfect knowledge", 0.07, 0.0),
        run("a fifth", 0.4, 20.0),
    ]
}

/// One contender: rates that wander by `spread`, and a clump of so many pounds in the last bale.
pub(crate) fn run(contender: &'static str, spread: f64, clump_lb: f64) -> Run {
    let mut run = Run {
        contender,
        bales: Vec::new(),
        samples: Vec::new(),
        ground_kg: Vec::new(),
        energy_j: 2.1e6,
    };
    let noise = Stream::root(7).named(contender);
    for (index, name) in NAMES.into_iter().enumerate() {
        let lead_bins = LEAD_FT / 0.1;
        run.ground_kg.resize(run.ground_kg.len() + lead_bins as usize, 0.0);
        let from_m = run.ground_kg.len() as f64 * Run::BIN_M;
        lay_bale(&mut run.ground_kg, noise.numbered(index as u64), spread);
        let to_m = run.ground_kg.len() as f64 * Run::BIN_M;
        let mut clumps = Vec::new();
        if index == 2 && clump_lb > 0.0 {
            let at = run.ground_kg.len() - 90;
            run.ground_kg[at] += clump_lb * KG_PER_LB;
            clumps.push(((to_m - 9.0 * M_PER_FT) / SPEED_M_S, clump_lb * KG_PER_LB));
        }
        run.bales.push(BaleRun {
            name: name.to_owned(),
            mass_kg: BALE_KG,
            left_kg: 6.0,
            target_kg_m: TARGET_KG_M,
            time_s: (from_m / SPEED_M_S, to_m / SPEED_M_S),
            strip_m: (from_m, to_m),
            between_rows_m: Vec::new(),
            clumps,
        });
    }
    let end_s = run.ground_kg.len() as f64 * Run::BIN_M / SPEED_M_S + 4.0;
    run.samples =
        (0..(end_s * 10.0) as u32).map(|count| sample(&run.bales, noise, count)).collect();
    run
}

fn lay_bale(ground_kg: &mut Vec<f64>, noise: Stream, spread: f64) {
    let bins = (BALE_KG - 6.0) / (TARGET_KG_M * Run::BIN_M);
    for bin in 0..bins as u64 {
        let wave = libm::sin(TAU * bin as f64 / 700.0) + libm::sin(TAU * bin as f64 / 130.0);
        let tuft = 2.0 * noise.uniform(bin);
        ground_kg.push(TARGET_KG_M * Run::BIN_M * (1.0 + spread * wave) * tuft);
    }
}

fn sample(bales: &[BaleRun], noise: Stream, count: u32) -> Sample {
    let time_s = f64::from(count) / 10.0;
    let bale = bales.iter().find(|bale| time_s < bale.time_s.1 + 1.0).unwrap_or(&bales[0]);
    let share = ((time_s - bale.time_s.0) / (bale.time_s.1 - bale.time_s.0)).clamp(0.0, 1.0);
    let laying = time_s >= bale.time_s.0 && time_s < bale.time_s.1;
    let dense = bale.name.starts_with("dense");
    let core = dense && share > 0.8;
    let stopped = (140.0..146.0).contains(&time_s);
    let wander = noise.normal(u64::from(count));
    let bite_kg = (3.4 - 1.1 * share + if core { 1.5 } else { 0.0 }) * f64::from(u8::from(laying));
    let turns_s = if laying && !stopped { 4.0 / (3.4 - 1.1 * share) } else { 0.0 };
    let deviation = 0.1 + 0.9 * libm::exp(-share * 12.0);
    Sample {
        time_s,
        odometer_m: time_s * SPEED_M_S,
        ground_speed_m_s: SPEED_M_S * (1.0 + 0.02 * wander),
        advised_speed_m_s: if core { 0.7 * SPEED_M_S } else { f64::INFINITY },
        roller_asked: turns_s,
        roller_turns_s: turns_s * (1.0 + 0.03 * wander),
        pressure_pa: turns_s * (500.0 + 80.0 * wander) * PA_PER_PSI,
        bite_kg,
        bite_estimate_kg: (3.3 - 1.0 * share + 0.05 * wander, deviation),
        left_kg: BALE_KG * (1.0 - share),
        left_estimate_kg: (BALE_KG * (1.0 - share) + 4.0 * wander, 3.0 + 25.0 * (1.0 - share)),
        duty: turns_s / 3.0,
        phase: match (stopped, laying, time_s < 2.0) {
            (true, ..) => Phase::Latched,
            (_, true, _) => Phase::Laying,
            (.., true) => Phase::Resting,
            _ => Phase::Armed,
        },
        cause: stopped.then_some(Condition::StopSwitch),
        core_near: core,
        holding: core && (0.88..0.93).contains(&share),
    }
}
