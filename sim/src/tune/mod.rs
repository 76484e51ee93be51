//! Searching settings of the controller on a training population.
//!
//! [`knobs`] says which settings are searched and within what; [`trial`] feeds the training bales with
//! some of them; [`search`] chooses which to try next; [`progress`] remembers what was tried, so that an
//! interrupted search goes on; [`front`] keeps what nothing else betters in every objective; [`proof`]
//! compares before and after on bales that the search has not seen.
//!
//! A search depends on population, seed and numbers alone, not on the count of threads. It never sees
//! the bales kept for evaluation ([`crate::study::evaluation`]).

pub mod front;
pub mod knobs;
pub mod progress;
pub mod proof;
pub mod search;
pub mod trial;

use knobs::Knobs;
use progress::Progress;
use search::{Search, Step};
use trial::{Objectives, Training};

/// The training population that is built in, as a file.
pub const TRAINING: &str = include_str!("training.toml");

/// What a search is told, and what it may be stopped by.
pub struct Watch<'a> {
    /// Told after each trial: trials so far and the best merit among them. Says whether to go on.
    pub trial: &'a mut dyn FnMut(usize, f64) -> bool,
    /// Told now and then to keep what is known.
    pub keep: &'a mut dyn FnMut(&Progress),
}

/// Tries so many settings at most, those that are remembered included. Gives whether it was not stopped.
pub fn tune(
    knobs: &Knobs,
    search: &dyn Search,
    trials: usize,
    try_out: &dyn Fn(&[i32]) -> Option<Objectives>,
    progress: &mut Progress,
    watch: &mut Watch<'_>,
) -> bool {
    /// What is known is kept after every so many new trials.
    const KEPT_EVERY: usize = 10;
    let mut told = Vec::new();
    let (mut fresh, mut best, mut stopped) = (0, f64::INFINITY, false);
    search.minimise(&knobs.start(), &mut |place| {
        if told.len() >= trials {
            return Step::End;
        }
        let values = knobs.values(place);
        let objectives = match progress.find(&values) {
            Some(known) => known,
            None => {
                let Some(objectives) = try_out(&values) else {
                    stopped = true;
                    return Step::End;
                };
                progress.add(values.clone(), objectives);
                fresh += 1;
                if fresh % KEPT_EVERY == 0 {
                    (watch.keep)(progress);
                }
                objectives
            }
        };
        told.push(values);
        best = best.min(objectives.merit());
        if (watch.trial)(told.len(), best) {
            Step::Value(objectives.merit())
        } else {
            stopped = true;
            Step::End
        }
    });
    (watch.keep)(progress);
    !stopped
}

/// Feeds the training bales with the settings as they are.
#[must_use]
pub fn before(knobs: &Knobs, training: &Training<'_>) -> Option<Objectives> {
    training.objectives(&knobs.usual())
}
