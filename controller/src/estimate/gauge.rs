//! Bale gauge: the radius says how much of the ticket's bale is left, not how heavy this one is.
//!
//! While weigh cells tell the mass, the gauge is held against them: should they be lost, it goes on
//! with what it was off by. Taken as it is, it would move the account by the bale's whole difference
//! from its ticket, within seconds.

use crate::settings::{GAUGE_TURN, Ticket};
use crate::units::{Mass, Ratio};
use serde::{Deserialize, Serialize};

/// The quotient of what is weighed and what the gauge tells is a mean over about this many readings: a
/// bale that is out of round goes up and down.
const FOLLOW_HALVINGS: u32 = 5;
/// Bales differ from their tickets by no more than this.
const LEAST: Ratio = Ratio::from_bits(32_768); // 0.5
const MOST: Ratio = Ratio::from_bits(131_072); // 2
/// With less than this share of the ticket's bale left the gauge tells too little: halved four times.
const LITTLE_HALVINGS: u32 = 4;

/// Nobody knows how dense this bale is further in, so that the gauge's readings err together: without
/// the weigh cells one of so many counts, and the account is drawn over gently.
const ONE_OF: u8 = 100;

/// Its turn waits until so many ticks are over at most.
const LATEST: u8 = 2 * GAUGE_TURN;

/// What the gauge is off by on this bale.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct GaugeScale {
    /// What was weighed over what the gauge told; `None` while nothing was weighed.
    quotient: Option<Ratio>,
    /// Readings since one counted.
    passed: u8,
    /// Ticks since the gauge was read.
    ticks: u8,
}

impl GaugeScale {
    /// One tick: whether the gauge is to be read in it. Its turn waits a little for a tick that has not
    /// much else to do.
    pub fn is_due(&mut self, busy: bool) -> bool {
        self.ticks = self.ticks.saturating_add(1);
        let due = self.ticks >= if busy { LATEST } else { GAUGE_TURN };
        if due {
            self.ticks = 0;
        }
        due
    }

    /// The weigh cells work: so much is left for what the gauge tells by the ticket alone.
    pub fn follow(&mut self, ticket: &Ticket, told: Mass, left: Mass) {
        if told > ticket.mass.halved(LITTLE_HALVINGS) {
            let quotient = left.share_of(told).held_within(LEAST, MOST);
            let before = self.quotient.unwrap_or(quotient);
            let step = quotient.saturating_sub(before).halved(FOLLOW_HALVINGS);
            self.quotient = Some(before.saturating_add(step));
        }
    }

    /// The mass to take for what the gauge tells by the ticket alone, while nothing is weighed.
    pub fn mass(&mut self, told: Mass) -> Option<Mass> {
        let Some(quotient) = self.quotient else { return Some(told) };
        self.passed = self.passed.saturating_add(1);
        if self.passed < ONE_OF {
            return None;
        }
        self.passed = 0;
        Some(told.scaled(quotient))
    }
}
