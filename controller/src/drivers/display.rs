//! A small colour display on SPI with a command pin.
//!
//! Commands: MIPI Alliance, Display Command Set, version 1.02, 2009 (sleep out 11h, display on 29h,
//! column address 2Ah, page address 2Bh, memory write 2Ch, pixel format 3Ah with 55h for 16 bits), as
//! publicly repeated in data sheets; read there, not in the standard.
//!
//! The picture is drawn strip by strip into a small store and sent, so that no store for a whole
//! picture is needed and no call takes long.

use crate::screen::{SIZE, draw};
use crate::view::View;
use core::convert::Infallible;
use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Point, Size};
use embedded_graphics::pixelcolor::Rgb565;
use embedded_graphics::pixelcolor::raw::ToBytes;
use embedded_graphics::primitives::{PointsIter, Rectangle};
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::OutputPin;
use embedded_hal::spi::SpiDevice;

/// Lines of a strip.
const LINES: u16 = 8;
/// Strips of a picture.
pub const STRIPS: u16 = 30;
/// Bytes of a strip: 320 pixels of two bytes in each line.
const BYTES: usize = 5_120;
const _: () = assert!(SIZE.width == 320 && SIZE.height == 240);

/// What may go wrong.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DisplayError<S, P> {
    /// The bus.
    Bus(S),
    /// The command pin.
    Pin(P),
}

/// The display.
#[derive(Debug)]
pub struct Display<S, P> {
    spi: S,
    command: P,
    strip: Strip,
    next: u16,
}

impl<S: SpiDevice, P: OutputPin> Display<S, P> {
    /// Wakes the display, which takes 120 ms, and sets 16 bits a pixel. The pin is low for commands.
    ///
    /// # Errors
    /// The first error of bus or pin.
    pub fn new(
        spi: S,
        command: P,
        delay: &mut impl DelayNs,
    ) -> Result<Self, DisplayError<S::Error, P::Error>> {
        let strip = Strip { bytes: [0; BYTES], top: 0 };
        let mut display = Self { spi, command, strip, next: 0 };
        display.send(0x11, &[])?;
        delay.delay_ms(120);
        display.send(0x3A, &[0x55])?;
        display.send(0x29, &[])?;
        Ok(display)
    }

    /// Draws and sends the next strip of the picture of a view, from top to bottom and over again.
    /// The caller keeps the view for [`STRIPS`] calls, or the picture is torn.
    ///
    /// # Errors
    /// The first error of bus or pin; the strip is sent anew at the next call.
    pub fn show_strip(&mut self, view: &View) -> Result<(), DisplayError<S::Error, P::Error>> {
        let top = self.next.saturating_mul(LINES);
        self.strip.top = i32::from(top);
        // A store in memory takes every pixel.
        let Ok(()) = draw(view, &mut self.strip);
        let last = top.saturating_add(LINES).saturating_sub(1);
        self.send(0x2A, &range(0, 319))?;
        self.send(0x2B, &range(top, last))?;
        self.command.set_low().map_err(DisplayError::Pin)?;
        self.spi.write(&[0x2C]).map_err(DisplayError::Bus)?;
        self.command.set_high().map_err(DisplayError::Pin)?;
        self.spi.write(&self.strip.bytes).map_err(DisplayError::Bus)?;
        self.next = self.next.saturating_add(1);
        if self.next >= STRIPS {
            self.next = 0;
        }
        Ok(())
    }

    fn send(
        &mut self,
        command: u8,
        parameters: &[u8],
    ) -> Result<(), DisplayError<S::Error, P::Error>> {
        self.command.set_low().map_err(DisplayError::Pin)?;
        self.spi.write(&[command]).map_err(DisplayError::Bus)?;
        if parameters.is_empty() {
            return Ok(());
        }
        self.command.set_high().map_err(DisplayError::Pin)?;
        self.spi.write(parameters).map_err(DisplayError::Bus)
    }

    /// Gives bus and pin back.
    pub fn release(self) -> (S, P) {
        (self.spi, self.command)
    }
}

const fn range(first: u16, last: u16) -> [u8; 4] {
    let ([a, b], [c, d]) = (first.to_be_bytes(), last.to_be_bytes());
    [a, b, c, d]
}

/// Some lines of the picture; pixels outside are left out.
#[derive(Debug)]
struct Strip {
    bytes: [u8; BYTES],
    top: i32,
}

impl Strip {
    fn set(&mut self, at: Point, color: Rgb565) {
        let (Ok(x), Ok(y)) = (u16::try_from(at.x), u16::try_from(at.y.saturating_sub(self.top)))
        else {
            return;
        };
        if x >= 320 || y >= LINES {
            return;
        }
        let pixel = usize::from(y).saturating_mul(320).saturating_add(usize::from(x));
        let place = pixel.saturating_mul(2);
        if let Some(bytes) = self.bytes.get_mut(place..).and_then(<[u8]>::first_chunk_mut) {
            *bytes = color.to_be_bytes();
        }
    }
}

impl OriginDimensions for Strip {
    fn size(&self) -> Size {
        SIZE
    }
}

impl DrawTarget for Strip {
    type Color = Rgb565;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb565>>>(
        &mut self,
        pixels: I,
    ) -> Result<(), Infallible> {
        for Pixel(at, color) in pixels {
            self.set(at, color);
        }
        Ok(())
    }

    /// Areas outside the strip cost nothing.
    fn fill_solid(&mut self, area: &Rectangle, color: Rgb565) -> Result<(), Infallible> {
        let strip = Rectangle::new(Point::new(0, self.top), Size::new(320, u32::from(LINES)));
        for at in area.intersection(&strip).points() {
            self.set(at, color);
        }
        Ok(())
    }
}
