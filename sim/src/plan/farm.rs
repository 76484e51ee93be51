//! What a person knows before feeding.

use super::hitch::Hitch;
use super::ration::Class;
use super::stack::Storage;
use crate::bench::scenario::Ticket;
use crate::table::TableError;
use crate::world::spec::MachineSpec;

/// A farm on a day of feeding, every number within its allowed range. SI units.
#[derive(Clone, Debug, PartialEq)]
pub struct Farm {
    /// What people call it.
    pub name: String,
    /// The animals; never empty.
    pub herd: Vec<Herd>,
    /// Total digestible nutrients of the hay as a share of dry matter.
    pub tdn: f64,
    /// Hay lost as a share of what is fed.
    pub loss: f64,
    /// Days that one feeding lasts.
    pub days: f64,
    /// Bales at hand, in the order to be used; never empty.
    pub lots: Vec<Lot>,
    /// Days of feeding in a winter.
    pub winter_days: f64,
    /// How the winter's hay is stored, if the person says so.
    pub storage: Option<Storage>,
    /// Where hay is laid.
    pub place: Place,
    /// The machine and the tractor's remote.
    pub machine: MachineSpec,
    /// Bales that the machine carries: 1 or 2.
    pub carried: usize,
    /// Engine speed while feeding, turns/s.
    pub engine_turns_s: f64,
    /// Ground speed that the driver would like, m/s.
    pub speed_m_s: f64,
    /// From the gate to where hay is laid, m.
    pub way_in_m: f64,
    /// Speed on the way in and out, m/s.
    pub travel_m_s: f64,
    /// From the end of a bale until the next lies on the rollers, s.
    pub between_bales_s: f64,
    /// Masses and measures of tractor and hitch, if known.
    pub hitch: Option<Hitch>,
}

/// Animals of one class.
#[derive(Clone, Debug, PartialEq)]
pub struct Herd {
    /// What they are.
    pub class: Class,
    /// How many.
    pub head: f64,
    /// Mass of one, kg.
    pub body_kg: f64,
    /// Dry matter that one eats a day as a share of its mass, if the person knows it.
    pub intake: Option<f64>,
}

/// A lot of bales.
#[derive(Clone, Debug, PartialEq)]
pub struct Lot {
    /// What is known of a bale.
    pub ticket: Ticket,
    /// Whether a bale was weighed; its mass is an estimate otherwise.
    pub weighed: bool,
    /// Bales at hand, if counted.
    pub count: Option<f64>,
}

/// What hay is laid on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Open ground, in rows.
    Pasture,
    /// A bunk.
    Bunk,
}

/// Where hay is laid.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Pasture or bunk.
    pub kind: Kind,
    /// Length to lay a feeding on, m, if it is fixed.
    pub strip_m: Option<f64>,
    /// Space along the row for each animal, m, if it is fixed.
    pub space_m: Option<f64>,
    /// Sides from which animals reach the hay: 1 or 2.
    pub sides: f64,
    /// Length of one pass, m; of the bunk, where there is one.
    pub row_m: f64,
    /// Passes that the pasture has room for.
    pub rows: f64,
    /// From one pass to the next, m; what lies on it is taken up by this width.
    pub spacing_m: f64,
    /// Length already fed on since the first pass, m.
    pub used_m: f64,
}

impl Farm {
    /// An invented farm as a file: documented, to be copied and changed.
    pub const EXAMPLE: &str = include_str!("farm.toml");

    /// Reads a farm from a TOML file. Head and weight of the animals are needed, all else may be left
    /// out.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line.
    pub fn parse(text: &str) -> Result<Self, TableError> {
        super::read::farm(text)
    }

    /// Animals in all.
    #[must_use]
    pub fn head(&self) -> f64 {
        self.herd.iter().map(|group| group.head).sum()
    }
}
