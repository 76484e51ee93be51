//! Whether a sensor of the hay left is believed: what it tells must be possible.
//!
//! A single reading that is not is a jolt, a spike, a cloud of dust, and is left out. When there are many,
//! the sensor lies - drifts, hangs, was damaged - and is left out until another bale is loaded: who
//! believed it again as soon as it came near the truth would follow it off once more.

use crate::units::{Ratio, Span};
use serde::{Deserialize, Serialize};

/// A reading that tells of something rare counts so much, one taken pays one back.
const RARE: u16 = 8;

/// How long it may take until a sensor that begins to lie is found out.
const FOUND_OUT: Span = Span::from_millis(4_000);

/// The bale's factor as it was before any sensor that has just been found out could have touched it.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Before {
    /// At least one such time ago, and less than one.
    factors: [Ratio; 2],
    since: Span,
}

impl Before {
    /// A new bale's.
    pub(super) fn new(factor: Ratio) -> Self {
        Self { factors: [factor; 2], since: Span::ZERO }
    }

    /// One turn of the hay, `elapsed` after the one before.
    pub(super) fn pass(&mut self, factor: Ratio, elapsed: Span) {
        self.since = self.since.saturating_add(elapsed);
        if self.since >= FOUND_OUT {
            let [_, latest] = self.factors;
            *self = Self { factors: [latest, factor], since: Span::ZERO };
        }
    }

    pub(super) fn factor(&self) -> Ratio {
        let [oldest, _] = self.factors;
        oldest
    }
}

/// How much a sensor has told of late that cannot be: each reading left out counts so much; from `LIES` on
/// nothing is believed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub(super) struct Trust<const LIES: u16, const LEFT_OUT: u16>(u16);

impl<const LIES: u16, const LEFT_OUT: u16> Trust<LIES, LEFT_OUT> {
    /// Whether the sensor has told too much that cannot be.
    #[must_use]
    pub(super) fn is_lost(self) -> bool {
        self.0 >= LIES
    }

    /// A reading, and whether what it tells is possible: whether to take it.
    pub(super) fn takes(&mut self, possible: bool) -> bool {
        if self.is_lost() {
            return false;
        }
        self.0 = if possible { self.0.saturating_sub(1) } else { self.0.saturating_add(LEFT_OUT) };
        possible
    }

    /// What was taken tells of something that does not happen often.
    pub(super) fn wonders(&mut self) {
        self.0 = self.0.saturating_add(RARE);
    }
}
