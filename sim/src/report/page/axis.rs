//! A scale with ticks at numbers that people read easily.

use crate::report::words;

/// A linear scale from `low` to `high`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
    step: f64,
    decimals: usize,
}

impl Axis {
    /// From `low` to `high` exactly, with about `ticks` ticks. A range that is none becomes 0 to 1.
    pub(super) fn exact(low: f64, high: f64, ticks: usize) -> Self {
        let is_range = low.is_finite() && high.is_finite() && high > low;
        let (low, high) = if is_range { (low, high) } else { (0.0, 1.0) };
        let (step, decimals) = nice_step((high - low) / ticks as f64);
        Self { low, high, step, decimals }
    }

    /// From 0, or from below it if `low` is, to the next tick above `high`.
    pub(super) fn rounded(low: f64, high: f64, ticks: usize) -> Self {
        let axis = Self::exact(low.min(0.0), high, ticks);
        let outward = |value: f64| (value / axis.step - 1e-9).ceil() * axis.step;
        Self { low: -outward(-axis.low), high: outward(axis.high), ..axis }
    }

    /// The same stretch in another unit, with ticks of its own.
    pub(super) fn in_unit(self, per_unit: f64, ticks: usize) -> Self {
        Self::exact(self.low * per_unit, self.high * per_unit, ticks)
    }

    /// The ticks and their labels.
    pub(super) fn ticks(self) -> impl Iterator<Item = (f64, String)> {
        let first = (self.low / self.step - 1e-6).ceil() as i64;
        let last = (self.high / self.step + 1e-6).floor() as i64;
        (first..=last).map(move |count| {
            let value = count as f64 * self.step;
            (value, words::number(value, self.decimals))
        })
    }

    /// Where a value lies, 0 at `low` and 1 at `high`.
    pub(super) fn share(self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }
}

/// The next of 1, 2, 5 times a power of ten that is not below `raw`, and the decimals it needs.
fn nice_step(raw: f64) -> (f64, usize) {
    let exponent = libm::floor(libm::log10(raw) + 1e-9);
    let power = libm::pow(10.0, exponent);
    let times = [1.0, 2.0, 5.0].into_iter().find(|times| raw <= times * power * (1.0 + 1e-9));
    let decimals = (-exponent).max(0.0) as usize;
    times.map_or((10.0 * power, decimals.saturating_sub(1)), |times| (times * power, decimals))
}

#[cfg(test)]
mod tests {
    use super::Axis;
    use proptest::prelude::*;

    #[test]
    fn ticks_are_numbers_that_people_read() {
        let labels = |axis: Axis| axis.ticks().map(|(_, label)| label).collect::<Vec<_>>();
        assert_eq!(labels(Axis::rounded(0.0, 9.3, 5)), ["0", "2", "4", "6", "8", "10"]);
        assert_eq!(labels(Axis::rounded(0.0, 0.47, 5)), ["0.0", "0.1", "0.2", "0.3", "0.4", "0.5"]);
        assert_eq!(labels(Axis::exact(130.0, 1490.0, 5)), ["500", "1,000"]);
        assert_eq!(labels(Axis::rounded(-3.0, 7.0, 5)), ["-4", "-2", "0", "2", "4", "6", "8"]);
        assert_eq!(labels(Axis::exact(f64::NAN, 1.0, 5)).len(), 6);
    }

    proptest! {
        #[test]
        fn ticks_lie_on_the_axis_and_are_neither_none_nor_many(
            low in -1e5..1e5f64, length in 1e-2..1e6f64, ticks in 3usize..12,
        ) {
            let axis = Axis::exact(low, low + length, ticks);
            let count = axis.ticks().count();
            prop_assert!(count >= 1 && count <= ticks + 1, "{count} ticks");
            for (value, _) in axis.ticks() {
                prop_assert!((-1e-5..=1.0 + 1e-5).contains(&axis.share(value)));
            }
        }
    }
}
