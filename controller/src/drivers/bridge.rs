//! The weigh cells' amplifier: a 24-bit converter for bridges, read over a clock and a data line.
//!
//! The kind meant pulls its data line low when a conversion is ready, gives 24 bits on as many pulses
//! of the clock, highest first and in two's complement, and takes from one to three pulses more which
//! gain comes next (as several makers build it; common practice, no source). It switches itself off
//! when the clock stays high for some 60 us, so the pulses must not be interrupted for that long.

use crate::wires::WeighWire;
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::{InputPin, OutputPin};

/// Length of each half of a clock pulse.
const HALF_PULSE_US: u32 = 1;

/// What may go wrong on the two lines.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BridgeError<C, D> {
    /// The clock.
    Clock(C),
    /// The data line.
    Data(D),
}

/// Pulses after the 24, which choose the gain of the next conversion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Gain {
    /// One pulse: the first input at its highest gain.
    High,
    /// Two pulses: the second input.
    Second,
    /// Three pulses: the first input at half the gain.
    Half,
}

impl Gain {
    const fn pulses(self) -> u8 {
        match self {
            Self::High => 1,
            Self::Second => 2,
            Self::Half => 3,
        }
    }
}

/// The amplifier.
#[derive(Debug)]
pub struct Bridge<C, D, T> {
    clock: C,
    data: D,
    delay: T,
    gain: Gain,
    wire: WeighWire,
}

impl<C: OutputPin, D: InputPin, T: DelayNs> Bridge<C, D, T> {
    /// Puts the clock to rest.
    ///
    /// # Errors
    /// That of the clock.
    pub fn new(
        mut clock: C,
        data: D,
        delay: T,
        gain: Gain,
    ) -> Result<Self, BridgeError<C::Error, D::Error>> {
        clock.set_low().map_err(BridgeError::Clock)?;
        Ok(Self { clock, data, delay, gain, wire: WeighWire::default() })
    }

    /// Reads a conversion if one is ready and steps the sequence; never waits. Takes about 50 us then.
    ///
    /// Without one, the wire stays as it was, and floor 1 sees it grow old. A data line stuck low
    /// gives zeros that never change, one stuck high nothing: both are seen there, too.
    ///
    /// # Errors
    /// That of a line; the conversion is lost and the clock put to rest if it still can be.
    pub fn poll(&mut self) -> Result<WeighWire, BridgeError<C::Error, D::Error>> {
        if self.data.is_high().map_err(BridgeError::Data)? {
            return Ok(self.wire);
        }
        match self.shift() {
            Ok(counts) => {
                let sequence = self.wire.sequence.wrapping_add(1);
                self.wire = WeighWire { counts, sequence };
                Ok(self.wire)
            }
            Err(error) => {
                // Whatever failed is told; that the clock may fail again says nothing more.
                let _ = self.clock.set_low();
                Err(error)
            }
        }
    }

    fn shift(&mut self) -> Result<i32, BridgeError<C::Error, D::Error>> {
        let mut bits = 0u32;
        for _ in 0..24 {
            let bit = self.pulse()?;
            bits = bits.wrapping_shl(1) | u32::from(bit);
        }
        for _ in 0..self.gain.pulses() {
            self.pulse()?;
        }
        // The 24th bit is the sign.
        Ok(bits.wrapping_shl(8).cast_signed().wrapping_shr(8))
    }

    /// One pulse; the bit is taken at its end, when the line has settled.
    fn pulse(&mut self) -> Result<bool, BridgeError<C::Error, D::Error>> {
        self.clock.set_high().map_err(BridgeError::Clock)?;
        self.delay.delay_us(HALF_PULSE_US);
        let bit = self.data.is_high().map_err(BridgeError::Data)?;
        self.clock.set_low().map_err(BridgeError::Clock)?;
        self.delay.delay_us(HALF_PULSE_US);
        Ok(bit)
    }

    /// Gives clock, data and delay back.
    pub fn release(self) -> (C, D, T) {
        (self.clock, self.data, self.delay)
    }
}
