//! Analog channels: a 12-bit converter with eight channels on SPI, or scans that the microcontroller's
//! own converter has left in memory.
//!
//! The kind meant takes a start bit, a bit for "one input against ground" and three bits of channel,
//! and answers after a null bit with twelve bits, highest first (as many makers build it; common
//! practice, no source).

use crate::wires::AnalogWires;
use embedded_hal::spi::SpiDevice;

/// Counts that lie outside every live zone: what a channel reads that could not be converted.
const BROKEN: u16 = 0;

/// Which input of the converter each channel hangs on, 0 to 7; higher bits are ignored.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Inputs {
    /// Pressure across the roller motors.
    pub pressure: u8,
    /// Bale gauge.
    pub gauge: u8,
    /// The fixed reference voltage.
    pub reference: u8,
    /// Current through the valve's coil.
    pub coil_current: u8,
    /// Supply of the valve behind the enable.
    pub valve_supply: u8,
}

/// The converter.
#[derive(Debug)]
pub struct Converter<S> {
    spi: S,
    inputs: Inputs,
}

impl<S: SpiDevice> Converter<S> {
    /// On a bus that clocks at most as fast as the converter allows.
    pub const fn new(spi: S, inputs: Inputs) -> Self {
        Self { spi, inputs }
    }

    /// Converts every channel once, the reference in the middle of them.
    ///
    /// # Errors
    /// The first error of the bus. The caller then hands [`broken`] to the controller, which takes all
    /// channels for cut wires.
    pub fn scan(&mut self) -> Result<AnalogWires, S::Error> {
        let inputs = self.inputs;
        Ok(AnalogWires {
            pressure: self.convert(inputs.pressure)?,
            gauge: self.convert(inputs.gauge)?,
            reference: self.convert(inputs.reference)?,
            coil_current: self.convert(inputs.coil_current)?,
            valve_supply: self.convert(inputs.valve_supply)?,
        })
    }

    fn convert(&mut self, input: u8) -> Result<u16, S::Error> {
        let input = input & 7;
        let mut bytes = [0x06 | input.wrapping_shr(2), input.wrapping_shl(6), 0];
        self.spi.transfer_in_place(&mut bytes)?;
        let [_, high, low] = bytes;
        Ok(u16::from_be_bytes([high & 0x0F, low]))
    }

    /// Gives the bus back.
    pub fn release(self) -> S {
        self.spi
    }
}

/// What the controller is given when the converter does not answer.
#[must_use]
pub const fn broken() -> AnalogWires {
    AnalogWires {
        pressure: BROKEN,
        gauge: BROKEN,
        reference: BROKEN,
        coil_current: BROKEN,
        valve_supply: BROKEN,
    }
}

/// The mean of scans that the microcontroller's own converter has left in memory, each in the order
/// pressure, gauge, reference, coil current, valve supply; rounded down, at most 4,095.
///
/// A mean over whole periods of PWM and dither shows the coil's mean current. Without a scan, or with
/// more than 65,535, the result is [`broken`].
#[must_use]
pub fn mean(scans: &[[u16; 5]]) -> AnalogWires {
    let Ok(number) = u16::try_from(scans.len()) else { return broken() };
    let mut sums = [0u32; 5];
    for scan in scans {
        for (sum, counts) in sums.iter_mut().zip(scan) {
            *sum = sum.saturating_add(u32::from((*counts).min(4_095)));
        }
    }
    let mean = sums.map(|sum| {
        let mean = sum.checked_div(u32::from(number)).and_then(|mean| u16::try_from(mean).ok());
        mean.unwrap_or(BROKEN)
    });
    let [pressure, gauge, reference, coil_current, valve_supply] = mean;
    AnalogWires { pressure, gauge, reference, coil_current, valve_supply }
}
