//! A running digest of everything that was commanded.

use super::CRC;
use crate::wires::Outputs;
use crc::Digest;
use postcard::ser_flavors::Flavor;
use serde::Serialize;

/// Digest of all outputs up to these, given that of the ticks before (0 before the first): equal for
/// equal runs, and different with all but 1 in 4 thousand million chances once any field of any tick
/// differs. No protection against intent.
#[must_use]
pub fn digest(previous: u32, outputs: &Outputs) -> u32 {
    digest_of(previous, outputs)
}

/// The same of anything that can be written.
pub(crate) fn digest_of(previous: u32, what: &impl Serialize) -> u32 {
    let mut running = CRC.digest();
    running.update(&previous.to_le_bytes());
    // Neither what is written nor the digest can fail to take a byte.
    postcard::serialize_with_flavor(what, Sink(running)).unwrap_or(!previous)
}

/// Takes bytes into a digest and keeps none.
struct Sink(Digest<'static, u32>);

impl Flavor for Sink {
    type Output = u32;

    fn try_push(&mut self, byte: u8) -> postcard::Result<()> {
        self.try_extend(&[byte])
    }

    fn try_extend(&mut self, bytes: &[u8]) -> postcard::Result<()> {
        self.0.update(bytes);
        Ok(())
    }

    fn finalize(self) -> postcard::Result<u32> {
        Ok(self.0.finalize())
    }
}
