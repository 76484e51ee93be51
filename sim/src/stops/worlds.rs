//! Drawn machines: each number gives one, with two bales and a controller set for what is known of it.

use crate::bench::scenario::{Scenario, ScenarioError};
use crate::bench::settings::{config, instruments};
use crate::instruments::InstrumentSpec;
use crate::random::Stream;
use strewn_controller::settings::{SettingError, Settings};

/// One drawn machine.
pub(super) struct Drawn {
    pub(super) scenario: Scenario,
    pub(super) settings: Settings,
    pub(super) instruments: InstrumentSpec,
    pub(super) random: Stream,
}

/// Why a machine cannot be drawn.
#[derive(Debug, thiserror::Error)]
pub enum DrawError {
    /// Its scenario is not one.
    #[error("the drawn machine is not allowed: {0}")]
    Scenario(#[from] ScenarioError),
    /// Its settings are not allowed.
    #[error("the drawn machine's controller cannot be set so: {0}")]
    Setting(#[from] SettingError),
}

impl Drawn {
    /// Machine number `number` under a seed. Every sensor and every switch is fitted; the ranges are
    /// those within which hardware-notes/assumed.md doubts its numbers.
    pub(super) fn new(seed: u64, number: u64) -> Result<Self, DrawError> {
        let random = Stream::root(seed).named("stops").numbered(number);
        let mut draws = 0;
        let mut draw = |low: f64, high: f64| {
            draws += 1;
            low + (high - low) * random.named("machine").uniform(draws)
        };
        let text = format!(
            "name = \"drawn machine {number}\"\n\
             target_lb_per_ft = {:.2}\n\
             [tractor]\nengine_rpm = {:.0}\nspeed_wander_percent = {:.1}\n\
             [machine]\nrelief_psi = {:.0}\nhysteresis_percent = {:.1}\nvalve_lag_s = {:.3}\nfall_s = {:.2}\n\
             [sensors]\nground_pulses = true\nnmea_hz = 5\n\
             [[ticket]]\nweight_lb = 1000\ncore = \"dense\"\n\
             [[bale]]\nweight_lb = {:.0}\ncore_ratio = {:.2}\ncore_radius_percent = {:.0}\n\
             [[bale]]\nweight_lb = {:.0}\n",
            draw(2.0, 3.5),
            draw(1700.0, 2200.0),
            draw(0.0, 8.0),
            draw(2400.0, 2900.0),
            draw(1.0, 6.0),
            draw(0.06, 0.18),
            draw(0.3, 0.6),
            draw(850.0, 1150.0),
            draw(1.5, 3.5),
            draw(22.0, 38.0),
            draw(850.0, 1150.0),
        );
        let scenario = Scenario::parse(&text)?;
        let settings = config(&scenario, None).build()?;
        let instruments = instruments(&scenario, None);
        Ok(Self { scenario, settings, instruments, random })
    }
}
