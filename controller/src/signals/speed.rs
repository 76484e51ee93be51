//! Ground speed from every source that is there, each with its own age and limit. Which to believe
//! is decided above.

use super::isobus::{GROUND_SPEED, SELECTED_SPEED, WHEEL_SPEED, motion};
use super::nmea::speed_over_ground;
use super::pulses::Pulses;
use super::reading::{Held, Reading};
use crate::settings::{GroundSettings, SignalSettings};
use crate::units::{Instant, Length, Span, Speed};
use crate::wires::Sentence;
use serde::{Deserialize, Serialize};

/// Ground speed, negative in reverse where the source can tell.
///
/// A source of which nothing has come is absent; one that says that it has no speed, or an
/// unbelievable one, is invalid at once and until it says better; one that falls silent is stale
/// after its limit. A corrupt sentence or an unknown frame is nothing at all.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Speeds {
    /// As the tractor selects it.
    pub selected: Reading<Speed>,
    /// From the tractor's radar.
    pub ground: Reading<Speed>,
    /// From a satellite receiver: speed over ground, without direction.
    pub satellite: Reading<Speed>,
    /// From an own ground wheel or radar, without direction. Its reading is true now: without new
    /// edges it falls as the time since the last one grows, to zero when the machine counts as
    /// standing. A cut wire therefore reads as standing.
    pub pulses: Reading<Speed>,
    /// From the tractor's wheels; they slip.
    pub wheel: Reading<Speed>,
}

/// Memory of all sources of ground speed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct SpeedChannels {
    selected: Held<Speed>,
    ground: Held<Speed>,
    satellite: Held<Speed>,
    wheel: Held<Speed>,
    pulses: Speed,
}

impl SpeedChannels {
    /// Takes a message of the bus; one of another group says nothing of the speed.
    pub fn hear(&mut self, fastest: Speed, now: Instant, group: u32, data: [u8; 8]) {
        let channel = match group {
            SELECTED_SPEED => &mut self.selected,
            GROUND_SPEED => &mut self.ground,
            WHEEL_SPEED => &mut self.wheel,
            _ => return,
        };
        hold(channel, fastest, now, motion(data).speed());
    }

    /// Reads a sentence of the receiver; one that is not sound says nothing.
    pub fn read(&mut self, fastest: Speed, now: Instant, sentence: &Sentence) {
        if let Ok(speed) = speed_over_ground(sentence) {
            hold(&mut self.satellite, fastest, now, speed);
        }
    }

    /// The readings now. `pulses` are those of the ground wheel since the last time.
    pub fn update(&mut self, settings: &SignalSettings, now: Instant, pulses: Pulses) -> Speeds {
        Speeds {
            selected: self.selected.reading(now, settings.bus_stale),
            ground: self.ground.reading(now, settings.bus_stale),
            satellite: self.satellite.reading(now, settings.satellite_stale),
            pulses: settings
                .ground
                .map_or_else(Reading::default, |ground| self.by_pulses(&ground, pulses)),
            wheel: self.wheel.reading(now, settings.bus_stale),
        }
    }

    fn by_pulses(&mut self, settings: &GroundSettings, pulses: Pulses) -> Reading<Speed> {
        let measured = pulses.span.map(|span| {
            let edges = i32::try_from(pulses.edges).unwrap_or(i32::MAX);
            Length::from_bits(settings.pitch.to_bits().saturating_mul(edges)).within(span.seconds())
        });
        self.pulses = match measured {
            Some(speed) => speed,
            None if pulses.since_last > settings.standing => Speed::ZERO,
            // Had it been faster than one pitch in the time since the last edge, there were another.
            None => self.pulses.min(settings.pitch.within(pulses.since_last.seconds())),
        };
        Reading { value: self.pulses, age: Span::ZERO, quality: pulses.quality }
    }
}

/// Holds a speed that can be believed, and refuses no speed and one beyond belief.
fn hold(channel: &mut Held<Speed>, fastest: Speed, now: Instant, speed: Option<Speed>) {
    match speed.filter(|speed| speed.magnitude() <= fastest) {
        Some(speed) => channel.take(speed, now),
        None => channel.refuse(),
    }
}
