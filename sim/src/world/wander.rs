//! Slow noise: straight lines between drawn knots.

use super::STEP_S;
use crate::random::Stream;

/// Noise of mean 0 and deviation 1 that stays alike over the time between two knots.
#[derive(Clone, Debug)]
pub(crate) struct Wander {
    random: Stream,
    knot_steps: u64,
    /// First step of the present line.
    begin: u64,
    from: f64,
    /// Change a step.
    slope: f64,
}

/// On a straight line between two independent knots the mean variance is 2/3 of theirs.
const SCALE: f64 = 1.224_744_871_391_589;

impl Wander {
    /// Knots every `knot_s`, at least a step apart.
    pub(crate) fn new(random: Stream, knot_s: f64) -> Self {
        let knot_steps = ((knot_s / STEP_S) as u64).max(1);
        let mut wander = Self { random, knot_steps, begin: 0, from: 0.0, slope: 0.0 };
        wander.draw(0);
        wander
    }

    /// The noise at a step of a millisecond.
    #[inline]
    pub(crate) fn at(&mut self, step: u64) -> f64 {
        let mut gone = step.wrapping_sub(self.begin);
        if gone >= self.knot_steps {
            self.draw(step / self.knot_steps);
            gone = step - self.begin;
        }
        // Signed, which processors convert in one instruction.
        self.from + self.slope * gone as i64 as f64
    }

    #[cold]
    fn draw(&mut self, knot: u64) {
        self.begin = knot * self.knot_steps;
        self.from = SCALE * self.random.normal(knot);
        let to = SCALE * self.random.normal(knot + 1);
        self.slope = (to - self.from) / self.knot_steps as f64;
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
