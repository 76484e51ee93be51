//! Frames of the implement bus: ground speed as the tractor tells it, and the stop button for all
//! implements.
//!
//! Layouts: ISO 11783-7 as coded and tested in AgIsoStack++, The Open-Agriculture Developers, 2026.
//! All numbers have the low byte first; fields of bits are counted from the lowest. Every message can
//! be written as well as read, so that a modelled tractor speaks with the same words.

use crate::units::Speed;
use crate::wires::Frame;

/// Wheel-based speed and distance, sent every 100 ms.
pub const WHEEL_SPEED: u32 = 65_096;
/// Ground-based speed and distance (radar), sent every 100 ms.
pub const GROUND_SPEED: u32 = 65_097;
/// The speed that the tractor has selected from its sources, sent every 100 ms.
pub const SELECTED_SPEED: u32 = 61_474;
/// State of the stop button for all implements, sent every second.
pub const STOP_BUTTON: u32 = 64_770;

/// Highest raw speed that is a speed; above it stand error and "not available".
const HIGHEST_SPEED: u16 = 0xFAFF;
/// Highest raw distance that is a distance.
const HIGHEST_DISTANCE: u32 = 0xFAFF_FFFF;

/// The 29-bit identifier of a frame to everyone. (In a frame to one receiver, the low byte of the
/// group is the receiver's address; none of the groups read here is of that kind.)
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Identifier {
    /// 0 (most urgent) to 7.
    pub priority: u8,
    /// Parameter group number, 18 bits.
    pub group: u32,
    /// Address of the sender.
    pub source: u8,
}

impl Identifier {
    /// From the raw identifier; bits above the 29th are ignored.
    #[must_use]
    pub fn decode(id: u32) -> Self {
        let [_, _, _, top] = id.to_le_bytes();
        let [source, ..] = id.to_le_bytes();
        Self { priority: top.wrapping_shr(2) & 7, group: id.wrapping_shr(8) & 0x3_FFFF, source }
    }

    /// To the raw identifier; bits that do not fit are dropped.
    #[must_use]
    pub fn encode(self) -> u32 {
        let priority = u32::from(self.priority & 7).wrapping_shl(26);
        priority | (self.group & 0x3_FFFF).wrapping_shl(8) | u32::from(self.source)
    }
}

/// Two bits that say which way the tractor moves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Direction {
    /// Backwards.
    Reverse,
    /// Forwards.
    Forward,
    /// The sender knows that it does not know.
    Error,
    /// The sender cannot tell.
    NotAvailable,
}

/// Two bits that say off, on, error or not available.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Flag {
    /// Off, or no.
    Off,
    /// On, or yes.
    On,
    /// The sender knows that it does not know.
    Error,
    /// The sender cannot tell.
    NotAvailable,
}

/// What the three speed messages share.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Motion {
    /// Speed without sign, mm/s; above 64,255 not a speed.
    pub speed_mm_s: u16,
    /// Distance since some start, mm; above 4,211,081,215 not a distance.
    pub distance_mm: u32,
    /// Which way.
    pub direction: Direction,
}

impl Motion {
    /// Ground speed, negative in reverse; `None` if the sender has none or its direction is in error.
    /// A sender that cannot tell the direction, as most radars, counts as going forwards.
    #[must_use]
    pub fn speed(self) -> Option<Speed> {
        if self.speed_mm_s > HIGHEST_SPEED {
            return None;
        }
        let speed = Speed::from_milli(i32::from(self.speed_mm_s));
        match self.direction {
            Direction::Forward | Direction::NotAvailable => Some(speed),
            Direction::Reverse => Some(speed.negated()),
            Direction::Error => None,
        }
    }

    /// Distance in mm; `None` if the sender has none.
    #[must_use]
    pub fn distance_mm(self) -> Option<u32> {
        (self.distance_mm <= HIGHEST_DISTANCE).then_some(self.distance_mm)
    }
}

/// A message that this machine understands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Message {
    /// [`WHEEL_SPEED`].
    Wheel {
        /// Speed, distance, direction.
        motion: Motion,
        /// How long the tractor can still give full power with the key off, min.
        power_time_min: u8,
        /// Whether the key is on.
        key: Flag,
        /// Whether implements may work.
        operations: Flag,
        /// Whether the operator faces backwards.
        reversed: Flag,
    },
    /// [`GROUND_SPEED`].
    Ground {
        /// Speed, distance, direction.
        motion: Motion,
    },
    /// [`SELECTED_SPEED`].
    Selected {
        /// Speed, distance, direction.
        motion: Motion,
        /// Why the tractor left the control of its speed, 0 to 63.
        exit_code: u8,
        /// Which source the tractor took, 0 to 7.
        source: u8,
        /// Whether the speed is limited, 0 to 7.
        limit: u8,
    },
    /// [`STOP_BUTTON`].
    Stop {
        /// [`Flag::Off`]: all implements must stop. [`Flag::On`]: they may work.
        permitted: Flag,
        /// How often the button has gone from permitted to stop; wraps.
        transitions: u8,
    },
}

