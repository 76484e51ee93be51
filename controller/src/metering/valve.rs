//! From a wanted roller speed to a valve command.
//!
//! The command is what the valve's map asks for, plus a correction that learns. The roller speed is
//! compared with what it should have reached by now through the valve's lag, so that the correction
//! does not fight the lag.

use super::swings::Swings;
use crate::settings::MeteringSettings;
use crate::units::{Duty, Frequency, Ratio, Seconds, Span, TurnRate};
use serde::{Deserialize, Serialize};

/// The learned correction stays within this share of the stroke.
pub const MOST_LEARNED: Duty = Duty::from_bits(5_033_165); // 0.3
/// Asked for less than this, the valve is shut.
const SHUT: TurnRate = TurnRate::from_bits(655); // 0.01 turns/s
/// At full stroke, rollers slower than this share of the wanted speed have reached their limit.
const REACHED: Ratio = Ratio::from_bits(60_293); // 0.92
/// How long that must last.
const LIMITED_AFTER: Span = Span::from_millis(400);
/// How fast the known limit is let go.
const LIMIT_FORGOTTEN: Frequency = Frequency::from_bits(6_554); // 0.1 /s

/// What the valve has taught.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct ValveLaw {
    expected: TurnRate,
    learned: Duty,
    swings: Swings,
    short_for: Span,
    limit: Option<TurnRate>,
}

impl ValveLaw {
    /// At rest, with a correction learned before.
    #[must_use]
    pub fn taught(learned: Duty) -> Self {
        let learned = learned.held_within(MOST_LEARNED.negated(), MOST_LEARNED);
        Self { learned, ..Self::default() }
    }

    /// The correction learned. The limit of the oil is none of it: that is of the moment.
    #[must_use]
    pub fn learned(&self) -> Duty {
        self.learned
    }

    /// The valve is shut from outside: what was learned of it stays. A limit does not: if it was rollers
    /// that stuck, or pulses that failed, the speed advised after it would be one that starts nothing.
    pub fn rest(&mut self) {
        self.expected = TurnRate::ZERO;
        self.short_for = Span::ZERO;
        self.limit = None;
    }

    /// One tick: the command for a wanted roller speed. `open` is whether the gate let the last one through;
    /// rollers that it braked say nothing about the valve.
    pub fn command(
        &mut self,
        settings: &MeteringSettings,
        wanted: TurnRate,
        (actual, open): (TurnRate, bool),
        elapsed: Span,
    ) -> Duty {
        let tick = elapsed.seconds();
        let step = wanted.saturating_sub(self.expected).scaled(settings.valve_pace.over(tick));
        self.expected = if open { self.expected.saturating_add(step) } else { actual };
        if wanted < SHUT {
            self.short_for = Span::ZERO;
            return Duty::ZERO;
        }
        let error = self.expected.saturating_sub(actual);
        let share = self.swings.share(error, wanted, elapsed);
        let correction = settings.valve_gain.duty_for(error);
        let mapped = settings.dead_band.saturating_add(settings.duty_per_rate.duty_for(wanted));
        let used = correction.scaled(share);
        let asked = mapped.saturating_add(used).saturating_add(self.learned);
        self.learn(settings, asked, correction, tick);
        self.watch_limit(asked, wanted, actual, elapsed);
        asked.held_within(Duty::ZERO, Duty::ONE)
    }

    /// Takes a lasting error over; not while the stroke is at its end and more would only wind up.
    fn learn(&mut self, settings: &MeteringSettings, asked: Duty, correction: Duty, tick: Seconds) {
        let wound_up = (asked > Duty::ONE && correction > Duty::ZERO)
            || (asked < Duty::ZERO && correction < Duty::ZERO);
        if !wound_up {
            let step = correction.scaled(settings.valve_learning.over(tick));
            self.learned =
                self.learned.saturating_add(step).held_within(MOST_LEARNED.negated(), MOST_LEARNED);
        }
    }

    fn watch_limit(&mut self, asked: Duty, wanted: TurnRate, actual: TurnRate, elapsed: Span) {
        if asked >= Duty::ONE && actual < self.expected.scaled(REACHED) {
            self.short_for = self.short_for.saturating_add(elapsed);
        } else {
            self.short_for = Span::ZERO;
        }
        if self.short_for > LIMITED_AFTER {
            self.limit = Some(actual);
        } else if let Some(limit) = self.limit {
            let risen = limit.saturating_add(limit.scaled(LIMIT_FORGOTTEN.over(elapsed.seconds())));
            self.limit = (risen < wanted.saturating_add(wanted)).then_some(risen);
        }
    }

    /// Roller speed that the oil gives at most, if that was met of late.
    #[must_use]
    pub fn limit(&self) -> Option<TurnRate> {
        self.limit
    }
}
