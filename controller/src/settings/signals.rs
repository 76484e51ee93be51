//! Settings of floor 1: how counts, edges and switches are to be read.
//!
//! The configuration holds what a person measures or reads from a data sheet; building it checks
//! every field and turns it into the numbers that the tick uses.

use super::error::{SettingError, check};
use super::field::config;
use super::sensors::{
    AnalogLine, GaugeConfig, GroundConfig, GroundSettings, PressureConfig, WeighConfig,
    WeighSettings,
};
use crate::units::{Span, Speed};

config! {
    /// How the wires are to be read, in physical integers. What is `None` is not fitted.
    SignalConfig {
        /// Shortest time between two edges of a roller's sensor that the machine can make.
        roller_shortest_us: 50..=1_000_000, 2_000;
        fitted {
            /// A ground wheel or radar with a pulse output.
            ground: GroundConfig;
        }
        /// Fastest believable ground speed, either way.
        fastest_mm_s: 1_000..=60_000, 15_000;
        /// Age at which a speed from the CAN bus is stale.
        bus_stale_ms: 100..=2_000, 300;
        /// Age at which a satellite receiver's speed is stale.
        satellite_stale_ms: 100..=5_000, 1_500;
        /// Age at which the bus's stop button counts as gone.
        bus_stop_stale_ms: 1_000..=10_000, 3_000;
        fitted {
            /// Weigh cells under the cradle.
            weigh: WeighConfig;
            /// Pressure across the roller motors.
            pressure: PressureConfig;
            /// Bale gauge.
            gauge: GaugeConfig;
        }
        /// Lowest counts of the reference voltage.
        reference_lowest_counts: 1..=4_093, 1_988;
        /// Highest counts of the reference voltage.
        reference_highest_counts: 2..=4_094, 2_108;
        /// Longest time the two stop channels may differ before they contradict each other.
        stop_disagree_ms: 10..=50, 50;
        /// Time after which a lost person counts as lost.
        present_release_ms: 10..=100, 100;
        /// Time after which a let-go run switch counts as let go.
        run_release_ms: 10..=50, 50;
        /// Time that a button must have been open without a break before a press of it counts.
        button_release_ms: 10..=500, 200;
    }
}

/// [`SignalConfig`] in machine numbers; only [`SignalConfig::build`] makes it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(missing_docs, reason = "each field is that of the configuration, without its unit")]
pub struct SignalSettings {
    pub roller_shortest: Span,
    pub ground: Option<GroundSettings>,
    pub fastest: Speed,
    pub bus_stale: Span,
    pub satellite_stale: Span,
    pub bus_stop_stale: Span,
    pub weigh: Option<WeighSettings>,
    pub pressure: Option<AnalogLine>,
    pub gauge: Option<AnalogLine>,
    pub reference: (i32, i32),
    pub stop_disagree: Span,
    pub present_release: Span,
    pub run_release: Span,
    pub button_release: Span,
}

impl SignalConfig {
    /// Checks every field and turns the record into machine numbers.
    ///
    /// # Errors
    /// The first field that is not allowed.
    pub fn build(&self) -> Result<SignalSettings, SettingError> {
        self.checked()?;
        let millis = |millis: i32| Span::from_millis(millis.unsigned_abs());
        let reference = (self.reference_lowest_counts, self.reference_highest_counts);
        let above = reference.0.saturating_add(1)..=Self::HIGHEST.reference_highest_counts;
        check("reference_highest_counts", reference.1, above)?;
        Ok(SignalSettings {
            roller_shortest: Span::from_micros(self.roller_shortest_us.unsigned_abs()),
            ground: self.ground.as_ref().map(GroundConfig::build).transpose()?,
            fastest: Speed::from_milli(self.fastest_mm_s),
            bus_stale: millis(self.bus_stale_ms),
            satellite_stale: millis(self.satellite_stale_ms),
            bus_stop_stale: millis(self.bus_stop_stale_ms),
            weigh: self.weigh.as_ref().map(WeighConfig::build).transpose()?,
            pressure: self.pressure.as_ref().map(PressureConfig::build).transpose()?,
            gauge: self.gauge.as_ref().map(GaugeConfig::build).transpose()?,
            reference,
            stop_disagree: millis(self.stop_disagree_ms),
            present_release: millis(self.present_release_ms),
            run_release: millis(self.run_release_ms),
            button_release: millis(self.button_release_ms),
        })
    }
}
