//! A bale as it was made: density and mass by radius, its layers, and the waves that windrows leave
//! along the layer, that is around the bale, and from end to end of its axis, that is along it.

use super::geometry::volume_m3;
use super::spec::{BaleSpec, Profile};
use crate::random::Stream;
use core::f64::consts::PI;

/// How unevenly windrows feed a baler. Assumed: no measured figures are known.
#[derive(Clone, Debug, PartialEq)]
pub struct WaveLaw {
    /// Assumed, 0 to 0.15: deviation of local density as a share of it.
    pub wave_share: f64,
    /// Assumed, 1 to 10: hay between two knots of the wave, kg.
    pub wave_kg: f64,
    /// Assumed, 0 to 0.15: deviation of density between stretches of the bale's width, as a share of it:
    /// a driver who weaves over the windrow feeds one end more than the other.
    pub along_share: f64,
    /// Assumed, 5 to 60: hay over which one end stays the denser, kg.
    pub along_kg: f64,
    /// Assumed, 0.015 to 0.05: thickness of a wound layer, m.
    pub layer_m: f64,
    /// Assumed, 0 to 0.1: density in the middle of a layer over the mean, less 1.
    pub layer_share: f64,
}

impl Default for WaveLaw {
    fn default() -> Self {
        Self {
            wave_share: 0.05,
            wave_kg: 4.0,
            along_share: 0.08,
            along_kg: 20.0,
            layer_m: 0.025,
            layer_share: 0.02,
        }
    }
}

/// Stretches of a bale's width, end to end, that are told apart.
pub const STRETCHES: usize = 5;

/// A bale that nobody has touched. Waves and layers move hay about within a layer only, so that mass by
/// radius stays exact.
#[derive(Clone, Debug)]
pub struct Bale {
    radius_m: f64,
    width_m: f64,
    mass_kg: f64,
    profile: Profile,
    /// Density where the profile is 1, kg/m3.
    reference_kg_m3: f64,
    law: WaveLaw,
    waves: Vec<f64>,
    along: Vec<[f64; STRETCHES]>,
}

impl Bale {
    /// A bale of this make; `random` keys its waves.
    #[must_use]
    pub fn new(spec: &BaleSpec, law: &WaveLaw, random: Stream) -> Self {
        let knots = (spec.mass_kg / law.wave_kg) as u64 + 2;
        let pieces = (spec.mass_kg / law.along_kg) as u64 + 1;
        Self {
            radius_m: spec.diameter_m / 2.0,
            width_m: spec.width_m,
            mass_kg: spec.mass_kg,
            profile: spec.profile,
            reference_kg_m3: spec.mass_kg
                / (volume_m3(spec.diameter_m, spec.width_m) * spec.profile.mean()),
            law: law.clone(),
            waves: (0..knots).map(|knot| law.wave_share * random.normal(knot)).collect(),
            along: (0..pieces)
                .map(|piece| along(law, random.named("along").numbered(piece)))
                .collect(),
        }
    }

    /// Radius as made, m.
    #[must_use]
    pub fn radius_m(&self) -> f64 {
        self.radius_m
    }

    /// Width along the axis, m.
    #[must_use]
    pub fn width_m(&self) -> f64 {
        self.width_m
    }

    /// Mass as fed, kg.
    #[must_use]
    pub fn mass_kg(&self) -> f64 {
        self.mass_kg
    }

    /// Density as fed at a radius, without waves, kg/m3.
    #[must_use]
    pub fn density_at(&self, radius_m: f64) -> f64 {
        self.reference_kg_m3 * self.profile.relative_density(radius_m / self.radius_m)
    }

    /// Mass within a radius, kg.
    #[must_use]
    pub fn mass_within(&self, radius_m: f64) -> f64 {
        self.mass_kg * self.profile.share_within(radius_m / self.radius_m)
    }

    /// Radius, m, when this much is left, kg; zero or the whole radius outside 0 to the bale's mass.
    #[must_use]
    pub fn radius_for(&self, left_kg: f64) -> f64 {
        self.radius_m * self.area_share_for(left_kg, left_kg / self.mass_kg).sqrt()
    }

    /// Share of the face's area when this much is left; see [`Profile::area_for`].
    #[must_use]
    pub fn area_share_for(&self, left_kg: f64, guess: f64) -> f64 {
        self.profile.area_for(left_kg / self.mass_kg, guess)
    }

    /// Mass of the dense core, kg; zero if there is none.
    #[must_use]
    pub fn core_kg(&self) -> f64 {
        self.mass_kg * self.profile.share_within(self.profile.core_radius())
    }

    /// Factor on the density where this much is left, kg, and the bale has this radius, m: 1 and a few
    /// per cent either way.
    #[must_use]
    pub fn wave_at(&self, left_kg: f64, radius_m: f64) -> f64 {
        let layer = self.law.layer_share * libm::cos(2.0 * PI * radius_m / self.law.layer_m);
        let place = (left_kg / self.law.wave_kg).clamp(0.0, (self.waves.len() - 2) as f64);
        let knot = place as usize;
        let (low, high) = (self.waves[knot], self.waves[knot + 1]);
        1.0 + layer + low + (high - low) * (place - knot as f64)
    }

    /// Factors on the density of each stretch of the width, for every [`WaveLaw::along_kg`] of hay from
    /// the centre outwards; the mean of each is 1, so that a layer keeps its mass.
    #[must_use]
    pub fn along(&self) -> &[[f64; STRETCHES]] {
        &self.along
    }
}

fn along(law: &WaveLaw, random: Stream) -> [f64; STRETCHES] {
    let drawn: [f64; STRETCHES] = core::array::from_fn(|stretch| random.normal(stretch as u64));
    let mean = drawn.iter().sum::<f64>() / STRETCHES as f64;
    drawn.map(|draw| 1.0 + law.along_share * (draw - mean))
}
