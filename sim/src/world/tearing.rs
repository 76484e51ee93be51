//! How rollers tear hay off a bale: the bite, the tufts in which it leaves, the torque it takes.
//!
//! Everything that depends on density and radius alone is put into a table over the mass left when
//! the bale is loaded; a step then costs a look-up.

use super::bale::{Bale, WaveLaw};
use super::dense_core::{Core, CoreLaw};
use super::spec::{BaleSpec, Hay, MachineSpec};
use crate::random::Stream;
use core::f64::consts::PI;

/// Density at which [`TearingLaw::depth_m`] and [`TearingLaw::tear_j_kg`] are stated, kg/m3.
pub const REFERENCE_KG_M3: f64 = 190.0;
/// Widest table cell, kg.
const CELL_KG: f64 = 0.5;
/// Below this nothing is left, kg.
const NOTHING_KG: f64 = 1e-6;
/// Gravity, m/s2.
const GRAVITY: f64 = 9.806_65;

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
    /// Assumed, 60 to 400: work to tear dry hay at [`REFERENCE_KG_M3`], J/kg.
    pub tear_j_kg: f64,
    /// Assumed, 0.3 to 1.5: work a kilogram rises with density to this power.
    pub work_exponent: f64,
    /// Assumed, 1 to 2: work in wrapped silage over that in dry hay of the same density.
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

    /// Work, J, to tear off a kilogram of hay of a density, kg/m3.
    #[must_use]
    pub fn work_at(&self, density_kg_m3: f64, hay: Hay) -> f64 {
        let kind = if hay == Hay::Wrapped { self.wrapped_work } else { 1.0 };
        self.tear_j_kg * kind * libm::pow(density_kg_m3 / REFERENCE_KG_M3, self.work_exponent)
    }

    /// What the rollers meet where `left_kg` of a bale are left.
    fn cell(&self, bale: &Bale, left_kg: f64, area_share: f64, lot: &Lot) -> Cell {
        let radius = area_share.sqrt();
        let density = bale.density_at(radius * bale.radius_m()) * bale.wave_at(left_kg);
        let depth_m = self.depth_at(density, radius, lot.hay);
        let torn_kg = lot.factor * PI * lot.roller_m * depth_m * bale.width_m() * density;
        let drag_nm = self.rolling_share * left_kg * GRAVITY * lot.roller_m / 2.0;
        Cell {
            area_share,
            bite_kg: if left_kg < self.loose_kg {
                torn_kg.max(self.loose_bite_kg)
            } else {
                torn_kg
            },
            tear_nm: torn_kg * self.work_at(density, lot.hay) / (2.0 * PI),
            drag_nm,
        }
    }
}

/// What one bale and machine add to the law.
struct Lot {
    hay: Hay,
    /// Bite of this bale over the mean of its lot.
    factor: f64,
    roller_m: f64,
}

/// What the rollers meet at one mass left.
#[derive(Clone, Copy, Debug, Default)]
struct Cell {
    area_share: f64,
    bite_kg: f64,
    tear_nm: f64,
    drag_nm: f64,
}

impl Cell {
    fn between(low: Self, high: Self, share: f64) -> Self {
        let mix = |low: f64, high: f64| low + (high - low) * share;
        Self {
            area_share: mix(low.area_share, high.area_share),
            bite_kg: mix(low.bite_kg, high.bite_kg),
            tear_nm: mix(low.tear_nm, high.tear_nm),
            drag_nm: mix(low.drag_nm, high.drag_nm),
        }
    }
}

/// The bale on the rollers while it is torn.
#[derive(Clone, Debug)]
pub struct Tearing {
    random: Stream,
    radius_m: f64,
    table: Vec<Cell>,
    cells_per_kg: f64,
    here: Cell,
    core: Core,
    /// Still wound, kg.
    bale_kg: f64,
    /// Torn but still hanging on the rollers, kg.
    hanging_kg: f64,
    tuft: u64,
    tuft_kg: f64,
    tuft_mean_kg: f64,
    tuft_spread: f64,
    torque_factor: f64,
    torque_spread: f64,
}

