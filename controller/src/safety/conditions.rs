//! The conditions under which rollers must not turn, as one ranked table.

use crate::settings::SafetySettings;
use crate::units::Span;
use serde::{Deserialize, Serialize};

/// Why the rollers must not turn. Later is worse; the worst one present is named as the cause.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub enum Condition {
    /// The operator let go of the run switch.
    RunReleased,
    /// The tractor stands or creeps.
    GroundStopped,
    /// No source tells the ground speed.
    GroundSpeedLost,
    /// The rollers do not turn although they are asked to.
    RollersNotTurning,
    /// The two rollers tell different speeds.
    RollersDisagree,
    /// Pressure across the motors stays above its limit.
    PressureHigh,
    /// The reference of the analog converter is off: no analog value can be trusted.
    ReferenceLost,
    /// The controller was called late.
    TickLate,
    /// The rollers turn faster than they ever may.
    RollersTooFast,
    /// The rollers turn although they are asked to rest.
    RollersRunOn,
    /// The operator has left the place.
    OperatorAway,
    /// The two channels of the stop switch contradict each other.
    StopSwitchBroken,
    /// The stop switch is open.
    StopSwitch,
}

/// What is done about a condition. Later is worse, and the worst one wins.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub enum Response {
    /// Rollers stop; the row has ended as the operator wished.
    EndRow,
    /// Rollers stop and stay stopped until the condition is gone and the operator acts anew.
    StopAndLatch,
}

/// When a condition counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum When {
    /// Always: it stops, and it forbids to start.
    Always,
    /// It stops a row, and forbids to begin one with the second act.
    Moving,
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The condition.
    pub condition: Condition,
    /// What is done.
    pub response: Response,
    /// When it counts.
    pub when: When,
    /// How long it must last before it counts; wiring faults count at once.
    pub patience: fn(&SafetySettings) -> Span,
    /// What the driver reads.
    pub words: &'static str,
    /// What the driver can do about it.
    pub remedy: &'static str,
}

fn at_once(_: &SafetySettings) -> Span {
    Span::ZERO
}

const fn row(
    condition: Condition,
    when: When,
    patience: fn(&SafetySettings) -> Span,
    words: &'static str,
    remedy: &'static str,
) -> Row {
    let response = match condition {
        Condition::RunReleased => Response::EndRow,
        _ => Response::StopAndLatch,
    };
    Row { condition, response, when, patience, words, remedy }
}

/// Every condition once, mildest first.
pub const TABLE: [Row; 13] = {
    use Condition as C;
    use When::{Always, Moving};
    [
        row(
            C::RunReleased,
            Moving,
            at_once,
            "run switch let go",
            "arm and hold the switch to go on",
        ),
        row(C::GroundStopped, Moving, |s| s.speed_patience, "tractor stands", "drive on, then arm"),
        row(
            C::GroundSpeedLost,
            Moving,
            |s| s.speed_patience,
            "ground speed lost",
            "check the speed source and its cable",
        ),
        row(
            C::RollersNotTurning,
            Moving,
            |s| s.start_patience,
            "rollers do not turn",
            "check oil supply, stall and roller sensors",
        ),
        row(
            C::RollersDisagree,
            Moving,
            |s| s.start_patience,
            "rollers disagree",
            "check both roller sensors and the drive",
        ),
        row(
            C::PressureHigh,
            Moving,
            |s| s.pressure_patience,
            "pressure too high",
            "shut down, look for a jam",
        ),
        row(
            C::ReferenceLost,
            Always,
            at_once,
            "sensor supply off",
            "check the sensor supply and its fuse",
        ),
        row(
            C::TickLate,
            Always,
            at_once,
            "controller was late",
            "switch off and on; have it looked at",
        ),
        row(
            C::RollersTooFast,
            Always,
            at_once,
            "rollers too fast",
            "isolate the hydraulics, have the valve looked at",
        ),
        row(
            C::RollersRunOn,
            Always,
            |s| s.rest_patience,
            "rollers run on",
            "isolate the hydraulics at the tractor",
        ),
        row(C::OperatorAway, Always, at_once, "operator away", "take the seat"),
        row(
            C::StopSwitchBroken,
            Always,
            at_once,
            "stop switch broken",
            "have both channels of the stop switch looked at",
        ),
        row(
            C::StopSwitch,
            Always,
            at_once,
            "stop pressed",
            "make sure all is clear, release the stop",
        ),
    ]
};

impl Condition {
    /// Its row in the table.
    #[must_use]
    pub fn row(self) -> &'static Row {
        let [first, ..] = &TABLE;
        TABLE.iter().find(|row| row.condition == self).unwrap_or(first)
    }

    /// What the driver reads.
    #[must_use]
    pub fn words(self) -> &'static str {
        self.row().words
    }
}

/// The conditions present in one tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Observed(u16);

impl Observed {
    /// Adds a condition if it is present.
    #[must_use]
    pub fn with(self, condition: Condition, present: bool) -> Self {
        if present { Self(self.0 | bit(condition)) } else { self }
    }

    /// Whether a condition is present.
    #[must_use]
    pub fn has(self, condition: Condition) -> bool {
        self.0 & bit(condition) != 0
    }
}

/// A condition's place in the ranking.
const fn rank(condition: Condition) -> u32 {
    match condition {
        Condition::RunReleased => 0,
        Condition::GroundStopped => 1,
        Condition::GroundSpeedLost => 2,
        Condition::RollersNotTurning => 3,
        Condition::RollersDisagree => 4,
        Condition::PressureHigh => 5,
        Condition::ReferenceLost => 6,
        Condition::TickLate => 7,
        Condition::RollersTooFast => 8,
        Condition::RollersRunOn => 9,
        Condition::OperatorAway => 10,
        Condition::StopSwitchBroken => 11,
        Condition::StopSwitch => 12,
    }
}

const fn bit(condition: Condition) -> u16 {
    1u16.wrapping_shl(rank(condition))
}

#[cfg(test)]
mod tests {
    use super::{TABLE, rank};

    #[test]
    fn the_table_names_every_condition_once_in_the_order_of_its_rank() {
        let ranks = TABLE.map(|row| rank(row.condition));
        assert_eq!(ranks, core::array::from_fn(|index| u32::try_from(index).unwrap()));
        assert!(TABLE.windows(2).all(|pair| pair[0].condition < pair[1].condition));
        assert!(TABLE.windows(2).all(|pair| pair[0].response <= pair[1].response));
    }
}
