//! Analog channels: pressure across the roller motors, distance to the bale's face, reference.

use super::reading::{Quality, Reading};
use crate::settings::{AnalogLine, SignalSettings};
use crate::units::arith::product;
use crate::units::{Length, Pressure, Span};
use crate::wires::AnalogWires;
use serde::{Deserialize, Serialize};

/// What is read of the analog channels. A channel that is not fitted is absent; one outside its live zone
/// (a cut or shorted cable) is invalid until it comes back.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Analog {
    /// Pressure across the roller motors.
    pub pressure: Reading<Pressure>,
    /// Distance from the gauge to the bale's face, as of [`super::Turn::Ground`]: the hay's own has no time
    /// left.
    pub gauge: Reading<Length>,
    /// Whether the reference reads as it must; if not, no channel of the converter is believed.
    pub reference: Quality,
}

impl Analog {
    /// Takes the wires of one tick, `tick` after the last one: pressure and reference. Every tick converts
    /// every channel, so nothing here grows stale.
    pub(super) fn update(&mut self, settings: &SignalSettings, wires: &AnalogWires, tick: Span) {
        let (lowest, highest) = settings.reference;
        let believed = (lowest..=highest).contains(&i32::from(wires.reference));
        self.reference = if believed { Quality::Good } else { Quality::Invalid };
        if let Some(line) = &settings.pressure {
            let bits = on_line(line, wires.pressure).filter(|_| believed);
            convert(&mut self.pressure, bits.map(Pressure::from_bits), tick);
        }
    }

    /// The gauge in its turn, `round` after the last one.
    pub(super) fn update_gauge(&mut self, settings: &SignalSettings, counts: u16, round: Span) {
        if let Some(line) = &settings.gauge {
            let bits = on_line(line, counts).filter(|_| self.reference == Quality::Good);
            convert(&mut self.gauge, bits.map(Length::from_bits), round);
        }
    }
}

fn convert<T>(reading: &mut Reading<T>, value: Option<T>, passed: Span) {
    match value {
        Some(value) => *reading = Reading { value, age: Span::ZERO, quality: Quality::Good },
        None => {
            // Nothing good yet is as old as can be.
            let never = reading.quality == Quality::Absent;
            reading.age = if never { Span::MAX } else { reading.age.saturating_add(passed) };
            reading.quality = Quality::Invalid;
        }
    }
}

/// Raw quantity at these counts, within half a unit plus 1/256 a count from the lower point;
/// `None` outside the live zone.
fn on_line(line: &AnalogLine, counts: u16) -> Option<i32> {
    let counts = i32::from(counts);
    let (lowest, highest) = line.live;
    let rise = product(counts.saturating_sub(line.origin), line.slope, AnalogLine::SLOPE_BITS);
    (lowest..=highest).contains(&counts).then(|| line.at_origin.saturating_add(rise))
}
