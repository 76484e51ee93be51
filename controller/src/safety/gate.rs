//! The gate: the last word on the valve, and its only writer.
//!
//! It is smaller than what it guards and reads the wires that matter itself: both channels of the
//! stop switch, the operator's place, and the edges of both rollers. It only ever takes away.

use crate::settings::SafetySettings;
use crate::units::arith::product;
use crate::units::{Duty, Ratio, Span, TurnRate, Turns};
use crate::wires::{Inputs, SwitchBits};
use serde::{Deserialize, Serialize};

/// Wires without which nothing may turn, whatever else the controller believes.
const VITAL: u16 = SwitchBits::PRESENT | SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
/// The gate counts edges over windows of this length.
const WINDOW: Span = Span::from_millis(100);

/// What goes out to the valve.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Passed {
    /// Signed duty in parts of 32,767; never negative.
    pub valve: i16,
    /// The enable in series with the valve supply.
    pub enable: bool,
}

/// What the gate remembers.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Gate {
    last: Duty,
    window: Span,
    counts: Option<[u32; 2]>,
    too_fast: bool,
}

impl Gate {
    /// Whether the rollers ran faster than they ever may in the last window.
    #[must_use]
    pub fn saw_too_fast(&self) -> bool {
        self.too_fast
    }

    /// One tick. Without permission, or with a vital wire open, the valve is shut and the enable
    /// dropped at once; otherwise the command is limited in size and growth.
    pub fn pass(
        &mut self,
        settings: &SafetySettings,
        turns_per_edge: Turns,
        permitted: bool,
        proposed: Duty,
        inputs: &Inputs,
        elapsed: Span,
    ) -> Passed {
        self.count(settings, turns_per_edge, inputs, elapsed);
        if !permitted || !inputs.switches.has(VITAL) || self.too_fast {
            self.last = Duty::ZERO;
            return Passed::default();
        }
        let growth = Duty::ONE.scaled(settings.duty_slew.over(elapsed.seconds()));
        let most = self.last.saturating_add(growth).min(settings.duty_limit);
        self.last = proposed.held_within(Duty::ZERO, most);
        let parts = product(self.last.to_bits(), i32::from(i16::MAX), Duty::FRACTION);
        Passed { valve: i16::try_from(parts).unwrap_or(0), enable: true }
    }

    fn count(
        &mut self,
        settings: &SafetySettings,
        turns_per_edge: Turns,
        inputs: &Inputs,
        elapsed: Span,
    ) {
        let [first, second] = inputs.rollers;
        self.window = self.window.saturating_add(elapsed);
        if let Some([one, two]) = self.counts {
            if self.window < WINDOW {
                return;
            }
            let edges = first.count.wrapping_sub(one).max(second.count.wrapping_sub(two));
            // One edge more than a steady speed can show may fall into any window.
            let edges =
                Ratio::from_whole(i32::try_from(edges.saturating_sub(1)).unwrap_or(i32::MAX));
            let turned = turns_per_edge.scaled(edges);
            self.too_fast = turned > settings.roller_limit.over(self.window.seconds());
        }
        self.counts = Some([first.count, second.count]);
        self.window = Span::ZERO;
    }
}

/// Whether a roller speed counts as standing.
#[must_use]
pub fn is_standing(settings: &SafetySettings, rate: TurnRate) -> bool {
    rate < settings.standing
}
