//! The log of a run: what the controller saw and did in every tick, in one file.
//!
//! ```text
//! magic     8 bytes   "strewn", carriage return, line feed: shows a transfer as text
//! version   u16
//! header    u32 length, then: seed u64, scenario (u32 length, text), configuration (u32 length)
//! sum       u32       CRC of everything before
//! tick      a frame as the controller's record room writes it; as often as there were ticks
//! end       u16 zero, u32 count of ticks, u32 CRC of everything before, of each frame no more than
//!           its own checksum
//! ```
//!
//! All numbers have the low byte first; the CRC is CRC-32/ISO-HDLC. A frame proves itself; that they are
//! all there and in their order is proved by the end.

mod read;
mod write;

pub use read::{Log, LogError};
pub use write::LogWriter;

use crc::{CRC_32_ISO_HDLC, Crc};

const MAGIC: [u8; 8] = *b"strewn\r\n";
const VERSION: u16 = 2;
/// Longest header, bytes.
const LONGEST_HEADER: usize = 1 << 20;
static CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// What a log says of its run as a whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Header {
    /// Name of the scenario.
    pub scenario: String,
    /// Seed of the run.
    pub seed: u64,
    /// The controller's configuration, in the bytes that its settings room writes and reads.
    pub configuration: Vec<u8>,
}

/// The bytes of a frame in which it is summed up.
fn sum_of(frame: &[u8]) -> &[u8] {
    frame.last_chunk::<4>().map_or(frame, <[u8; 4]>::as_slice)
}
