//! Settings of floor 4.

use super::error::SettingError;
use super::field::config;
use crate::units::{Duty, Frequency, Pressure, Span, Speed, TurnRate};

config! {
    /// Limits of safe running, in plain integers.
    SafetyConfig {
        /// Longest time from one tick to the next.
        tick_limit_ms: 11..=100, 25;
        /// Time in which the second act must follow the first.
        arming_ms: 1_000..=30_000, 6_000;
        /// Ground speed below which the tractor counts as standing.
        least_speed_mm_s: 50..=2_000, 200;
        /// How long the tractor may stand, or its speed be unknown, before the rollers stop.
        speed_patience_ms: 10..=1_000, 200;
        /// Time in which rollers that are asked to turn must do so.
        start_patience_ms: 200..=2_000, 500;
        /// Time in which rollers that are asked to rest must stand.
        rest_patience_ms: 200..=2_000, 800;
        /// Roller speed that counts as standing.
        standing_milliturns_s: 10..=500, 50;
        /// Highest pressure across the motors.
        pressure_limit_kpa: 1_000..=30_000, 19_000;
        /// How long the pressure may stay above its limit.
        pressure_patience_ms: 10..=1_000, 150;
        /// Fastest that the rollers may turn by the gate's own count.
        roller_limit_milliturns_s: 500..=10_000, 4_500;
        /// Largest valve command.
        duty_limit_permille: 100..=1_000, 1_000;
        /// Fastest growth of the valve command, share of stroke per second; it may shrink at once.
        duty_slew_permille_s: 500..=50_000, 6_000;
    }
}

/// The same in machine numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SafetySettings {
    /// Longest tick.
    pub tick_limit: Span,
    /// Time for the second act.
    pub arming: Span,
    /// The tractor stands below this.
    pub least_speed: Speed,
    /// Patience with a standing tractor or a lost speed.
    pub speed_patience: Span,
    /// Patience with rollers that do not start.
    pub start_patience: Span,
    /// Patience with rollers that do not stop.
    pub rest_patience: Span,
    /// Rollers stand below this.
    pub standing: TurnRate,
    /// Highest pressure.
    pub pressure_limit: Pressure,
    /// Patience with a pressure above it.
    pub pressure_patience: Span,
    /// Fastest roller speed.
    pub roller_limit: TurnRate,
    /// Largest valve command.
    pub duty_limit: Duty,
    /// Fastest growth of the valve command.
    pub duty_slew: Frequency,
}

impl SafetyConfig {
    /// Checks and turns into machine numbers.
    ///
    /// # Errors
    /// The first field out of its range.
    pub fn build(&self) -> Result<SafetySettings, SettingError> {
        self.checked()?;
        let span = |millis: i32| Span::from_millis(millis.unsigned_abs());
        Ok(SafetySettings {
            tick_limit: span(self.tick_limit_ms),
            arming: span(self.arming_ms),
            least_speed: Speed::from_milli(self.least_speed_mm_s),
            speed_patience: span(self.speed_patience_ms),
            start_patience: span(self.start_patience_ms),
            rest_patience: span(self.rest_patience_ms),
            standing: TurnRate::from_milli(self.standing_milliturns_s),
            pressure_limit: Pressure::from_whole(self.pressure_limit_kpa),
            pressure_patience: span(self.pressure_patience_ms),
            roller_limit: TurnRate::from_milli(self.roller_limit_milliturns_s),
            duty_limit: Duty::from_milli(self.duty_limit_permille),
            duty_slew: Frequency::from_milli(self.duty_slew_permille_s),
        })
    }
}
