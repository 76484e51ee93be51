//! Sets of conditions, a bit each.

use super::conditions::{Condition, Row, TABLE};
use crate::units::arith::{high_half, join, low_half};
use serde::{Deserialize, Serialize};

/// A set of conditions, as those present in one tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Observed(u64);

impl Observed {
    /// No condition.
    pub(super) const NONE: Self = Self(0);

    /// Adds a condition if it is present.
    #[must_use]
    pub const fn with(self, condition: Condition, present: bool) -> Self {
        if present { Self(self.0 | bit(condition)) } else { self }
    }

    /// Whether a condition is present.
    #[must_use]
    pub fn has(self, condition: Condition) -> bool {
        self.0 & bit(condition) != 0
    }

    /// The conditions present here or there.
    #[must_use]
    pub(super) const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Does something for each condition present, mildest first, with its rank, its row and the set of it
    /// alone. Half by half, for a 32-bit processor has no shift of 64 bits.
    pub(super) fn for_each(self, mut work: impl FnMut(usize, &'static Row, Self)) {
        let known = self.0 & KNOWN;
        let halves = [(0, low_half(known)), (32, high_half(known))];
        for (first, mut left) in halves {
            while left != 0 {
                let alone = left & left.wrapping_neg();
                left ^= alone;
                let place = usize::try_from(alone.trailing_zeros()).unwrap_or(usize::MAX);
                let rank = place.saturating_add(first);
                let Some(row) = TABLE.get(rank) else { return };
                let alone = if first == 0 { join(alone, 0) } else { join(0, alone) };
                work(rank, row, Self(alone));
            }
        }
    }

    /// The conditions present both here and there.
    pub(super) const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// The conditions present here but not there.
    pub(super) const fn less(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// The row of the worst condition present.
    pub(super) fn worst(self) -> Option<&'static Row> {
        self.rows().next()
    }

    /// The rows of the conditions present, worst first.
    pub fn rows(self) -> impl Iterator<Item = &'static Row> {
        // Most ticks see one or two of them all.
        let mut left = self.0 & KNOWN;
        core::iter::from_fn(move || {
            let rank = left.checked_ilog2()?;
            left &= !1u64.wrapping_shl(rank);
            TABLE.get(usize::try_from(rank).ok()?)
        })
    }
}

/// The bits of all conditions up to the worst one; the others mean nothing.
const KNOWN: u64 = u64::MAX.wrapping_shr(63u32.wrapping_sub(Condition::MemoryBroken.rank()));

const fn bit(condition: Condition) -> u64 {
    1u64.wrapping_shl(condition.rank())
}

#[cfg(test)]
mod tests {
    use super::{KNOWN, Observed, TABLE};
    use crate::safety::{Response, When};

    #[test]
    fn a_set_has_a_bit_for_every_condition() {
        assert!(TABLE.len() <= 64, "a set of conditions holds 64");
        assert_eq!(usize::try_from(KNOWN.trailing_ones()), Ok(TABLE.len()));
        assert_eq!(KNOWN.count_ones(), KNOWN.trailing_ones());
    }

    #[test]
    fn the_sets_are_those_of_the_table() {
        for row in &TABLE {
            let alone = Observed::NONE.with(row.condition, true);
            let contains = |set: Observed| set.and(alone) == alone;
            let stops = row.response != Response::CarryOn;
            assert_eq!(contains(Observed::STOPPING), stops);
            assert_eq!(contains(Observed::ALWAYS), stops && row.when == When::Always);
            let isolates = row.response == Response::StopAndIsolate;
            assert_eq!(contains(Observed::ISOLATING), isolates);
            assert_eq!(contains(Observed::AT_ONCE), row.patience.is_none());
        }
    }

    #[test]
    fn the_rows_of_a_set_are_those_put_in_worst_first_and_bits_of_no_row_are_passed_over() {
        for every in 1..TABLE.len() {
            let wanted: std::vec::Vec<_> =
                TABLE.iter().step_by(every).map(|row| row.condition).collect();
            let set = wanted.iter().fold(Observed(!KNOWN), |set, one| set.with(*one, true));
            let mut found: std::vec::Vec<_> = set.rows().map(|row| row.condition).collect();
            found.reverse();
            assert_eq!(found, wanted);
        }
        assert_eq!(Observed(!KNOWN).rows().count(), 0);
    }
}
