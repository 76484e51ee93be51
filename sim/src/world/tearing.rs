//! A bale while it is torn: the bite, the tufts in which hay leaves, the torque it takes.
//!
//! Everything that depends on density, radius and the side that the bale shows is put into a table
//! over the mass left when the bale is loaded; a step then costs a look-up. The side belongs there
//! too: the bale turns with the surface of the rollers, so that hay torn and angle go together.

use super::Laws;
use super::bale::Bale;
use super::bite::TearingLaw;
use super::dense_core::Core;
use super::flaws::Flaws;
use super::spec::{BaleSpec, Hay, MachineSpec};
use crate::random::Stream;
use core::f64::consts::PI;

/// Widest table cell, kg.
const CELL_KG: f64 = 0.5;
/// The table is looked up anew after this much has been torn, kg.
const SIGHT_KG: f64 = 0.03;
/// Below this nothing is left, kg.
const NOTHING_KG: f64 = 1e-6;
/// No hay lies looser than this, kg/m3: keeps the law finite where a profile falls to zero.
const LEAST_KG_M3: f64 = 20.0;
/// Gravity, m/s2.
const GRAVITY: f64 = 9.806_65;

/// What one bale and machine add to the law.
struct Lot<'a> {
    law: &'a TearingLaw,
    flaws: Flaws<'a>,
    hay: Hay,
    moisture: f64,
    /// Bite of this bale over the mean of its lot.
    factor: f64,
    /// Factors on bite and torque for every `along_kg` of hay, by its waves along the rollers.
    along: Vec<(f64, f64)>,
    along_kg: f64,
    roller_m: f64,
}

impl Lot<'_> {
    /// What the rollers meet where `left_kg` of a bale are left, and the wobble of its radius there.
    fn cell(&self, bale: &Bale, left_kg: f64, area_share: f64, turned_rad: f64) -> (Cell, f64) {
        let law = self.law;
        let radius = area_share.sqrt();
        let radius_m = radius * bale.radius_m();
        let place = self.flaws.at(left_kg, turned_rad);
        let even_density = bale.density_at(radius_m).max(LEAST_KG_M3);
        let density = even_density * bale.wave_at(left_kg, radius_m) * place.density;
        let across_m = (self.roller_m, bale.width_m());
        let (bite, torque) = self.along[(left_kg / self.along_kg) as usize];
        let even_kg = self.factor * place.depth * law.bite_at(across_m, density, radius, self.hay);
        let torn_kg = bite * even_kg;
        let work_j_kg = law.work_at(density, self.moisture, self.hay);
        let weight_nm = law.rolling_share * left_kg * GRAVITY * self.roller_m / 2.0;
        let cell = Cell {
            bite_kg: if left_kg < law.loose_kg { torn_kg.max(law.loose_bite_kg) } else { torn_kg },
            tear_nm: torque * even_kg * place.work * work_j_kg / (2.0 * PI),
            drag_nm: weight_nm * place.press + place.wrap_nm,
        };
        (cell, place.wobble)
    }

    /// Angle, rad, by which the bale turns while the rollers, which do not slip on it, tear this much.
    fn turn_rad(&self, torn_kg: f64, bite_kg: f64, radius_m: f64) -> f64 {
        let rolled_m = PI * self.roller_m * torn_kg / bite_kg;
        rolled_m / radius_m.max(self.roller_m / 4.0)
    }
}

/// What the rollers meet at one mass left.
#[derive(Clone, Copy, Debug, Default)]
struct Cell {
    bite_kg: f64,
    tear_nm: f64,
    drag_nm: f64,
}

impl Cell {
    fn between(low: Self, high: Self, share: f64) -> Self {
        Self {
            bite_kg: mix(low.bite_kg, high.bite_kg, share),
            tear_nm: mix(low.tear_nm, high.tear_nm, share),
            drag_nm: mix(low.drag_nm, high.drag_nm, share),
        }
    }
}

/// The bale's face at one mass left.
#[derive(Clone, Copy, Debug, Default)]
struct Face {
    area_share: f64,
    wobble: f64,
}

fn mix(low: f64, high: f64, share: f64) -> f64 {
    low + (high - low) * share
}

