//! The ledger: hay due to the ground by distance against hay torn off the bale.

use crate::settings::MeteringSettings;
use crate::units::{Mass, MassFlow, Seconds, Speed};
use serde::{Deserialize, Serialize};

/// No more than this is ever owed or paid ahead: beyond it the row is lost and repaying would harm.
const FURTHEST: Mass = Mass::from_bits(40 << 19);
/// The rollers go on when what was laid too much is down to this share of what made them wait.
const RESUME_HALVINGS: u32 = 2;

/// What the ground is owed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Ledger {
    owed: Mass,
    waiting: bool,
}

impl Ledger {
    /// A new row begins: nothing is owed.
    pub fn open(&mut self) {
        *self = Self::default();
    }

    /// Enters one tick: the ground passes at the speed that it will have when this hay lands.
    pub fn enter(
        &mut self,
        settings: &MeteringSettings,
        landing: Speed,
        torn: Mass,
        elapsed: Seconds,
    ) {
        let due = settings.target.over(landing.over(elapsed));
        self.owed = self
            .owed
            .saturating_add(due)
            .saturating_sub(torn)
            .held_within(FURTHEST.negated(), FURTHEST);
        let ahead = self.owed.negated();
        self.waiting = if self.waiting {
            ahead > settings.hold.halved(RESUME_HALVINGS)
        } else {
            ahead > settings.hold
        };
    }

    /// Whether so much was laid too much that the rollers wait for the ground.
    #[must_use]
    pub fn is_waiting(&self) -> bool {
        self.waiting
    }

    /// The flow that lays what is due now and makes good what is owed, never below zero.
    ///
    /// Repaying changes the flow by no more than the settings' share of it, so that an error is
    /// spread over the next stretch of row instead of put into one spot.
    #[must_use]
    pub fn flow(&self, settings: &MeteringSettings, ahead: Speed) -> MassFlow {
        if self.waiting {
            return MassFlow::ZERO;
        }
        let due = settings.target.flow_at(ahead);
        let most = due.scaled(settings.repay_limit);
        let repaying = self.owed.within(settings.repay).held_within(most.negated(), most);
        due.saturating_add(repaying).max(MassFlow::ZERO)
    }
}
