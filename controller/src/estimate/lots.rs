//! What the bales of a lot have taught about the next one.
//!
//! A whole bale tells best: the hay that left over the hay that its ticket let expect for the same turns.
//! Who weighs nothing still knows that an empty machine has laid the whole bale.

use super::bale::{LEAST_FACTOR, MOST_FACTOR};
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
        let factor = factor.held_within(LEAST_FACTOR, MOST_FACTOR);
        let [.., least] = SHARES;
        let share = SHARES.get(usize::from(*bales)).copied().unwrap_or(least);
        *mean = mean.saturating_add(factor.saturating_sub(*mean).scaled(share));
        *bales = bales.saturating_add(1);
    }

    /// As plain numbers: each lot's factor and bales.
    pub(super) fn to_words(self) -> [[i32; 2]; TICKETS] {
        self.0.map(|(factor, bales)| [factor.to_bits(), i32::from(bales)])
    }

    /// From plain numbers; `None` for any that bales cannot teach.
    pub(super) fn from_words(words: [[i32; 2]; TICKETS]) -> Option<Self> {
        let mut lots = Self::default();
        for ((factor, bales), [factor_word, bales_word]) in lots.0.iter_mut().zip(words) {
            *factor = Ratio::from_bits(factor_word);
            *bales = u8::try_from(bales_word).ok()?;
            if !(LEAST_FACTOR..=MOST_FACTOR).contains(factor) {
                return None;
            }
        }
        Some(lots)
    }
}

/// What one bale has taught so far.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Lesson {
    torn: Mass,
    expected: Mass,
    left: Mass,
}

impl Lesson {
    /// The rollers have turned: hay that left and what the ticket let expect; what the account has left.
    /// What is weighed once they stand is another bale's, or nobody knows whose.
    pub fn add(&mut self, (torn, expected): (Mass, Mass), left: Mass) {
        self.torn = self.torn.saturating_add(torn);
        self.expected = self.expected.saturating_add(expected);
        self.left = left;
    }

    /// The bale's factor when the machine is called empty. `None` for a bale of which too little was fed
    /// to tell.
    #[must_use]
    pub fn factor(&self, ticket: &Ticket) -> Option<Ratio> {
        let half = ticket.mass.halved(1);
        // It was fed until the rollers were empty, so that what the account has left has gone too.
        let rest = if self.left < half { self.left } else { Mass::ZERO };
        let gone = self.torn.saturating_add(rest);
        (self.expected > half.halved(1)).then(|| gone.share_of(self.expected))
    }

    /// As plain numbers.
    pub(super) fn to_words(self) -> [i32; 3] {
        [self.torn.to_bits(), self.expected.to_bits(), self.left.to_bits()]
    }

    /// From plain numbers; `None` for less than nothing.
    pub(super) fn from_words(words: [i32; 3]) -> Option<Self> {
        let [torn, expected, left] = words.map(Mass::from_bits);
        let sound = torn.min(expected).min(left) >= Mass::ZERO;
        sound.then_some(Self { torn, expected, left })
    }
}
