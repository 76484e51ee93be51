//! What is to be fed, with what, and how it is driven: a small file in US units, checked into SI.
//!
//! A **ticket** is what a person knows of a lot of bales before feeding; a **bale** is what truly
//! lies on the rollers. The controller is told the tickets, the world is made of the bales.

pub(crate) mod lots;
pub(crate) mod read;

use crate::instruments::speed::BusSpeed;
pub use crate::table::{Problem, TableError as ScenarioError};
use crate::world::spec::{BaleSpec, Hay, MachineSpec, Profile, TractorSpec};

/// A whole job, every number within its allowed range.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// What people call it.
    pub name: String,
    /// Hay wanted on the ground, kg per m of row.
    pub target_kg_m: f64,
    /// Length of a row, m, as of a bunk: laying ends there by itself, and the next leg of the drive begins
    /// the next row. `None` for rows that end with the drive.
    pub row_length_m: Option<f64>,
    /// The machine that feeds.
    pub machine: MachineSpec,
    /// What is known of each lot; never empty.
    pub tickets: Vec<Ticket>,
    /// The bales in the order fed; never empty.
    pub bales: Vec<Bale>,
    /// The tractor.
    pub tractor: TractorSpec,
    /// How it is driven, one leg after the other; never empty. A recording replaces the speeds.
    pub drive: Vec<Leg>,
    /// Whether the driver follows the advised speed.
    pub heed: Heed,
    /// What is fitted to the machine.
    pub sensors: Sensors,
    /// Time from the end of a bale until the next lies on the rollers, s.
    pub between_bales_s: f64,
}

impl Scenario {
    /// The demonstration as a file: documented, to be copied and changed.
    pub const DEMO: &str = include_str!("../demo.toml");
    /// Most tickets in a scenario: as many as the controller keeps.
    pub const TICKETS: usize = strewn_controller::settings::TICKETS;
    /// Most bales in a scenario.
    pub const BALES: usize = 50;
    /// Most legs of a drive.
    pub const LEGS: usize = 200;

    /// Reads a scenario from the text of a TOML file. Every key may be left out.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line: syntax, an unknown key, a value not allowed.
    pub fn parse(text: &str) -> Result<Self, ScenarioError> {
        read::scenario(text)
    }
}

/// What is known of a lot of bales before feeding: one label for all of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Ticket {
    /// What people call the lot.
    pub name: String,
    /// Diameter, m.
    pub diameter_m: f64,
    /// Width along the axis, m.
    pub width_m: f64,
    /// Mass of a bale as fed, kg.
    pub mass_kg: f64,
    /// Water as a share of the mass as fed.
    pub moisture: f64,
    /// Dry hay or wrapped silage.
    pub hay: Hay,
    /// How the baler leaves the core.
    pub core: Core,
}

/// What a person can say about the core of a lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Core {
    /// About the same density everywhere.
    Even,
    /// Loose at the centre.
    Soft,
    /// Tight at the centre.
    Dense,
}

impl Core {
    /// The density profile that such a core usually has. The numbers are assumed: no measured profile
    /// is published.
    #[must_use]
    pub fn usual_profile(self) -> Profile {
        match self {
            Self::Even => Profile::Even,
            Self::Soft => Profile::SoftCore { centre: 0.5, exponent: 1.0 },
            Self::Dense => Profile::DenseCore { ratio: 2.5, radius: 0.3 },
        }
    }
}

/// One bale as it truly is.
#[derive(Clone, Debug, PartialEq)]
pub struct Bale {
    /// What people call it.
    pub name: String,
    /// Its ticket, as an index of [`Scenario::tickets`].
    pub ticket: usize,
    /// The truth.
    pub spec: BaleSpec,
}

/// A stretch of driving.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Ground speed that the driver wants, m/s; zero is a stop.
    pub speed_m_s: f64,
    /// How long, s.
    pub duration_s: f64,
    /// Whether the driver feeds: holds the run switch.
    pub feed: bool,
}

/// Whether the driver follows the advised speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Heed {
    /// Within a second or so.
    Promptly,
    /// Late and roughly.
    Late,
    /// Not at all.
    Never,
}

/// What is fitted. The rollers' pulse sensors always are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensors {
    /// Weigh cells under the cradle.
    pub weigh: bool,
    /// Pressure across the roller motors.
    pub pressure: bool,
    /// Distance to the bale's face.
    pub gauge: bool,
    /// A ground wheel or radar with pulses.
    pub ground_pulses: bool,
    /// Speed messages of the tractor's bus.
    pub bus_speed: Option<BusSpeed>,
    /// A satellite receiver, sentences a second.
    pub nmea_hz: Option<f64>,
    /// Age of its speed when a sentence arrives, s.
    pub nmea_lag_s: f64,
    /// Share of the time in which it has no fix.
    pub nmea_dropouts: f64,
}
