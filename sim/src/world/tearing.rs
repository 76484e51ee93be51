//! A bale while it is torn: the bite, the tufts in which hay leaves, the torque it takes.
//!
//! Everything that depends on density and radius alone is put into a table over the mass left when
//! the bale is loaded; a step then costs a look-up.

use super::bale::{Bale, WaveLaw};
use super::bite::TearingLaw;
use super::dense_core::{Core, CoreLaw};
use super::spec::{BaleSpec, Hay, MachineSpec};
use crate::random::Stream;
use core::f64::consts::PI;

/// Widest table cell, kg.
const CELL_KG: f64 = 0.5;
/// Below this nothing is left, kg.
const NOTHING_KG: f64 = 1e-6;
/// No hay lies looser than this, kg/m3: keeps the law finite where a profile falls to zero.
const LEAST_KG_M3: f64 = 20.0;
/// Gravity, m/s2.
const GRAVITY: f64 = 9.806_65;

/// What one bale and machine add to the law.
struct Lot<'a> {
    law: &'a TearingLaw,
    hay: Hay,
    /// Bite of this bale over the mean of its lot.
    factor: f64,
    roller_m: f64,
}

impl Lot<'_> {
    /// What the rollers meet where `left_kg` of a bale are left.
    fn cell(&self, bale: &Bale, left_kg: f64, area_share: f64) -> Cell {
        let law = self.law;
        let radius = area_share.sqrt();
        let even_density = bale.density_at(radius * bale.radius_m()).max(LEAST_KG_M3);
        let density = even_density * bale.wave_at(left_kg);
        let across_m = (self.roller_m, bale.width_m());
        let torn_kg = self.factor * law.bite_at(across_m, density, radius, self.hay);
        let drag_nm = law.rolling_share * left_kg * GRAVITY * self.roller_m / 2.0;
        Cell {
            area_share,
            bite_kg: if left_kg < law.loose_kg { torn_kg.max(law.loose_bite_kg) } else { torn_kg },
            tear_nm: torn_kg * law.work_at(density, self.hay) / (2.0 * PI),
            drag_nm,
        }
    }
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
        let lot = Lot { law, hay: spec.hay, factor, roller_m: machine.roller_diameter_m };
        let cells = (spec.mass_kg / CELL_KG).ceil().max(1.0);
        let mut area_share = 1.0;
        // From the surface inwards: each area is a near guess for the next.
        let mut table: Vec<Cell> = (0..=cells as usize)
            .rev()
            .map(|cell| {
                let left_kg = spec.mass_kg * (cell as f64 / cells);
                area_share = bale.area_share_for(left_kg, area_share);
                lot.cell(&bale, left_kg, area_share)
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
        self.here = self.at(self.bale_kg);
    }

    fn at(&self, left_kg: f64) -> Cell {
        let place = left_kg * self.cells_per_kg;
        let cell = (place as usize).min(self.table.len() - 2);
        let share = place - cell as f64;
        Cell::between(self.table[cell], self.table[cell + 1], share)
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

    /// The bite, kg a turn, when so much more hay will be torn, kg; beyond the bale's end that of its end.
    #[must_use]
    pub fn bite_after_kg(&self, kg: f64) -> f64 {
        if self.bale_kg > 0.0 { self.at((self.bale_kg - kg).max(0.0)).bite_kg } else { 0.0 }
    }

    /// Hay torn but still hanging on the rollers, kg, and at which mass it will fall.
    #[must_use]
    pub fn tuft_kg(&self) -> (f64, f64) {
        (self.hanging_kg, self.tuft_kg)
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
