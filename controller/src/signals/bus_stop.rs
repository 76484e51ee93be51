//! The stop button for all implements, as the bus tells it.

use super::isobus::{Flag, Message};
use super::reading::{Held, Reading};
use crate::units::{Instant, Span};
use crate::wires::Frame;
use serde::{Deserialize, Serialize};

/// Memory of the bus's stop button.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct BusStopChannel {
    stop: Held<bool>,
}

impl BusStopChannel {
    /// Takes the frames of one tick; `limit` is the age at which the button counts as gone. The value
    /// is `true` while a stop is asked for.
    ///
    /// Of several frames in a tick the last counts, except that a stop is not overwritten in the tick
    /// in which it came. An error makes the reading invalid, and "not available" says nothing; the
    /// value stays what was last asked. Buttons at several places are not told apart.
    pub fn update(&mut self, limit: Span, now: Instant, frames: &[Frame]) -> Reading<bool> {
        let states = frames.iter().filter_map(|frame| match Message::decode(frame) {
            Some(Message::Stop { permitted, .. }) => Some(permitted),
            _ => None,
        });
        let state = states.reduce(|first, next| if first == Flag::Off { first } else { next });
        match state {
            Some(Flag::Off) => self.stop.take(true, now),
            Some(Flag::On) => self.stop.take(false, now),
            Some(Flag::Error) => self.stop.refuse(),
            Some(Flag::NotAvailable) | None => {}
        }
        self.stop.reading(now, limit)
    }
}
