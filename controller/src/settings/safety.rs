//! Settings of floor 4.

use super::error::{SettingError, check};
use super::field::config;
use crate::units::{Duty, Frequency, Pressure, Ratio, Span, Speed, TurnRate};
use crate::wires::SwitchBits;

/// Switches without which nothing may turn, whatever is fitted.
const VITAL: u16 = SwitchBits::PRESENT | SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
/// Rollers that stand above this share of the highest pressure are stalled.
const STALLED_SHARE: Ratio = Ratio::from_bits(55_706); // 0.85

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
        start_patience_ms: 100..=2_000, 300;
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
        /// A tick longer than this is slow; three in a hundred stop.
        tick_slow_ms: 11..=100, 15;
        /// How long a standing tractor only pauses the rollers while the switch is held; 0 never.
        pause_ms: 0..=30_000, 0;
        /// How long rollers may stand at high pressure.
        stall_patience_ms: 50..=1_000, 250;
        /// How long the rollers may tell different speeds.
        disagree_patience_ms: 100..=2_000, 300;
        /// How long a roller sensor may give impossible pulses.
        pulse_patience_ms: 10..=1_000, 100;
        /// How long the rollers may turn well above the speed asked for.
        above_patience_ms: 200..=5_000, 700;
        /// How long two sources of ground speed may differ.
        speeds_patience_ms: 200..=10_000, 3_000;
        /// How long the pressure may read exactly the same while the rollers turn.
        frozen_patience_ms: 200..=10_000, 2_000;
        /// How long hitch and level switches, jolted by the field, may be open.
        switch_patience_ms: 10..=500, 100;
        /// Whether a guard switch is fitted: 1 or 0.
        guard_fitted: 0..=1, 0;
        /// Whether a hitch switch is fitted: 1 or 0.
        hitch_fitted: 0..=1, 0;
        /// Whether a level switch is fitted: 1 or 0.
        level_fitted: 0..=1, 0;
        /// Whether the hold-to-run switch has a second contact: 1 or 0.
        run_pair_fitted: 0..=1, 0;
        /// Whether the current of the valve's coil is measured: 1 or 0.
        coil_fitted: 0..=1, 0;
        /// Counts of the coil's current below which there is none.
        coil_none_counts: 1..=4_000, 60;
        /// Counts of the coil's current at full command.
        coil_full_counts: 200..=4_000, 3_000;
        /// Counts above which the coil or its cable is shorted.
        coil_most_counts: 200..=4_094, 3_800;
        /// How long a commanded coil may draw no current.
        coil_patience_ms: 20..=500, 50;
        /// Time in which the current must have died away after the command.
        coil_decay_ms: 20..=500, 150;
        /// Whether the valve's supply behind the enable is measured: 1 or 0.
        supply_fitted: 0..=1, 0;
        /// Counts from which the valve counts as supplied.
        supply_on_counts: 10..=4_000, 1_500;
        /// Time in which the supply must follow the enable.
        supply_patience_ms: 20..=500, 100;
        /// Command that tests the valve's path at arming, well within its dead band; 0 for no test.
        test_duty_permille: 0..=100, 50;
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
    /// Longer ticks are slow.
    pub tick_slow: Span,
    /// Longest pause on a standing tractor.
    pub pause: Span,
    /// Patience with rollers that stand at high pressure.
    pub stall_patience: Span,
    /// From this pressure on, standing rollers are stalled.
    pub stall_pressure: Pressure,
    /// Patience with rollers that disagree.
    pub disagree_patience: Span,
    /// Patience with impossible pulses.
    pub pulse_patience: Span,
    /// Patience with rollers above the speed asked for.
    pub above_patience: Span,
    /// Patience with ground speeds that disagree.
    pub speeds_patience: Span,
    /// Patience with a pressure that reads the same.
    pub frozen_patience: Span,
    /// Patience with hitch and level switches.
    pub switch_patience: Span,
    /// Switch bits without which the gate opens nothing.
    pub vital: u16,
    /// Switch bits that say that the run switch is held.
    pub run: u16,
    /// Which of the optional switches are fitted.
    pub fitted: u16,
    /// The coil's current, if measured.
    pub coil: Option<CoilSettings>,
    /// Patience with a commanded coil without current.
    pub coil_patience: Span,
    /// Time in which its current dies away.
    pub coil_decay: Span,
    /// Counts from which the valve is supplied, if measured.
    pub supply_on: Option<i32>,
    /// Time in which the supply follows the enable.
    pub supply_patience: Span,
    /// Command of the test at arming; zero without the means to judge it.
    pub test_duty: Duty,
}

