//! The supervisor: whether the rollers may turn.
//!
//! ```text
//!            arm, all clear            run, all clear
//!  Resting ------------------> Armed -----------------> Laying
//!     ^  ^--- too late, or not clear ---'                 |  |
//!     '---------------- run switch let go ----------------'  |
//!                              ^                             |
//!            arm, all clear    |        any other condition  |
//!  Latched --------------------'  <--------------------------'
//! ```
//!
//! From [`Phase::Latched`] as from [`Phase::Resting`] it takes the same two acts, in their order and
//! each newly made: press and release the arming button, then close the run switch. A switch that is
//! already closed counts for nothing.

use super::conditions::{Condition, Observed, Response, Row, TABLE, When};
use crate::settings::SafetySettings;
use crate::units::{Instant, Span};
use serde::{Deserialize, Serialize};

/// What the machine is doing.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub enum Phase {
    /// Stopped; two deliberate acts are needed before anything may turn.
    #[default]
    Resting,
    /// The first act was done; the second may follow for a short while.
    Armed,
    /// Hay is being laid while the operator holds the switch.
    Laying,
    /// Stopped by a condition, latched until it is gone and the operator acts anew.
    Latched,
}

/// The operator's acts in one tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Acts {
    /// The arming button was newly pressed.
    pub arm: bool,
    /// The run switch is closed.
    pub run: bool,
}

/// What the supervisor remembers.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Supervisor {
    phase: Phase,
    cause: Option<Condition>,
    armed_until: Instant,
    run_was_closed: bool,
    lasted: [Span; TABLE.len()],
}

impl Supervisor {
    /// What the machine is doing.
    #[must_use]
    pub fn phase(&self) -> Phase {
        self.phase
    }

    /// Why it stopped last, until it is armed again.
    #[must_use]
    pub fn cause(&self) -> Option<Condition> {
        self.cause
    }

    /// One tick: takes note of the conditions, then changes the phase at most once.
    pub fn update(
        &mut self,
        settings: &SafetySettings,
        observed: Observed,
        acts: Acts,
        now: Instant,
        elapsed: Span,
    ) {
        let lasting = self.note(settings, observed, elapsed);
        let run_newly = acts.run && !self.run_was_closed;
        self.run_was_closed = acts.run;
        match self.phase {
            Phase::Resting | Phase::Latched => {
                if acts.arm && !acts.run && worst(|row| observed.forbids_arming(row)).is_none() {
                    self.transition_to_armed(now.later_by(settings.arming));
                }
            }
            Phase::Armed => {
                let obstacle = worst(|row| observed.forbids_arming(row));
                let run_obstacle = worst(|row| observed.forbids_start(row));
                match (obstacle, run_newly, run_obstacle) {
                    (Some(row), ..) | (None, true, Some(row)) => self.transition_to_stopped(row),
                    (None, true, None) => self.phase = Phase::Laying,
                    (None, false, _) if now > self.armed_until => self.phase = Phase::Resting,
                    (None, false, _) => {}
                }
            }
            Phase::Laying => {
                if let Some(row) = worst(|row| lasting.has(row.condition)) {
                    self.transition_to_stopped(row);
                }
            }
        }
    }

    fn transition_to_armed(&mut self, until: Instant) {
        self.phase = Phase::Armed;
        self.cause = None;
        self.armed_until = until;
        self.lasted = [Span::ZERO; TABLE.len()];
    }

    fn transition_to_stopped(&mut self, row: &Row) {
        self.cause = Some(row.condition);
        self.phase = match row.response {
            Response::EndRow => Phase::Resting,
            Response::StopAndLatch => Phase::Latched,
        };
    }

    /// How long each condition has lasted, and which have outlasted their patience. Time without a
    /// condition only pays its time back, so that a flapping one cannot postpone its stop for ever.
    fn note(&mut self, settings: &SafetySettings, observed: Observed, elapsed: Span) -> Observed {
        let mut lasting = Observed::default();
        for (row, lasted) in TABLE.iter().zip(self.lasted.iter_mut()) {
            let present = observed.has(row.condition);
            *lasted = if present {
                lasted.saturating_add(elapsed)
            } else {
                lasted.saturating_sub(Span::from_micros(elapsed.to_micros().wrapping_shr(1)))
            };
            let patience = (row.patience)(settings);
            lasting = lasting.with(row.condition, present && *lasted >= patience);
        }
        lasting
    }
}

impl Observed {
    /// What must be gone before the first act: everything but what only counts while moving.
    fn forbids_arming(self, row: &Row) -> bool {
        row.when == When::Always && self.has(row.condition)
    }

    /// What must be gone at the second act: everything but the run switch itself.
    fn forbids_start(self, row: &Row) -> bool {
        row.condition != Condition::RunReleased && self.has(row.condition)
    }
}

/// The worst row that applies.
fn worst(applies: impl Fn(&Row) -> bool) -> Option<&'static Row> {
    TABLE.iter().rev().find(|row| applies(row))
}
