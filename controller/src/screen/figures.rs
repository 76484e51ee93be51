//! Quantities in the units of the person who drives, as short text.

use crate::units::arith::product;
use crate::units::{LineRate, Mass, Speed};
use heapless::String;

/// Longest figure: sign or `>`, six digits, comma or point.
pub(super) type Figure = String<10>;

/// Hay on the ground in tenths of a pound per foot, rounded to nearest.
#[must_use]
pub fn line_rate_tenths_lb_ft(rate: LineRate) -> i32 {
    // 10 x 0.3048 / 0.453_592_37 x 2^16.
    product(rate.to_bits(), 440_382, LineRate::FRACTION.saturating_add(16))
}

/// Speed in tenths of a mile an hour, rounded to nearest.
#[must_use]
pub fn speed_tenths_mph(speed: Speed) -> i32 {
    // 10 x 3600 / 1609.344 x 2^16.
    product(speed.to_bits(), 1_465_999, Speed::FRACTION.saturating_add(16))
}

/// Mass in pounds, rounded to nearest.
#[must_use]
pub fn mass_lb(mass: Mass) -> i32 {
    // 2^16 / 0.453_592_37.
    product(mass.to_bits(), 144_482, Mass::FRACTION.saturating_add(16))
}

/// Tenths as `-12.3`; above 99.9 as `>99.9`, below -99.9 as `-99.9`.
pub(super) fn tenths(tenths: i32) -> Figure {
    let mut figure = Figure::new();
    match tenths {
        ..0 => put(&mut figure, '-'),
        1_000.. => put(&mut figure, '>'),
        _ => {}
    }
    let size = tenths.unsigned_abs().min(999);
    let tens = size.checked_div(100).unwrap_or(0);
    if tens > 0 {
        put(&mut figure, digit(tens));
    }
    put(&mut figure, digit(size.checked_div(10).unwrap_or(0)));
    put(&mut figure, '.');
    put(&mut figure, digit(size));
    figure
}

/// A whole number of pounds, thousands set off; below 0 as 0, above 9,999 as `>9,999`.
pub(super) fn pounds(pounds: i32) -> Figure {
    let mut figure = Figure::new();
    let size = pounds.max(0).unsigned_abs();
    if size > 9_999 {
        put(&mut figure, '>');
    }
    let size = size.min(9_999);
    for place in [1_000, 100, 10, 1] {
        if size >= place || place == 1 {
            put(&mut figure, digit(size.checked_div(place).unwrap_or(0)));
        }
        if place == 1_000 && size >= place {
            put(&mut figure, ',');
        }
    }
    figure
}

/// The last digit of a number.
fn digit(number: u32) -> char {
    char::from_digit(number.checked_rem(10).unwrap_or(0), 10).unwrap_or('0')
}

/// Figures are bounded above to what fits; a sign more would only be left out.
fn put(figure: &mut Figure, sign: char) {
    let _ = figure.push(sign);
}

#[cfg(test)]
mod tests {
    use super::{pounds, tenths};

    #[test]
    fn figures_read_as_people_write_them() {
        for (number, text) in
            [(0, "0.0"), (7, "0.7"), (49, "4.9"), (-123, "-12.3"), (999, "99.9"), (1_000, ">99.9")]
        {
            assert_eq!(tenths(number), text);
        }
        for (number, text) in
            [(-5, "0"), (9, "9"), (105, "105"), (1_005, "1,005"), (10_000, ">9,999")]
        {
            assert_eq!(pounds(number), text);
        }
        assert_eq!(tenths(i32::MIN), "-99.9");
        assert_eq!(pounds(i32::MAX), ">9,999");
    }
}
