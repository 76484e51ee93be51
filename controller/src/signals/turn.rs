//! Whose turn it is. Work that is dear and need not be done in every tick goes round, so that no tick has
//! much to do.
//!
//! What has to stop the rollers at once is read in every tick. Bale, tractor and row change within tenths of
//! a second, so that each of them has one tick of three; a sentence of the satellite receiver, the dearest
//! thing to read, has a tick for itself and lets them wait. What the driver is told and how far the hay is
//! known need even less: they have every other round.

use crate::units::Span;
use serde::{Deserialize, Serialize};

/// A round accounts for no longer than this; ticks so late stop the rollers anyway.
const LONGEST: Span = Span::from_millis(200);

/// What one tick has time for beside what is done in every tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub enum Turn {
    /// Hay left on the machine: weigh cells or gauge, and what the rollers took off.
    #[default]
    Hay,
    /// Ground speed from all of its sources.
    Ground,
    /// What the pressure says of the hay, and what the row is owed.
    Row,
    /// A sentence of the satellite receiver.
    Sentence,
}

/// Who comes next.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Turns {
    next: Turn,
    /// The last tick read a sentence: this one does not, or sentences could keep all else waiting.
    read: bool,
    since: Span,
    round: Span,
    even: bool,
}

impl Turns {
    /// One tick, with a sentence to read or none.
    pub fn take(&mut self, tick: Span, speaks: bool) -> Turn {
        self.since = self.since.saturating_add(tick);
        self.read = speaks && !self.read;
        if self.read {
            return Turn::Sentence;
        }
        let turn = self.next;
        self.next = match turn {
            Turn::Hay => Turn::Ground,
            Turn::Ground => Turn::Row,
            Turn::Row | Turn::Sentence => Turn::Hay,
        };
        if turn == Turn::Hay {
            (self.round, self.since) = (self.since.min(LONGEST), Span::ZERO);
            self.even = !self.even;
        }
        turn
    }

    /// Whether this round is an even one.
    #[must_use]
    pub fn even(&self) -> bool {
        self.even
    }

    /// The time that this round of turns accounts for: from the beginning of the last one to its own.
    #[must_use]
    pub fn round(&self) -> Span {
        self.round
    }
}
