//! Weigh cells under the cradle. On a slope they bear only a part of the weight.

use super::InstrumentSpec;
use crate::random::Stream;
use crate::world::World;
use crate::world::wander::Wander;
use strewn_controller::wires::WeighWire;

/// Counts for a kilogram: one a gram.
pub const COUNTS_PER_KG: f64 = 1000.0;
/// Counts of the empty cradle.
pub const COUNTS_AT_ZERO: i32 = 120_000;
/// Ends of the 24-bit amplifier.
const MOST_COUNTS: f64 = 8_388_607.0;
/// The cradle bounces with its load, kg.
const CRADLE_KG: f64 = 250.0;
/// Time over which a bounce stays alike, s.
const BOUNCE_S: f64 = 0.08;

/// Time over which the zero drifts, s.
const DRIFT_S: f64 = 120.0;
/// Time constant of creep, s.
const CREEP_S: f64 = 300.0;
/// Time between two conversions, s.
const CONVERSION_S: f64 = 0.012_5;

/// The cells and their amplifier, which converts every 12.5 ms.
#[derive(Clone, Debug)]
pub struct WeighCells {
    noise: Stream,
    bounce: Wander,
    drift: Wander,
    noise_kg: f64,
    bounce_share: f64,
    zero_kg: f64,
    drift_kg: f64,
    creep: f64,
    /// Load as the cells have settled to it, kg; nothing before the first conversion.
    settled_kg: Option<f64>,
    /// Step of the next conversion.
    next_step: u64,
    wire: WeighWire,
}

impl WeighCells {
    /// Cells whose zero has drifted by a drawn constant.
    #[must_use]
    pub fn new(spec: &InstrumentSpec, random: Stream) -> Self {
        Self {
            noise: random.named("noise"),
            bounce: Wander::new(random.named("bounce"), BOUNCE_S),
            drift: Wander::new(random.named("drift"), DRIFT_S),
            noise_kg: spec.weigh_noise_kg,
            bounce_share: spec.weigh_bounce,
            zero_kg: spec.weigh_zero_kg * random.named("zero").normal(0),
            drift_kg: spec.weigh_drift_kg,
            creep: spec.weigh_creep,
            settled_kg: None,
            next_step: 13,
            wire: WeighWire::default(),
        }
    }

    /// Converts when it is time: two conversions in 25 steps.
    pub fn watch(&mut self, world: &World) {
        if world.steps() < self.next_step {
            return;
        }
        let conversion = world.steps() * 2 / 25;
        self.next_step = ((conversion + 1) * 25).div_ceil(2);
        let bounce = self.bounce.at(world.steps()) * self.bounce_share * world.ground_speed_m_s();
        let slope = world.spot().slope;
        let upright = 1.0 / (1.0 + slope * slope).sqrt();
        let load_kg = (world.left_kg() + CRADLE_KG) * (upright + bounce);
        let settled_kg = self.settled_kg.get_or_insert(load_kg);
        *settled_kg += (load_kg - *settled_kg) * (CONVERSION_S / CREEP_S);
        let creep_kg = self.creep * (*settled_kg - load_kg);
        let drift_kg = self.drift_kg * self.drift.at(world.steps());
        let kg = load_kg - CRADLE_KG
            + creep_kg
            + drift_kg
            + self.zero_kg
            + self.noise_kg * self.noise.normal(conversion);
        let counts = f64::from(COUNTS_AT_ZERO) + kg * COUNTS_PER_KG;
        self.wire.counts = counts.clamp(-MOST_COUNTS, MOST_COUNTS) as i32;
        self.wire.sequence = self.wire.sequence.wrapping_add(1);
    }

    /// The wire now.
    #[must_use]
    pub fn wire(&self) -> WeighWire {
        self.wire
    }
}
