//! Analog instruments behind a 12-bit converter over 0 to 5 V; both send 0.5 to 4.5 V.

use super::InstrumentSpec;
use crate::random::Stream;
use crate::world::World;
use strewn_controller::wires::AnalogWires;

/// Counts at the low end of a transmitter.
pub const COUNTS_LOW: u16 = 410;
/// Counts at its high end.
pub const COUNTS_HIGH: u16 = 3686;
/// Pressure at the high end, Pa; zero at the low one.
pub const PRESSURE_HIGH_PA: f64 = 25_000_000.0;
/// Distance at the high end, m; zero at the low one.
pub const GAUGE_HIGH_M: f64 = 1.5;
/// Distance from the gauge to the axis of the bale, m.
pub const GAUGE_TO_AXIS_M: f64 = 1.3;
/// Counts of the reference.
pub const COUNTS_REFERENCE: u16 = 2048;

/// Pressure transmitter, bale gauge and reference.
#[derive(Clone, Debug)]
pub struct Analog {
    pressure_noise: Stream,
    gauge_noise: Stream,
    pressure: Option<f64>,
    gauge: Option<f64>,
}

impl Analog {
    /// What is fitted according to the specification.
    #[must_use]
    pub fn new(spec: &InstrumentSpec, random: Stream) -> Self {
        Self {
            pressure_noise: random.named("pressure"),
            gauge_noise: random.named("gauge"),
            pressure: spec.pressure.then_some(spec.pressure_noise_pa),
            gauge: spec.gauge.then_some(spec.gauge_noise_m),
        }
    }

    /// One scan of the converter. A pressure below zero reads as zero.
    #[must_use]
    pub fn read(&self, world: &World) -> AnalogWires {
        let pressure = |noise_pa: f64| {
            let noise_pa = noise_pa * self.pressure_noise.normal(world.steps());
            counts((world.pressure_pa().max(0.0) + noise_pa) / PRESSURE_HIGH_PA)
        };
        let gauge = |noise_m: f64| {
            let noise_m = noise_m * self.gauge_noise.normal(world.steps());
            counts((GAUGE_TO_AXIS_M - world.bale_face_m() + noise_m) / GAUGE_HIGH_M)
        };
        AnalogWires {
            pressure: self.pressure.map_or(0, pressure),
            gauge: self.gauge.map_or(0, gauge),
            reference: COUNTS_REFERENCE,
        }
    }
}

/// Counts of a share of the span, 0 to 4095.
fn counts(share: f64) -> u16 {
    let span = f64::from(COUNTS_HIGH - COUNTS_LOW);
    (f64::from(COUNTS_LOW) + share * span + 0.5).clamp(0.0, 4095.0) as u16
}
