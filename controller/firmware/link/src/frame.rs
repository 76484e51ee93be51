//! Frames on a serial line: a message in postcard's encoding and its CRC-32, stuffed so that a zero
//! byte ends every frame and nothing else (COBS).
//!
//! Sources: S. Cheshire and M. Baker, Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on
//! Networking 7(2), 1999; James Munns, The Postcard Wire Format, 2023.

use crc::{CRC_32_ISO_HDLC, Crc};
use serde::{Deserialize, Serialize};

/// Longest message with its checksum, bytes.
pub const LONGEST: usize = 1_536;
/// Longest frame: one byte more for each 254 of the message, the first and the zero at the end.
pub const LONGEST_FRAME: usize = LONGEST + 8;

const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
const CHECKSUM: usize = 4;
/// Longest run of bytes that one code stands for.
const RUN: u8 = 0xFE;

/// Writes a message as a frame to the start of `out` and returns the frame's length; `None` if the
/// message is longer than [`LONGEST`] or `out` shorter than the frame ([`LONGEST_FRAME`] suffices).
#[must_use]
pub fn encode(message: &impl Serialize, out: &mut [u8]) -> Option<usize> {
    let mut plain = [0; LONGEST];
    let used = postcard::to_slice(message, &mut plain).ok()?.len();
    let sum = CRC.checksum(plain.get(..used)?).to_le_bytes();
    let end = used.checked_add(CHECKSUM)?;
    plain.get_mut(used..end)?.copy_from_slice(&sum);
    stuff(plain.get(..end)?, out)
}

/// Reads the message from a frame's content, as [`Receiver::push`] gives it; `None` if its checksum or
/// its content is wrong.
#[must_use]
pub fn decode<'a, T: Deserialize<'a>>(content: &'a [u8]) -> Option<T> {
    postcard::from_bytes(whole(content)?).ok()
}

/// The message within a frame's content, still in postcard's encoding; `None` if its checksum is wrong.
/// For whoever answers what it does not understand otherwise than what was spoilt on the way.
#[must_use]
pub fn whole(content: &[u8]) -> Option<&[u8]> {
    let (plain, sum) = content.split_last_chunk::<CHECKSUM>()?;
    (CRC.checksum(plain) == u32::from_le_bytes(*sum)).then_some(plain)
}

/// Stuffs bytes and adds the zero; the length written.
fn stuff(plain: &[u8], out: &mut [u8]) -> Option<usize> {
    let (mut code_at, mut code, mut used) = (0usize, 1u8, 1usize);
    for byte in plain {
        if *byte != 0 {
            *out.get_mut(used)? = *byte;
            used = used.saturating_add(1);
            code = code.saturating_add(1);
        }
        if *byte == 0 || code > RUN {
            *out.get_mut(code_at)? = code;
            (code_at, code) = (used, 1);
            used = used.saturating_add(1);
        }
    }
    *out.get_mut(code_at)? = code;
    *out.get_mut(used)? = 0;
    Some(used.saturating_add(1))
}

/// Takes bytes from the line one at a time.
#[derive(Clone, Debug)]
pub struct Receiver {
    content: [u8; LONGEST],
    used: usize,
    /// Bytes to come until the next code.
    left: u8,
    /// Whether a zero stands for the next code.
    zero: bool,
    /// What came since the last zero is no frame.
    spoilt: bool,
}

impl Receiver {
    /// At the start of a frame.
    #[must_use]
    pub const fn new() -> Self {
        Self { content: [0; LONGEST], used: 0, left: 0, zero: false, spoilt: false }
    }

    /// Takes a byte. At the end of a frame that is whole its content, for [`decode`]; a frame that is
    /// too long or broken off gives nothing, and the next one is read as if it had never been.
    pub fn push(&mut self, byte: u8) -> Option<&[u8]> {
        if byte == 0 {
            let whole = self.left == 0 && !self.spoilt;
            let used = self.used;
            (self.used, self.left, self.zero, self.spoilt) = (0, 0, false, false);
            return self.content.get(..used).filter(|content| whole && !content.is_empty());
        }
        if let Some(left) = self.left.checked_sub(1) {
            self.left = left;
            self.keep(byte);
        } else {
            if self.zero {
                self.keep(0);
            }
            self.left = byte.wrapping_sub(1);
            self.zero = byte <= RUN;
        }
        None
    }

