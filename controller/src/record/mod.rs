//! Beside the floors: log frames. Written, never read, by control.
//!
//! A log is a stream of frames, one a tick. A frame holds how the inputs differ from those of the
//! tick before, and a running digest of all outputs so far, so that a replay can be compared with the
//! original tick by tick at the cost of four bytes.

mod codec;
mod difference;
mod digest;

pub use codec::{FRAME_MAX, RecordError, decode, encode, frame};
pub use digest::digest;

use crc::{CRC_32_ISO_HDLC, Crc};

/// The checksum of frames, digests and what is kept: CRC-32 as in Ethernet.
pub(crate) const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
