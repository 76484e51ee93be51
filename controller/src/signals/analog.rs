//! Analog channels: pressure across the roller motors, distance to the bale's face, reference.

use super::reading::{Held, Quality, Reading};
use crate::settings::{AnalogLine, SignalSettings};
use crate::units::arith::product;
use crate::units::{Instant, Length, Pressure, Span};
use crate::wires::AnalogWires;
use serde::{Deserialize, Serialize};

/// What one tick saw of the analog channels. A channel that is not fitted is absent; one outside its
/// live zone (a cut or shorted cable) is invalid until it comes back.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Analog {
    /// Pressure across the roller motors.
    pub pressure: Reading<Pressure>,
    /// Distance from the gauge to the bale's face.
    pub gauge: Reading<Length>,
    /// Whether the reference reads as it must; if not, no channel of the converter is believed.
    pub reference: Quality,
}

/// Memory of the analog channels.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct AnalogChannels {
    pressure: Held<Pressure>,
    gauge: Held<Length>,
}

impl AnalogChannels {
    /// Takes the wires of one tick. Every tick converts every channel, so nothing here grows stale.
    pub fn update(
        &mut self,
        settings: &SignalSettings,
        now: Instant,
        wires: &AnalogWires,
    ) -> Analog {
        let (lowest, highest) = settings.reference;
        let believed = (lowest..=highest).contains(&i32::from(wires.reference));
        Analog {
            pressure: settings.pressure.map_or_else(Reading::default, |line| {
                let value =
                    on_line(&line, wires.pressure).filter(|_| believed).map(Pressure::from_bits);
                convert(&mut self.pressure, now, value)
            }),
            gauge: settings.gauge.map_or_else(Reading::default, |line| {
                let value = on_line(&line, wires.gauge).filter(|_| believed).map(Length::from_bits);
                convert(&mut self.gauge, now, value)
            }),
            reference: if believed { Quality::Good } else { Quality::Invalid },
        }
    }
}

fn convert<T: Copy + Default>(channel: &mut Held<T>, now: Instant, value: Option<T>) -> Reading<T> {
    match value {
        Some(value) => channel.take(value, now),
        None => channel.refuse(),
    }
    channel.reading(now, Span::MAX)
}

/// Raw quantity at these counts, within half a unit plus 1/256 a count from the lower point;
/// `None` outside the live zone.
fn on_line(line: &AnalogLine, counts: u16) -> Option<i32> {
    let counts = i32::from(counts);
    let (lowest, highest) = line.live;
    let rise = product(counts.saturating_sub(line.origin), line.slope, AnalogLine::SLOPE_BITS);
    (lowest..=highest).contains(&counts).then(|| line.at_origin.saturating_add(rise))
}
