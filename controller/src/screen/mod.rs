//! The cab screen: one picture of the machine for the person who drives.
//!
//! Drawn from the plain [`View`] on anything that takes pixels, of one colour or of many. Two large
//! figures say what is being laid and how fast the tractor goes; a banner says the state, the foot
//! what to do now, both in words. Every state differs from every other in word, sign and filling, so
//! that nobody needs to tell colours apart. Nothing here is read by control.

mod figures;
mod layout;
mod letters;
mod paint;
mod shade;
mod words;

pub use figures::{line_rate_tenths_lb_ft, mass_lb, speed_tenths_mph};
pub use layout::{Label, labels};
pub use letters::{Face, lines};
pub use shade::{Palette, Shade, Tone};
pub use words::Says;

use crate::safety::Phase;
use crate::view::View;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Size;
use paint::Paint;

/// Pixels that the screen needs; on a larger one it takes the upper left corner.
pub const SIZE: Size = Size::new(320, 240);

/// Draws the whole screen; every pixel of [`SIZE`] is written.
///
/// Any view can be drawn: numbers beyond what a field holds are shown at its end.
///
/// # Errors
/// The first error of the target; what was drawn by then stays.
pub fn draw<D>(view: &View, target: &mut D) -> Result<(), D::Error>
where
    D: DrawTarget,
    D::Color: Palette,
{
    let mut paint = Paint::new(target);
    let says = Says::of(view);
    paint.fill(layout::ALL, Shade::Paper)?;
    banner(&mut paint, view.phase, says.tone)?;
    for rule in layout::RULES {
        paint.fill(rule, Shade::Ink)?;
    }
    deviation(&mut paint, view)?;
    speed(&mut paint, view)?;
    labels(view, |label| paint.label(label))
}

/// The banner's filling and sign, a shape of its own for each phase.
fn banner<D>(paint: &mut Paint<'_, D>, phase: Phase, tone: Tone) -> Result<(), D::Error>
where
    D: DrawTarget,
    D::Color: Palette,
{
    paint.fill(layout::BANNER, Shade::Field(tone))?;
    if tone == Tone::Alarm || phase == Phase::Paused {
        // Barrier tape: something may move by itself, or must not be touched before it is looked at.
        paint.hatch(layout::BANNER_END, Shade::Sign(tone))?;
    }
    let sign = layout::SIGN;
    let shape = move |x, y| sign_covers(phase, x, y);
    paint.shape(sign, Shade::Sign(tone), shape)
}

/// Whether the sign of a phase covers the point `x`, `y` from its middle, each -14 to 14.
fn sign_covers(phase: Phase, x: i32, y: i32) -> bool {
    let (wide, high) = (x.saturating_abs(), y.saturating_abs());
    let far = wide.max(high);
    let square = x.saturating_mul(x).saturating_add(y.saturating_mul(y));
    match phase {
        Phase::Resting => (9..=12).contains(&far),
        Phase::Testing => (64..=150).contains(&square),
        Phase::Armed => square <= 150,
        Phase::Laying => {
            x >= -9 && high.saturating_mul(5) <= 13i32.saturating_sub(x).saturating_mul(3)
        }
        Phase::Paused => (3..=9).contains(&wide) && high <= 12,
        Phase::Latched => far <= 13,
        Phase::Isolated => far <= 13 && wide.abs_diff(high) <= 4,
    }
}

/// How far what is laid lies off what is asked for: a block from the middle of the bar to a half too
/// little on the left or too much on the right. Empty unless hay is being laid.
fn deviation<D>(paint: &mut Paint<'_, D>, view: &View) -> Result<(), D::Error>
where
    D: DrawTarget,
    D::Color: Palette,
{
    let bar = layout::RATE_BAR;
    paint.frame(bar)?;
    if view.phase == Phase::Laying {
        let off = layout::deviation_px(view.laid, view.target);
        paint.fill(layout::from_middle(bar, off), Shade::Field(Tone::Going))?;
    }
    paint.fill(layout::middle_mark(bar), Shade::Ink)
}

/// Ground speed as a bar, and where the advised speed ends it: beyond lies barrier tape.
fn speed<D>(paint: &mut Paint<'_, D>, view: &View) -> Result<(), D::Error>
where
    D: DrawTarget,
    D::Color: Palette,
{
    let bar = layout::SPEED_BAR;
    paint.frame(bar)?;
    let going = layout::speed_px(view.ground_speed);
    let advised = layout::speed_px(view.advised_speed);
    paint.hatch(layout::beyond(bar, advised), Shade::Ink)?;
    paint.fill(layout::up_to(bar, going), Shade::Field(Tone::Going))
}
