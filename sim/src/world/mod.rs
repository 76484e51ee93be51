//! Truth: bale, rollers, hydraulics, hay in the air and on the ground. SI units, f64, 1 kHz.
//!
//! One step walks once through the rooms: command -> valve -> [`hydraulics`] -> [`tearing`]
//! (by the law of [`bite`], with [`flaws`] and [`dense_core`]) -> [`air`] -> [`ground`]. What is assumed rather
//! than known stands in the law of each room; [`Laws`] holds them all, hardware-notes/assumed.md
//! lists them.

pub mod air;
pub mod bale;
pub mod bite;
pub mod dense_core;
pub mod flaws;
pub mod formulas;
pub mod geometry;
pub mod ground;
pub mod hydraulics;
pub mod oil;
mod propagator;
pub mod spec;
pub mod tearing;
pub mod terrain;
pub mod tractor;
mod valve;
pub(crate) mod wander;

use crate::random::Stream;
use air::{Air, FallLaw};
use bale::WaveLaw;
use bite::TearingLaw;
use dense_core::CoreLaw;
use flaws::FlawLaw;
use ground::Ground;
use hydraulics::{Drive, DriveLaw};
use spec::{BaleSpec, Command, MachineSpec, Motion};
use tearing::Tearing;
use terrain::{Spot, Terrain, TerrainSpec};

/// The step of the world, s.
pub const STEP_S: f64 = 1e-3;

/// Everything that is assumed about a machine and its hay.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laws {
    /// Waves in the bale.
    pub waves: WaveLaw,
    /// Bite, tufts and torque.
    pub tearing: TearingLaw,
    /// Patches, wobble, wrap, winding.
    pub flaws: FlawLaw,
    /// Clumps.
    pub core: CoreLaw,
    /// Motors, line and spool.
    pub drive: DriveLaw,
    /// The fall to the ground.
    pub fall: FallLaw,
}

/// One machine in the field. Equal arguments and steps give equal bits.
#[derive(Clone, Debug)]
pub struct World {
    machine: MachineSpec,
    laws: Laws,
    random: Stream,
    steps: u64,
    odometer_m: f64,
    ground_speed_m_s: f64,
    command: Command,
    roller_turns: f64,
    roller_travel_turns: f64,
    drive: Drive,
    bale: Option<Tearing>,
    clumps: Vec<(f64, f64)>,
    air: Air,
    ground: Ground,
    terrain: Terrain,
    spot: Spot,
}

impl World {
    /// A machine at rest without a bale, under the default laws.
    #[must_use]
    pub fn new(machine: &MachineSpec, random: Stream) -> Self {
        Self::under(Laws::default(), machine, random)
    }

    /// A machine at rest without a bale, under these laws.
    #[must_use]
    pub fn under(laws: Laws, machine: &MachineSpec, random: Stream) -> Self {
        Self {
            drive: Drive::new(machine, &laws.drive),
            air: Air::new(machine.fall_s, &laws.fall, random.named("air")),
            machine: machine.clone(),
            laws,
            random,
            steps: 0,
            odometer_m: 0.0,
            ground_speed_m_s: 0.0,
            command: Command::default(),
            roller_turns: 0.0,
            roller_travel_turns: 0.0,
            bale: None,
            clumps: Vec::new(),
            ground: Ground::default(),
            terrain: Terrain::new(&TerrainSpec::default(), random),
            spot: Spot::default(),
        }
    }

    /// The same machine on this ground instead of flat and firm one.
    #[must_use]
    pub fn over(mut self, terrain: Terrain) -> Self {
        self.terrain = terrain;
        self
    }

    /// The machine's oil, valve and remote are others from now on; what moves goes on moving. Rollers
    /// and fall stay as they are until the next bale.
    pub fn refit(&mut self, machine: &MachineSpec) {
        self.machine.clone_from(machine);
        self.drive.refit(machine, &self.laws.drive);
    }

    /// Lays a new bale on the rollers, keyed by its index; what was left of the last one is taken
    /// away. Mass, diameter and width must be above zero.
    pub fn load(&mut self, spec: &BaleSpec, index: u64) {
        let random = self.random.named("bale").numbered(index);
        self.bale = Some(Tearing::load(spec, &self.machine, &self.laws, random));
        self.clumps.clear();
    }

    /// One millisecond under a command, on a tractor that moves like this.
    pub fn step(&mut self, command: Command, motion: Motion) {
        self.steps += 1;
        self.ground_speed_m_s = motion.speed_m_s;
        self.command = command;
        self.odometer_m += motion.speed_m_s * STEP_S;
        self.spot = self.terrain.at(self.odometer_m);
        let load_nm = self.bale.as_ref().map_or(0.0, Tearing::torque_nm);
        let turns = self.drive.step(command, motion, load_nm);
        self.roller_turns += turns;
        self.roller_travel_turns += turns.abs();
        if let Some(bale) = &mut self.bale {
            let (shed_kg, clump_kg) = bale.turn(turns.abs(), self.drive.turns_s().abs());
            if shed_kg > 0.0 {
                self.air.throw(shed_kg);
            }
            if clump_kg > 0.0 {
                self.clumps.push((self.time_s(), clump_kg));
            }
        }
        let landed_kg = self.air.step();
        if landed_kg > 0.0 {
            self.ground.lay(self.odometer_m, landed_kg);
        }
    }

