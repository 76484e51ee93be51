//! The frame around a difference: length, difference, digest, checksum.
//!
//! ```text
//! bytes    0..2      2..n-8       n-8..n-4   n-4..n
//!          length n  difference   digest     CRC-32 of all before
//! ```
//! Numbers have the low byte first. The length counts the whole frame, so that a reader can walk a
//! stream without understanding the differences.

use super::CRC;
use super::difference::{apply, write};
use crate::wires::Inputs;

/// Longest frame: four CAN frames, two full sentences and everything else changed at once.
pub const FRAME_MAX: usize = 297;
/// Bytes of a frame beside the difference.
const LENGTH: usize = 2;
const DIGEST: usize = 4;
const CHECKSUM: usize = 4;

/// Why a frame cannot be written or read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RecordError {
    /// The room given is shorter than the frame. [`FRAME_MAX`] always suffices.
    NoRoom,
    /// The bytes end before the frame does.
    Short,
    /// The length is not one that a frame can have.
    Length,
    /// The frame does not sum to its checksum.
    Checksum,
    /// The frame is whole but its difference says nothing that inputs can be: another version.
    Content,
}

/// Writes the frame of one tick to the start of `out` and returns its length. `previous` are the
/// inputs of the tick before, or the default in the first tick of a log.
///
/// # Errors
/// [`RecordError::NoRoom`]; `out` then holds nothing of use.
pub fn encode(
    previous: &Inputs,
    inputs: &Inputs,
    digest: u32,
    out: &mut [u8],
) -> Result<usize, RecordError> {
    let room = out.get_mut(LENGTH..).ok_or(RecordError::NoRoom)?;
    let used = write(previous, inputs, room).map_err(|_| RecordError::NoRoom)?;
    let summed = used.saturating_add(LENGTH).saturating_add(DIGEST);
    let length = summed.saturating_add(CHECKSUM);
    let frame = out.get_mut(..length).ok_or(RecordError::NoRoom)?;
    let (start, checksum) = frame.split_last_chunk_mut::<CHECKSUM>().ok_or(RecordError::NoRoom)?;
    let short_length = u16::try_from(length).map_err(|_| RecordError::NoRoom)?;
    *start.first_chunk_mut().ok_or(RecordError::NoRoom)? = short_length.to_le_bytes();
    *start.last_chunk_mut().ok_or(RecordError::NoRoom)? = digest.to_le_bytes();
    *checksum = CRC.checksum(start).to_le_bytes();
    Ok(length)
}

/// The frame at the start of `bytes`, after which the next one starts.
///
/// # Errors
/// [`RecordError`], for bytes that do not start with a whole, unharmed frame.
pub fn frame(bytes: &[u8]) -> Result<&[u8], RecordError> {
    let length = usize::from(u16::from_le_bytes(*bytes.first_chunk().ok_or(RecordError::Short)?));
    if !(LENGTH.saturating_add(DIGEST).saturating_add(CHECKSUM)..=FRAME_MAX).contains(&length) {
        return Err(RecordError::Length);
    }
    let frame = bytes.get(..length).ok_or(RecordError::Short)?;
    let (start, checksum) = frame.split_last_chunk::<CHECKSUM>().ok_or(RecordError::Length)?;
    let whole = CRC.checksum(start) == u32::from_le_bytes(*checksum);
    if whole { Ok(frame) } else { Err(RecordError::Checksum) }
}

/// Reads the frame at the start of `bytes`: the inputs of the tick, the digest, and the length of the
/// frame. `previous` must be what was given to [`encode`].
///
/// # Errors
/// As [`frame`], and a difference that says nothing.
pub fn decode(previous: &Inputs, bytes: &[u8]) -> Result<(Inputs, u32, usize), RecordError> {
    let frame = frame(bytes)?;
    let (start, _) = frame.split_last_chunk::<CHECKSUM>().ok_or(RecordError::Length)?;
    let (start, digest) = start.split_last_chunk::<DIGEST>().ok_or(RecordError::Length)?;
    let difference = start.get(LENGTH..).ok_or(RecordError::Length)?;
    let inputs = apply(previous, difference).map_err(|_| RecordError::Content)?;
    Ok((inputs, u32::from_le_bytes(*digest), frame.len()))
}
