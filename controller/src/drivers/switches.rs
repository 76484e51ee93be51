//! Switches and buttons on pins.
//!
//! A contact counts as closed only after it has been read closed three times in a row, and as open at
//! once: what is missing stops. How long a hand may let go, when two channels contradict each other
//! and what a press is, floor 1 judges by time; nothing of that is repeated here.

use crate::units::{Instant, Span};
use crate::wires::SwitchBits;
use embedded_hal::digital::InputPin;

/// Switches of [`SwitchBits`].
pub const NUMBER: usize = 10;

/// Readings that must agree before a contact counts as closed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Filter {
    before: u16,
    long_before: u16,
}

impl Filter {
    /// Takes one reading of all contacts, a set bit closed, and gives those that count as closed.
    pub fn take(&mut self, closed: u16) -> u16 {
        let counts = closed & self.before & self.long_before;
        self.long_before = self.before;
        self.before = closed;
        counts
    }
}

/// The switches: pins in the order of the bits of [`SwitchBits`], each high while current flows.
#[derive(Debug)]
pub struct Switches<P> {
    pins: [P; NUMBER],
    filter: Filter,
    bits: SwitchBits,
}

impl<P: InputPin> Switches<P> {
    /// All open so far.
    pub const fn new(pins: [P; NUMBER]) -> Self {
        let filter = Filter { before: 0, long_before: 0 };
        Self { pins, filter, bits: SwitchBits(0) }
    }

    /// Reads every pin once; to be called from a timer about every millisecond. A pin that cannot be
    /// read is open.
    pub fn sample(&mut self) -> SwitchBits {
        let mut closed = 0u16;
        for (place, pin) in (0u32..).zip(&mut self.pins) {
            if pin.is_high().unwrap_or(false) {
                closed |= 1u16.wrapping_shl(place);
            }
        }
        self.bits = SwitchBits(self.filter.take(closed));
        self.bits
    }

    /// The switches as sampled last.
    #[must_use]
    pub const fn bits(&self) -> SwitchBits {
        self.bits
    }

    /// Gives the pins back.
    pub fn release(self) -> [P; NUMBER] {
        self.pins
    }
}

/// A button that steps through the tickets.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct TicketButton {
    ticket: u8,
    filter: Filter,
    open_since: Option<Instant>,
    pressed: bool,
}

impl TicketButton {
    /// Time that it must be let go before a press counts anew.
    const RELEASE: Span = Span::from_millis(50);

    /// Takes one reading of the button and gives the ticket, 0 to `tickets` less one. A press steps
    /// to the next and from the last to the first; while `locked`, as when hay is laid, it does
    /// nothing. A button that is held at the start counts once it has been let go.
    pub fn sample(&mut self, closed: bool, locked: bool, tickets: u8, now: Instant) -> u8 {
        if self.filter.take(u16::from(closed)) != 0 {
            let released = self.open_since.is_some_and(|since| now.since(since) >= Self::RELEASE);
            if !self.pressed && released && !locked {
                self.ticket = self.ticket.wrapping_add(1);
            }
            self.pressed = true;
            self.open_since = None;
        } else if !closed {
            let since = *self.open_since.get_or_insert(now);
            self.pressed &= now.since(since) < Self::RELEASE;
        }
        if self.ticket >= tickets {
            self.ticket = 0;
        }
        self.ticket
    }
}
