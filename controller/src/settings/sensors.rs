//! Calibration of the sensors that a machine may have. The typical values are those of common kinds, from
//! memory and common practice: transmitters with 10 to 90 % of the supply, an amplifier with 1 g a count.

use super::error::{SettingError, check};
use super::field::config;
use crate::units::arith::{product, quotient};
use crate::units::{Length, Pressure, Span};

/// Counts between the points of a line. A shorter stretch would make the slope coarse, and could take it
/// out of its range.
const LEAST_STRETCH: i32 = 256;

config! {
    /// A pulse sensor that measures the ground.
    GroundConfig in "ground." {
        /// Ground covered from edge to edge.
        pitch_um: 1_000..=2_000_000, 10_000;
        /// Shortest possible time between two edges.
        shortest_us: 50..=1_000_000, 500;
        /// Time without an edge after which the machine counts as standing.
        standing_ms: 100..=5_000, 500;
    }
}

config! {
    /// Weigh cells.
    WeighConfig in "weigh." {
        /// Counts with nothing on the machine.
        zero_counts: -8_388_607..=8_388_606, 0;
        /// Mass of one count.
        mg_per_count: 10..=20_000, 1_000;
        /// Lowest counts that sound cells can give.
        lowest_counts: -8_388_607..=8_388_605, -500_000;
        /// Highest counts that sound cells can give.
        highest_counts: -8_388_606..=8_388_606, 4_000_000;
        /// Longest time in which conversions may bring exactly the same counts.
        frozen_ms: 100..=10_000, 500;
        /// Age at which a conversion is stale.
        stale_ms: 20..=2_000, 100;
    }
}

/// An analog sensor on a straight line through two points; its values, and how they become raw numbers.
macro_rules! transmitter {
    ($(#[doc = $what:literal])+ $name:ident in $place:literal {
        $first:ident, $second:ident: $low:literal..=$high:literal, ($at_first:literal, $at_second:literal),
        $bits:expr
    }) => {
        config! {
            $(#[doc = $what])+
            $name in $place {
                /// Counts at the first point.
                first_counts: 0..=3_839, 410;
                /// Counts at the second point, at least 256 above the first.
                second_counts: 256..=4_095, 3_686;
                /// What is measured at the first point.
                $first: $low..=$high, $at_first;
                /// What is measured at the second point.
                $second: $low..=$high, $at_second;
                /// Lowest counts that a sound sensor and cable can give.
                lowest_counts: 1..=4_093, 205;
                /// Highest counts that a sound sensor and cable can give.
                highest_counts: 2..=4_094, 3_891;
            }
        }

        impl $name {
            pub(super) fn build(&self) -> Result<AnalogLine, SettingError> {
                self.checked()?;
                let counts = (self.first_counts, self.second_counts);
                let least = counts.0.saturating_add(LEAST_STRETCH);
                let second = least..=Self::HIGHEST.second_counts;
                check(concat!($place, "second_counts"), counts.1, second)?;
                let live = (self.lowest_counts, self.highest_counts);
                let highest = live.0.saturating_add(1)..=Self::HIGHEST.highest_counts;
                check(concat!($place, "highest_counts"), live.1, highest)?;
                let bits: fn(i32) -> i32 = $bits;
                Ok(AnalogLine::through(counts, (bits(self.$first), bits(self.$second)), live))
            }
        }
    };
}

transmitter! {
    /// Pressure across the roller motors.
    PressureConfig in "pressure." {
        first_kpa, second_kpa: 0..=32_000, (0, 25_000),
        |kpa| Pressure::from_milli(kpa.saturating_mul(1_000)).to_bits()
    }
}

transmitter! {
    /// A bale gauge.
    GaugeConfig in "gauge." {
        first_mm, second_mm: 0..=4_000, (0, 1_500), |mm| Length::from_milli(mm).to_bits()
    }
}

/// [`GroundConfig`] in machine numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(missing_docs, reason = "each field is that of the configuration, without its unit")]
pub struct GroundSettings {
    pub pitch: Length,
    pub shortest: Span,
    pub standing: Span,
}

/// [`WeighConfig`] in machine numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct WeighSettings {
    /// Counts with nothing on the machine.
    pub zero: i32,
    /// Raw mass of one count, shifted left by [`Self::SCALE_BITS`].
    pub scale: i32,
    /// Lowest and highest counts of sound cells.
    pub counts: (i32, i32),
    /// Longest time with exactly the same counts.
    pub frozen: Span,
    /// Age at which a conversion is stale.
    pub stale: Span,
}

impl WeighSettings {
    /// Fraction bits that the scale has beyond those of a mass.
    pub const SCALE_BITS: u32 = 16;
}

/// [`PressureConfig`] or [`GaugeConfig`] in machine numbers: a straight line from counts to a raw quantity.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AnalogLine {
    /// Counts at the first point.
    pub origin: i32,
    /// Raw quantity there.
    pub at_origin: i32,
    /// Raw quantity per count, shifted left by [`Self::SLOPE_BITS`].
    pub slope: i32,
    /// Lowest and highest counts of a sound sensor and cable.
    pub live: (i32, i32),
}

impl AnalogLine {
    /// Fraction bits that the slope has beyond those of the quantity.
    pub const SLOPE_BITS: u32 = 8;

    /// Through raw quantities at counts.
    fn through(counts: (i32, i32), bits: (i32, i32), live: (i32, i32)) -> Self {
        let (rise, stretch) = (bits.1.saturating_sub(bits.0), counts.1.saturating_sub(counts.0));
        let slope = quotient(rise, stretch, Self::SLOPE_BITS);
        Self { origin: counts.0, at_origin: bits.0, slope, live }
    }
}

impl GroundConfig {
    pub(super) fn build(&self) -> Result<GroundSettings, SettingError> {
        self.checked()?;
        Ok(GroundSettings {
            // 2^19 / 10^6 = 562,949,953 / 2^30.
            pitch: Length::from_bits(product(self.pitch_um, 562_949_953, 30)),
            shortest: Span::from_micros(self.shortest_us.unsigned_abs()),
            standing: Span::from_millis(self.standing_ms.unsigned_abs()),
        })
    }
}

impl WeighConfig {
    pub(super) fn build(&self) -> Result<WeighSettings, SettingError> {
        self.checked()?;
        let counts = (self.lowest_counts, self.highest_counts);
        let above = counts.0.saturating_add(1)..=Self::HIGHEST.highest_counts;
        check("weigh.highest_counts", counts.1, above)?;
        Ok(WeighSettings {
            zero: self.zero_counts,
            // 2^19 / 10^6 bits a milligram, with SCALE_BITS more: 140,737,488 / 2^12.
            scale: product(self.mg_per_count, 140_737_488, 12),
            counts,
            frozen: Span::from_millis(self.frozen_ms.unsigned_abs()),
            stale: Span::from_millis(self.stale_ms.unsigned_abs()),
        })
    }
}
