//! The gate: the last word on the valve, and its only writer.
//!
//! It is smaller than what it guards and reads the wires that matter itself: both channels of the
//! stop switch, the operator's place, the run switch, the guards, and the edges of both rollers. It
//! only ever takes away. What it remembers is kept twice; once the copies contradict each other it
//! stays shut.

use super::twin::Twin;
use crate::settings::SafetySettings;
use crate::units::arith::product;
use crate::units::{Duty, Ratio, Span, TurnRate, Turns};
use crate::wires::Inputs;
use serde::{Deserialize, Serialize};

/// The gate counts edges over windows of this length.
const WINDOW: Span = Span::from_millis(100);
/// Flags of what it remembers.
const COUNTING: u32 = 1;
const TOO_FAST: u32 = 2;

/// What the supervisor lets the gate do.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Permit {
    /// Nothing, ever again: nor is the watchdog fed.
    Never,
    /// Nothing.
    Shut,
    /// To enable the valve without driving it, for a moment: it must draw no current.
    Feel,
    /// The pulse that tests the valve's path; the spool stays within its dead band.
    Test,
    /// To lay hay.
    Lay,
}

/// What goes out to the valve.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Passed {
    /// Signed duty in parts of 32,767; never negative.
    pub valve: i16,
    /// The enable in series with the valve supply.
    pub enable: bool,
    /// Whether the watchdog is fed in this tick.
    pub feed_watchdog: bool,
}

/// What the gate remembers, each word twice.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Gate {
    last: Twin,
    window: Twin,
    counts: [Twin; 2],
    flags: Twin,
}

/// The same in plain words.
struct Memory {
    last: Duty,
    window: Span,
    counts: [u32; 2],
    flags: u32,
}

impl Gate {
    /// Whether the rollers ran faster than they ever may in the last window.
    #[must_use]
    pub fn saw_too_fast(&self) -> bool {
        self.flags.get().is_none_or(|flags| flags & TOO_FAST != 0)
    }

    /// Whether all copies of its memory agree.
    #[must_use]
    pub fn is_intact(&self) -> bool {
        self.recall().is_some()
    }

    /// One tick. Without permission, with a vital wire open, in a tick that is late or took no time,
    /// or with rollers too fast, the valve is shut and the enable dropped at once; otherwise the
    /// command is limited in size and growth. With its memory broken it stays shut for good.
    pub fn pass(
        &mut self,
        settings: &SafetySettings,
        turns_per_edge: Turns,
        permit: Permit,
        proposed: Duty,
        inputs: &Inputs,
        tick: Span,
    ) -> Passed {
        let Some(mut memory) = self.recall() else { return Passed::default() };
        memory.count(settings, turns_per_edge, inputs, tick);
        let in_time = tick > Span::ZERO && tick <= settings.tick_limit;
        let sound = in_time && memory.flags & TOO_FAST == 0 && permit != Permit::Never;
        let run = inputs.switches.has(settings.run);
        let (allowed, asked, limit) = match permit {
            Permit::Lay => (run, proposed, settings.duty_limit),
            Permit::Test => (!run, settings.test_duty, settings.test_duty),
            Permit::Feel => (!run, Duty::ZERO, Duty::ZERO),
            Permit::Shut | Permit::Never => (false, Duty::ZERO, Duty::ZERO),
        };
        let open = allowed && sound && inputs.switches.has(settings.vital);
        memory.last = if open {
            let growth = Duty::ONE.scaled(settings.duty_slew.over(tick.seconds()));
            asked.held_within(Duty::ZERO, memory.last.saturating_add(growth).min(limit))
        } else {
            Duty::ZERO
        };
        let parts = product(memory.last.to_bits(), i32::from(i16::MAX), Duty::FRACTION);
        self.remember(&memory);
        Passed { valve: i16::try_from(parts).unwrap_or(0), enable: open, feed_watchdog: sound }
    }

    fn recall(&self) -> Option<Memory> {
        let [first, second] = self.counts;
        Some(Memory {
            last: Duty::from_bits(self.last.get()?.cast_signed()),
            window: Span::from_micros(self.window.get()?),
            counts: [first.get()?, second.get()?],
            flags: self.flags.get()?,
        })
    }

    fn remember(&mut self, memory: &Memory) {
        *self = Self {
            last: Twin::new(memory.last.to_bits().cast_unsigned()),
            window: Twin::new(memory.window.to_micros()),
            counts: memory.counts.map(Twin::new),
            flags: Twin::new(memory.flags),
        };
    }
}

impl Memory {
    /// Counts edges of the faster roller, and at the end of each window judges its speed.
    fn count(
        &mut self,
        settings: &SafetySettings,
        turns_per_edge: Turns,
        inputs: &Inputs,
        tick: Span,
    ) {
        let [first, second] = inputs.rollers;
        let [one, two] = self.counts;
        self.window = self.window.saturating_add(tick);
        if self.flags & COUNTING != 0 {
            if self.window < WINDOW {
                return;
            }
            let edges = first.count.wrapping_sub(one).max(second.count.wrapping_sub(two));
            // One edge more than a steady speed can show may fall into any window.
            let edges =
                Ratio::from_whole(i32::try_from(edges.saturating_sub(1)).unwrap_or(i32::MAX));
            let turned = turns_per_edge.scaled(edges);
            let too_fast = turned > settings.roller_limit.over(self.window.seconds());
            self.flags = if too_fast { COUNTING | TOO_FAST } else { COUNTING };
        }
        self.flags |= COUNTING;
        self.counts = [first.count, second.count];
        self.window = Span::ZERO;
    }
}

/// Whether a roller speed counts as standing.
#[must_use]
pub fn is_standing(settings: &SafetySettings, rate: TurnRate) -> bool {
    rate < settings.standing
}
