//! How much correction this machine takes.
//!
//! A correction that is right for one valve is too much for a faster one, or for oil and rollers that
//! swing by themselves: the rollers then hunt around the wanted speed. Hunting shows: the error goes
//! from one side to the other and back, again and again, faster than any bale or driver would make it.
//! Then a part of the correction is taken back, and given back in steps when it has long been quiet.
//! Rollers that are stuck do not swing: against an error that lasts all of it is used, and what the valve
//! learns, which is too slow for hunting, is never taken back.

use crate::units::{Ratio, Span, TurnRate};
use serde::{Deserialize, Serialize};

/// Errors within this share of the wanted speed are no swing, nor are those that rough pulses make of slow
/// rollers.
const SWING: Ratio = Ratio::from_bits(13_107); // 0.2
const LEAST_SWING: TurnRate = TurnRate::from_bits(6_554); // 0.1 turns/s
/// From one side to the other takes rollers that hunt no longer than this.
const HALF: Span = Span::from_millis(200);
/// So many halves on end are hunting.
const HUNTING: u8 = 4;
/// Of the correction, what is left after it.
const CALMER: Ratio = Ratio::from_bits(49_152); // 0.75
/// No less than this is left: half is enough for every machine drawn, and with less slow rollers stall.
const CALMEST: Ratio = Ratio::from_bits(32_768); // 0.5
/// Without a swing for so long,
const QUIET: Span = Span::from_millis(20_000);
/// this much is given back.
const BACK: Ratio = Ratio::from_bits(8_192); // 0.125

/// What the swings of the roller speed have taught.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(super) struct Swings {
    share: Ratio,
    slower: bool,
    since: Span,
    halves: u8,
}

impl Default for Swings {
    fn default() -> Self {
        Self { share: Ratio::ONE, slower: false, since: Span::ZERO, halves: 0 }
    }
}

impl Swings {
    /// One tick, with what the rollers lack of the wanted speed: which share of the correction to use.
    pub(super) fn share(&mut self, error: TurnRate, wanted: TurnRate, elapsed: Span) -> Ratio {
        self.since = self.since.saturating_add(elapsed);
        let slower = error > TurnRate::ZERO;
        if slower != self.slower && error.magnitude() > wanted.scaled(SWING).max(LEAST_SWING) {
            self.swing(slower);
        } else if self.since >= QUIET {
            self.share = self.share.saturating_add(BACK).min(Ratio::ONE);
            self.since = Span::ZERO;
            self.halves = 0;
        }
        let lasts = self.since >= HALF && error > wanted.halved(1);
        if lasts { Ratio::ONE } else { self.share }
    }

    fn swing(&mut self, slower: bool) {
        self.halves = if self.since < HALF { self.halves.saturating_add(1) } else { 1 };
        self.slower = slower;
        self.since = Span::ZERO;
        if self.halves >= HUNTING {
            self.share = self.share.scaled(CALMER).max(CALMEST);
            self.halves = 0;
        }
    }
}
