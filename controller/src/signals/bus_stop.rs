//! The stop button for all implements, as the bus tells it.

use super::isobus::Flag;
use super::reading::{Held, Reading};
use crate::units::{Instant, Span};
use serde::{Deserialize, Serialize};

/// Memory of the bus's stop button.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct BusStopChannel {
    stop: Held<bool>,
}

impl BusStopChannel {
    /// What a tick says that said `first`, if anything, before `next`: of several frames the last counts,
    /// except that a stop is not overwritten in the tick in which it came.
    #[must_use]
    pub fn joined(first: Option<Flag>, next: Flag) -> Flag {
        if first == Some(Flag::Off) { Flag::Off } else { next }
    }

    /// Takes what one tick said; `limit` is the age at which the button counts as gone. The value is
    /// `true` while a stop is asked for.
    ///
    /// An error makes the reading invalid, and "not available" says nothing; the value stays what was
    /// last asked. Buttons at several places are not told apart.
    pub fn update(&mut self, limit: Span, now: Instant, state: Option<Flag>) -> Reading<bool> {
        match state {
            Some(Flag::Off) => self.stop.take(true, now),
            Some(Flag::On) => self.stop.take(false, now),
            Some(Flag::Error) => self.stop.refuse(),
            Some(Flag::NotAvailable) | None => {}
        }
        self.stop.reading(now, limit)
    }
}