    fn keep(&mut self, byte: u8) {
        match self.content.get_mut(self.used) {
            Some(place) => *place = byte,
            None => self.spoilt = true,
        }
        self.used = self.used.saturating_add(1).min(LONGEST);
    }
}

impl Default for Receiver {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::collection::vec;
    use proptest::prelude::*;
    use std::vec::Vec;

    fn through(frame: &[u8]) -> Option<Vec<u8>> {
        let mut receiver = Receiver::new();
        let (last, before) = frame.split_last()?;
        assert!(before.iter().all(|byte| receiver.push(*byte).is_none()), "no end before the zero");
        receiver.push(*last).map(<[u8]>::to_vec)
    }

    fn stuffed(plain: &[u8]) -> Vec<u8> {
        let mut out = [0xAA; LONGEST_FRAME];
        let length = stuff(plain, &mut out).expect("room");
        out[..length].to_vec()
    }

    /// Cheshire and Baker, 1999 (see the head of this file), rules of section III, on the strings that
    /// show each rule.
    #[test]
    fn stuffing_follows_its_rules() {
        let cases: [(&[u8], &[u8]); 4] = [
            (&[0], &[1, 1, 0]),
            (&[0, 0], &[1, 1, 1, 0]),
            (&[0x11, 0x22, 0, 0x33], &[3, 0x11, 0x22, 2, 0x33, 0]),
            (&[0x11, 0, 0, 0], &[2, 0x11, 1, 1, 1, 0]),
        ];
        for (plain, wanted) in cases {
            assert_eq!(stuffed(plain), wanted, "{plain:?}");
        }
        let long: Vec<u8> = (1..=254).collect();
        assert_eq!(stuffed(&long)[..2], [0xFF, 1]);
    }

    #[test]
    fn a_spoilt_frame_does_not_harm_the_next() {
        let mut frame = [0; LONGEST_FRAME];
        let length = encode(&7u32, &mut frame).expect("room");
        let mut receiver = Receiver::new();
        for byte in core::iter::repeat_n(9, 2 * LONGEST).chain([0]) {
            assert_eq!(receiver.push(byte), None);
        }
        for byte in &frame[..length - 1] {
            assert_eq!(receiver.push(*byte), None);
        }
        assert_eq!(receiver.push(0).and_then(decode::<u32>), Some(7));
    }

    proptest! {
        #[test]
        fn what_is_stuffed_comes_back(plain in vec(prop_oneof![Just(0), 1u8..=255], 1..LONGEST)) {
            prop_assert_eq!(through(&stuffed(&plain)), Some(plain));
        }

        /// The crate `cobs` as the other side of the line.
        #[test]
        fn another_reader_understands(plain in vec(prop_oneof![Just(0), any::<u8>()], 1..600)) {
            let frame = stuffed(&plain);
            let other = cobs::decode_vec(&frame[..frame.len() - 1]).expect("a frame");
            prop_assert_eq!(&other, &plain);
            let mut theirs = cobs::encode_vec(&plain);
            theirs.push(0);
            prop_assert_eq!(through(&theirs), Some(plain));
        }

        #[test]
        fn one_flipped_bit_is_noticed(number in any::<u64>(), at in 0usize..64, bit in 0u8..8) {
            let mut frame = [0; LONGEST_FRAME];
            let length = encode(&number, &mut frame).expect("room");
            let at = at % (length - 1);
            frame[at] ^= 1 << bit;
            let mut receiver = Receiver::new();
            for byte in &frame[..length] {
                let read = receiver.push(*byte).and_then(decode::<u64>);
                prop_assert_eq!(read, None);
            }
        }
    }
}
