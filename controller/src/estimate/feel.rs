//! What the pressure says of the bite.
//!
//! Part of the pressure turns idle rollers, part drags the bale's weight over them; the rest tears.
//! How much hay a tearing pressure means differs with hay and machine, but not within seconds: so the
//! feel compares the tearing pressure of the moment with that of the last seconds, and so finds the
//! bite of the moment from that of the last seconds. Denser hay takes more work a kilogram, so that
//! the bite goes with the root of the tearing pressure. Assumed; see the calibration notes.

use crate::settings::{EstimateSettings, Ticket};
use crate::units::{Bite, Mass, Pressure, Ratio, Seconds, TurnRate};
use serde::{Deserialize, Serialize};

/// Slower rollers say nothing by their pressure.
const FEELING: TurnRate = TurnRate::from_bits(9_830); // 0.15 turns/s
/// Less tearing pressure than this says nothing.
const FELT: Pressure = Pressure::from_bits(200 << 16);

/// Tearing pressure and bite that belong together.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Feel {
    reference: Option<(Pressure, Bite)>,
}

impl Feel {
    /// A new bale: until weighing has taught better, a middling one of its ticket.
    pub fn load(&mut self) {
        self.reference = None;
    }

    /// The bite that the pressure of this tick speaks of; nothing while the rollers are slow or the
    /// pressure is low.
    #[must_use]
    pub fn bite(
        &self,
        settings: &EstimateSettings,
        ticket: &Ticket,
        (pressure, left): (Pressure, Mass),
        rate: TurnRate,
    ) -> Option<(Pressure, Bite)> {
        let tearing =
            pressure.saturating_sub(settings.idle_pressure).saturating_sub(settings.drag.of(left));
        if rate < FEELING || tearing < FELT {
            return None;
        }
        let (then, bite) = self.reference.unwrap_or((settings.tear_pressure, ticket.full_bite()));
        Some((tearing, bite.scaled(tearing.share_of(then).square_root())))
    }

    /// The bite is known otherwise: the last seconds' tearing pressure and bite follow.
    pub fn learn(
        &mut self,
        settings: &EstimateSettings,
        (tearing, bite): (Pressure, Bite),
        elapsed: Seconds,
    ) {
        let share = settings.pressure_learning.over(elapsed).min(Ratio::ONE);
        let (then, its) = self.reference.unwrap_or((tearing, bite));
        self.reference = Some((
            then.saturating_add(tearing.saturating_sub(then).scaled(share)),
            its.saturating_add(bite.saturating_sub(its).scaled(share)),
        ));
    }
}
