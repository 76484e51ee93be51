//! Colours by meaning, so that one drawing serves a display of one colour and one of many.

use embedded_graphics::pixelcolor::{BinaryColor, PixelColor, Rgb565, Rgb888};

/// How urgent the state is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tone {
    /// Nothing turns and nothing is wrong.
    Calm,
    /// Rollers turn at the next act, or by themselves when the tractor moves.
    Ready,
    /// Rollers turn.
    Going,
    /// Something was wrong, or needs the driver now.
    Alarm,
}

/// What a pixel means.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shade {
    /// Letters and lines.
    Ink,
    /// The ground that they stand on.
    Paper,
    /// The ground of a state.
    Field(Tone),
    /// Letters and lines on that ground.
    Sign(Tone),
}

/// A colour that can stand for every shade.
pub trait Palette: PixelColor {
    /// The colour of a shade.
    fn shade(shade: Shade) -> Self;
}

/// "On" is ink: dark on a reflecting display, lit on a glowing one.
impl Palette for BinaryColor {
    fn shade(shade: Shade) -> Self {
        match shade {
            Shade::Ink | Shade::Field(Tone::Going | Tone::Alarm) => Self::On,
            Shade::Sign(Tone::Calm | Tone::Ready) => Self::On,
            Shade::Paper | Shade::Field(Tone::Calm | Tone::Ready) => Self::Off,
            Shade::Sign(Tone::Going | Tone::Alarm) => Self::Off,
        }
    }
}

/// Dark on light, because that is what can be read in the sun. Yellow, blue and vermilion are those of
/// Okabe and Ito, Color Universal Design, 2008, chosen to be told apart by the colour-blind.
impl Palette for Rgb888 {
    fn shade(shade: Shade) -> Self {
        match shade {
            Shade::Ink | Shade::Sign(Tone::Calm | Tone::Ready | Tone::Alarm) => Self::new(0, 0, 0),
            Shade::Paper | Shade::Field(Tone::Calm) | Shade::Sign(Tone::Going) => {
                Self::new(255, 255, 255)
            }
            Shade::Field(Tone::Ready) => Self::new(240, 228, 66),
            Shade::Field(Tone::Going) => Self::new(0, 114, 178),
            Shade::Field(Tone::Alarm) => Self::new(213, 94, 0),
        }
    }
}

impl Palette for Rgb565 {
    fn shade(shade: Shade) -> Self {
        Rgb888::shade(shade).into()
    }
}
