//! Settings of floor 3.

use super::error::SettingError;
use super::estimate::frequency;
use super::field::config;
use crate::units::{
    Duty, Frequency, Length, LineRate, Mass, PerMass, Ratio, Seconds, TurnRate, ValveGain,
    arith::divide_wide,
};

config! {
    /// How hay is metered, in plain integers.
    MeteringConfig {
        /// Hay to lay on each metre of row.
        target_g_per_m: 744..=59_527, 4_464;
        /// Length of row after which laying ends by itself, from its first hay on; 0 for no such end.
        row_length_mm: 0..=2_000_000, 0;
        /// Time from leaving the rollers to lying on the ground.
        fall_ms: 0..=2_000, 450;
        /// Lag of valve and rollers behind the command.
        valve_lag_ms: 20..=2_000, 150;
        /// Time in which hay owed to the ground, or laid too much, is made good.
        repay_ms: 500..=30_000, 4_000;
        /// Most that repaying may add to or take from the flow, as a share of it.
        repay_limit_permille: 0..=1_000, 300;
        /// Hay laid too much that makes the rollers wait for the ground to catch up.
        hold_g: 500..=50_000, 4_000;
        /// Valve command below which nothing flows.
        dead_band_permille: 0..=400, 150;
        /// Roller speed that a full valve command gives.
        full_rate_milliturns_s: 200..=10_000, 5_700;
        /// Correction of the valve for an error of roller speed, share of stroke per turn/s.
        valve_gain_permille: 0..=1_000, 160;
        /// Time in which the valve takes over a lasting error of roller speed.
        valve_learning_ms: 50..=60_000, 400;
        /// Fastest that the rollers may be asked to turn.
        most_rate_milliturns_s: 200..=8_000, 3_500;
        /// Roller speed at which a dense core comes loose without clumps.
        core_rate_milliturns_s: 50..=3_000, 450;
        /// Roller speed at which a dense core that begins is still felt and braked for in time.
        watch_rate_milliturns_s: 50..=8_000, 800;
        /// How much larger than its ticket's a dense core may be; the rollers watch for it from there on.
        core_margin_permille: 0..=2_000, 700;
        /// Hay left above that at which the rollers begin to slow down for it.
        core_approach_g: 1_000..=500_000, 80_000;
    }
}

/// The same in machine numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct MeteringSettings {
    /// Hay to lay.
    pub target: LineRate,
    /// Length of row after which laying ends; `None` for rows that end when somebody ends them.
    pub row_length: Option<Length>,
    /// From the rollers to the ground.
    pub fall: Seconds,
    /// How fast hay in the air lands: the inverse of the fall.
    pub landing: Frequency,
    /// From the command to the ground.
    pub lead: Seconds,
    /// How fast the rollers follow the valve.
    pub valve_pace: Frequency,
    /// How fast what is owed is repaid: the inverse of the time that it may take.
    pub repay: Frequency,
    /// Most of the flow that repaying may change.
    pub repay_limit: Ratio,
    /// Hay too much that makes the rollers wait.
    pub hold: Mass,
    /// Valve command below which nothing flows.
    pub dead_band: Duty,
    /// Valve command above the dead band per roller speed.
    pub duty_per_rate: ValveGain,
    /// Correction for an error of roller speed.
    pub valve_gain: ValveGain,
    /// How fast a lasting error is taken over.
    pub valve_learning: Frequency,
    /// Fastest roller speed.
    pub most_rate: TurnRate,
    /// Roller speed for a dense core.
    pub core_rate: TurnRate,
    /// Roller speed at which one that begins is still felt in time.
    pub watch_rate: TurnRate,
    /// Size of the largest core to expect, as a share of the ticket's.
    pub core_size: Ratio,
    /// Slowing down for it begins so far above it: the inverse of that mass.
    pub core_approach: PerMass,
}

impl MeteringConfig {
    /// Checks and turns into machine numbers.
    ///
    /// # Errors
    /// The first field out of its range.
    pub fn build(&self) -> Result<MeteringSettings, SettingError> {
        self.checked()?;
        let fall = Seconds::from_milli(self.fall_ms);
        let dead_band = Duty::from_milli(self.dead_band_permille);
        let open = Duty::ONE.saturating_sub(dead_band).to_bits().max(0).unsigned_abs();
        let per_rate = u64::from(open).saturating_mul(1_000);
        let per_rate = divide_wide(per_rate, self.full_rate_milliturns_s.unsigned_abs());
        Ok(MeteringSettings {
            target: LineRate::from_milli(self.target_g_per_m),
            row_length: (self.row_length_mm > 0).then(|| Length::from_milli(self.row_length_mm)),
            fall,
            landing: frequency(self.fall_ms),
            lead: fall.saturating_add(Seconds::from_milli(self.valve_lag_ms)),
            valve_pace: frequency(self.valve_lag_ms),
            repay: frequency(self.repay_ms),
            repay_limit: Ratio::from_milli(self.repay_limit_permille),
            hold: Mass::from_milli(self.hold_g),
            dead_band,
            duty_per_rate: ValveGain::from_bits(i32::try_from(per_rate).unwrap_or(i32::MAX)),
            valve_gain: ValveGain::from_milli(self.valve_gain_permille),
            valve_learning: frequency(self.valve_learning_ms),
            most_rate: TurnRate::from_milli(self.most_rate_milliturns_s),
            core_rate: TurnRate::from_milli(self.core_rate_milliturns_s),
            watch_rate: TurnRate::from_milli(self.watch_rate_milliturns_s),
            core_size: Ratio::ONE.saturating_add(Ratio::from_milli(self.core_margin_permille)),
            core_approach: Ratio::ONE.per(Mass::from_milli(self.core_approach_g)),
        })
    }
}
