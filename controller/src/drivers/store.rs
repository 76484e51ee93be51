//! Bytes that outlast a power cut: two slots of NOR flash, written in turn.
//!
//! ```text
//! bytes   0..16     16..32                                    32..
//!         mark      generation, length, checksum, 0           the bytes
//! ```
//! Numbers have the low byte first. A slot counts only if its mark, written last and alone, is whole
//! and generation, length and bytes sum to the checksum (CRC-32 of ISO-HDLC). Saving erases and writes
//! the slot that does not hold the newest bytes, so at every moment the newest or the one before it is
//! there, never a mixture. A cut before the mark is written leaves the old bytes, one after it the new
//! ones. An erase that was cut may leave any bits at all in the older slot; they pass the checksum by
//! chance once in 2^32.

use crc::{CRC_32_ISO_HDLC, Crc};
use embedded_storage::nor_flash::NorFlash;

/// Most bytes that can be kept.
pub const MOST: usize = 992;
/// Mark and head before the bytes.
const HEAD: usize = 32;
const MARK_BYTES: usize = 16;
/// A slot's longest content.
const ROOM: usize = 1_024;
const _: () = assert!(HEAD + MOST == ROOM);

/// Sixteen bytes that no erased or half-written flash shows.
const MARK: [u8; MARK_BYTES] = *b"strewn kept 1\r\n\x1A";
const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Why bytes cannot be kept or found.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum StoreError<E> {
    /// The flash.
    Flash(E),
    /// The flash erases or writes in pieces that do not fit the slots, or is too small for them.
    Layout,
    /// More than [`MOST`] bytes.
    TooLong,
}

/// One of the two slots.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Slot {
    First,
    Second,
}

impl Slot {
    const fn other(self) -> Self {
        match self {
            Self::First => Self::Second,
            Self::Second => Self::First,
        }
    }
}

/// The store.
#[derive(Debug)]
pub struct Store<F> {
    flash: F,
    start: u32,
    slot_bytes: u32,
    newest: Option<(Slot, u32)>,
    room: [u8; ROOM],
}

impl<F: NorFlash> Store<F> {
    /// Opens two slots of `slot_bytes` each, one behind the other from `start`, and looks which holds
    /// the newest bytes. Nothing is written.
    ///
    /// # Errors
    /// [`StoreError::Layout`] unless `start` and `slot_bytes` are whole erase pieces, a slot holds
    /// 1,024 bytes and a write piece divides 16; [`StoreError::Flash`] if reading fails.
    pub fn open(flash: F, start: u32, slot_bytes: u32) -> Result<Self, StoreError<F::Error>> {
        let end = slot_bytes.checked_mul(2).and_then(|both| both.checked_add(start));
        let end = end.and_then(|end| usize::try_from(end).ok());
        let piece = u32::try_from(F::ERASE_SIZE).unwrap_or(0);
        let whole = |bytes: u32| bytes.checked_rem(piece) == Some(0);
        let sound = end.is_some_and(|end| end <= flash.capacity())
            && usize::try_from(slot_bytes).is_ok_and(|bytes| bytes >= ROOM)
            && whole(start)
            && whole(slot_bytes)
            && MARK_BYTES.checked_rem(F::WRITE_SIZE) == Some(0)
            && MARK_BYTES.checked_rem(F::READ_SIZE) == Some(0);
        if !sound {
            return Err(StoreError::Layout);
        }
        let mut store = Self { flash, start, slot_bytes, newest: None, room: [0; ROOM] };
        let first = store.examine(Slot::First)?.map(|generation| (Slot::First, generation));
        let second = store.examine(Slot::Second)?.map(|generation| (Slot::Second, generation));
        store.newest = match (first, second) {
            // Generations wrap; the two differ by one.
            (Some((_, one)), Some((_, two))) if two.wrapping_sub(one) < 1 << 31 => second,
            (first, second) => first.or(second),
        };
        Ok(store)
    }

