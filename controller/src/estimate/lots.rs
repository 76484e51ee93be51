//! What the bales of a lot have taught about the next one.
//!
//! A whole bale tells best: the hay that left over the hay that its ticket let expect for the same turns.
//! Who weighs nothing still knows that an empty machine has laid the whole bale.

use crate::settings::{TICKETS, Ticket};
use crate::units::{Mass, Ratio};
use serde::{Deserialize, Serialize};

/// Share that each further bale has in the mean: all alike, of those beyond the last the last ones more.
const SHARES: [Ratio; 8] = [
    Ratio::ONE,
    Ratio::from_bits(32_768),
    Ratio::from_bits(21_845),
    Ratio::from_bits(16_384),
    Ratio::from_bits(13_107),
    Ratio::from_bits(10_923),
    Ratio::from_bits(9_362),
    Ratio::from_bits(8_192),
];

/// The factor on the expected bite that each lot has taught, and by how many bales.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Lots([(Ratio, u8); TICKETS]);

impl Default for Lots {
    fn default() -> Self {
        Self([(Ratio::ONE, 0); TICKETS])
    }
}

impl Lots {
    /// The factor of a ticket's lot; 1 for one that has taught nothing or does not exist.
    #[must_use]
    pub fn factor(&self, ticket: u8) -> Ratio {
        self.0.get(usize::from(ticket)).map_or(Ratio::ONE, |(factor, _)| *factor)
    }

    /// A bale of that lot has had this factor.
    pub fn teach(&mut self, ticket: u8, factor: Ratio) {
        let Some((mean, bales)) = self.0.get_mut(usize::from(ticket)) else { return };
        let [.., least] = SHARES;
        let share = SHARES.get(usize::from(*bales)).copied().unwrap_or(least);
        *mean = mean.saturating_add(factor.saturating_sub(*mean).scaled(share));
        *bales = bales.saturating_add(1);
    }
}

/// What one bale has taught so far.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Lesson {
    torn: Mass,
    expected: Mass,
}

impl Lesson {
    /// Hay that left, and what the ticket let expect.
    pub fn add(&mut self, torn: Mass, expected: Mass) {
        self.torn = self.torn.saturating_add(torn);
        self.expected = self.expected.saturating_add(expected);
    }

    /// The bale's factor when the machine is called empty with so much left by the account. `None` for a
    /// bale of which too little was fed to tell.
    #[must_use]
    pub fn factor(&self, ticket: &Ticket, left: Mass) -> Option<Ratio> {
        let half = ticket.mass.halved(1);
        // It was fed until the rollers were empty, so that what the account has left has gone too.
        let gone = if left < half { self.torn.saturating_add(left) } else { self.torn };
        (self.expected > half.halved(1)).then(|| gone.share_of(self.expected))
    }
}