/// Cells and faces over the mass left, from nothing to the whole bale.
fn tables(lot: &Lot<'_>, bale: &Bale, cells: usize) -> (Vec<Cell>, Vec<Face>) {
    let mut table = vec![Cell::default(); cells + 1];
    let mut faces = vec![Face::default(); cells + 1];
    let cell_kg = bale.mass_kg() / cells as f64;
    let (mut area_share, mut turned_rad) = (1.0, 0.0);
    // From the surface inwards: each area is a near guess for the next, and so the bale turns.
    for place in (0..=cells).rev() {
        let left_kg = bale.mass_kg() * (place as f64 / cells as f64);
        area_share = bale.area_share_for(left_kg, area_share);
        let (cell, wobble) = lot.cell(bale, left_kg, area_share, turned_rad);
        turned_rad += lot.turn_rad(cell_kg, cell.bite_kg, area_share.sqrt() * bale.radius_m());
        table[place] = cell;
        faces[place] = Face { area_share, wobble };
    }
    (table, faces)
}

/// The bale on the rollers while it is torn.
#[derive(Clone, Debug)]
pub struct Tearing {
    tufts: Stream,
    torques: Stream,
    radius_m: f64,
    table: Vec<Cell>,
    faces: Vec<Face>,
    cells_per_kg: f64,
    here: Cell,
    look_again_kg: f64,
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
    pub fn load(spec: &BaleSpec, machine: &MachineSpec, laws: &Laws, random: Stream) -> Self {
        let law = &laws.tearing;
        let bale = Bale::new(spec, &laws.waves, random.named("waves"));
        let factor = 1.0 + law.bite_deviation * random.named("bite").normal(0).clamp(-2.5, 2.5);
        let flaws = Flaws::new(&laws.flaws, spec, random.named("flaws"));
        let lot = Lot {
            law,
            flaws,
            hay: spec.hay,
            moisture: spec.moisture,
            factor,
            along: bale.along().iter().map(|factors| law.along(factors)).collect(),
            along_kg: laws.waves.along_kg,
            roller_m: machine.roller_diameter_m,
        };
        let cells = (spec.mass_kg / CELL_KG).ceil().max(1.0);
        let (table, faces) = tables(&lot, &bale, cells as usize);
        let kind_kg = if spec.hay == Hay::Wrapped { law.tuft_wrapped_kg } else { law.tuft_dry_kg };
        let mut tearing = Self {
            tufts: random.named("tuft"),
            torques: random.named("torque"),
            radius_m: bale.radius_m(),
            table,
            faces,
            cells_per_kg: cells / spec.mass_kg,
            here: Cell::default(),
            look_again_kg: 0.0,
            core: Core::new(&laws.core, bale.core_kg(), law.loose_kg, random.named("core")),
            bale_kg: spec.mass_kg,
            hanging_kg: 0.0,
            tuft: 0,
            tuft_kg: 0.0,
            tuft_mean_kg: kind_kg * lot.flaws.tuft(),
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
        if self.bale_kg < self.look_again_kg {
            self.look();
        }
        if self.hanging_kg < self.tuft_kg && self.bale_kg > 0.0 {
            return (0.0, 0.0);
        }
        self.begin_tuft();
        (core::mem::take(&mut self.hanging_kg), clump_kg)
    }

    /// The table's cell below a mass left, and the share of the way to the next.
    fn place(&self) -> (usize, f64) {
        self.place_of(self.bale_kg)
    }

    fn place_of(&self, left_kg: f64) -> (usize, f64) {
        let place = left_kg * self.cells_per_kg;
        let cell = (place as usize).min(self.table.len() - 2);
        (cell, place - cell as f64)
    }

    fn look(&mut self) {
        let (cell, share) = self.place();
        self.look_again_kg = self.bale_kg - SIGHT_KG;
        self.here = Cell::between(self.table[cell], self.table[cell + 1], share);
    }

    fn begin_tuft(&mut self) {
        self.tuft += 1;
        let even = |signal: Stream| 2.0 * signal.uniform(self.tuft) - 1.0;
        let (size, torque) = (even(self.tufts), even(self.torques));
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
        let (cell, share) = self.place_of((self.bale_kg - kg).max(0.0));
        let bite_kg = mix(self.table[cell].bite_kg, self.table[cell + 1].bite_kg, share);
        if self.bale_kg > 0.0 { bite_kg } else { 0.0 }
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
        let (cell, share) = self.place();
        let area_share = mix(self.faces[cell].area_share, self.faces[cell + 1].area_share, share);
        if self.bale_kg > 0.0 { self.radius_m * area_share.sqrt() } else { 0.0 }
    }

    /// Radius at the side that the bale shows now, m.
    #[must_use]
    pub fn face_m(&self) -> f64 {
        let (cell, share) = self.place();
        let wobble = mix(self.faces[cell].wobble, self.faces[cell + 1].wobble, share);
        self.radius_m() * (1.0 + wobble)
    }
}
