//! The row behind the tractor: stretches of it against the target, and where they lie in a field.

use super::Lane;
use std::f64::consts::PI;
use strewn::bench::record::{BaleRun, Run};

/// Upper ends of the classes of laid / target; above the last is one class more.
const EDGES: [f64; 8] = [0.25, 0.5, 0.75, 0.9, 1.1, 1.25, 1.5, 2.0];

/// A piece of the row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Odometer at its beginning, m.
    pub from_m: f64,
    /// Odometer at its end, m.
    pub to_m: f64,
    /// Hay on it, kg/m.
    pub laid_kg_m: f64,
    /// Hay wanted there, kg/m.
    pub target_kg_m: f64,
}

impl Stretch {
    /// Classes of laid against target, thinnest first; the one in the middle is right.
    pub const CLASSES: usize = EDGES.len() + 1;

    /// Its class.
    #[must_use]
    pub fn class(&self) -> usize {
        let share = self.laid_kg_m / self.target_kg_m;
        EDGES.iter().position(|edge| share < *edge).unwrap_or(EDGES.len())
    }
}

/// Stretches of so many bins between two odometers, m, where a bale was being fed.
pub(super) fn stretches(lane: &Lane, from_m: f64, to_m: f64, bins: usize) -> Vec<Stretch> {
    let mut found = Vec::new();
    let ground_kg = lane.ground_kg();
    for row_m in lane.bales().iter().flat_map(BaleRun::rows_m) {
        let (low, high) = (row_m.0.max(from_m), row_m.1.min(to_m));
        let first = (low.max(0.0) / Run::BIN_M) as usize / bins * bins;
        let mut bin = first;
        while (bin as f64) * Run::BIN_M < high && bin < ground_kg.len() {
            let end = (bin + bins).min(ground_kg.len());
            let (begin_m, end_m) = (bin as f64 * Run::BIN_M, (bin + bins) as f64 * Run::BIN_M);
            let kg: f64 = ground_kg[bin..end].iter().sum();
            found.push(Stretch {
                from_m: begin_m,
                to_m: end_m,
                laid_kg_m: kg / (end_m - begin_m),
                target_kg_m: lane.target_at(begin_m),
            });
            bin = end;
        }
    }
    found
}

/// An invented field: the way goes to and fro over it, turning in half circles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Length of a straight, m.
    pub straight_m: f64,
    /// Distance between two straights, m.
    pub apart_m: f64,
}

impl Default for Field {
    fn default() -> Self {
        Self { straight_m: 150.0, apart_m: 12.0 }
    }
}

impl Field {
    /// Where an odometer, m, lies: along and across the straights, m.
    #[must_use]
    pub fn at(&self, odometer_m: f64) -> (f64, f64) {
        let radius_m = self.apart_m / 2.0;
        let turn_m = PI * radius_m;
        let lap = (odometer_m / (self.straight_m + turn_m)).floor();
        let along_m = odometer_m - lap * (self.straight_m + turn_m);
        let across_m = lap * self.apart_m;
        let back = lap.rem_euclid(2.0) == 1.0;
        let (x_m, y_m) = if along_m <= self.straight_m {
            (along_m, across_m)
        } else {
            let angle = (along_m - self.straight_m) / radius_m;
            let (sin, cos) = angle.sin_cos();
            (self.straight_m + radius_m * sin, across_m + radius_m * (1.0 - cos))
        };
        (if back { self.straight_m - x_m } else { x_m }, y_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_of_the_way_is_a_step_in_the_field() {
        let field = Field::default();
        let mut before = field.at(0.0);
        for step in 1..10_000 {
            let here = field.at(f64::from(step) * 0.1);
            let moved = ((here.0 - before.0).powi(2) + (here.1 - before.1).powi(2)).sqrt();
            assert!((moved - 0.1).abs() < 1e-3, "step {step} moved {moved} m");
            before = here;
        }
    }

    #[test]
    fn classes_rise_and_the_middle_is_right() {
        let class =
            |share| Stretch { from_m: 0.0, to_m: 1.0, laid_kg_m: share, target_kg_m: 1.0 }.class();
        let shares = [0.1, 0.3, 0.6, 0.8, 1.0, 1.2, 1.4, 1.9, 2.5];
        let classes: Vec<usize> = shares.iter().map(|share| class(*share)).collect();
        assert_eq!(classes, (0..Stretch::CLASSES).collect::<Vec<_>>());
    }
}
