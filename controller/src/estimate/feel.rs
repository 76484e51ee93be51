//! What the pressure says of the bite: not how large it is, but how it changes.
//!
//! Part of the pressure turns idle rollers, part drags the bale's weight over them; the rest tears.
//! How much hay a tearing pressure means differs with hay and machine, but not within seconds. Denser
//! hay takes more work a kilogram, so that the bite goes with the root of the tearing pressure
//! (assumed; see the calibration notes). So each change of it is carried over to the bite at once, and
//! how large the bite is stays the business of whatever weighs.

use crate::settings::EstimateSettings;
use crate::units::{Mass, Pressure, Ratio, Span, TurnRate};
use serde::{Deserialize, Serialize};

/// Slower rollers say nothing by their pressure.
const FEELING: TurnRate = TurnRate::from_bits(9_830); // 0.15 turns/s
/// Less tearing pressure than this says nothing.
const FELT: Pressure = Pressure::from_bits(200 << 16);
/// Rollers that have just started up say more of their own inertia than of the hay.
const STARTING: Span = Span::from_millis(700);
/// No single tick changes the bite by more than this.
const MOST: Ratio = Ratio::from_bits(3_277); // 0.05

/// Follows the tearing pressure.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Feel {
    turning: Span,
    smooth: Option<Pressure>,
}

impl Feel {
    /// One tick: by which share the bite changed since the last one. Zero while there is no good
    /// pressure, the rollers are slow or starting, or the pressure is low.
    pub fn change(
        &mut self,
        settings: &EstimateSettings,
        pressure: Option<Pressure>,
        left: Mass,
        rate: TurnRate,
        elapsed: Span,
    ) -> Ratio {
        let resisting = settings.idle_pressure.saturating_add(settings.drag.of(left));
        let tearing = pressure.map(|pressure| pressure.saturating_sub(resisting));
        let Some(tearing) = tearing.filter(|_| rate > FEELING) else {
            *self = Self::default();
            return Ratio::ZERO;
        };
        self.turning = self.turning.saturating_add(elapsed);
        if self.turning < STARTING {
            return Ratio::ZERO;
        }
        let tearing = tearing.max(FELT);
        let before = self.smooth.unwrap_or(tearing);
        let share = settings.pressure_pace.over(elapsed.seconds()).min(Ratio::ONE);
        let step = tearing.saturating_sub(before).scaled(share);
        self.smooth = Some(before.saturating_add(step));
        // The root of a ratio near one changes by half of what the ratio does.
        step.share_of(before).halved(1).held_within(MOST.negated(), MOST)
    }
}
