//! What the estimates are, for the floors above.

use super::{GroundSpeed, RollerSpeed};
use crate::signals::Quality;
use crate::units::{Bite, Mass, Pressure, Turns};
use serde::{Deserialize, Serialize};

/// Everything that control knows of the machine. Each part is as of the last turn that it says.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Estimates {
    /// Roller speed, as of this tick.
    pub roller: RollerSpeed,
    /// Pressure across the motors, if known, as of this tick.
    pub pressure: Option<Pressure>,
    /// Ground speed, as of [`crate::signals::Turn::Ground`].
    pub ground: GroundSpeed,
    /// The hay, as of [`crate::signals::Turn::Hay`]; its deviations as of the last
    /// [`crate::signals::Turn::Ground`] of two.
    pub hay: Hay,
    /// A dense core is felt, as of [`crate::signals::Turn::Row`]. Nothing is felt unless [`Self::feels`] is
    /// good.
    pub in_core: bool,
    /// Whether the pressure is believed when it tells of the hay, as of [`crate::signals::Turn::Row`].
    pub feels: Quality,
}

/// What is known of the hay.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Hay {
    /// Hay left on the machine and one standard deviation.
    pub left: (Mass, Mass),
    /// The bite that any bale of this ticket would have now.
    pub usual_bite: Bite,
    /// The bite and one standard deviation.
    pub bite: (Bite, Bite),
    /// The bale has a dense core by its ticket.
    pub core_expected: bool,
    /// Turns of the first roller since the hay's turn before.
    pub turned: Turns,
    /// Hay torn off the bale in that time. Weighing corrects what is left, not what was torn.
    pub torn: Mass,
    /// A new bale was loaded in that time.
    pub loaded: bool,
    /// A clump left in that time.
    pub clump: Option<Mass>,
    /// Whether the weigh cells are believed.
    pub scale: Quality,
    /// Whether the bale gauge is believed.
    pub gauge: Quality,
}
