//! Hay between rollers and ground: each tuft falls apart into parcels that land one after another.

use super::STEP_S;
use crate::random::Stream;

/// How hay falls beyond its mean time, which belongs to the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct FallLaw {
    /// Assumed, 0.03 to 0.2: deviation of the time of fall between parcels, s.
    pub fall_spread_s: f64,
}

impl Default for FallLaw {
    fn default() -> Self {
        Self { fall_spread_s: 0.08 }
    }
}

/// Parcels a tuft falls apart into.
const PARCELS: u64 = 4;
/// Slots of a millisecond; a power of two. Longer falls land in the last one.
const SLOTS: usize = 2048;

/// A ring of milliseconds to come.
#[derive(Clone, Debug)]
pub struct Air {
    random: Stream,
    fall_s: f64,
    spread_s: f64,
    slots: Vec<f64>,
    now: usize,
    tuft: u64,
    full_slots: u32,
    kg: f64,
}

impl Air {
    /// Clear air over a fall of `fall_s` in the mean.
    #[must_use]
    pub fn new(fall_s: f64, law: &FallLaw, random: Stream) -> Self {
        let slots = vec![0.0; SLOTS];
        Self {
            random,
            fall_s,
            spread_s: law.fall_spread_s,
            slots,
            now: 0,
            tuft: 0,
            full_slots: 0,
            kg: 0.0,
        }
    }

    /// A tuft leaves the rollers, kg, above zero.
    pub fn throw(&mut self, kg: f64) {
        for parcel in 0..PARCELS {
            let deviation = self.random.normal(self.tuft * PARCELS + parcel);
            let steps = (self.fall_s + self.spread_s * deviation) / STEP_S;
            let slot = self.now + steps.clamp(1.0, (SLOTS - 1) as f64) as usize;
            let slot = &mut self.slots[slot % SLOTS];
            self.full_slots += u32::from(*slot == 0.0);
            *slot += kg / PARCELS as f64;
        }
        self.kg += kg;
        self.tuft += 1;
    }

    /// One millisecond; gives the hay that lands in it, kg.
    pub fn step(&mut self) -> f64 {
        self.now = (self.now + 1) % SLOTS;
        let landed_kg = core::mem::take(&mut self.slots[self.now]);
        if landed_kg > 0.0 {
            self.full_slots -= 1;
            // Empty air is empty to the last bit.
            self.kg = if self.full_slots == 0 { 0.0 } else { self.kg - landed_kg };
        }
        landed_kg
    }

    /// Hay on its way, kg.
    #[must_use]
    pub fn kg(&self) -> f64 {
        self.kg
    }
}
