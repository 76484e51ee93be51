//! Integer arithmetic under the quantities: widening, rounding and saturating, all by name.
//!
//! Everything here is bounded and total. Division works on 16-bit digits so that a 32-bit processor
//! never calls a 64-bit division routine inside a tick.

use core::hint::cold_path;

/// Narrows to 32 bits; a value outside the range becomes the nearest end of it.
#[must_use]
#[inline]
pub fn narrow(wide: i64) -> i32 {
    let low = low_half(wide.cast_unsigned()).cast_signed();
    let high = high_half(wide.cast_unsigned()).cast_signed();
    // It fits if the upper half is nothing but the sign of the lower one.
    if high == low.wrapping_shr(31) {
        return low;
    }
    cold_path();
    high.wrapping_shr(31) ^ i32::MAX
}

/// The low 32 bits.
#[inline]
pub(crate) fn low_half(wide: u64) -> u32 {
    let [a, b, c, d, ..] = wide.to_le_bytes();
    u32::from_le_bytes([a, b, c, d])
}

/// The high 32 bits.
#[inline]
pub(crate) fn high_half(wide: u64) -> u32 {
    low_half(wide.wrapping_shr(32))
}

/// A number of these low and these high 32 bits.
#[inline]
pub(crate) fn join(low: u32, high: u32) -> u64 {
    u64::from(high).wrapping_shl(32) | u64::from(low)
}

/// Shifts right by `bits` (0 to 62), rounding to nearest with halves towards plus infinity.
#[must_use]
#[inline]
pub fn shift_round(wide: i64, bits: u32) -> i64 {
    if bits == 0 {
        return wide;
    }
    // The last bit that falls away says whether what falls away is half or more.
    let doubled = wide.wrapping_shr(bits.wrapping_sub(1));
    doubled.wrapping_shr(1).wrapping_add(doubled & 1)
}

/// Halved `times` times (0 to 31), rounding to nearest with halves towards plus infinity.
#[must_use]
#[inline]
pub fn halved(number: i32, times: u32) -> i32 {
    if times == 0 {
        return number;
    }
    // As above; half of a number has room for the one that is added.
    let last = number.wrapping_shr(times.wrapping_sub(1)) & 1;
    number.wrapping_shr(times).wrapping_add(last)
}

/// Product of two fixed-point numbers whose fraction bits together exceed those of the result by
/// `shift`; rounded to nearest, saturated.
#[must_use]
#[inline]
pub fn product(a: i32, b: i32, shift: u32) -> i32 {
    // The product of two such numbers leaves room for the half that rounds it.
    let half = 1i64.wrapping_shl(shift).wrapping_shr(1);
    let wide = i64::from(a).wrapping_mul(i64::from(b)).wrapping_add(half);
    narrow(wide.wrapping_shr(shift))
}

/// `(numerator << shift) / denominator` for `shift` up to 32; truncated towards zero, saturated.
///
/// A zero denominator gives the end of the range that the numerator points to (zero stays zero): an
/// unknown divisor must never look like a small result.
#[must_use]
#[inline]
pub fn quotient(numerator: i32, denominator: i32, shift: u32) -> i32 {
    let wide = u64::from(numerator.unsigned_abs()).wrapping_shl(shift);
    let magnitude = divide_wide(wide, denominator.unsigned_abs());
    // 0 or -1. A number is made negative by flipping its bits and taking -1 off, and may be one larger.
    let sign = (numerator ^ denominator).wrapping_shr(31);
    let most = i32::MAX.wrapping_sub(sign).cast_unsigned();
    (magnitude.min(most).cast_signed() ^ sign).wrapping_sub(sign)
}