impl Tearing {
    /// A bale laid on the rollers; `random` keys everything about it. Mass and measures must be above
    /// zero.
    #[must_use]
    pub fn load(
        spec: &BaleSpec,
        machine: &MachineSpec,
        (waves, law, core): (&WaveLaw, &TearingLaw, &CoreLaw),
        random: Stream,
    ) -> Self {
        let bale = Bale::new(spec, waves, random.named("waves"));
        let factor = 1.0 + law.bite_deviation * random.named("bite").normal(0).clamp(-2.5, 2.5);
        let lot = Lot { hay: spec.hay, factor, roller_m: machine.roller_diameter_m };
        let cells = (spec.mass_kg / CELL_KG).ceil().max(1.0);
        let mut area_share = 1.0;
        // From the surface inwards: each area is a near guess for the next.
        let mut table: Vec<Cell> = (0..=cells as usize)
            .rev()
            .map(|cell| {
                let left_kg = spec.mass_kg * (cell as f64 / cells);
                area_share = bale.area_share_for(left_kg, area_share);
                law.cell(&bale, left_kg, area_share, &lot)
            })
            .collect();
        table.reverse();
        let mut tearing = Self {
            random,
            radius_m: bale.radius_m(),
            table,
            cells_per_kg: cells / spec.mass_kg,
            here: Cell::default(),
            core: Core::new(core, bale.core_kg(), law.loose_kg, random.named("core")),
            bale_kg: spec.mass_kg,
            hanging_kg: 0.0,
            tuft: 0,
            tuft_kg: 0.0,
            tuft_mean_kg: if spec.hay == Hay::Wrapped {
                law.tuft_wrapped_kg
            } else {
                law.tuft_dry_kg
            },
            tuft_spread: law.tuft_spread,
            torque_factor: 1.0,
            torque_spread: law.torque_spread,
        };
        tearing.look();
        tearing.begin_tuft();
        tearing
    }

    /// Turns the rollers by `turns` at `turns_s`, neither negative: both directions tear alike. Gives
    /// the hay, kg, that falls off in this step, and how much of it is a clump.
    pub fn turn(&mut self, turns: f64, turns_s: f64) -> (f64, f64) {
        if turns <= 0.0 || self.bale_kg <= 0.0 {
            return (0.0, 0.0);
        }
        let mut torn_kg = self.here.bite_kg * turns;
        let clump_kg = self.core.turn(turns, turns_s, self.bale_kg);
        torn_kg += clump_kg;
        if torn_kg > self.bale_kg - NOTHING_KG {
            torn_kg = self.bale_kg;
        }
        self.bale_kg -= torn_kg;
        self.hanging_kg += torn_kg;
        self.look();
        if self.hanging_kg < self.tuft_kg && self.bale_kg > 0.0 {
            return (0.0, 0.0);
        }
        self.begin_tuft();
        (core::mem::take(&mut self.hanging_kg), clump_kg)
    }

    fn look(&mut self) {
        let place = self.bale_kg * self.cells_per_kg;
        let cell = (place as usize).min(self.table.len() - 2);
        let share = place - cell as f64;
        self.here = Cell::between(self.table[cell], self.table[cell + 1], share);
    }

    fn begin_tuft(&mut self) {
        self.tuft += 1;
        let even = |signal: &str| 2.0 * self.random.named(signal).uniform(self.tuft) - 1.0;
        let (size, torque) = (even("tuft"), even("torque"));
        self.tuft_kg = self.tuft_mean_kg * (1.0 + self.tuft_spread * size);
        self.torque_factor = 1.0 + self.torque_spread * torque;
    }

    /// Torque that the bale puts against the rollers, Nm.
    #[must_use]
    pub fn torque_nm(&self) -> f64 {
        if self.bale_kg > 0.0 {
            self.here.tear_nm * self.torque_factor + self.here.drag_nm + self.core.drag_nm()
        } else {
            0.0
        }
    }

    /// Hay torn a roller turn, kg; without tufts and clumps; zero when the bale is gone.
    #[must_use]
    pub fn bite_kg(&self) -> f64 {
        if self.bale_kg > 0.0 { self.here.bite_kg } else { 0.0 }
    }

    /// Hay on the machine, kg, wound or hanging.
    #[must_use]
    pub fn left_kg(&self) -> f64 {
        self.bale_kg + self.hanging_kg
    }

    /// Radius of what is left, m.
    #[must_use]
    pub fn radius_m(&self) -> f64 {
        if self.bale_kg > 0.0 { self.radius_m * self.here.area_share.sqrt() } else { 0.0 }
    }
}
