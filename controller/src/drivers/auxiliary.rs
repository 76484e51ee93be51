//! A valve of the tractor, commanded over the bus instead of an own one.
//!
//! The tractor may obey or not, late or not at all: what the rollers do is judged as with an own
//! valve, and the hard-wired stop must be able to take this valve's oil away as well. Layout: ISO
//! 11783-7 as coded in Open SAE J1939 (Daniel Mårtensson, 2026); flow of 0.4 % a bit from memory. No
//! conformity is claimed.

use crate::signals::isobus::Identifier;
use crate::units::{Instant, Span};
use crate::wires::Frame;

/// Group of the command to valve 0; that to valve n is higher by n.
pub const COMMAND: u32 = 0xFE30;
/// Flow of a whole command, in bits of 0.4 %.
const FULL_FLOW: u32 = 250;
/// A command that does not change is repeated so often.
const REPEAT: Span = Span::from_millis(100);

/// What the spool is asked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Spool {
    /// No flow.
    Block,
    /// Forward.
    Extend,
    /// Reverse.
    Retract,
}

impl Spool {
    const fn bits(self) -> u8 {
        match self {
            Self::Block => 0,
            Self::Extend => 1,
            Self::Retract => 2,
        }
    }
}

/// The command to a valve of the tractor.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AuxiliaryValve {
    valve: u8,
    sent: Option<(i16, Instant)>,
}

impl AuxiliaryValve {
    /// For valve 0 to 15 of the tractor; higher bits are ignored.
    #[must_use]
    pub const fn new(valve: u8) -> Self {
        Self { valve: valve & 15, sent: None }
    }

    /// The frame to send in this tick, if one is due: at once when the spool is asked for another
    /// direction or for none, otherwise every 100 ms.
    pub fn poll(&mut self, duty: i16, source: u8, now: Instant) -> Option<Frame> {
        let due = self
            .sent
            .is_none_or(|(before, at)| before.signum() != duty.signum() || now.since(at) >= REPEAT);
        if !due {
            return None;
        }
        self.sent = Some((duty, now));
        Some(command(self.valve, source, duty))
    }
}

/// The frame that asks valve `valve` (0 to 15) for a duty of -32,767 to 32,767, with "block" as what
/// the tractor does when no more commands come.
#[must_use]
pub fn command(valve: u8, source: u8, duty: i16) -> Frame {
    let spool = match duty {
        0 => Spool::Block,
        1.. => Spool::Extend,
        _ => Spool::Retract,
    };
    let wide = u32::from(duty.unsigned_abs()).saturating_mul(FULL_FLOW).saturating_add(16_383);
    let flow = wide.checked_div(32_767).unwrap_or(0).min(FULL_FLOW);
    let group = COMMAND | u32::from(valve & 15);
    let state = 0x30 | spool.bits();
    let flow = u8::try_from(flow).unwrap_or(0);
    Frame {
        id: Identifier { priority: 3, group, source }.encode(),
        data: [flow, 0xFF, state, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF],
    }
}