/// A 64-bit number by a 32-bit one, the result saturated to 32 bits, with 32-bit divisions only.
///
/// Division by zero gives `u32::MAX`, except that zero by zero is zero.
///
/// Source: Knuth, The Art of Computer Programming, volume 2, 3rd edition 1997, section 4.3.1,
/// Algorithm D, for two digits of 16 bits.
#[must_use]
pub fn divide_wide(numerator: u64, denominator: u32) -> u32 {
    let (high, low) = (high_half(numerator), low_half(numerator));
    if high >= denominator {
        return if numerator == 0 { 0 } else { u32::MAX };
    }
    // Here the denominator is above the numerator's upper half: not zero, and the result fits.
    if high == 0 {
        return low.checked_div(denominator).unwrap_or(u32::MAX);
    }
    let lift = denominator.leading_zeros();
    let divisor = denominator.wrapping_shl(lift);
    // Shifted by 32 less the lift, in two steps because the lift may be none.
    let carried = low.wrapping_shr(1).wrapping_shr(lift ^ 31);
    let low = low.wrapping_shl(lift);
    let (upper, rest) = digit(high.wrapping_shl(lift) | carried, low.wrapping_shr(16), divisor);
    let (lower, _) = digit(rest, low & 0xFFFF, divisor);
    upper.wrapping_shl(16).wrapping_add(lower)
}

/// One 16-bit digit of the long division `(top:next) / divisor`, and the remainder.
///
/// `divisor` has its top bit set and exceeds `top`.
#[inline]
fn digit(top: u32, next: u32, divisor: u32) -> (u32, u32) {
    let (upper, lower) = (divisor.wrapping_shr(16), divisor & 0xFFFF);
    let mut guess = top.checked_div(upper).unwrap_or(u32::MAX);
    let mut rest = top.wrapping_sub(guess.wrapping_mul(upper));
    // The guess is at most 65,537, so that its product with 16 bits fits into 32. It is never too small,
    // and Algorithm D proves that two corrections are enough; a rest of more than 16 bits shows that
    // the first one was.
    for _ in 0..2 {
        if rest > 0xFFFF || guess.wrapping_mul(lower) <= rest.wrapping_shl(16) | next {
            break;
        }
        guess = guess.wrapping_sub(1);
        rest = rest.wrapping_add(upper);
    }
    (guess, (rest.wrapping_shl(16) | next).wrapping_sub(guess.wrapping_mul(lower)))
}

/// Square root of a number shifted left by `places` (even, up to 32), rounded down: half of its digits
/// from the number alone, the other half by one division, and one correction.
///
/// Source: P. Zimmermann, Karatsuba Square Root, INRIA research report 3805, 1999, for a number of
/// four digits of 16 bits of which the lower two are none.
#[must_use]
pub fn root(number: u32, places: u32) -> u32 {
    if number == 0 {
        return 0;
    }
    // Lifted by an even number of places, so that one of the two upper bits is set.
    let lift = number.leading_zeros() & 30;
    let lifted = number.wrapping_shl(lift);
    let upper = root_of_half(lifted);
    let rest = lifted.wrapping_sub(upper.wrapping_mul(upper));
    // Both halved: the rest is at most twice the root, so that it has 17 bits.
    let lower = rest.wrapping_shl(15).checked_div(upper).unwrap_or(0);
    let guess = upper.wrapping_shl(16) | lower.min(0xFFFF);
    let square = u64::from(guess).wrapping_mul(u64::from(guess));
    let too_large = square > u64::from(lifted).wrapping_shl(32);
    let lifted_by = lift.wrapping_add(32).wrapping_sub(places);
    guess.wrapping_sub(u32::from(too_large)).wrapping_shr(lifted_by.wrapping_shr(1))
}

/// Square root of a number of 32 bits whose two upper bits are not both clear, rounded down.
///
/// A line is within 6.3 % of the root there; two steps of Newton's method bring it within 0.2 above the
/// root, and the last correction takes that away.
fn root_of_half(high: u32) -> u32 {
    let mut root = high.wrapping_shr(17).wrapping_add(high.wrapping_shr(19)).wrapping_add(0x6000);
    for _ in 0..2 {
        root = root.wrapping_add(high.checked_div(root).unwrap_or(0)).wrapping_shr(1);
    }
    // 65,536 squared does not fit into 32 bits.
    let root = root.min(0xFFFF);
    root.wrapping_sub(u32::from(root.wrapping_mul(root) > high))
}
