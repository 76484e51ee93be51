//! Hay in one place: the heaviest window, and windows so heavy that animals fight over them.
//!
//! Windows begin at every ground bin of a strip and may reach beyond its end, over bare ground or the
//! next strip: the last of a bale falls in one heap at the very end, and a short heap must not look
//! harmless because it ends early.

use super::Strip;
use crate::bench::record::Run;
use crate::units::{KG_PER_LB, M_PER_FT};

/// Length over which a clump and the heaviest place are measured: 3 ft, m.
pub const WINDOW_M: f64 = 3.0 * M_PER_FT;
/// The same in ground bins.
const WINDOW_BINS: usize = 30;
/// What a window must hold above its target before it counts as a clump: 10 lb, kg.
const CLUMP_ABOVE_KG: f64 = 10.0 * KG_PER_LB;

/// The heaviest window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heaviest {
    /// Hay in it, kg/m.
    pub laid_kg_m: f64,
    /// Odometer at its start, m.
    pub from_m: f64,
}

/// Windows above twice the target that also hold more than 10 lb above the target; those that overlap
/// are one clump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clump {
    /// Odometer at the start of its first window, m.
    pub from_m: f64,
    /// Odometer at the end of its last window, m.
    pub to_m: f64,
    /// Hay in its heaviest window, kg.
    pub heaviest_kg: f64,
}

/// Hay in the window that begins at a bin, kg.
fn window_kg(ground_kg: &[f64], from: usize) -> f64 {
    ground_kg[from..(from + WINDOW_BINS).min(ground_kg.len())].iter().sum()
}

/// The heaviest window of some strips, the first of equals; `None` when no hay was laid.
pub(super) fn heaviest(ground_kg: &[f64], strips: &[Strip]) -> Option<Heaviest> {
    let mut best = (0.0, 0);
    for from in strips.iter().flat_map(|strip| strip.bins.clone()) {
        let hay_kg = window_kg(ground_kg, from);
        if hay_kg > best.0 {
            best = (hay_kg, from);
        }
    }
    (best.0 > 0.0)
        .then(|| Heaviest { laid_kg_m: best.0 / WINDOW_M, from_m: best.1 as f64 * Run::BIN_M })
}

/// The clumps of some strips, in the order laid; none where the target is not a positive number.
pub(super) fn clumps(ground_kg: &[f64], strips: &[Strip]) -> Vec<Clump> {
    let mut clumps: Vec<Clump> = Vec::new();
    let mut end = 0;
    for strip in strips.iter().filter(|strip| strip.target_kg_m > 0.0) {
        let target_kg = strip.target_kg_m * WINDOW_M;
        let limit_kg = (2.0 * target_kg).max(target_kg + CLUMP_ABOVE_KG);
        for from in strip.bins.clone() {
            let hay_kg = window_kg(ground_kg, from);
            if hay_kg <= limit_kg {
                continue;
            }
            let to_m = (from + WINDOW_BINS) as f64 * Run::BIN_M;
            match clumps.last_mut() {
                Some(clump) if from < end => {
                    clump.to_m = to_m;
                    clump.heaviest_kg = clump.heaviest_kg.max(hay_kg);
                }
                _ => {
                    let from_m = from as f64 * Run::BIN_M;
                    clumps.push(Clump { from_m, to_m, heaviest_kg: hay_kg });
                }
            }
            end = from + WINDOW_BINS;
        }
    }
    clumps
}
