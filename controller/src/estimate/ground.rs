//! Ground speed: the best source that is good, followed and carried a short way ahead.

use crate::signals::{Quality, Reading, Speeds};
use crate::units::{Acceleration, Frequency, Ratio, Seconds, Span, Speed};
use serde::{Deserialize, Serialize};

/// A tractor gathers or loses speed no faster than this; faster is noise.
const STEEPEST: Acceleration = Acceleration::from_bits(2 << 16);
/// Share of an error that the speed takes over with each new reading.
const FOLLOW: Ratio = Ratio::from_bits(39_322); // 0.6
/// Share of an error, per time between readings, that the acceleration takes over.
const FOLLOW_CHANGE: Ratio = Ratio::from_bits(13_107); // 0.2
/// An acceleration is forgotten within about a second when nothing confirms it.
const FORGET: Frequency = Frequency::ONE;
/// No prediction reaches further ahead than this.
const FURTHEST: Seconds = Seconds::from_bits(1 << 24);

/// Follows the ground speed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct GroundFollower {
    speed: Speed,
    change: Acceleration,
    last_age: Span,
    followed: bool,
}

/// Ground speed as known now.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct GroundSpeed {
    /// Speed now, never below zero; with a quality other than good, the last one known.
    pub speed: Speed,
    /// How it changes.
    pub change: Acceleration,
    /// Whether to act on it.
    pub quality: Quality,
}

impl GroundSpeed {
    /// Speed to expect after a short time, never below zero.
    #[must_use]
    pub fn after(&self, lead: Seconds) -> Speed {
        self.speed.saturating_add(self.change.over(lead.min(FURTHEST))).max(Speed::ZERO)
    }
}

impl GroundFollower {
    /// One tick. `reading` is the chosen source's; a new one is younger than the last, or of now.
    pub fn update(&mut self, reading: Reading<Speed>, elapsed: Seconds) -> GroundSpeed {
        if reading.quality != Quality::Good {
            self.followed = false;
            self.change = Acceleration::ZERO;
            return GroundSpeed {
                speed: self.speed,
                change: self.change,
                quality: reading.quality,
            };
        }
        self.speed = self.speed.saturating_add(self.change.over(elapsed));
        self.change = self.change.saturating_sub(self.change.scaled(FORGET.over(elapsed)));
        if !self.followed {
            self.speed = reading.value;
            self.followed = true;
        } else if reading.age < self.last_age || reading.age == Span::ZERO {
            self.correct(reading);
        }
        self.last_age = reading.age;
        self.speed = self.speed.max(Speed::ZERO);
        GroundSpeed { speed: self.speed, change: self.change, quality: Quality::Good }
    }

    fn correct(&mut self, reading: Reading<Speed>) {
        let then = self.speed.saturating_sub(self.change.over(reading.age.seconds()));
        let error = reading.value.saturating_sub(then);
        self.speed = self.speed.saturating_add(error.scaled(FOLLOW));
        let between = self.last_age.max(Span::from_millis(20)).seconds();
        let change = self.change.saturating_add(error.scaled(FOLLOW_CHANGE).gained_within(between));
        self.change = change.held_within(STEEPEST.negated(), STEEPEST);
    }
}

/// The first good source in order of trust; if none is good, the least bad of them.
#[must_use]
pub fn choose(speeds: &Speeds) -> Reading<Speed> {
    let by_trust = [speeds.selected, speeds.ground, speeds.satellite, speeds.pulses, speeds.wheel];
    let best = by_trust.iter().rev().max_by_key(|reading| reading.quality);
    best.copied().unwrap_or_default()
}
