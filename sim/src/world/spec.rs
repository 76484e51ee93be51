//! What a world is made of: plain SI numbers, checked by whoever reads them from a person.

use super::oil::Grade;
use super::terrain::TerrainSpec;
use crate::units::{M_PER_FT, M3_PER_IN3, M3_S_PER_GPM, PA_PER_PSI};

/// A bale as it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct BaleSpec {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Width along its axis, m.
    pub width_m: f64,
    /// Mass as fed, kg.
    pub mass_kg: f64,
    /// Water as a share of the mass as fed.
    pub moisture: f64,
    /// Dry hay or wrapped silage: sets how it tears.
    pub hay: Hay,
    /// How density runs from centre to surface.
    pub profile: Profile,
    /// What sets it apart from a sound bale.
    pub condition: Condition,
}

/// What sets a bale apart from a round and evenly dry one. Where a flaw lies is drawn from the bale's
/// random stream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Condition {
    /// Distance between the axis that it turns about and its centre as a share of its radius, to 0.15.
    pub off_centre: f64,
    /// Deviation of its longest and shortest radius from the mean as a share of it, to 0.15.
    pub out_of_round: f64,
    /// Share of the hay that lies in wet patches, 0 to 0.5.
    pub wet_share: f64,
    /// Share of the hay that lies in frozen patches, 0 to 0.5.
    pub frozen_share: f64,
    /// Bands of wrap or twine that were left in it.
    pub wrap_bands: u32,
    /// Which way it is turned.
    pub winding: Winding,
}

impl Condition {
    /// Round, evenly dry, without wrap, turned with its winding.
    pub const SOUND: Self = Self {
        off_centre: 0.0,
        out_of_round: 0.0,
        wet_share: 0.0,
        frozen_share: 0.0,
        wrap_bands: 0,
        winding: Winding::With,
    };
}

/// Which way a bale is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Winding {
    /// With its winding: layers peel.
    With,
    /// Against it: layers are torn.
    Against,
}

/// Kind of hay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hay {
    /// Dry hay, up to 20 % water.
    Dry,
    /// Wrapped silage, 40 to 65 % water: longer tufts, tougher.
    Wrapped,
}

/// Relative density by radius; the bale's mass sets the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Profile {
    /// The same everywhere.
    Even,
    /// `centre + (1 - centre) (r/R)^exponent`: below 1 at the centre as a fixed-chamber baler leaves it,
    /// above 1 a dense core with a graded edge.
    SoftCore {
        /// Density at the centre as a share of that at the surface.
        centre: f64,
        /// Exponent of the rise.
        exponent: f64,
    },
    /// A core of its own density within an even bale.
    DenseCore {
        /// Density of the core over the density around it.
        ratio: f64,
        /// Radius of the core as a share of the bale's radius.
        radius: f64,
    },
}

/// Rollers, valve and tractor hydraulics.
#[derive(Clone, Debug, PartialEq)]
pub struct MachineSpec {
    /// Roller diameter, m.
    pub roller_diameter_m: f64,
    /// Motor displacement, both rollers together, m3 per roller turn.
    pub displacement_m3: f64,
    /// Flow that the remote is set to, m3/s.
    pub remote_flow_m3_s: f64,
    /// Pump flow per engine turn, m3.
    pub pump_m3_per_turn: f64,
    /// Relief pressure of the tractor, Pa.
    pub relief_pa: f64,
    /// Pressure that the return line takes at full remote flow, Pa, below relief; it grows with the
    /// square of the flow. What relief leaves is there for the motors.
    pub return_pa: f64,
    /// Grade of the oil.
    pub oil: Grade,
    /// Temperature of the oil, C, -40 to 120.
    pub oil_c: f64,
    /// Share of the command before the spool opens.
    pub dead_band: f64,
    /// Width of the spool's hysteresis as a share of full command.
    pub hysteresis: f64,
    /// Share of that hysteresis which dither takes away, 0 to 1.
    pub dither: f64,
    /// First-order lag of valve and spool with warm oil, s.
    pub valve_lag_s: f64,
    /// Supply of the valve, V.
    pub supply_v: f64,
    /// Resistance of its coil at 20 C, ohm.
    pub coil_ohm: f64,
    /// Temperature of the coil, C; a warm coil takes less current and opens less at the same duty.
    pub coil_c: f64,
    /// Mean time from leaving the rollers to lying on the ground, s.
    pub fall_s: f64,
}

