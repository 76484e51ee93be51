//! Settings: plain integers in physical units that a person can set, checked as a whole and turned
//! into machine numbers once, outside the tick.

mod error;
mod estimate;
mod field;
mod metering;
mod safety;
mod sensors;
mod signals;
mod ticket;

pub use error::{SettingError, check};
pub use estimate::{EstimateConfig, EstimateSettings, GAUGE_TURN, TICKETS};
pub use field::Field;
pub use metering::{MeteringConfig, MeteringSettings};
pub use safety::{CoilSettings, SafetyConfig, SafetySettings};
pub use sensors::{
    AnalogLine, GaugeConfig, GroundConfig, GroundSettings, PressureConfig, WeighConfig,
    WeighSettings,
};
pub use signals::{SignalConfig, SignalSettings};
pub use ticket::{Core, Ticket, TicketConfig};

use crate::units::Duty;
use heapless::Vec;
use serde::{Deserialize, Serialize};

/// Everything that can be set, as a person or a file gives it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Config {
    /// Floor 1.
    #[serde(default)]
    pub signals: SignalConfig,
    /// Floor 2.
    #[serde(default)]
    pub estimate: EstimateConfig,
    /// Floor 3.
    #[serde(default)]
    pub metering: MeteringConfig,
    /// Floor 4.
    #[serde(default)]
    pub safety: SafetyConfig,
    /// The lots of bales, one to [`TICKETS`].
    pub tickets: Vec<TicketConfig, TICKETS>,
}

/// Everything that can be set, in machine numbers. Does not change while the machine runs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Settings {
    /// Floor 1.
    pub signals: SignalSettings,
    /// Floor 2.
    pub estimate: EstimateSettings,
    /// Floor 3.
    pub metering: MeteringSettings,
    /// Floor 4.
    pub safety: SafetySettings,
}

impl Config {
    /// Checks every record and turns them into machine numbers.
    ///
    /// # Errors
    /// The first setting out of its range, or at odds with another; nothing is built then.
    pub fn build(&self) -> Result<Settings, SettingError> {
        let settings = Settings {
            signals: self.signals.build()?,
            estimate: self.estimate.build(&self.tickets)?,
            metering: self.metering.build()?,
            safety: self.safety.build()?,
        };
        self.agrees(settings.safety.test_duty > Duty::ZERO)?;
        Ok(settings)
    }

    /// Whether what is metered keeps within the limits, and the test of the valve's path moves no roller.
    fn agrees(&self, tested: bool) -> Result<(), SettingError> {
        let Self { metering, safety, .. } = self;
        let fast =
            metering.most_rate_milliturns_s..=SafetyConfig::HIGHEST.roller_limit_milliturns_s;
        check("roller_limit_milliturns_s", safety.roller_limit_milliturns_s, fast)?;
        if tested {
            let dead = 0..=metering.dead_band_permille;
            check("test_duty_permille", safety.test_duty_permille, dead)?;
        }
        Ok(())
    }
}
