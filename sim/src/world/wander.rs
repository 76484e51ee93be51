//! Slow noise: straight lines between drawn knots.

use super::STEP_S;
use crate::random::Stream;

/// Noise of mean 0 and deviation 1 that stays alike over the time between two knots.
#[derive(Clone, Debug)]
pub(crate) struct Wander {
    random: Stream,
    knot_steps: u64,
    knot: u64,
    from: f64,
    to: f64,
}

/// On a straight line between two independent knots the mean variance is 2/3 of theirs.
const SCALE: f64 = 1.224_744_871_391_589;

impl Wander {
    /// Knots every `knot_s`, at least a step apart.
    pub(crate) fn new(random: Stream, knot_s: f64) -> Self {
        let mut wander = Self {
            random,
            knot_steps: ((knot_s / STEP_S) as u64).max(1),
            knot: 0,
            from: 0.0,
            to: 0.0,
        };
        wander.draw();
        wander
    }

    /// The noise at a step of a millisecond.
    pub(crate) fn at(&mut self, step: u64) -> f64 {
        let knot = step / self.knot_steps;
        if knot != self.knot {
            self.knot = knot;
            self.draw();
        }
        let share = (step - knot * self.knot_steps) as f64 / self.knot_steps as f64;
        self.from + (self.to - self.from) * share
    }

    fn draw(&mut self) {
        self.from = SCALE * self.random.normal(self.knot);
        self.to = SCALE * self.random.normal(self.knot + 1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wander_has_unit_variance_and_no_jumps() {
        let mut wander = Wander::new(Stream::root(1), 0.05);
        let draws: Vec<f64> = (0..1_000_000).map(|step| wander.at(step)).collect();
        let variance = draws.iter().map(|draw| draw * draw).sum::<f64>() / draws.len() as f64;
        assert!((variance - 1.0).abs() < 0.05, "variance {variance}");
        assert!(draws.windows(2).all(|pair| (pair[1] - pair[0]).abs() < 0.2));
    }
}
