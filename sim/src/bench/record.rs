//! What a run leaves behind for score and report; nothing reads it back into the run.

use strewn_controller::safety::{Condition, Phase};

/// One moment of a run, kept ten times a second. SI units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sample {
    /// Time since the start, s.
    pub time_s: f64,
    /// Distance driven, m.
    pub odometer_m: f64,
    /// True ground speed, m/s.
    pub ground_speed_m_s: f64,
    /// Ground speed that the controller advises, m/s; not finite when any will do.
    pub advised_speed_m_s: f64,
    /// Roller speed asked for, turns/s.
    pub roller_asked: f64,
    /// True roller speed, turns/s.
    pub roller_turns_s: f64,
    /// True pressure across the motors, Pa.
    pub pressure_pa: f64,
    /// True bite without tufts, kg per turn.
    pub bite_kg: f64,
    /// Bite as estimated, kg per turn, and one standard deviation.
    pub bite_estimate_kg: (f64, f64),
    /// True hay left on the machine, kg.
    pub left_kg: f64,
    /// Hay left as estimated, kg, and one standard deviation.
    pub left_estimate_kg: (f64, f64),
    /// Valve duty as commanded, -1 to 1.
    pub duty: f64,
    /// What the controller was doing.
    pub phase: Phase,
    /// Why it stopped, if it did.
    pub cause: Option<Condition>,
    /// Core near and rollers held slow for it.
    pub core_near: bool,
    /// Rollers held until the ground has caught up.
    pub holding: bool,
}

/// One bale of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct BaleRun {
    /// Name from the scenario.
    pub name: String,
    /// Mass as loaded, kg.
    pub mass_kg: f64,
    /// Mass still on the machine at the end, kg.
    pub left_kg: f64,
    /// Rate asked for, kg/m.
    pub target_kg_m: f64,
    /// Time of first and last hay, s.
    pub time_s: (f64, f64),
    /// Odometer at first and last hay on the ground, m.
    pub strip_m: (f64, f64),
    /// Odometer between its rows, m, where one of fixed length had ended and the next had not begun.
    pub between_rows_m: Vec<(f64, f64)>,
    /// Clumps that left the core, as (time s, mass kg).
    pub clumps: Vec<(f64, f64)>,
}

impl BaleRun {
    /// Odometer at first and last hay of each of its rows, m.
    pub fn rows_m(&self) -> impl Iterator<Item = (f64, f64)> {
        let begins =
            std::iter::once(self.strip_m.0).chain(self.between_rows_m.iter().map(|gap| gap.1));
        let ends = self.between_rows_m.iter().map(|gap| gap.0).chain([self.strip_m.1]);
        begins.zip(ends)
    }
}

/// Everything one contender did with one scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Who fed.
    pub contender: &'static str,
    /// The bales in the order fed.
    pub bales: Vec<BaleRun>,
    /// Ten moments a second.
    pub samples: Vec<Sample>,
    /// Hay on the ground, kg in each bin of [`Run::BIN_M`], from odometer 0.
    pub ground_kg: Vec<f64>,
    /// Work done by the hydraulics on the rollers, J.
    pub energy_j: f64,
}

impl Run {
    /// Length of a ground bin: 0.1 ft.
    pub const BIN_M: f64 = 0.1 * crate::units::M_PER_FT;
}