    /// The newest bytes; `None` if nothing was ever kept, or nothing that is sound.
    ///
    /// # Errors
    /// [`StoreError::Flash`].
    pub fn load(&mut self) -> Result<Option<&[u8]>, StoreError<F::Error>> {
        let Some((slot, _)) = self.newest else { return Ok(None) };
        self.examine(slot)?;
        Ok(content(&self.room).map(|(_, bytes)| bytes))
    }

    /// Keeps bytes in place of those kept before. After `Ok` a power cut does not lose them.
    ///
    /// # Errors
    /// [`StoreError::TooLong`], with nothing changed; [`StoreError::Flash`], with the bytes before
    /// still kept.
    pub fn save(&mut self, bytes: &[u8]) -> Result<(), StoreError<F::Error>> {
        let (slot, generation) = match self.newest {
            Some((slot, generation)) => (slot.other(), generation.wrapping_add(1)),
            None => (Slot::First, 0),
        };
        let end = compose(&mut self.room, generation, bytes).ok_or(StoreError::TooLong)?;
        let from = self.offset(slot);
        let to = from.saturating_add(self.slot_bytes);
        self.flash.erase(from, to).map_err(StoreError::Flash)?;
        let body = self.room.get(MARK_BYTES..end).unwrap_or(&[]);
        let behind_mark = from.saturating_add(16);
        self.flash.write(behind_mark, body).map_err(StoreError::Flash)?;
        self.flash.write(from, &MARK).map_err(StoreError::Flash)?;
        self.newest = Some((slot, generation));
        Ok(())
    }

    /// Reads a slot into the room and gives its generation if it is sound.
    fn examine(&mut self, slot: Slot) -> Result<Option<u32>, StoreError<F::Error>> {
        let from = self.offset(slot);
        self.flash.read(from, &mut self.room).map_err(StoreError::Flash)?;
        Ok(content(&self.room).map(|(generation, _)| generation))
    }

    fn offset(&self, slot: Slot) -> u32 {
        match slot {
            Slot::First => self.start,
            Slot::Second => self.start.saturating_add(self.slot_bytes),
        }
    }

    /// Gives the flash back.
    pub fn release(self) -> F {
        self.flash
    }
}

/// Writes a slot's content into the room; gives its end, a whole number of write pieces.
fn compose(room: &mut [u8; ROOM], generation: u32, bytes: &[u8]) -> Option<usize> {
    if bytes.len() > MOST {
        return None;
    }
    let length = u32::try_from(bytes.len()).ok()?;
    room.fill(0);
    let (_, body) = room.split_first_chunk_mut::<MARK_BYTES>()?;
    let (head, kept) = body.split_first_chunk_mut::<MARK_BYTES>()?;
    for (byte, given) in kept.iter_mut().zip(bytes) {
        *byte = *given;
    }
    let sum = checksum(generation, length, bytes);
    let numbers = [generation, length, sum, 0].map(u32::to_le_bytes);
    for (byte, given) in head.iter_mut().zip(numbers.as_flattened()) {
        *byte = *given;
    }
    // Up to a multiple of sixteen, filled with zeros.
    HEAD.checked_add(bytes.len().checked_next_multiple_of(MARK_BYTES)?)
}

/// Generation and bytes of a slot's content, if it is sound.
fn content(room: &[u8; ROOM]) -> Option<(u32, &[u8])> {
    let (mark, body) = room.split_first_chunk::<MARK_BYTES>()?;
    let (head, kept) = body.split_first_chunk::<MARK_BYTES>()?;
    let mut numbers = head.as_chunks::<4>().0.iter().map(|bytes| u32::from_le_bytes(*bytes));
    let (generation, length, sum) = (numbers.next()?, numbers.next()?, numbers.next()?);
    let bytes = kept.get(..usize::try_from(length).ok()?)?;
    let sound = *mark == MARK && checksum(generation, length, bytes) == sum;
    sound.then_some((generation, bytes))
}

fn checksum(generation: u32, length: u32, bytes: &[u8]) -> u32 {
    let mut digest = CRC.digest();
    digest.update(&generation.to_le_bytes());
    digest.update(&length.to_le_bytes());
    digest.update(bytes);
    digest.finalize()
}
