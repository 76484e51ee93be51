//! Many steps in a row: what they gave, as a digest, and what they cost.

use crate::fuzz::Fuzz;
use serde::{Deserialize, Serialize};
use strewn_controller::record::{RecordError, decode, digest};
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs};

/// Classes of cost: [`WIDTH`] instructions each; the last holds all above.
const CLASSES: usize = ROWS * ROW;
const ROWS: usize = 16;
/// Longest list that serialises as a whole.
const ROW: usize = 32;
/// Instructions in a class of cost.
pub const WIDTH: u32 = 16;

/// Counts the instructions of a step. The laptop has none to count.
pub trait Counter {
    /// Before the step.
    fn start(&mut self);
    /// After it: instructions since.
    fn stop(&mut self) -> u32;
}

/// Counts nothing.
pub struct Uncounted;

impl Counter for Uncounted {
    fn start(&mut self) {}

    fn stop(&mut self) -> u32 {
        0
    }
}

/// What many steps gave and cost.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Tally {
    /// Steps made.
    pub steps: u32,
    /// Steps in which the rollers were let turn: how much of the run was the job itself.
    pub laying: u32,
    /// Digest of every output and of the whole state after every step.
    pub digest: u32,
    /// Instructions of the dearest step.
    pub worst: u32,
    /// Which step that was, counted from 0.
    pub worst_at: u32,
    classes: [[u32; ROW]; ROWS],
}

impl Tally {
    /// Of no step.
    #[must_use]
    pub const fn new() -> Self {
        let classes = [[0; ROW]; ROWS];
        Self { steps: 0, laying: 0, digest: 0, worst: 0, worst_at: 0, classes }
    }

    /// How many steps fell into each class of cost, cheapest first.
    pub fn classes(&self) -> impl Iterator<Item = u32> + '_ {
        self.classes.iter().flatten().copied()
    }

    fn note(&mut self, outputs: &Outputs, state: &State, cost: u32) {
        self.digest = digest(digest(self.digest, outputs), state);
        self.laying = self.laying.saturating_add(u32::from(outputs.enable));
        if cost > self.worst {
            (self.worst, self.worst_at) = (cost, self.steps);
        }
        let class = usize::try_from(cost.wrapping_shr(WIDTH.trailing_zeros())).unwrap_or(CLASSES);
        if let Some(count) = self.classes.as_flattened_mut().get_mut(class.min(CLASSES - 1)) {
            *count = count.saturating_add(1);
        }
        self.steps = self.steps.saturating_add(1);
    }
}

impl Default for Tally {
    fn default() -> Self {
        Self::new()
    }
}

/// The step by itself: one place in the image whose cost, stack and size can be told.
#[inline(never)]
pub fn one_step(settings: &Settings, state: &mut State, inputs: &Inputs) -> Outputs {
    step(settings, state, inputs)
}

/// One step, counted and noted.
pub fn counted_step(
    (settings, state): (&Settings, &mut State),
    inputs: &Inputs,
    counter: &mut impl Counter,
    tally: &mut Tally,
) -> Outputs {
    counter.start();
    let outputs = one_step(settings, state, inputs);
    let cost = counter.stop();
    tally.note(&outputs, state, cost);
    outputs
}

/// So many steps of a seed's stories, from power-on.
pub fn fuzz(
    settings: &Settings,
    seed: u32,
    steps: u32,
    counter: &mut impl Counter,
    tally: &mut Tally,
) {
    let mut state = State::new(settings);
    let mut fuzz = Fuzz::new(seed);
    let mut outputs = Outputs::default();
    for _ in 0..steps {
        let (fresh, inputs) = fuzz.advance(&outputs);
        if fresh {
            state = State::new(settings);
        }
        outputs = counted_step((settings, &mut state), inputs, counter, tally);
    }
}

/// The recorded ticks that `bytes` hold one behind the other, from power-on.
///
/// # Errors
/// The first frame that is not whole; the ticks before it are in the tally.
pub fn replay(
    settings: &Settings,
    mut bytes: &[u8],
    counter: &mut impl Counter,
    tally: &mut Tally,
) -> Result<(), RecordError> {
    let mut state = State::new(settings);
    let mut previous = Inputs::default();
    while !bytes.is_empty() {
        let (inputs, _, length) = decode(&previous, bytes)?;
        counted_step((settings, &mut state), &inputs, counter, tally);
        previous = inputs;
        bytes = bytes.get(length..).ok_or(RecordError::Short)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fuzz::config;

    fn told(seed: u32, steps: u32) -> Tally {
        let settings = config(seed).build().expect("allowed");
        let mut tally = Tally::new();
        fuzz(&settings, seed, steps, &mut Uncounted, &mut tally);
        tally
    }

    #[test]
    fn outputs_and_state_have_a_digest() {
        let settings = config(1).build().expect("allowed");
        let mut state = State::new(&settings);
        let outputs = step(&settings, &mut state, Fuzz::new(1).advance(&Default::default()).1);
        // What is refused gives the complement.
        assert_ne!(digest(5, &outputs), !5);
        assert_ne!(digest(5, &state), !5);
    }

    #[test]
    fn stories_lay_hay_and_stop() {
        let tallies: std::vec::Vec<_> = (0..20).map(|seed| told(seed, 20_000)).collect();
        let laying: u32 = tallies.iter().map(|tally| tally.laying).sum();
        let steps: u32 = tallies.iter().map(|tally| tally.steps).sum();
        assert_eq!(steps, 400_000);
        assert!((steps / 10..steps * 9 / 10).contains(&laying), "{laying} of {steps}");
    }

    #[test]
    fn a_seed_tells_the_same_and_another_something_else() {
        assert_eq!(told(3, 5_000), told(3, 5_000));
        assert_ne!(told(3, 5_000).digest, told(4, 5_000).digest);
        assert_ne!(told(3, 5_000).digest, told(3, 5_001).digest);
    }
}
