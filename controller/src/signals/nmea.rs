//! Ground speed from NMEA 0183 sentences: RMC and VTG of any talker.

use crate::units::Speed;
use crate::units::arith::product;
use crate::wires::SENTENCE_BYTES;

/// Why a sentence says nothing about the speed, not even that there is none.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SentenceError {
    /// Not `$`, printable text, `*` and two hexadecimal digits within 82 bytes.
    Framing,
    /// The text does not sum to its checksum.
    Checksum,
    /// Neither RMC nor VTG.
    Kind,
    /// The speed or its unit is not written as it must be.
    Field,
}

/// Speed over ground, in m/s without sign, as the receiver states it; `None` if a sound sentence says
/// that there is none: void, no fix, not measured (typed in or simulated), or blank.
///
/// Resolution of the input 0.0001 of its unit; further digits are dropped. Knots come first; km/h
/// serves only where VTG leaves the knots blank.
///
/// # Errors
/// [`SentenceError`], for any bytes that are not a sound RMC or VTG sentence.
pub fn speed_over_ground(sentence: &[u8]) -> Result<Option<Speed>, SentenceError> {
    let body = Body::checked(sentence)?;
    let [_, _, kind @ ..] = body.field(0) else { return Err(SentenceError::Kind) };
    match kind {
        b"RMC" if body.field(2) != b"A" || !measured(body.field(12)) => Ok(None),
        b"RMC" => speed(body.field(7), b"N", KNOT),
        b"VTG" if !measured(body.field(9)) => Ok(None),
        b"VTG" if body.field(5).is_empty() => speed(body.field(7), body.field(8), KM_H),
        b"VTG" => speed(body.field(5), body.field(6), KNOT),
        _ => Err(SentenceError::Kind),
    }
}

/// Whether these bytes look like a sentence that tells a speed, sound or not.
#[must_use]
pub fn tells_speed(sentence: &[u8]) -> bool {
    matches!(sentence, [_, _, _, b'R', b'M', b'C', ..] | [_, _, _, b'V', b'T', b'G', ..])
}

/// Fields that are told apart, counted from the one that names the sentence.
const FIELDS: usize = 13;

/// The text between `$` and `*`, and where its fields end.
struct Body<'a> {
    text: &'a [u8],
    ends: [usize; FIELDS],
}

impl<'a> Body<'a> {
    /// Once frame and checksum hold.
    fn checked(sentence: &'a [u8]) -> Result<Self, SentenceError> {
        let framed = sentence.strip_prefix(b"$").and_then(|rest| rest.split_last_chunk::<3>());
        let Some((text, &[b'*', high, low])) = framed else { return Err(SentenceError::Framing) };
        let (Some(high), Some(low)) = (hexadecimal(high), hexadecimal(low)) else {
            return Err(SentenceError::Framing);
        };
        if sentence.len() > SENTENCE_BYTES {
            return Err(SentenceError::Framing);
        }
        let (body, sum) = Self::read(text).ok_or(SentenceError::Framing)?;
        if sum == high.wrapping_shl(4) | low { Ok(body) } else { Err(SentenceError::Checksum) }
    }

    /// The text with its fields, and the exclusive or of its bytes; `None` if one is not printable.
    ///
    /// One pass, four bytes at a time, because a sentence makes the dearest tick. In what is printable
    /// no sum below carries from one byte to the next; of what is not, the first byte shows.
    fn read(text: &'a [u8]) -> Option<(Self, u8)> {
        let (words, rest) = text.as_chunks::<4>();
        // Filled up with spaces: two leave the exclusive or as it is.
        let mut last = [b' '; 4];
        last.iter_mut().zip(rest).for_each(|(place, byte)| *place = *byte);
        let (mut sum, mut strange) = (if rest.len() & 1 == 0 { 0 } else { u32::from(b' ') }, 0);
        let mut ends = [text.len(); FIELDS];
        let mut free = ends.iter_mut();
        let mut take = |start: usize, word: &[u8; 4]| {
            let word = u32::from_le_bytes(*word);
            sum ^= word;
            strange |= word | word.wrapping_add(each(1)) | word.wrapping_sub(each(b' '));
            // The top bit of each byte that is a comma.
            let mut commas = !(word ^ each(b',')).wrapping_add(each(0x7F)) & each(0x80);
            while commas != 0 {
                let Some(end) = free.next() else { break };
                let place = commas.trailing_zeros().wrapping_shr(3);
                *end = start.wrapping_add(usize::try_from(place).unwrap_or(0));
                commas &= commas.wrapping_sub(1);
            }
        };
        let mut start = 0usize;
        for word in words {
            take(start, word);
            start = start.wrapping_add(4);
        }
        take(start, &last);
        let [a, b, c, d] = sum.to_le_bytes();
        (strange & each(0x80) == 0).then_some((Self { text, ends }, a ^ b ^ c ^ d))
    }

