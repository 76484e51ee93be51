//! What the pressure says of the bite: not how large it is, but how it differs from a moment ago.
//!
//! Part of the pressure turns idle rollers, part drags the bale's weight over them; the rest tears.
//! How much hay a tearing pressure means differs with hay and machine, but not within seconds. Denser
//! hay takes more work a kilogram, so that the bite goes with the root of the tearing pressure
//! (assumed; see the calibration notes). So the bite is taken to differ from what it was over the last
//! while by the root of what the tearing pressure does, less the share of that which is mere noise of
//! the tearing. What lasts longer than that while is the business of whatever weighs.

use super::trust::Trust;
use crate::settings::EstimateSettings;
use crate::units::{Frequency, Mass, Pressure, Ratio, Span, TurnRate};
use serde::{Deserialize, Serialize};

/// Slower rollers say nothing by their pressure.
const FEELING: TurnRate = TurnRate::from_bits(9_830); // 0.15 turns/s
/// Less tearing pressure than this says nothing.
const FELT: Pressure = Pressure::from_bits(200 << 16);
/// Nor does it become so many times what it was within a moment.
const AT_ONCE: Ratio = Ratio::from_bits(4 << 16);
/// With less hay on the machine the teeth may miss it.
const LITTLE: Mass = Mass::from_bits(100 << 19);
/// Rollers that have just started up say more of their own inertia than of the hay.
const STARTING: Span = Span::from_millis(700);
/// Time over which the pressure counts as what it was a while ago: its inverse.
const WHILE: Frequency = Frequency::from_bits(6_554); // 0.1 /s
/// Share of the felt difference that is the bite's; the rest is noise of the tearing. Assumed.
const MEANT: Ratio = Ratio::from_bits(45_875); // 0.7
/// The pressure makes the bite no smaller and no larger than by these shares.
const LESS: Ratio = Ratio::from_bits(-32_768); // -0.5
const MORE: Ratio = Ratio::from_bits(98_304); // 1.5

/// A dense core makes itself felt when the tearing pressure of the last moment stands above that of
/// the last while by this factor: where the ticket lets expect one, and where it does not. Assumed:
/// a core of 1.5 times the density takes 1.65 times the torque; tufts stray by a tenth.
const CORE_WHERE_EXPECTED: Ratio = Ratio::from_bits(91_750); // 1.4
const CORE_UNEXPECTED: Ratio = Ratio::from_bits(157_286); // 2.4
/// It was none when the pressure of late is no more than this above what it was before,
const NO_CORE: Ratio = Ratio::from_bits(75_367); // 1.15
/// for so long.
const NO_CORE_AFTER: Span = Span::from_millis(2_000);
/// The pressure of the last moment: the inverse of its time.
const MOMENT: Frequency = Frequency::from_bits(4 << 16); // 0.25 s

/// What is felt.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Felt {
    /// By which share the bite differs from that of the last while.
    pub difference: Ratio,
    /// The rollers are in a dense core.
    pub core: bool,
    /// They have just entered it.
    pub core_begins: bool,
}

/// Follows the tearing pressure.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Feel {
    turning: Span,
    /// Tearing pressure of the last moment, braking and all.
    moment: Option<Pressure>,
    followed: Option<Followed>,
    /// The pressure before the core that is felt, and for how long it has been doubted.
    core: Option<(Pressure, Span)>,
    /// Rollers that are braked are driven by nothing: two seconds of it, no less, is a lie.
    trust: Trust<132, 2>,
}

/// Tearing pressure of late and of the last while.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
struct Followed {
    late: Pressure,
    past: Pressure,
}

impl Feel {
    /// Whether the pressure has told too much that cannot be.
    #[must_use]
    pub fn lies(&self) -> bool {
        self.trust.is_lost()
    }

    /// One turn, `elapsed` after the one before. Nothing is felt while there is no good pressure, the rollers
    /// are slow or starting; a core once felt stays so meanwhile. Nor is one that a pressure that lies told
    /// of.
    pub fn update(
        &mut self,
        settings: &EstimateSettings,
        pressure: Option<Pressure>,
        (left, core_expected): (Mass, bool),
        rate: TurnRate,
        elapsed: Span,
    ) -> Felt {
        if self.lies() {
            *self = Self { trust: self.trust, ..Self::default() };
            return Felt::default();
        }
        let resisting = settings.idle_pressure.saturating_add(settings.drag.of(left));
        let tearing = pressure.map(|pressure| pressure.saturating_sub(resisting));
        let Some(tearing) = tearing.filter(|_| rate > FEELING) else {
            *self = Self { core: self.core, trust: self.trust, ..Self::default() };
            return Felt { core: self.core.is_some(), ..Felt::default() };
        };
        self.turning = self.turning.saturating_add(elapsed);
        let was = self.core.is_some();
        if self.turning >= STARTING {
            let possible = self.is_possible(tearing, resisting, elapsed);
            if self.trust.takes(possible || left < LITTLE) {
                self.feel(settings, tearing.max(FELT), core_expected, elapsed);
            }
        }
        let core = self.core.is_some();
        let Some(now) = self.followed else {
            return Felt { core, ..Felt::default() };
        };
        let share = now.late.share_of(now.past).square_root().saturating_sub(Ratio::ONE);
        let difference = share.scaled(MEANT).held_within(LESS, MORE);
        Felt { difference, core, core_begins: core && !was }
    }

    /// Hay does not become another at once. And teeth in it take more than turning without it, however
    /// roughly that is known; over a moment, for rollers that swing brake every now and then.
    fn is_possible(&mut self, tearing: Pressure, resisting: Pressure, elapsed: Span) -> bool {
        let before = self.moment.unwrap_or(tearing);
        if tearing >= before.max(resisting).max(FELT).scaled(AT_ONCE) {
            return false;
        }
        let moment = follow(before, tearing, MOMENT, elapsed);
        self.moment = Some(moment);
        moment > resisting.halved(1).negated()
    }

    fn feel(
        &mut self,
        settings: &EstimateSettings,
        tearing: Pressure,
        core_expected: bool,
        elapsed: Span,
    ) {
        let before = self.followed.unwrap_or(Followed { late: tearing, past: tearing });
        let late = follow(before.late, tearing, settings.pressure_pace, elapsed);
        let now = Followed {
            late,
            past: self.core.map_or(follow(before.past, late, WHILE, elapsed), |(before, _)| before),
        };
        self.followed = Some(now);
        self.feel_core(now, core_expected, elapsed);
    }

    fn feel_core(&mut self, now: Followed, expected: bool, elapsed: Span) {
        let stands_out = if expected { CORE_WHERE_EXPECTED } else { CORE_UNEXPECTED };
        let moment = self.moment.unwrap_or(now.late);
        self.core = match self.core {
            None => (moment > now.past.scaled(stands_out)).then_some((now.past, Span::ZERO)),
            Some((before, _)) if now.late > before.scaled(NO_CORE) => Some((before, Span::ZERO)),
            Some((before, doubted)) => {
                let doubted = doubted.saturating_add(elapsed);
                (doubted < NO_CORE_AFTER).then_some((before, doubted))
            }
        };
    }
}

fn follow(before: Pressure, now: Pressure, pace: Frequency, elapsed: Span) -> Pressure {
    let share = pace.over(elapsed.seconds()).min(Ratio::ONE);
    before.saturating_add(now.saturating_sub(before).scaled(share))
}
