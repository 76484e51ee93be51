//! The path to the valve - enable switch, driver, coil - as its two feedback wires show it.
//!
//! What they say is compared with what was commanded in the tick before. At arming, a short pulse
//! within the spool's dead band proves the whole path: current and supply while it lasts; then none,
//! with the supply still on, which shows a driver that is stuck on; then neither. The pulse comes first
//! and must be answered soon: a feedback that is dead would not show what the driver truly does, and a
//! spool takes as long as that to leave its dead band.

use super::gate::Passed;
use super::supervisor::Phase;
use crate::settings::SafetySettings;
use crate::units::Span;
use crate::units::arith::product;
use crate::wires::AnalogWires;
use serde::{Deserialize, Serialize};

/// How long the test pulse lasts.
const PULSE: Span = Span::from_millis(80);
/// By then a coil draws half of what the pulse asks for.
const ANSWER: Span = Span::from_millis(30);
/// How long the supply stays on without a command, and when the current must have gone.
const FEEL: Span = Span::from_millis(60);
const GONE: Span = Span::from_millis(40);
/// How long the end of the supply is waited for.
const RELEASE: Span = Span::from_millis(100);
/// Bits of a full command, for the product that expects a current.
const FULL_BITS: u32 = 15;

/// What contradicts the command.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(super) struct ValvePath {
    pub(super) coil_open: bool,
    pub(super) coil_shorted: bool,
    /// A current flows, whatever is commanded.
    pub(super) coil_driven: bool,
    /// More than twice the current that the command should draw.
    coil_overdriven: bool,
    pub(super) supply_missing: bool,
    pub(super) supply_unasked: bool,
}

impl ValvePath {
    /// Compares the feedback with what was passed in the tick before. Wires not fitted say nothing.
    pub(super) fn look(settings: &SafetySettings, analog: AnalogWires, passed: Passed) -> Self {
        let mut path = Self::default();
        if let Some(coil) = settings.coil {
            let current = i32::from(analog.coil_current);
            let expected = product(coil.full, i32::from(passed.valve), FULL_BITS);
            // Half of what the command should draw: a warm coil draws a third less. Where that could
            // not be told from none, nothing is said.
            let least = expected.wrapping_shr(1);
            path.coil_open = least > coil.none && current < least;
            path.coil_shorted = current > coil.most;
            path.coil_overdriven = current > coil.none.saturating_add(expected.wrapping_shl(1));
            path.coil_driven = current > coil.none;
        }
        if let Some(on) = settings.supply_on {
            let supplied = i32::from(analog.valve_supply) >= on;
            path.supply_missing = passed.enable && !supplied;
            path.supply_unasked = !passed.enable && supplied;
        }
        path
    }

    fn is_open(self) -> bool {
        self.coil_open || self.supply_missing
    }

    fn is_driven(self) -> bool {
        self.coil_driven || self.supply_unasked
    }
}

/// Progress of the test at arming.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub(super) struct PulseTest {
    time: Span,
    failed: bool,
}

/// What the test asks for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tested {
    /// The valve is to be driven by the test pulse.
    Pulse,
    /// The valve is to be enabled without a command.
    Feel,
    /// The valve is to be shut: the pulse is over, or there is no test.
    Release,
    /// The path has done as it must.
    Passed,
    /// It has not.
    Failed,
}

impl PulseTest {
    /// One tick.
    pub(super) fn update(&mut self, phase: Phase, path: ValvePath, tick: Span) -> Tested {
        if phase != Phase::Testing {
            *self = Self::default();
            return Tested::Release;
        }
        const FEELS: Span = PULSE.saturating_add(FEEL);
        // What is seen now was commanded in the tick before.
        self.failed |= match self.time {
            time if time < PULSE => path.coil_overdriven || time >= ANSWER && path.is_open(),
            time if time < FEELS => time >= PULSE.saturating_add(GONE) && path.coil_driven,
            _ => false,
        };
        self.time = self.time.saturating_add(tick);
        match self.time {
            _ if self.failed => Tested::Failed,
            time if time < PULSE => Tested::Pulse,
            time if time < FEELS => Tested::Feel,
            time if time < FEELS.saturating_add(RELEASE) => Tested::Release,
            _ if path.is_driven() => Tested::Failed,
            _ => Tested::Passed,
        }
    }
}
