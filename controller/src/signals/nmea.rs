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
    let body = checked_body(sentence)?;
    // One pass: a sentence makes the dearest tick. A missing field is a blank one.
    let mut fields: [&[u8]; 13] = Default::default();
    for (kept, field) in fields.iter_mut().zip(body.split(|byte| *byte == b',')) {
        *kept = field;
    }
    let [name, _, status, _, _, fifth, sixth, seventh, eighth, ninth, _, _, twelfth] = fields;
    let [_, _, kind @ ..] = name else { return Err(SentenceError::Kind) };
    match kind {
        b"RMC" if status != b"A" || !measured(twelfth) => Ok(None),
        b"RMC" => speed(seventh, b"N", KNOT),
        b"VTG" if !measured(ninth) => Ok(None),
        b"VTG" if fifth.is_empty() => speed(seventh, eighth, KM_H),
        b"VTG" => speed(fifth, sixth, KNOT),
        _ => Err(SentenceError::Kind),
    }
}

/// The text between `$` and `*`, once frame and checksum hold.
fn checked_body(sentence: &[u8]) -> Result<&[u8], SentenceError> {
    let framed = sentence.strip_prefix(b"$").and_then(|rest| rest.split_last_chunk::<3>());
    let Some((body, &[b'*', high, low])) = framed else { return Err(SentenceError::Framing) };
    let (Some(high), Some(low)) = (hexadecimal(high), hexadecimal(low)) else {
        return Err(SentenceError::Framing);
    };
    let (printable, sum) = body.iter().fold((true, 0), |(printable, sum), byte| {
        (printable & matches!(byte, b' '..=b'~'), sum ^ byte)
    });
    if sentence.len() > SENTENCE_BYTES || !printable {
        return Err(SentenceError::Framing);
    }
    if sum == high.wrapping_shl(4) | low { Ok(body) } else { Err(SentenceError::Checksum) }
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
