//! Integer arithmetic under the quantities: widening, rounding and saturating, all by name.
//!
//! Everything here is bounded and total. Division works on 16-bit digits so that a 32-bit processor
//! never calls a 64-bit division routine inside a tick.

/// Narrows to 32 bits; a value outside the range becomes the nearest end of it.
#[must_use]
pub fn narrow(wide: i64) -> i32 {
    i32::try_from(wide).unwrap_or(if wide < 0 { i32::MIN } else { i32::MAX })
}

/// The low 32 bits.
pub(super) fn low_half(wide: u64) -> u32 {
    u32::try_from(wide & 0xFFFF_FFFF).unwrap_or(u32::MAX)
}

/// Shifts right by `bits` (0 to 62), rounding to nearest with halves towards plus infinity.
#[must_use]
pub fn shift_round(wide: i64, bits: u32) -> i64 {
    if bits == 0 {
        return wide;
    }
    // The first bit that falls away says whether the rest is half or more.
    let half = wide.wrapping_shr(bits.wrapping_sub(1)) & 1;
    wide.wrapping_shr(bits).wrapping_add(half)
}

/// Product of two fixed-point numbers whose fraction bits together exceed those of the result by
/// `shift`; rounded to nearest, saturated.
#[must_use]
pub fn product(a: i32, b: i32, shift: u32) -> i32 {
    narrow(shift_round(i64::from(a).wrapping_mul(i64::from(b)), shift))
}

/// `(numerator << shift) / denominator` for `shift` up to 32; truncated towards zero, saturated.
///
/// A zero denominator gives the end of the range that the numerator points to (zero stays zero): an
/// unknown divisor must never look like a small result.
#[must_use]
pub fn quotient(numerator: i32, denominator: i32, shift: u32) -> i32 {
    let wide = u64::from(numerator.unsigned_abs()).wrapping_shl(shift);
    let magnitude = i64::from(divide_wide(wide, denominator.unsigned_abs()));
    let negative = (numerator < 0) != (denominator < 0);
    narrow(if negative { magnitude.wrapping_neg() } else { magnitude })
}

/// A 64-bit number by a 32-bit one, the result saturated to 32 bits, with 32-bit divisions only.
///
/// Division by zero gives `u32::MAX`, except that zero by zero is zero.
///
/// Source: Knuth, The Art of Computer Programming, volume 2, 3rd edition 1997, section 4.3.1,
/// Algorithm D, for two digits of 16 bits.
#[must_use]
pub fn divide_wide(numerator: u64, denominator: u32) -> u32 {
    if low_half(numerator.wrapping_shr(32)) >= denominator {
        return if numerator == 0 { 0 } else { u32::MAX };
    }
    // Here the denominator is above the numerator's upper half: not zero, and the result fits.
    let lift = denominator.leading_zeros();
    let divisor = denominator.wrapping_shl(lift);
    let shifted = numerator.wrapping_shl(lift);
    let low = low_half(shifted);
    let (upper, rest) = digit(low_half(shifted.wrapping_shr(32)), low.wrapping_shr(16), divisor);
    let (lower, _) = digit(rest, low & 0xFFFF, divisor);
    upper.wrapping_shl(16).wrapping_add(lower)
}

/// One 16-bit digit of the long division `(top:next) / divisor`, and the remainder.
///
/// `divisor` has its top bit set and exceeds `top`.
fn digit(top: u32, next: u32, divisor: u32) -> (u32, u32) {
    let (divisor_1, divisor_0) = (divisor.wrapping_shr(16), divisor & 0xFFFF);
    let mut guess = top.checked_div(divisor_1).unwrap_or(u32::MAX);
    let mut rest = top.wrapping_sub(guess.wrapping_mul(divisor_1));
    // Algorithm D proves that two corrections are enough.
    for _ in 0..2 {
        let too_large = guess > 0xFFFF
            || guess.wrapping_mul(divisor_0) > rest.wrapping_shl(16).wrapping_add(next);
        if rest > 0xFFFF || !too_large {
            break;
        }
        guess = guess.wrapping_sub(1);
        rest = rest.wrapping_add(divisor_1);
    }
    let remainder =
        top.wrapping_shl(16).wrapping_add(next).wrapping_sub(guess.wrapping_mul(divisor));
    (guess, remainder)
}

/// Square root of a 64-bit number, rounded down: at most 32 rounds of shift and subtract, one for each
/// bit of the root, no division.
#[must_use]
pub fn root(number: u64) -> u32 {
    let mut rest = number;
    let mut result = 0u64;
    // The highest even place that the number reaches; none for zero, whose root is zero.
    let highest = 63u32.saturating_sub(number.leading_zeros()) & !1;
    let mut bit = if number == 0 { 0 } else { 1u64.wrapping_shl(highest) };
    while bit != 0 {
        let trial = result.wrapping_add(bit);
        result = result.wrapping_shr(1);
        if rest >= trial {
            rest = rest.wrapping_sub(trial);
            result = result.wrapping_add(bit);
        }
        bit = bit.wrapping_shr(2);
    }
    low_half(result)
}