    /// A field; a missing one is blank.
    fn field(&self, number: usize) -> &'a [u8] {
        let end = |number: usize| self.ends.get(number).copied();
        let begin = match number.checked_sub(1).and_then(end) {
            Some(comma) => comma.saturating_add(1),
            None => 0,
        };
        end(number).and_then(|end| self.text.get(begin..end)).unwrap_or_default()
    }
}

/// A word of four such bytes.
const fn each(byte: u8) -> u32 {
    u32::from_le_bytes([byte; 4])
}

fn hexadecimal(byte: u8) -> Option<u8> {
    match byte {
        b'0'..=b'9' => Some(byte.wrapping_sub(b'0')),
        b'A'..=b'F' => Some(byte.wrapping_sub(b'A').wrapping_add(10)),
        b'a'..=b'f' => Some(byte.wrapping_sub(b'a').wrapping_add(10)),
        _ => None,
    }
}

/// Whether the mode is one in which the receiver measures: autonomous, differential, precise,
/// real-time kinematic or dead reckoning. Older receivers send none.
fn measured(mode: &[u8]) -> bool {
    matches!(mode, b"" | b"A" | b"D" | b"P" | b"R" | b"F" | b"E")
}

/// A unit of speed: its letter, and 0.0001 of it in 2^-`shift` of the raw number of a [`Speed`].
struct Unit {
    letter: &'static [u8],
    factor: i32,
    shift: u32,
}

/// 1 knot = 1852 / 3600 m/s (exact).
const KNOT: Unit = Unit { letter: b"N", factor: 1_810_040_475, shift: 29 };
/// 1 km/h = 1 / 3.6 m/s (exact).
const KM_H: Unit = Unit { letter: b"K", factor: 1_954_687_338, shift: 30 };

fn speed(number: &[u8], letter: &[u8], unit: Unit) -> Result<Option<Speed>, SentenceError> {
    if number.is_empty() {
        return Ok(None);
    }
    if letter != unit.letter {
        return Err(SentenceError::Field);
    }
    let parts = ten_thousandths(number).ok_or(SentenceError::Field)?;
    Ok(Some(Speed::from_bits(product(parts, unit.factor, unit.shift))))
}

/// `022.4` as 224,000; up to four digits before the point.
fn ten_thousandths(number: &[u8]) -> Option<i32> {
    let mut parts = number.splitn(2, |byte| *byte == b'.');
    let (whole, fraction) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
    if whole.is_empty() || whole.len() > 4 || !fraction.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let whole = whole
        .iter()
        .try_fold(0i32, |sum, byte| Some(sum.wrapping_mul(10).wrapping_add(digit(*byte)?)))?;
    let fraction =
        fraction.iter().zip([1_000, 100, 10, 1]).try_fold(0i32, |sum, (byte, weight)| {
            Some(sum.wrapping_add(digit(*byte)?.wrapping_mul(weight)))
        })?;
    Some(whole.wrapping_mul(10_000).wrapping_add(fraction))
}

fn digit(byte: u8) -> Option<i32> {
    byte.is_ascii_digit().then(|| i32::from(byte.wrapping_sub(b'0')))
}