/// How the coil's current reads, in counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct CoilSettings {
    /// Up to here there is none.
    pub none: i32,
    /// At full command.
    pub full: i32,
    /// Above this it is shorted.
    pub most: i32,
}

impl SafetyConfig {
    /// Checks and turns into machine numbers.
    ///
    /// # Errors
    /// The first field out of its range, or at odds with another.
    pub fn build(&self) -> Result<SafetySettings, SettingError> {
        self.checked()?.agrees()?;
        let span = |millis: i32| Span::from_millis(millis.unsigned_abs());
        let switch = |fitted: i32, bit: u16| if fitted == 1 { bit } else { 0 };
        let guard = switch(self.guard_fitted, SwitchBits::GUARD_SHUT);
        let measured = self.coil_fitted == 1 || self.supply_fitted == 1;
        let limit = Pressure::from_whole(self.pressure_limit_kpa);
        Ok(SafetySettings {
            tick_limit: span(self.tick_limit_ms),
            arming: span(self.arming_ms),
            least_speed: Speed::from_milli(self.least_speed_mm_s),
            speed_patience: span(self.speed_patience_ms),
            start_patience: span(self.start_patience_ms),
            rest_patience: span(self.rest_patience_ms),
            standing: TurnRate::from_milli(self.standing_milliturns_s),
            pressure_limit: limit,
            pressure_patience: span(self.pressure_patience_ms),
            roller_limit: TurnRate::from_milli(self.roller_limit_milliturns_s),
            duty_limit: Duty::from_milli(self.duty_limit_permille),
            duty_slew: Frequency::from_milli(self.duty_slew_permille_s),
            tick_slow: span(self.tick_slow_ms),
            pause: span(self.pause_ms),
            stall_patience: span(self.stall_patience_ms),
            stall_pressure: limit.scaled(STALLED_SHARE),
            disagree_patience: span(self.disagree_patience_ms),
            pulse_patience: span(self.pulse_patience_ms),
            above_patience: span(self.above_patience_ms),
            speeds_patience: span(self.speeds_patience_ms),
            frozen_patience: span(self.frozen_patience_ms),
            switch_patience: span(self.switch_patience_ms),
            vital: VITAL | guard,
            run: SwitchBits::RUN | switch(self.run_pair_fitted, SwitchBits::RUN_B),
            fitted: guard
                | switch(self.hitch_fitted, SwitchBits::HITCH_DOWN)
                | switch(self.level_fitted, SwitchBits::LEVEL),
            coil: (self.coil_fitted == 1).then_some(CoilSettings {
                none: self.coil_none_counts,
                full: self.coil_full_counts,
                most: self.coil_most_counts,
            }),
            coil_patience: span(self.coil_patience_ms),
            coil_decay: span(self.coil_decay_ms),
            supply_on: (self.supply_fitted == 1).then_some(self.supply_on_counts),
            supply_patience: span(self.supply_patience_ms),
            test_duty: if measured {
                Duty::from_milli(self.test_duty_permille)
            } else {
                Duty::ZERO
            },
        })
    }

    /// Whether the counts of a measured coil stand in their order.
    fn agrees(&self) -> Result<(), SettingError> {
        if self.coil_fitted == 1 {
            let most = Self::HIGHEST;
            let above = |low: i32, most: i32| low.saturating_add(1)..=most;
            let full = above(self.coil_none_counts, most.coil_full_counts);
            check("coil_full_counts", self.coil_full_counts, full)?;
            let shorted = above(self.coil_full_counts, most.coil_most_counts);
            check("coil_most_counts", self.coil_most_counts, shorted)?;
        }
        Ok(())
    }
}