    /// Steps since the start.
    #[must_use]
    pub fn steps(&self) -> u64 {
        self.steps
    }

    /// Time since the start, s.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.steps as f64 * STEP_S
    }

    /// Distance driven, m.
    #[must_use]
    pub fn odometer_m(&self) -> f64 {
        self.odometer_m
    }

    /// The ground under the machine.
    #[must_use]
    pub fn spot(&self) -> Spot {
        self.spot
    }

    /// Ground speed, m/s.
    #[must_use]
    pub fn ground_speed_m_s(&self) -> f64 {
        self.ground_speed_m_s
    }

    /// What reaches the valve.
    #[must_use]
    pub fn command(&self) -> Command {
        self.command
    }

    /// Angle of the rollers, turns, signed; they are geared together.
    #[must_use]
    pub fn roller_turns(&self) -> f64 {
        self.roller_turns
    }

    /// Turns that the rollers have made either way; never falls.
    #[must_use]
    pub fn roller_travel_turns(&self) -> f64 {
        self.roller_travel_turns
    }

    /// Speed of the rollers, turns/s, signed.
    #[must_use]
    pub fn roller_turns_s(&self) -> f64 {
        self.drive.turns_s()
    }

    /// Current through the valve's coil, A.
    #[must_use]
    pub fn coil_a(&self) -> f64 {
        self.drive.coil_a()
    }

    /// Pressure across the motors, Pa, signed.
    #[must_use]
    pub fn pressure_pa(&self) -> f64 {
        self.drive.pressure_pa()
    }

    /// Hay torn a roller turn at this moment, without tufts and clumps, kg; zero without a bale.
    #[must_use]
    pub fn bite_kg(&self) -> f64 {
        self.bale.as_ref().map_or(0.0, Tearing::bite_kg)
    }

    /// The bite when so much more hay will be torn, kg a turn; zero without a bale. What the bale meets
    /// by its turning and clumps is not foreseen.
    #[must_use]
    pub fn bite_after_kg(&self, kg: f64) -> f64 {
        self.bale.as_ref().map_or(0.0, |bale| bale.bite_after_kg(kg))
    }

    /// Hay torn but still hanging on the rollers, kg, and at which mass it will fall; zeros without a
    /// bale.
    #[must_use]
    pub fn tuft_kg(&self) -> (f64, f64) {
        self.bale.as_ref().map_or((0.0, 0.0), Tearing::tuft_kg)
    }

    /// Hay on the machine, kg.
    #[must_use]
    pub fn left_kg(&self) -> f64 {
        self.bale.as_ref().map_or(0.0, Tearing::left_kg)
    }

    /// Radius of what is left of the bale, m; zero without one.
    #[must_use]
    pub fn bale_radius_m(&self) -> f64 {
        self.bale.as_ref().map_or(0.0, Tearing::radius_m)
    }

    /// Radius of it at the side where a gauge looks, m; differs from the mean where it is not round.
    #[must_use]
    pub fn bale_face_m(&self) -> f64 {
        self.bale.as_ref().map_or(0.0, Tearing::face_m)
    }

    /// Whether no hay is on the machine.
    #[must_use]
    pub fn bale_is_gone(&self) -> bool {
        self.left_kg() <= 0.0
    }

    /// Hay on the ground, kg in each bin of [`crate::bench::record::Run::BIN_M`] from odometer 0; bins
    /// beyond the last hay are zero or not there yet.
    #[must_use]
    pub fn ground_kg(&self) -> &[f64] {
        self.ground.kg()
    }

    /// Hay between rollers and ground, kg.
    #[must_use]
    pub fn in_air_kg(&self) -> f64 {
        self.air.kg()
    }

    /// Clumps of the present bale, as (time s, mass kg).
    #[must_use]
    pub fn clumps(&self) -> &[(f64, f64)] {
        &self.clumps
    }

    /// Work of the oil on the rollers since the start, J.
    #[must_use]
    pub fn energy_j(&self) -> f64 {
        self.drive.energy_j()
    }

    /// Roller speed, turns/s, at full valve and no load.
    #[must_use]
    pub fn flow_limit_turns_s(&self, motion: Motion) -> f64 {
        self.drive.flow_limit_turns_s(motion)
    }

    /// The duty, -1 to 1, that holds a roller speed, turns/s, at the present pressure.
    #[must_use]
    pub fn duty_for(&self, turns_s: f64, motion: Motion) -> f64 {
        self.drive.duty_for(turns_s, motion)
    }
}
