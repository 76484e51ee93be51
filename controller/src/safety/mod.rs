//! Floor 4: conditions, ranked responses, supervisor, gate.
//!
//! [`observe`] looks at what the lower floors know and names the conditions present; the
//! [`Supervisor`] decides from them and from the operator's acts whether the rollers may turn; the
//! [`Gate`] has the last word on the valve.

mod conditions;
mod gate;
mod supervisor;

pub use conditions::{Condition, Observed, Response, Row, TABLE, When};
pub use gate::{Gate, Passed, is_standing};
pub use supervisor::{Acts, Phase, Supervisor};

use crate::estimate::Estimates;
use crate::metering::Proposal;
use crate::settings::SafetySettings;
use crate::signals::{Quality, Readings, StopSwitch};
use crate::units::TurnRate;

/// Asked for less than this, the rollers may as well stand.
const ASKED: TurnRate = TurnRate::from_bits(6_554); // 0.1 turns/s

/// What the lower floors know in this tick, and what was commanded in the last one.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// What floor 1 reads.
    pub readings: &'a Readings,
    /// What floor 2 knows.
    pub estimates: &'a Estimates,
    /// What floor 3 asked for in the last tick.
    pub proposal: &'a Proposal,
    /// What the gate let through in the last tick.
    pub passed: Passed,
    /// Whether the gate saw the rollers run too fast.
    pub too_fast: bool,
}

/// Names the conditions present. Written so that what is not known falls on the safe side.
#[must_use]
pub fn observe(settings: &SafetySettings, scene: &Scene<'_>) -> Observed {
    let Scene { readings, estimates, proposal, passed, too_fast } = scene;
    let switches = readings.switches;
    let roller = estimates.roller;
    let driven = passed.valve > 0 && proposal.rate > ASKED;
    let ground_known = estimates.ground.quality == Quality::Good;
    let ground_moves = estimates.ground.speed >= settings.least_speed;
    let above_limit = estimates.pressure.is_some_and(|pressure| pressure > settings.pressure_limit);
    let bus_asks_stop = readings.bus_stop.value;
    Observed::default()
        .with(Condition::RunReleased, !switches.run)
        .with(Condition::GroundStopped, ground_known && !ground_moves)
        .with(Condition::GroundSpeedLost, !ground_known)
        .with(Condition::RollersNotTurning, driven && is_standing(settings, roller.rate))
        .with(Condition::RollersDisagree, !roller.agree)
        .with(Condition::PressureHigh, above_limit)
        .with(Condition::ReferenceLost, readings.analog.reference == Quality::Invalid)
        .with(Condition::TickLate, readings.tick > settings.tick_limit)
        .with(Condition::RollersTooFast, *too_fast)
        .with(Condition::RollersRunOn, passed.valve == 0 && !is_standing(settings, roller.rate))
        .with(Condition::OperatorAway, !switches.present)
        .with(Condition::StopSwitchBroken, switches.stop == StopSwitch::Contradiction)
        .with(Condition::StopSwitch, switches.stop == StopSwitch::Stop || bus_asks_stop)
}
