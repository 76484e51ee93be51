//! Time as an argument: points on a clock and the spans between them.

use super::arith::{high_half, low_half};
use super::quantity::Seconds;
use core::hint::cold_path;
use serde::{Deserialize, Serialize};

/// A point on the controller's own clock, in microseconds since it started. It does not wrap within
/// half a million years.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Instant(u64);

/// A stretch of time in microseconds, 0 to 71 minutes; longer ones saturate.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Span(u32);

impl Instant {
    /// The start of the clock.
    pub const START: Self = Self(0);

    /// From microseconds since the start.
    #[must_use]
    pub const fn from_micros(micros: u64) -> Self {
        Self(micros)
    }

    /// Microseconds since the start.
    #[must_use]
    pub const fn to_micros(self) -> u64 {
        self.0
    }

    /// Time since an earlier point; zero if that point lies ahead.
    #[must_use]
    pub fn since(self, earlier: Self) -> Span {
        let (passed, lies_ahead) = self.0.overflowing_sub(earlier.0);
        if !lies_ahead && high_half(passed) == 0 {
            return Span(low_half(passed));
        }
        cold_path();
        if lies_ahead { Span::ZERO } else { Span::MAX }
    }

    /// A later point.
    #[must_use]
    pub fn later_by(self, span: Span) -> Self {
        Self(self.0.saturating_add(u64::from(span.0)))
    }

    /// Microseconds since the point whose low 32 bits a capture timer keeps, below zero if it lies ahead. Of
    /// all such points the nearest is meant: within 35 minutes to either side.
    #[must_use]
    pub fn since_low(self, low_micros: u32) -> i32 {
        low_half(self.0).wrapping_sub(low_micros).cast_signed()
    }
}

impl Span {
    /// No time.
    pub const ZERO: Self = Self(0);
    /// So long that everything older counts as this old: 71 minutes.
    pub const MAX: Self = Self(u32::MAX);

    /// From microseconds.
    #[must_use]
    pub const fn from_micros(micros: u32) -> Self {
        Self(micros)
    }

    /// From milliseconds, saturated.
    #[must_use]
    pub const fn from_millis(millis: u32) -> Self {
        Self(millis.saturating_mul(1000))
    }

    /// In microseconds.
    #[must_use]
    pub const fn to_micros(self) -> u32 {
        self.0
    }

    /// As a quantity for products; above 127 s saturated.
    #[must_use]
    pub fn seconds(self) -> Seconds {
        Seconds::from_micros(self.0)
    }

    /// Sum, saturated.
    #[must_use]
    pub const fn saturating_add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// Difference, not below zero.
    #[must_use]
    pub const fn saturating_sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}
