//! Ground speed: the best source that is good, followed and carried a short way ahead.

use crate::signals::{Quality, Reading, Speeds};
use crate::units::{Acceleration, Frequency, Length, Ratio, Seconds, Span, Speed};
use serde::{Deserialize, Serialize};

/// A tractor gathers or loses speed no faster than this; faster is noise.
const STEEPEST: Acceleration = Acceleration::from_bits(2 << 16);
/// Share of an error that the speed takes over with each new reading: receivers and wheels are
/// precise, what they lack is youth.
const FOLLOW: Ratio = Ratio::from_bits(62_259); // 0.95
/// Share of an error, per time between readings, that the acceleration takes over.
const FOLLOW_CHANGE: Ratio = Ratio::from_bits(45_875); // 0.7
/// Readings closer than this count for less each, so that a source of every turn is smoothed.
const FULL_READING: Seconds = Seconds::from_bits(1_677_722); // 0.1 s
/// Its inverse.
const FULL_PACE: Frequency = Frequency::from_bits(10 << 16);
/// An acceleration is forgotten within about half a second when nothing confirms it.
const FORGET: Frequency = Frequency::from_bits(2 << 16);
/// No prediction reaches further ahead than this.
const FURTHEST: Seconds = Seconds::from_bits(1 << 24);

/// Whoever looks ahead expects no greater change than this share of the speed: what changes faster is
/// over before it can be met, and would be overshot. Assumed.
const MOST_AHEAD: Ratio = Ratio::from_bits(6_554); // 0.1

/// Follows the ground speed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct GroundFollower {
    speed: Speed,
    change: Acceleration,
    last_age: Span,
    followed: bool,
}

/// Ground speed as known now.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct GroundSpeed {
    /// Speed now, never below zero; with a quality other than good, the last one known.
    pub speed: Speed,
    /// How it changes.
    pub change: Acceleration,
    /// Ground covered since the turn before; with each new reading also what the speeds in between were off.
    pub travelled: Length,
    /// Whether to act on it.
    pub quality: Quality,
}

impl GroundSpeed {
    /// Speed to expect after a short time, never below zero.
    #[must_use]
    pub fn after(&self, lead: Seconds) -> Speed {
        let most = self.speed.scaled(MOST_AHEAD);
        let ahead = self.change.over(lead.min(FURTHEST)).held_within(most.negated(), most);
        self.speed.saturating_add(ahead).max(Speed::ZERO)
    }
}

impl GroundFollower {
    /// One turn, `elapsed` after the one before. `reading` is the chosen source's; a new one is younger than
    /// the last, or of now.
    pub fn update(&mut self, reading: Reading<Speed>, elapsed: Span) -> GroundSpeed {
        if reading.quality != Quality::Good {
            self.followed = false;
            self.change = Acceleration::ZERO;
            let quality = reading.quality;
            return GroundSpeed { speed: self.speed, quality, ..GroundSpeed::default() };
        }
        let tick = elapsed.seconds();
        self.speed = self.speed.saturating_add(self.change.over(tick));
        self.change = self.change.saturating_sub(self.change.scaled(FORGET.over(tick)));
        let mut caught_up = Length::ZERO;
        if !self.followed {
            self.speed = reading.value;
            self.followed = true;
        } else if reading.age < self.last_age || reading.age == Span::ZERO {
            caught_up = self.correct(reading, elapsed);
        }
        self.last_age = reading.age;
        self.speed = self.speed.max(Speed::ZERO);
        if self.speed.max(reading.value) == Speed::ZERO {
            // It stands: what rounding leaves of the braking is no change of speed.
            self.change = Acceleration::ZERO;
        }
        GroundSpeed {
            speed: self.speed,
            change: self.change,
            travelled: self.speed.over(tick).saturating_add(caught_up),
            quality: Quality::Good,
        }
    }

    /// Takes a new reading over; returns the ground that the speeds since the last one missed, as if
    /// the error had grown evenly.
    fn correct(&mut self, reading: Reading<Speed>, elapsed: Span) -> Length {
        let between = self.last_age.saturating_add(elapsed).saturating_sub(reading.age).seconds();
        let weight = FULL_PACE.over(between.min(FULL_READING));
        let then = self.speed.saturating_sub(self.change.over(reading.age.seconds()));
        let error = reading.value.saturating_sub(then).scaled(weight);
        self.speed = self.speed.saturating_add(error.scaled(FOLLOW));
        let over = between.max(FULL_READING);
        let change = self.change.saturating_add(error.scaled(FOLLOW_CHANGE).gained_within(over));
        self.change = change.held_within(STEEPEST.negated(), STEEPEST);
        error.over(between).halved(1)
    }
}

/// The first good source in order of trust; if none is good, the least bad of them.
#[must_use]
pub fn choose(speeds: &Speeds) -> Reading<Speed> {
    let Speeds { selected, ground, satellite, pulses, wheel } = speeds;
    let by_trust = [selected, ground, satellite, pulses, wheel];
    // None is better than good, so that the others need not be looked at.
    let good = by_trust.into_iter().find(|reading| reading.quality == Quality::Good);
    let best = good.or_else(|| by_trust.into_iter().rev().max_by_key(|reading| reading.quality));
    best.copied().unwrap_or_default()
}
