//! Pulse sensors on a capture timer.
//!
//! The timer runs freely at 1 MHz in 16 bits and stores its count at each edge; a second clock counts
//! microseconds in 32 bits and is read in the interrupt. Edges that are too close, noise and jumps are
//! judged by floor 1.

use crate::wires::PulseWire;

/// One pulse sensor.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Capture {
    wire: PulseWire,
}

impl Capture {
    /// Without an edge so far.
    #[must_use]
    pub const fn new() -> Self {
        Self { wire: PulseWire { count: 0, last_edge_us: 0 } }
    }

    /// Takes one edge, from the interrupt of the timer. `captured` is the timer's count at the edge,
    /// `timer` its count now and `now_us` the clock now, both read in the interrupt, one after the
    /// other. An interrupt may be late by up to 65 ms; beyond that the edge is taken as too young.
    pub fn on_edge(&mut self, captured: u16, timer: u16, now_us: u32) {
        let late_us = u32::from(timer.wrapping_sub(captured));
        self.wire.count = self.wire.count.wrapping_add(1);
        self.wire.last_edge_us = now_us.wrapping_sub(late_us);
    }

    /// Takes the timer's word that a further edge came before the one captured last was read. Its
    /// time is lost; the count is not.
    pub fn on_overrun(&mut self) {
        self.wire.count = self.wire.count.wrapping_add(1);
    }

    /// The wire as it stands; to be read with the interrupt held off.
    #[must_use]
    pub const fn wire(&self) -> PulseWire {
        self.wire
    }
}
