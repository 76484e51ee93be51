//! Everything that a comparison gives.

use super::Question;
use super::cost::{Outcome, outcome, pays_from};
use super::practice::{Check, checks, herd_at_practice_loss};
use super::uncertainty::{Spread, Swing, likeliest_farm, likeliest_way, spreads, swings};

/// Everything that a comparison gives, reckoned once for table, page and JSON.
#[derive(Clone, Debug)]
pub struct Answer {
    /// What was asked.
    pub question: Question,
    /// Number that all chance was drawn from.
    pub seed: u64,
    /// Of each way, with the likeliest inputs.
    pub outcomes: Vec<Outcome>,
    /// Of each way, over the bounds of the inputs.
    pub spreads: Vec<Spread>,
    /// Herd from which each pays against the one it is held against.
    pub pays_from: Vec<Option<u32>>,
    /// What moves the difference of the way in detail, the widest first.
    pub swings: Vec<Swing>,
    /// What practice says.
    pub checks: Vec<Check>,
    /// Herd from which rollers pay against a ring at practice's loss.
    pub practice_herd: Option<u32>,
}

impl Answer {
    /// Answers a question.
    #[must_use]
    pub fn of(question: Question, seed: u64) -> Self {
        let farm = likeliest_farm(&question.farm);
        let ways: Vec<_> = question.ways.iter().map(likeliest_way).collect();
        let against = &ways[question.against];
        Self {
            outcomes: ways.iter().map(|way| outcome(&farm, way)).collect(),
            pays_from: ways.iter().map(|way| pays_from(&farm, way, against)).collect(),
            spreads: spreads(&question, seed),
            swings: swings(&question),
            checks: checks(&question),
            practice_herd: herd_at_practice_loss(&question),
            question,
            seed,
        }
    }
}
