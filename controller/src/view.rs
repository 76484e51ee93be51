//! What the operator is told, in plain values. The screen draws it; control never reads it.

use crate::safety::{Condition, Observed, Phase};
use crate::units::{Bite, LineRate, Mass, Speed, TurnRate};
use serde::{Deserialize, Serialize};

/// One picture of the machine for the person in the cab.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct View {
    /// What the machine is doing.
    pub phase: Phase,
    /// Why it stopped last, or why it would not be armed, until it is.
    pub cause: Option<Condition>,
    /// What is wrong but carried on with, each by its named fallback.
    pub carrying_on: Observed,
    /// The rate asked for.
    pub target: LineRate,
    /// The rate being laid, as estimated.
    pub laid: LineRate,
    /// Ground speed as used; zero when unknown.
    pub ground_speed: Speed,
    /// Highest ground speed at which the target can be held now; [`Speed::MAX`] when any will do.
    pub advised_speed: Speed,
    /// Roller speed asked for.
    pub roller_asked: TurnRate,
    /// Roller speed as estimated.
    pub roller_speed: TurnRate,
    /// Hay left on the machine, as estimated.
    pub left: Mass,
    /// One standard deviation of it.
    pub left_deviation: Mass,
    /// The bite, as estimated.
    pub bite: Bite,
    /// One standard deviation of it.
    pub bite_deviation: Bite,
    /// Whether the core is near and the rollers are held slow for it.
    pub core_near: bool,
    /// Whether the rollers are held until the ground has caught up with hay already laid.
    pub holding: bool,
}
