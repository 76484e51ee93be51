//! What is tried next: behind a trait, so that another method is a matter of one file.

use cmaes::{CMAESOptions, DVector};

/// What a place is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// The less, the better.
    Value(f64),
    /// Nobody will tell any more: the search ends.
    End,
}

/// A method that looks for the least value of a function of several numbers without bounds.
pub trait Search {
    /// Asks for values, beginning near `start`, until it is told to end or knows nothing better. The same
    /// values told make the same places asked for.
    fn minimise(&self, start: &[f64], value: &mut dyn FnMut(&[f64]) -> Step);
}

/// Evolution strategy with an adapted covariance matrix.
///
/// Source: Hansen and Ostermeier, Completely derandomized self-adaptation in evolution strategies,
/// Evolutionary Computation 2001. It needs no slopes and bears noise and settings that go together.
#[derive(Clone, Copy, Debug)]
pub struct CovarianceSearch {
    /// What it draws from.
    pub seed: u64,
    /// How far from the start it looks at first, one deviation.
    pub spread: f64,
}

impl Search for CovarianceSearch {
    fn minimise(&self, start: &[f64], value: &mut dyn FnMut(&[f64]) -> Step) {
        match value(start) {
            Step::Value(_) if !start.is_empty() => {}
            _ => return,
        }
        let ended = std::cell::Cell::new(false);
        let function = |place: &DVector<f64>| {
            if !ended.get()
                && let Step::Value(value) = value(place.as_slice())
            {
                return value;
            }
            ended.set(true);
            // Not a number ends the search.
            f64::NAN
        };
        let options = CMAESOptions::new(start.to_vec(), self.spread).seed(self.seed);
        if let Ok(mut search) = options.build(function) {
            while search.next().is_none() {}
        }
    }
}
