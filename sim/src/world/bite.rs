//! The law of tearing: how deep rollers bite into hay and what work that takes.

use super::bale::STRETCHES;
use super::spec::Hay;
use core::f64::consts::PI;

/// Density at which [`TearingLaw::depth_m`] and [`TearingLaw::tear_j_kg`] are stated, kg/m3.
pub const REFERENCE_KG_M3: f64 = 190.0;
/// Water as a share of the mass at which [`TearingLaw::tear_j_kg`] is stated.
pub const REFERENCE_MOISTURE: f64 = 0.15;

/// What tearing is assumed to do; no published measurement is known.
#[derive(Clone, Debug, PartialEq)]
pub struct TearingLaw {
    /// Assumed, 0.015 to 0.04: depth torn at [`REFERENCE_KG_M3`] off a whole bale of dry hay, m.
    pub depth_m: f64,
    /// Assumed, 0.2 to 0.8: depth falls with density to this power; below 1, so that denser hay
    /// gives less volume and yet more mass.
    pub density_exponent: f64,
    /// Assumed, 0 to 0.6: depth falls with the radius left to this power, as contact shrinks.
    pub contact_exponent: f64,
    /// Assumed, 0.2 to 0.6: contact never falls below this share.
    pub least_contact: f64,
    /// Assumed, 0.6 to 1: depth in wrapped silage over that in dry hay of the same density.
    pub wrapped_depth: f64,
    /// Assumed, 0.05 to 0.25: deviation between bales of the same lot as a share of the bite.
    pub bite_deviation: f64,
    /// Assumed, 0.2 to 1.5: mean tuft of dry hay, kg.
    pub tuft_dry_kg: f64,
    /// Assumed, 0.5 to 3: mean tuft of wrapped silage, kg.
    pub tuft_wrapped_kg: f64,
    /// Assumed, 0 to 0.9: tufts differ evenly by up to this share of the mean.
    pub tuft_spread: f64,
    /// Assumed, 60 to 400: work to tear dry hay at [`REFERENCE_KG_M3`] and [`REFERENCE_MOISTURE`], J/kg.
    pub tear_j_kg: f64,
    /// Assumed, 0.3 to 1.5: work a kilogram rises with density to this power.
    pub work_exponent: f64,
    /// Assumed, 1 to 2: work in wrapped silage over that in as much dry matter of the same density.
    pub wrapped_work: f64,
    /// Assumed, 0 to 0.5: torque differs between tufts evenly by up to this share.
    pub torque_spread: f64,
    /// Assumed, 0.02 to 0.1: drag of the bale on the rollers as a share of its weight.
    pub rolling_share: f64,
    /// Assumed, 2 to 10: the last of any bale, kg, has lost its winding and leaves loose.
    pub loose_kg: f64,
    /// Assumed, 3 to 15: least bite in that last hay, kg a turn.
    pub loose_bite_kg: f64,
}

impl Default for TearingLaw {
    fn default() -> Self {
        Self {
            depth_m: 0.024,
            density_exponent: 0.35,
            contact_exponent: 0.3,
            least_contact: 0.4,
            wrapped_depth: 0.8,
            bite_deviation: 0.15,
            tuft_dry_kg: 0.6,
            tuft_wrapped_kg: 1.2,
            tuft_spread: 0.7,
            tear_j_kg: 140.0,
            work_exponent: 0.6,
            wrapped_work: 1.2,
            torque_spread: 0.25,
            rolling_share: 0.05,
            loose_kg: 5.0,
            loose_bite_kg: 6.0,
        }
    }
}

impl TearingLaw {
    /// Depth torn, m, in hay of a density, kg/m3, at a radius given as a share of the bale's.
    #[must_use]
    pub fn depth_at(&self, density_kg_m3: f64, radius: f64, hay: Hay) -> f64 {
        let contact = libm::pow(radius, self.contact_exponent).max(self.least_contact);
        let kind = if hay == Hay::Wrapped { self.wrapped_depth } else { 1.0 };
        let density = libm::pow(REFERENCE_KG_M3 / density_kg_m3, self.density_exponent);
        self.depth_m * contact * kind * density
    }

    /// The bite, kg per turn of a roller (diameter m) across a bale (width m), in hay of a density.
    #[must_use]
    pub fn bite_at(
        &self,
        (roller_m, width_m): (f64, f64),
        density_kg_m3: f64,
        radius: f64,
        hay: Hay,
    ) -> f64 {
        PI * roller_m * self.depth_at(density_kg_m3, radius, hay) * width_m * density_kg_m3
    }

    /// Work, J, to tear off a kilogram of hay of a density, kg/m3, of which a share is water: it weighs,
    /// but nothing has to be torn in it.
    #[must_use]
    pub fn work_at(&self, density_kg_m3: f64, moisture: f64, hay: Hay) -> f64 {
        let kind = if hay == Hay::Wrapped { self.wrapped_work } else { 1.0 };
        let dry = (1.0 - moisture) / (1.0 - REFERENCE_MOISTURE);
        self.tear_j_kg * kind * dry * libm::pow(density_kg_m3 / REFERENCE_KG_M3, self.work_exponent)
    }
    /// What stretches of these densities along the rollers, as factors of mean 1, make of the bite and
    /// of the torque of one even layer, as factors: each stretch is torn by the law of its own density.
    #[must_use]
    pub fn along(&self, factors: &[f64; STRETCHES]) -> (f64, f64) {
        let mean = |exponent: f64| {
            let powers = factors.iter().map(|factor| libm::pow(*factor, exponent));
            powers.sum::<f64>() / STRETCHES as f64
        };
        let bite_exponent = 1.0 - self.density_exponent;
        (mean(bite_exponent), mean(bite_exponent + self.work_exponent))
    }
}
