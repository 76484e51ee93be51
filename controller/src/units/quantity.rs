//! The quantities: one type a dimension, each a fixed-point number in an SI unit.
//!
//! There are no operators. What may be added, scaled or compared has a method here; what may be
//! multiplied or divided across dimensions stands in [`super::relations`].

use super::arith::{halved, high_half, narrow, product, quotient, root, shift_round};
use fixed::types::{I8F24, I12F20, I13F19, I16F16};
use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident: $storage:ty) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Debug, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(i32);

        impl $name {
            /// Fraction bits of the fixed-point number.
            pub const FRACTION: u32 = <$storage>::FRAC_NBITS;
            /// Nothing of it.
            pub const ZERO: Self = Self(0);
            /// One whole unit.
            pub const ONE: Self = Self(<$storage>::ONE.to_bits());
            /// The end of the range.
            pub const MAX: Self = Self(i32::MAX);

            /// From the raw fixed-point number.
            #[must_use]
            pub const fn from_bits(bits: i32) -> Self {
                Self(bits)
            }

            /// The raw fixed-point number.
            #[must_use]
            pub const fn to_bits(self) -> i32 {
                self.0
            }

            /// From thousandths of the unit; within 0.55 of the last place, saturated.
            #[must_use]
            pub fn from_milli(milli: i32) -> Self {
                // 2^42 / 1000, rounded: a multiplication where a division would be slow.
                let wide = i64::from(milli).saturating_mul(4_398_046_511);
                Self(narrow(shift_round(wide, 42u32.saturating_sub(Self::FRACTION))))
            }

            /// From millionths of the unit; rounded to nearest, saturated.
            #[must_use]
            pub fn from_micro(micro: i32) -> Self {
                // 2^50 / 10^6, rounded.
                let wide = i64::from(micro).saturating_mul(1_125_899_907);
                Self(narrow(shift_round(wide, 50u32.saturating_sub(Self::FRACTION))))
            }

            /// From whole units, saturated.
            #[must_use]
            pub fn from_whole(whole: i32) -> Self {
                Self(narrow(i64::from(whole).wrapping_shl(Self::FRACTION)))
            }

            /// In thousandths of the unit, rounded to nearest.
            #[must_use]
            pub fn to_milli(self) -> i32 {
                product(self.0, 1000, Self::FRACTION)
            }

            /// Sum, saturated.
            #[must_use]
            pub const fn saturating_add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }

            /// Difference, saturated.
            #[must_use]
            pub const fn saturating_sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }

            /// The same size with the other sign; the lowest value saturates.
            #[must_use]
            pub const fn negated(self) -> Self {
                Self(self.0.saturating_neg())
            }

            /// Size without sign; the lowest value saturates.
            #[must_use]
            pub const fn magnitude(self) -> Self {
                Self(self.0.saturating_abs())
            }

            /// Multiplied by a plain number; rounded to nearest, saturated.
            #[must_use]
            pub fn scaled(self, by: Ratio) -> Self {
                Self(product(self.0, by.0, Ratio::FRACTION))
            }

            /// As a share of another of its kind; see [`super::arith::quotient`] for zero.
            #[must_use]
            pub fn share_of(self, whole: Self) -> Ratio {
                Ratio(quotient(self.0, whole.0, Ratio::FRACTION))
            }

            /// Halved `times` times (0 to 31), rounded to nearest.
            #[must_use]
            pub fn halved(self, times: u32) -> Self {
                Self(halved(self.0, times))
            }

            /// Not outside `low..=high`; `high` wins should they cross.
            #[must_use]
            pub fn held_within(self, low: Self, high: Self) -> Self {
                self.max(low).min(high)
            }
        }
    };
}

quantity!(
    /// A plain number. Resolution 1.5e-5, range +/-32,768.
    Ratio: I16F16
);
quantity!(
    /// A stretch of time in s, for products. Resolution 60 ns, range +/-128 s. See
    /// [`super::Instant`] and [`super::Span`] for clock readings.
    Seconds: I8F24
);
quantity!(
    /// A length along the row or a radius, in m. Resolution 1.9 um, range +/-4,096 m.
    Length: I13F19
);
quantity!(
    /// Ground speed in m/s. Resolution 15 um/s, range +/-32,768 m/s.
    Speed: I16F16
);
quantity!(
    /// Change of ground speed in m/s2. Resolution 15 um/s2.
    Acceleration: I16F16
);
quantity!(
    /// Hay as fed, in kg. Resolution 1.9 mg, range +/-4,096 kg: two of the heaviest bales.
    Mass: I13F19
);
quantity!(
    /// Hay a second, in kg/s. Resolution 15 mg/s.
    MassFlow: I16F16
);
quantity!(
    /// Hay on the ground per length of row, in kg/m. Resolution 15 mg/m.
    LineRate: I16F16
);
quantity!(
    /// Turns of a roller. Resolution 1.9e-6, range +/-4,096.
    Turns: I13F19
);
quantity!(
    /// Roller speed in turns a second. Resolution 1.5e-5.
    TurnRate: I16F16
);
quantity!(
    /// The bite: hay that leaves the bale per roller turn, in kg. Resolution 1.5e-5 kg.
    Bite: I16F16
);
quantity!(
    /// Oil pressure in kPa. Resolution 0.015 kPa, range +/-32,768 kPa.
    Pressure: I16F16
);
quantity!(
    /// Valve command as a share of its full stroke, -1 to 1. Resolution 6e-8.
    Duty: I8F24
);
quantity!(
    /// How often, in 1/s: the inverse of a time constant. Resolution 1.5e-5 /s.
    Frequency: I16F16
);
quantity!(
    /// Valve command per roller speed, as a share of full stroke per turn/s. Resolution 6e-8.
    ValveGain: I8F24
);
quantity!(
    /// Pressure per mass, in kPa per kg. Resolution 1.5e-5.
    PressurePerMass: I16F16
);
quantity!(
    /// Variance of a mass, in kg2. Range to 32,768 kg2: a deviation of 181 kg.
    MassVariance: I16F16
);
quantity!(
    /// Covariance of a mass and a plain factor, in kg. Range +/-2,048 kg.
    MassFactorCovariance: I12F20
);
quantity!(
    /// Variance of a plain factor. Range to 128, resolution 6e-8: a deviation of 0.02 %.
    FactorVariance: I8F24
);
quantity!(
    /// Gain from a mass to a plain factor, in 1/kg. Range +/-128, resolution 6e-8.
    PerMass: I8F24
);

impl Ratio {
    /// Square root, rounded down; zero for anything not above zero.
    #[must_use]
    pub fn square_root(self) -> Self {
        Self(root(self.0.max(0).unsigned_abs(), Self::FRACTION).cast_signed())
    }

    /// One less this, for shares.
    #[must_use]
    pub const fn complement(self) -> Self {
        Self::ONE.saturating_sub(self)
    }
}

impl Seconds {
    /// From microseconds, rounded to nearest; above 127 s saturated.
    #[must_use]
    pub fn from_micros(micros: u32) -> Self {
        // 2^24 / 10^6 = 16.777216 = 16 + 3_338_117_302 / 2^32, the half added for rounding.
        let micros = micros.min(128_000_000);
        let part = u64::from(micros).wrapping_mul(3_338_117_302).wrapping_add(1 << 31);
        let bits = micros.wrapping_mul(16).wrapping_add(high_half(part));
        Self(i32::try_from(bits).unwrap_or(i32::MAX))
    }
}
