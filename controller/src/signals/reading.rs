//! A reading: a value with its age and quality.

use crate::units::{Instant, Span};
use serde::{Deserialize, Serialize};

/// How far a reading can be trusted; later is better.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Debug, Serialize, Deserialize)]
pub enum Quality {
    /// Not fitted, or nothing has come yet.
    #[default]
    Absent,
    /// The wire says something that cannot be: out of range, error code, broken reference.
    Invalid,
    /// The last good value is older than its limit.
    Stale,
    /// In range and fresh.
    Good,
}

/// A value as of `age` ago. Unless the quality is [`Quality::Good`], the value is the last good one
/// (zero if there was none) and must not be acted on.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Reading<T> {
    /// The last good value.
    pub value: T,
    /// How long ago it was true; [`Span::MAX`] if never.
    pub age: Span,
    /// Whether to act on it.
    pub quality: Quality,
}

impl<T: Copy> Reading<T> {
    /// The value if it may be acted on.
    #[must_use]
    pub fn good(self) -> Option<T> {
        (self.quality == Quality::Good).then_some(self.value)
    }
}

/// Memory of a channel: its last good value, when it came, and whether the wire was refused since.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub(super) struct Held<T> {
    last: Option<(T, Instant)>,
    refused: bool,
}

impl<T: Copy + Default> Held<T> {
    /// A good value has come.
    pub(super) fn take(&mut self, value: T, now: Instant) {
        *self = Self { last: Some((value, now)), refused: false };
    }

    /// The wire says something that cannot be; the reading is invalid until the next good value.
    pub(super) fn refuse(&mut self) {
        self.refused = true;
    }

    /// The reading now, of a channel whose values last for `limit`.
    pub(super) fn reading(&self, now: Instant, limit: Span) -> Reading<T> {
        let Some((value, at)) = self.last else {
            let quality = if self.refused { Quality::Invalid } else { Quality::Absent };
            return Reading { value: T::default(), age: Span::MAX, quality };
        };
        let age = now.since(at);
        let quality = match self.refused {
            true => Quality::Invalid,
            false if age > limit => Quality::Stale,
            false => Quality::Good,
        };
        Reading { value, age, quality }
    }
}