impl MachineSpec {
    /// Supply at which full duty moves the spool of a cold coil through its whole stroke, V.
    pub const STATED_SUPPLY_V: f64 = 12.0;
}

impl Default for MachineSpec {
    /// Two rollers of a foot on a tractor's 24-gpm remote, whose pump gives that flow at 1,900 engine
    /// turns a minute. Common practice, no source; valve figures as in hardware-notes/assumed.md.
    fn default() -> Self {
        Self {
            roller_diameter_m: 13.0 * M_PER_FT / 12.0,
            displacement_m3: 16.0 * M3_PER_IN3,
            remote_flow_m3_s: 24.0 * M3_S_PER_GPM,
            pump_m3_per_turn: 24.0 * M3_S_PER_GPM / (1900.0 / 60.0),
            relief_pa: 2600.0 * PA_PER_PSI,
            return_pa: 0.0,
            oil: Grade::Vg46,
            oil_c: 50.0,
            dead_band: 0.15,
            hysteresis: 0.04,
            dither: 0.0,
            valve_lag_s: 0.12,
            supply_v: Self::STATED_SUPPLY_V,
            coil_ohm: 5.0,
            coil_c: 20.0,
            fall_s: 0.45,
        }
    }
}

/// How a tractor is driven.
#[derive(Clone, Debug, PartialEq)]
pub struct TractorSpec {
    /// Engine speed set by the hand throttle, turns a second.
    pub engine_turns_s: f64,
    /// Deviation of engine speed as a share of it.
    pub engine_wander: f64,
    /// Way for each engine turn in the gear that is in, m: the throttle then sets the ground speed, and
    /// the pump's flow with it. `None` where the engine holds its speed and the way is chosen apart from
    /// it, as with a hydrostatic drive.
    pub gear_m: Option<f64>,
    /// Assumed, 10 to 16: slowest engine speed, turns/s; slower than that, the clutch slips.
    pub idle_turns_s: f64,
    /// Deviation of ground speed as a share of it: ruts, slopes, a foot on the pedal.
    pub wander: f64,
    /// Time over which wander of engine and ground speed stays alike, s.
    pub wander_s: f64,
    /// Assumed, 0 to 3: share of its speed that a tractor loses uphill, and gains downhill, over the
    /// slope (rise over run).
    pub slope_loss: f64,
    /// The ground that it drives over.
    pub terrain: TerrainSpec,
    /// Highest gain of ground speed, m/s2.
    pub acceleration_m_s2: f64,
    /// Highest loss of ground speed, m/s2.
    pub braking_m_s2: f64,
}

impl Default for TractorSpec {
    /// An unhurried tractor at 1,200 engine turns a minute. Assumed; see hardware-notes/assumed.md.
    fn default() -> Self {
        Self {
            engine_turns_s: 20.0,
            engine_wander: 0.01,
            gear_m: None,
            idle_turns_s: 13.0,
            wander: 0.06,
            wander_s: 4.0,
            slope_loss: 1.0,
            terrain: TerrainSpec::default(),
            acceleration_m_s2: 0.5,
            braking_m_s2: 1.0,
        }
    }
}

/// How the tractor moves at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Motion {
    /// Ground speed, m/s, never negative.
    pub speed_m_s: f64,
    /// Engine speed, turns a second.
    pub engine_turns_s: f64,
}

/// What reaches the valve.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Command {
    /// Signed duty, -1 to 1.
    pub duty: f64,
    /// Whether the series enable is on.
    pub enable: bool,
}
