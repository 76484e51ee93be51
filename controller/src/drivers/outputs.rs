//! Enable, watchdog, lamps and horn on pins.

use crate::wires::{LampBits, Outputs};
use embedded_hal::digital::OutputPin;

/// Lamps of [`LampBits`] and the horn.
pub const LAMPS: usize = 5;

/// The pins; a lamp's pin is high while it burns, in the order of the bits of [`LampBits`].
#[derive(Debug)]
pub struct Pins<P> {
    enable: P,
    watchdog: P,
    lamps: [P; LAMPS],
    watchdog_high: bool,
}

impl<P: OutputPin> Pins<P> {
    /// Puts the enable off before anything else.
    ///
    /// # Errors
    /// That of the first pin that fails; the enable is tried first.
    pub fn new(mut enable: P, mut watchdog: P, lamps: [P; LAMPS]) -> Result<Self, P::Error> {
        enable.set_low()?;
        watchdog.set_low()?;
        Ok(Self { enable, watchdog, lamps, watchdog_high: false })
    }

    /// Obeys one step. The enable comes first; the watchdog's pin changes its level in each step that
    /// feeds it, so that a pin stuck at either level starves it.
    ///
    /// # Errors
    /// That of the first pin that fails. The watchdog is not fed then, which takes the valve's supply
    /// away.
    pub fn obey(&mut self, outputs: &Outputs) -> Result<(), P::Error> {
        self.enable.set_state(outputs.enable.into())?;
        for (place, lamp) in (0u32..).zip(&mut self.lamps) {
            let bit = 1u8.wrapping_shl(place);
            lamp.set_state(outputs.lamps.has(bit).into())?;
        }
        if outputs.feed_watchdog {
            self.watchdog_high = !self.watchdog_high;
            self.watchdog.set_state(self.watchdog_high.into())?;
        }
        Ok(())
    }

    /// Enable off, watchdog left alone, "stopped" and horn on; tries every pin whatever fails.
    ///
    /// # Errors
    /// That of the last pin that failed.
    pub fn fail_safe(&mut self) -> Result<(), P::Error> {
        let mut result = self.enable.set_low();
        let shown = LampBits::STOPPED | LampBits::HORN;
        for (place, lamp) in (0u32..).zip(&mut self.lamps) {
            let lit = shown & 1u8.wrapping_shl(place) != 0;
            result = lamp.set_state(lit.into()).and(result);
        }
        result
    }

    /// Gives the pins back: enable, watchdog, lamps.
    pub fn release(self) -> (P, P, [P; LAMPS]) {
        (self.enable, self.watchdog, self.lamps)
    }
}
