//! Analog instruments behind a 12-bit converter over 0 to 5 V: transmitters that send 0.5 to 4.5 V,
//! the current of the valve's coil, and the valve's supply behind the enable.

use super::InstrumentSpec;
use crate::random::Stream;
use crate::world::{STEP_S, World};
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
/// How long a cloud of dust stays before the gauge, in steps of a millisecond.
const DUST_STEPS: u64 = 50;
/// How much nearer than the face it is seen, m.
const DUST_M: f64 = 0.3;
/// Counts of the reference.
pub const COUNTS_REFERENCE: u16 = 2048;
/// Current of a cold coil at full command and stated supply, A.
const COIL_FULL_A: f64 = 2.4;
/// Counts of that current.
pub const COUNTS_COIL_FULL: u16 = 3000;
/// Counts of the valve's supply when it is on, and of what is left when it is off.
pub const COUNTS_SUPPLY: (u16, u16) = (2730, 20);
/// Assumed: inductance over resistance of the coil, s.
const COIL_S: f64 = 0.015;
/// Assumed: noise of the current's measurement, counts.
const COIL_NOISE: f64 = 4.0;

/// Pressure transmitter, bale gauge, reference and the two wires that watch the valve.
#[derive(Clone, Debug)]
pub struct Analog {
    pressure_noise: Stream,
    gauge_noise: Stream,
    coil_noise: Stream,
    gauge_dust: Stream,
    /// Chance of dust in each of its stretches of time.
    dust_share: f64,
    offset_counts: f64,
    pressure: Option<f64>,
    gauge: Option<f64>,
    valve_feedback: bool,
    /// Current through the coil as a share of [`COIL_FULL_A`].
    coil: f64,
}

impl Analog {
    /// What is fitted according to the specification.
    #[must_use]
    pub fn new(spec: &InstrumentSpec, random: Stream) -> Self {
        Self {
            pressure_noise: random.named("pressure"),
            gauge_noise: random.named("gauge"),
            coil_noise: random.named("coil"),
            valve_feedback: spec.valve_feedback,
            coil: 0.0,
            gauge_dust: random.named("dust"),
            dust_share: spec.gauge_dust_s * DUST_STEPS as f64 * STEP_S,
            offset_counts: spec.converter_counts * random.named("offset").normal(0),
            pressure: spec.pressure.then_some(spec.pressure_noise_pa),
            gauge: spec.gauge.then_some(spec.gauge_noise_m),
        }
    }

    /// Call after every step of the world: the current follows the command through the coil.
    pub fn watch(&mut self, world: &World) {
        self.coil += (world.coil_a() * (1.0 / COIL_FULL_A) - self.coil) * (STEP_S / COIL_S);
    }

    /// One scan of the converter. A pressure below zero reads as zero.
    #[must_use]
    pub fn read(&self, world: &World) -> AnalogWires {
        let pressure = |noise_pa: f64| {
            let noise_pa = noise_pa * self.pressure_noise.normal(world.steps());
            self.counts((world.pressure_pa().max(0.0) + noise_pa) / PRESSURE_HIGH_PA)
        };
        let gauge = |noise_m: f64| {
            let noise_m = noise_m * self.gauge_noise.normal(world.steps());
            let dusty = self.gauge_dust.uniform(world.steps() / DUST_STEPS) < self.dust_share;
            let dust_m = if dusty { DUST_M } else { 0.0 };
            self.counts((GAUGE_TO_AXIS_M - world.bale_face_m() + noise_m - dust_m) / GAUGE_HIGH_M)
        };
        AnalogWires {
            pressure: self.pressure.map_or(0, pressure),
            gauge: self.gauge.map_or(0, gauge),
            reference: self.converted(f64::from(COUNTS_REFERENCE)),
            coil_current: if self.valve_feedback { self.coil_counts(world) } else { 0 },
            valve_supply: match (self.valve_feedback, world.command().enable) {
                (true, true) => COUNTS_SUPPLY.0,
                (true, false) => COUNTS_SUPPLY.1,
                (false, _) => 0,
            },
        }
    }

    fn coil_counts(&self, world: &World) -> u16 {
        let noise = COIL_NOISE * (1.0 + self.coil_noise.normal(world.steps()));
        (self.coil * f64::from(COUNTS_COIL_FULL) + noise).clamp(0.0, 4095.0) as u16
    }

    /// Counts of a share of the span.
    fn counts(&self, share: f64) -> u16 {
        let span = f64::from(COUNTS_HIGH - COUNTS_LOW);
        self.converted(f64::from(COUNTS_LOW) + share * span)
    }

    /// What the converter makes of true counts: 0 to 4095.
    fn converted(&self, counts: f64) -> u16 {
        (counts + self.offset_counts + 0.5).clamp(0.0, 4095.0) as u16
    }
}
