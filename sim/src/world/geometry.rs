//! Exact geometry of a round bale: volume, shells, layers, mass by radius.

use super::spec::Profile;
use core::f64::consts::PI;

/// Volume of a cylinder, m3, from diameter and width in m.
#[must_use]
pub fn volume_m3(diameter_m: f64, width_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m * width_m
}

/// Dry matter, kg, in a mass as fed with a share of water below 1.
#[must_use]
pub fn dry_matter_kg(as_fed_kg: f64, moisture: f64) -> f64 {
    as_fed_kg * (1.0 - moisture)
}

/// Mass as fed, kg, of dry matter with a share of water below 1; not finite at 1.
#[must_use]
pub fn as_fed_kg(dry_matter_kg: f64, moisture: f64) -> f64 {
    dry_matter_kg / (1.0 - moisture)
}

/// Share of the volume that lies in a shell under the curved face; 1 if the shell reaches the axis.
#[must_use]
pub fn shell_share(diameter_m: f64, shell_m: f64) -> f64 {
    let inner = (1.0 - 2.0 * shell_m / diameter_m).max(0.0);
    1.0 - inner * inner
}

/// Share of the volume in a shell under the curved face and both flat ends, as weather reaches a bale
/// that stands free; 1 if the shell reaches the axis or the middle.
#[must_use]
pub fn shell_share_with_ends(diameter_m: f64, width_m: f64, shell_m: f64) -> f64 {
    let inner = (1.0 - 2.0 * shell_m / width_m).max(0.0);
    1.0 - (1.0 - shell_share(diameter_m, shell_m)) * inner
}

/// Length, m, of the layer that was wound into a bale, from its thickness: area over thickness.
#[must_use]
pub fn layer_length_m(diameter_m: f64, layer_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m / layer_m
}

/// Diameter, m, of an even bale of which a share (0 to 1) of the mass is left.
#[must_use]
pub fn diameter_left_m(diameter_m: f64, share_left: f64) -> f64 {
    diameter_m * share_left.max(0.0).sqrt()
}

impl Profile {
    /// Density at a radius (as a share of the bale's) over the reference: surface, or around the core.
    #[must_use]
    pub fn relative_density(self, radius: f64) -> f64 {
        match self {
            Self::Even => 1.0,
            Self::SoftCore { centre, exponent } => {
                centre + (1.0 - centre) * libm::pow(radius, exponent)
            }
            Self::DenseCore { ratio, radius: core } => {
                if radius < core {
                    ratio
                } else {
                    1.0
                }
            }
        }
    }

    /// Radius of the dense core as a share of the bale's, zero without one. A graded core reaches to
    /// where its density has fallen half way to that of the surface.
    #[must_use]
    pub fn core_radius(self) -> f64 {
        match self {
            Self::DenseCore { ratio, radius } if ratio > 1.0 => radius,
            Self::SoftCore { centre, exponent } if centre > 1.0 => libm::pow(0.5, 1.0 / exponent),
            _ => 0.0,
        }
    }

    /// A dense core whose density falls gradually, half way at this radius (0 to 1 excluded).
    #[must_use]
    pub fn graded_core(ratio: f64, radius: f64) -> Self {
        Self::SoftCore { centre: ratio, exponent: libm::log(0.5) / libm::log(radius) }
    }

    /// Mean of the relative density over the whole bale.
    #[must_use]
    pub fn mean(self) -> f64 {
        self.mass_within(1.0)
    }

    /// Share of the bale's mass within a radius given as a share of the bale's.
    #[must_use]
    pub fn share_within(self, radius: f64) -> f64 {
        self.mass_within(radius) / self.mean()
    }

    /// Integral of the relative density over the area, in units of the whole area.
    fn mass_within(self, radius: f64) -> f64 {
        let area = radius * radius;
        match self {
            Self::Even => area,
            Self::SoftCore { centre, exponent } => {
                let rise = libm::pow(radius, exponent) * area;
                centre * area + 2.0 * (1.0 - centre) * rise / (exponent + 2.0)
            }
            Self::DenseCore { ratio, radius: core } => area + (ratio - 1.0) * area.min(core * core),
        }
    }

    /// Share of the area that holds the innermost `share` of the mass (0 to 1): the inverse of
    /// [`Profile::share_within`], with the area instead of the radius.
    ///
    /// `guess` starts the search where no closed form exists; a near value saves time, any is safe.
    #[must_use]
    pub fn area_for(self, share: f64, guess: f64) -> f64 {
        let mass = share * self.mean();
        match self {
            _ if share <= 0.0 => 0.0,
            _ if share >= 1.0 => 1.0,
            Self::Even => mass,
            Self::DenseCore { ratio, radius } => {
                (mass / ratio).min(radius * radius) + (mass - ratio * radius * radius).max(0.0)
            }
            Self::SoftCore { .. } => self.newton(mass, guess.clamp(1e-9, 1.0)),
        }
    }

    /// Newton's method on the area; the mass rises with it and is convex or concave throughout, so
    /// it converges from any start. The count of rounds only guards against rounding.
    fn newton(self, mass: f64, guess: f64) -> f64 {
        let mut area = guess;
        for _ in 0..60 {
            let radius = area.sqrt();
            let step = (self.mass_within(radius) - mass) / self.relative_density(radius);
            area = (area - step).clamp(1e-15, 1.0);
            if step.abs() < 1e-14 {
                break;
            }
        }
        area
    }
}
