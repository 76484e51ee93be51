//! What is seen of the hay: whether it leaves, and whether a dense core in it is still watched for.

use super::supervisor::Phase;
use super::watch::{Scene, is_lost};
use crate::signals::Quality;
use crate::units::Mass;
use serde::{Deserialize, Serialize};

/// Hay that the turns of the rollers let expect before the scale is asked whether it left.
const EXPECTED: Mass = Mass::from_bits(80 << 19);
/// After so much at the start of a row the scale, as it is followed, has settled.
const SETTLED: Mass = Mass::from_bits(16 << 19);
/// It has not left if the scale shows less than this part of it: halved three times.
const LEFT_HALVINGS: u32 = 3;
/// The scale is followed by this part of what it differs, each time: halved five times, in a second.
const LEVEL_HALVINGS: u32 = 5;
/// With less hay on the machine there is nothing to leave.
const REST: Mass = Mass::from_bits(50 << 19);

/// Which sensors the row began with that tell of a dense core: the scale and the pressure.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub(super) struct CoreWatch(Option<[bool; 2]>);

/// Whether hay leaves as the rollers turn.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub(super) struct Leaving {
    /// The scale, followed slowly: a jolt of the tractor shakes it by more than a bite.
    level: Option<Mass>,
    from: Option<Mass>,
    expected: Mass,
    nothing: bool,
}

impl CoreWatch {
    /// Whether one of them has fallen out since, on a bale that has a dense core by its ticket: how the
    /// bite changes in there nobody knows before. A row that begins without it is the person's choice.
    pub(super) fn is_lost(&mut self, scene: &Scene<'_>) -> bool {
        let Scene { estimates, phase, .. } = scene;
        let qualities = [estimates.hay.scale, estimates.feels];
        if *phase != Phase::Laying {
            self.0 = None;
            return false;
        }
        let began = self.0.get_or_insert(qualities.map(|quality| quality == Quality::Good));
        let mut sensors = began.iter().zip(qualities);
        estimates.hay.core_expected && sensors.any(|(had, quality)| *had && is_lost(quality))
    }
}

impl Leaving {
    /// Each time that the rollers have turned enough for a good deal of hay, the scale must show
    /// that a part of it left. Starts over while that cannot be told. A scale that the account does not
    /// believe counts here all the same: it may be the hay that does not do as the account says.
    pub(super) fn see(&mut self, scene: &Scene<'_>) -> bool {
        let Scene { readings, estimates, phase, .. } = scene;
        let hay = &estimates.hay;
        let (left, _) = hay.left;
        let weighed = readings.weigh.mass.good().filter(|_| left > REST && !hay.loaded);
        let (Some(weighed), true) = (weighed, *phase == Phase::Laying) else {
            *self = Self::default();
            return false;
        };
        let level = self.level.unwrap_or(weighed);
        let level = level.saturating_add(weighed.saturating_sub(level).halved(LEVEL_HALVINGS));
        self.level = Some(level);
        self.expected = self.expected.saturating_add(hay.usual_bite.over(hay.turned));
        let enough = if self.from.is_some() { EXPECTED } else { SETTLED };
        if self.expected > enough {
            let least = self.expected.halved(LEFT_HALVINGS);
            self.nothing = self.from.is_some_and(|from| from.saturating_sub(level) < least);
            (self.from, self.expected) = (Some(level), Mass::ZERO);
        }
        self.nothing
    }
}
