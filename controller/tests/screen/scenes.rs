//! Moments that the screen must show, named as the files of their pictures. All figures are invented.

use strewn_controller::safety::{Condition, Observed, Phase};
use strewn_controller::units::{LineRate, Mass, Speed, TurnRate};
use strewn_controller::view::View;

/// Laying five pounds a foot at three miles an hour, all well.
pub(crate) fn laying() -> View {
    View {
        phase: Phase::Laying,
        target: LineRate::from_milli(7_441),
        laid: LineRate::from_milli(7_290),
        ground_speed: Speed::from_milli(1_341),
        advised_speed: Speed::MAX,
        roller_asked: TurnRate::from_milli(800),
        roller_speed: TurnRate::from_milli(795),
        left: Mass::from_whole(412),
        left_deviation: Mass::from_whole(9),
        ..View::default()
    }
}

/// Not laying, rollers and tractor at rest.
pub(crate) fn at_rest(phase: Phase, cause: Option<Condition>) -> View {
    View {
        phase,
        cause,
        laid: LineRate::ZERO,
        ground_speed: Speed::ZERO,
        roller_asked: TurnRate::ZERO,
        roller_speed: TurnRate::ZERO,
        ..laying()
    }
}

fn with(conditions: &[Condition]) -> Observed {
    conditions.iter().fold(Observed::default(), |all, one| all.with(*one, true))
}

/// Every moment with its name.
pub(crate) fn scenes() -> Vec<(&'static str, View)> {
    let slow = Speed::from_milli(900);
    let too_fast = View { advised_speed: slow, laid: LineRate::from_milli(5_100), ..laying() };
    vec![
        ("at-rest", at_rest(Phase::Resting, None)),
        ("testing", at_rest(Phase::Testing, None)),
        ("armed", at_rest(Phase::Armed, None)),
        ("laying", laying()),
        ("slow-down", too_fast),
        ("core-slow-down", View { core_near: true, ..too_fast }),
        ("core-slow", View { core_near: true, ground_speed: Speed::from_milli(850), ..too_fast }),
        ("clump", View { holding: true, laid: LineRate::from_milli(11_900), ..laying() }),
        ("scale-lost", View { carrying_on: with(&[Condition::WeighLost]), ..laying() }),
        ("slow-down-gauge-lost", View { carrying_on: with(&[Condition::GaugeLost]), ..too_fast }),
        ("waiting", at_rest(Phase::Paused, None)),
        (
            "row-ended-still-turning",
            View {
                roller_speed: TurnRate::from_milli(300),
                ..at_rest(Phase::Resting, Some(Condition::RunReleased))
            },
        ),
        ("stopped-by-person", at_rest(Phase::Latched, Some(Condition::StopSwitch))),
        ("stopped-tractor-stands", at_rest(Phase::Latched, Some(Condition::GroundStopped))),
        ("stopped-jam", at_rest(Phase::Latched, Some(Condition::RollersStalled))),
        ("locked-off", at_rest(Phase::Isolated, Some(Condition::RollersRunOn))),
        ("longest", longest()),
    ]
}

/// Every number at its end, the longest message.
pub(crate) fn longest() -> View {
    View {
        target: LineRate::MAX,
        laid: LineRate::from_whole(-32_000),
        ground_speed: Speed::MAX,
        advised_speed: Speed::from_whole(44),
        left: Mass::MAX,
        left_deviation: Mass::MAX,
        carrying_on: with(&[Condition::PressureLost]),
        holding: true,
        ..laying()
    }
}
