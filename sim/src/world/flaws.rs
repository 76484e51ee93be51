//! What a bale's condition does where the rollers tear it: patches, wobble, wrap, the wrong way round.

use super::spec::{BaleSpec, Condition, Winding};
use crate::random::Stream;
use core::f64::consts::PI;

/// What flaws are assumed to do; no published measurement is known.
#[derive(Clone, Debug, PartialEq)]
pub struct FlawLaw {
    /// Assumed, 1 to 5: a longer radius is pressed harder; change of depth over change of radius.
    pub wobble_gain: f64,
    /// Assumed, 5 to 60: hay of the bale, kg, through which a patch runs; it comes round every turn.
    pub patch_kg: f64,
    /// Assumed, 1.05 to 1.5: density as fed in a wet patch over that around it.
    pub wet_density: f64,
    /// Assumed, 1 to 2: work in a wet patch over that in dry hay of the same density.
    pub wet_work: f64,
    /// Assumed, 0.2 to 0.8: depth torn in a frozen patch over that around it.
    pub frozen_depth: f64,
    /// Assumed, 1.5 to 5: work in a frozen patch over that around it.
    pub frozen_work: f64,
    /// Assumed, 50 to 500: torque that drags a band of leftover wrap out, Nm.
    pub wrap_nm: f64,
    /// Assumed, 0.5 to 5: hay torn meanwhile, kg.
    pub wrap_kg: f64,
    /// Assumed, 0.6 to 1.1: depth torn against the winding over that with it.
    pub against_depth: f64,
    /// Assumed, 1 to 2: work against the winding over that with it.
    pub against_work: f64,
    /// Assumed, 0.4 to 1: tufts against the winding over those with it.
    pub against_tuft: f64,
}

impl Default for FlawLaw {
    fn default() -> Self {
        Self {
            wobble_gain: 2.0,
            patch_kg: 40.0,
            wet_density: 1.25,
            wet_work: 1.3,
            frozen_depth: 0.5,
            frozen_work: 2.5,
            wrap_nm: 200.0,
            wrap_kg: 2.0,
            against_depth: 0.85,
            against_work: 1.3,
            against_tuft: 0.7,
        }
    }
}

/// A stretch of the winding in which hay differs wherever the bale shows the same side.
#[derive(Clone, Copy, Debug)]
struct Patch {
    centre_kg: f64,
    side_rad: f64,
}

/// The flaws of one bale, each at its place.
#[derive(Clone, Debug)]
pub(super) struct Flaws<'a> {
    law: &'a FlawLaw,
    condition: Condition,
    phases_rad: [f64; 2],
    wet: (Vec<Patch>, f64),
    frozen: (Vec<Patch>, f64),
    bands_kg: Vec<f64>,
}

/// Factors on the law of tearing at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    /// Radius here over the mean radius, less 1.
    pub(super) wobble: f64,
    pub(super) density: f64,
    pub(super) depth: f64,
    pub(super) work: f64,
    /// Of the drag of the bale's weight.
    pub(super) press: f64,
    /// Torque that wrap adds, Nm.
    pub(super) wrap_nm: f64,
}

impl<'a> Flaws<'a> {
    /// `random` keys where each flaw lies.
    pub(super) fn new(law: &'a FlawLaw, spec: &BaleSpec, random: Stream) -> Self {
        let condition = spec.condition;
        let phase = |number| 2.0 * PI * random.named("phase").uniform(number);
        let patches = |name, share| patches(law, spec.mass_kg, share, random.named(name));
        let band = |number| spec.mass_kg * random.named("wrap").uniform(u64::from(number));
        Self {
            law,
            condition,
            phases_rad: [phase(0), phase(1)],
            wet: patches("wet", condition.wet_share),
            frozen: patches("frozen", condition.frozen_share),
            bands_kg: (0..condition.wrap_bands).map(band).collect(),
        }
    }

    /// Where `left_kg` are left and the bale has turned by `turned_rad`.
    pub(super) fn at(&self, left_kg: f64, turned_rad: f64) -> Place {
        let (law, condition) = (self.law, &self.condition);
        let wobble = condition.off_centre * libm::cos(turned_rad + self.phases_rad[0])
            + condition.out_of_round * libm::cos(2.0 * turned_rad + self.phases_rad[1]);
        let press = 1.0 + law.wobble_gain * wobble;
        let mut place =
            Place { wobble, density: 1.0, depth: press, work: 1.0, press, wrap_nm: 0.0 };
        if condition.winding == Winding::Against {
            place.depth *= law.against_depth;
            place.work *= law.against_work;
        }
        if within(&self.wet, law.patch_kg, left_kg, turned_rad) {
            place.density *= law.wet_density;
            place.work *= law.wet_work;
        }
        if within(&self.frozen, law.patch_kg, left_kg, turned_rad) {
            place.depth *= law.frozen_depth;
            place.work *= law.frozen_work;
        }
        if self.bands_kg.iter().any(|band_kg| (band_kg - left_kg).abs() < law.wrap_kg / 2.0) {
            place.wrap_nm = law.wrap_nm;
        }
        place
    }

    /// Factor on the tufts.
    pub(super) fn tuft(&self) -> f64 {
        match self.condition.winding {
            Winding::With => 1.0,
            Winding::Against => self.law.against_tuft,
        }
    }
}

/// Patches that together hold a share of the hay, and half the angle that each of them spans: up to
/// half a turn, narrowed so that the share comes out.
fn patches(law: &FlawLaw, mass_kg: f64, share: f64, random: Stream) -> (Vec<Patch>, f64) {
    let count = (2.0 * share * mass_kg / law.patch_kg).ceil();
    let patch = |number: u64| Patch {
        centre_kg: mass_kg * random.uniform(2 * number),
        side_rad: 2.0 * PI * random.uniform(2 * number + 1),
    };
    let half_rad = PI * share * mass_kg / (count.max(1.0) * law.patch_kg);
    ((0..count as u64).map(patch).collect(), half_rad)
}

fn within(
    (patches, half_rad): &(Vec<Patch>, f64),
    patch_kg: f64,
    left_kg: f64,
    turned_rad: f64,
) -> bool {
    patches.iter().any(|patch| {
        let aside = libm::remainder(turned_rad - patch.side_rad, 2.0 * PI).abs();
        (left_kg - patch.centre_kg).abs() < patch_kg / 2.0 && aside < *half_rad
    })
}
