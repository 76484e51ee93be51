//! The boundary: raw signals in, raw commands out. No unit and no truth crosses it.
//!
//! Whoever calls the controller - the laptop, the board, a replayed log - fills [`Inputs`] and obeys
//! [`Outputs`]. Nothing here is checked or scaled; that is the work of [`crate::signals`].

use crate::units::Instant;
use crate::view::View;
use heapless::Vec;
use serde::{Deserialize, Serialize};

/// Most CAN frames taken in one tick; at 250 kbit/s and 100 ticks a second a bus brings about 20, of
/// which the acceptance filter lets the three speed messages and the stop through.
pub const FRAMES: usize = 4;
/// Most NMEA sentences taken in one tick.
pub const SENTENCES: usize = 2;
/// Longest NMEA 0183 sentence, `$` to checksum, without line end.
pub const SENTENCE_BYTES: usize = 82;

/// One NMEA 0183 sentence as received, `$` first, without the line end. Any bytes may come.
pub type Sentence = Vec<u8, SENTENCE_BYTES>;

/// Edges of a pulse sensor as a capture timer keeps them.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct PulseWire {
    /// Edges since the start; wraps.
    pub count: u32,
    /// Low 32 bits of the microsecond clock at the last edge; wraps every 71 minutes.
    pub last_edge_us: u32,
}

/// One CAN frame with a 29-bit identifier and eight data bytes.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Frame {
    /// The 29-bit identifier.
    pub id: u32,
    /// The data bytes.
    pub data: [u8; 8],
}

/// Weigh-cell amplifier: the last conversion and a counter that steps with each new one.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct WeighWire {
    /// Counts of the bridge amplifier, 24 bits with sign.
    pub counts: i32,
    /// Steps by one with each conversion; wraps.
    pub sequence: u8,
}

/// Analog channels, each 0 to 4095 counts of a 12-bit converter.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct AnalogWires {
    /// Pressure across the roller motors.
    pub pressure: u16,
    /// Bale gauge: distance from the gauge to the bale's face.
    pub gauge: u16,
    /// A fixed reference voltage, converted with every scan.
    pub reference: u16,
    /// Current through the valve's coil.
    pub coil_current: u16,
    /// Supply of the valve behind the series enable.
    pub valve_supply: u16,
}

/// Switches and buttons as wired. A set bit is current flowing.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SwitchBits(pub u16);

impl SwitchBits {
    /// Somebody sits in the operator's place. Opens when the place is left.
    pub const PRESENT: u16 = 1;
    /// First channel of the stop switch. Closed in rest: a cut wire stops.
    pub const STOP_CLEAR_A: u16 = 1 << 1;
    /// Second channel of the stop switch.
    pub const STOP_CLEAR_B: u16 = 1 << 2;
    /// The arming button, pressed.
    pub const ARM: u16 = 1 << 3;
    /// The hold-to-run switch, held.
    pub const RUN: u16 = 1 << 4;
    /// The button that says a new bale lies on the rollers, pressed.
    pub const NEW_BALE: u16 = 1 << 5;
    /// All guards are shut. Closed in rest, as the two below: a cut wire stops.
    pub const GUARD_SHUT: u16 = 1 << 6;
    /// The hitch or lift is down in its working place.
    pub const HITCH_DOWN: u16 = 1 << 7;
    /// The machine stands level enough; opens on a slope too steep and when it tips over.
    pub const LEVEL: u16 = 1 << 8;
    /// Second contact of the hold-to-run switch: one stuck contact neither starts nor goes on.
    pub const RUN_B: u16 = 1 << 9;

    /// Whether all bits of `mask` are set.
    #[must_use]
    pub const fn has(self, mask: u16) -> bool {
        self.0 & mask == mask
    }
}

/// Everything the controller sees in one tick.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Inputs {
    /// The controller's clock at the start of the tick.
    pub now: Instant,
    /// The two rollers.
    pub rollers: [PulseWire; 2],
    /// A ground wheel or radar with a pulse output.
    pub ground: PulseWire,
    /// Weigh cells under the cradle.
    pub weigh: WeighWire,
    /// Analog channels.
    pub analog: AnalogWires,
    /// Switches and buttons.
    pub switches: SwitchBits,
    /// Which ticket (lot of bales) the operator has selected, counted from 0.
    pub ticket: u8,
    /// CAN frames since the last tick.
    pub frames: Vec<Frame, FRAMES>,
    /// NMEA sentences since the last tick.
    pub sentences: Vec<Sentence, SENTENCES>,
}

/// Everything the controller commands in one tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Outputs {
    /// Signed valve duty, -32767 (full reverse) to 32767 (full forward).
    pub valve: i16,
    /// The enable in series with the valve supply. Off is safe.
    pub enable: bool,
    /// Feed the watchdog outside the processor in this tick. One that is not fed in time takes the
    /// valve's supply away; it is fed only while every check of the gate is good.
    pub feed_watchdog: bool,
    /// Lamps and horn.
    pub lamps: LampBits,
    /// What the cab screen shows.
    pub view: View,
}

/// Lamps and horn, a bit each.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct LampBits(pub u8);

impl LampBits {
    /// Rollers may turn now or at the next deliberate act.
    pub const ARMED: u8 = 1;
    /// Hay is being laid.
    pub const LAYING: u8 = 1 << 1;
    /// Stopped and latched: something was wrong.
    pub const STOPPED: u8 = 1 << 2;
    /// Rollers still turn although they are commanded to rest.
    pub const STILL_TURNING: u8 = 1 << 3;
    /// Attention: the operator should read the screen.
    pub const HORN: u8 = 1 << 4;

    /// With `lamp` lit if `lit`.
    #[must_use]
    pub const fn with(self, lamp: u8, lit: bool) -> Self {
        if lit { Self(self.0 | lamp) } else { self }
    }

    /// Whether a lamp is lit.
    #[must_use]
    pub const fn has(self, lamp: u8) -> bool {
        self.0 & lamp != 0
    }
}
