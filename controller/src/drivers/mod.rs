//! What hangs on the wires: one device a file, each by its kind, over the traits that the crates of
//! microcontrollers share. A driver gives or takes the raw values of [`crate::wires`] and judges
//! nothing that [`crate::signals`] judges.
//!
//! | device | gives or takes | over |
//! | --- | --- | --- |
//! | [`valve`] | duty | two channels of PWM, or one and a direction |
//! | [`capture`] | [`crate::wires::PulseWire`] | a 16-bit capture timer |
//! | [`converter`] | [`crate::wires::AnalogWires`] | a 12-bit converter on SPI, or a block of scans |
//! | [`bridge`] | [`crate::wires::WeighWire`] | a 24-bit converter on two wires |
//! | [`switches`] | [`crate::wires::SwitchBits`], ticket | pins |
//! | [`outputs`] | enable, watchdog, lamps | pins |
//! | [`bus`] | [`crate::wires::Frame`] | CAN |
//! | [`address`] | a place among the tractor's units | frames of the bus |
//! | [`auxiliary`] | a valve of the tractor instead of an own one | frames of the bus |
//! | [`serial`] | [`crate::wires::Sentence`] | bytes of a serial line |
//! | `display` | the screen (with the feature `screen`) | SPI |
//! | [`store`] | bytes that outlast a power cut | NOR flash |
//!
//! Nothing here waits for an answer longer than one transfer on a bus, and nothing can panic. Where a
//! device fails, the raw value is the one that floor 1 takes for a broken wire.

pub mod address;
pub mod auxiliary;
pub mod bridge;
pub mod bus;
pub mod capture;
pub mod converter;
#[cfg(feature = "screen")]
pub mod display;
pub mod outputs;
pub mod serial;
pub mod store;
pub mod switches;
pub mod valve;