impl Message {
    /// Reads a frame; `None` if it is of another group.
    #[must_use]
    pub fn decode(frame: &Frame) -> Option<Self> {
        let [.., byte_7, byte_8] = frame.data;
        Some(match Identifier::decode(frame.id).group {
            WHEEL_SPEED => Self::Wheel {
                motion: motion(frame.data),
                power_time_min: byte_7,
                key: flag(byte_8.wrapping_shr(2)),
                operations: flag(byte_8.wrapping_shr(4)),
                reversed: flag(byte_8.wrapping_shr(6)),
            },
            GROUND_SPEED => Self::Ground { motion: motion(frame.data) },
            SELECTED_SPEED => Self::Selected {
                motion: motion(frame.data),
                exit_code: byte_7 & 0x3F,
                source: byte_8.wrapping_shr(2) & 7,
                limit: byte_8.wrapping_shr(5),
            },
            STOP_BUTTON => Self::Stop { permitted: permitted(frame.data), transitions: byte_7 },
            _ => return None,
        })
    }

    /// Writes a frame from the address `source`, with the priority 3 of these messages. Bits kept
    /// for the future are set; bits of a field that do not fit are dropped.
    #[must_use]
    pub fn encode(self, source: u8) -> Frame {
        let (group, data) = match self {
            Self::Wheel { motion, power_time_min, key, operations, reversed } => {
                let states = shifted(key, 2) | shifted(operations, 4) | shifted(reversed, 6);
                (WHEEL_SPEED, motion_data(motion, power_time_min, states))
            }
            Self::Ground { motion } => (GROUND_SPEED, motion_data(motion, 0xFF, 0xFC)),
            Self::Selected { motion, exit_code, source, limit } => {
                let states = (source & 7).wrapping_shl(2) | limit.wrapping_shl(5);
                (SELECTED_SPEED, motion_data(motion, exit_code | 0xC0, states))
            }
            Self::Stop { permitted, transitions } => {
                let state = 0xFC | shifted(permitted, 0);
                (STOP_BUTTON, [0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, transitions, state])
            }
        };
        Frame { id: Identifier { priority: 3, group, source }.encode(), data }
    }
}

/// Whether implements may work, as the stop button's message says.
pub(super) fn permitted([.., byte_8]: [u8; 8]) -> Flag {
    flag(byte_8)
}

/// What a speed message says of the motion.
pub(super) fn motion([s0, s1, d0, d1, d2, d3, _, byte_8]: [u8; 8]) -> Motion {
    Motion {
        speed_mm_s: u16::from_le_bytes([s0, s1]),
        distance_mm: u32::from_le_bytes([d0, d1, d2, d3]),
        direction: match byte_8 & 3 {
            0 => Direction::Reverse,
            1 => Direction::Forward,
            2 => Direction::Error,
            _ => Direction::NotAvailable,
        },
    }
}

/// `states` is byte 8 without its two lowest bits, which hold the direction.
fn motion_data(motion: Motion, byte_7: u8, states: u8) -> [u8; 8] {
    let [s0, s1] = motion.speed_mm_s.to_le_bytes();
    let [d0, d1, d2, d3] = motion.distance_mm.to_le_bytes();
    let direction = match motion.direction {
        Direction::Reverse => 0,
        Direction::Forward => 1,
        Direction::Error => 2,
        Direction::NotAvailable => 3,
    };
    [s0, s1, d0, d1, d2, d3, byte_7, states | direction]
}

fn flag(bits: u8) -> Flag {
    match bits & 3 {
        0 => Flag::Off,
        1 => Flag::On,
        2 => Flag::Error,
        _ => Flag::NotAvailable,
    }
}

fn shifted(flag: Flag, bits: u32) -> u8 {
    let state: u8 = match flag {
        Flag::Off => 0,
        Flag::On => 1,
        Flag::Error => 2,
        Flag::NotAvailable => 3,
    };
    state.wrapping_shl(bits)
}
