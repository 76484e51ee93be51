//! Before and after, on bales that the search has not seen.

use super::trial::{Objectives, Share, Training, objectives};
use crate::random::Stream;
use crate::study::statistics::drawn_interval;
use crate::study::summary::{CONFIDENCE, Figure};

/// Before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// Bales.
    pub bales: usize,
    /// With the usual settings.
    pub before: Objectives,
    /// With those found.
    pub after: Objectives,
    /// Unevenness after over before, bale by bale: geometric mean.
    pub unevenness: Figure,
    /// Clumps for 1,000 bales, after less before.
    pub clumps: Figure,
    /// Time after over before.
    pub time: Figure,
}

impl Proof {
    /// Feeds the bales of `unseen` with both settings; `None` if stopped.
    #[must_use]
    pub fn new(unseen: &Training<'_>, before: &[i32], after: &[i32]) -> Option<Self> {
        let (before, after) = (unseen.shares(before)?, unseen.shares(after)?);
        let count = before.len().min(after.len());
        let figure = |of: &dyn Fn(Objectives, Objectives) -> f64| {
            let drawn = |places: &[usize]| {
                let chosen =
                    |shares: &[Share]| objectives(places.iter().map(|place| &shares[*place]));
                of(chosen(&before), chosen(&after))
            };
            let all: Vec<usize> = (0..count).collect();
            let random = Stream::root(0).named("proof");
            Figure {
                value: drawn(&all),
                interval: drawn_interval(count, CONFIDENCE, random, drawn),
            }
        };
        Some(Self {
            bales: count,
            unevenness: figure(&|before, after| after.unevenness / before.unevenness),
            clumps: figure(&|before, after| after.clumps - before.clumps),
            time: figure(&|before, after| after.time / before.time),
            before: objectives(before.iter()),
            after: objectives(after.iter()),
        })
    }

    /// Whether the merit is better.
    #[must_use]
    pub fn is_better(&self) -> bool {
        self.after.merit() < self.before.merit()
    }
}
