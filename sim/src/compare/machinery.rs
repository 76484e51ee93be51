//! Formulas of machinery cost: exact arithmetic and the published rates that go into it.

use crate::units::{M3_S_PER_GPM, W_PER_HP};

/// Cubic metres in a US gallon.
pub const M3_PER_GALLON: f64 = M3_S_PER_GPM * 60.0;

/// Yearly cost, USD, of owning what was bought for `price_usd` and is worth `salvage_usd` after `years`,
/// at an interest a year given as a positive share.
#[must_use]
pub fn capital_recovery_usd(price_usd: f64, salvage_usd: f64, years: f64, interest: f64) -> f64 {
    let growth = libm::pow(1.0 + interest, years);
    (price_usd - salvage_usd) * interest * growth / (growth - 1.0) + salvage_usd * interest
}

/// Taxes, insurance and housing a year, USD: a share of the mean of price and salvage value.
///
/// Source: Edwards, Estimating Farm Machinery Costs, Iowa State University AgDM A3-29: one per cent.
#[must_use]
pub fn taxes_insurance_housing_usd(price_usd: f64, salvage_usd: f64, share: f64) -> f64 {
    share * (price_usd + salvage_usd) / 2.0
}

/// Diesel that a tractor burns on average, m3/s, from its power at the shaft, W.
///
/// Source: Machinery cost equations, after ASAE Standards 2000: 0.73 times 0.06 gal/h for each hp.
#[must_use]
pub fn fuel_m3_s(power_w: f64) -> f64 {
    0.73 * 0.06 * M3_PER_GALLON / 3_600.0 * power_w / W_PER_HP
}

/// Cost of fuel and oil over that of fuel alone. Source: the same: oil is 15 % of fuel.
pub const WITH_OIL: f64 = 1.15;

/// How a kind of machine wears.
///
/// Source: ASAE D497 Agricultural Machinery Management Data, table 3; factors from memory.
#[derive(Clone, Copy, Debug)]
pub struct Wear {
    factor: f64,
    exponent: f64,
}

/// A two-wheel-drive tractor.
pub const TRACTOR: Wear = Wear { factor: 0.007, exponent: 2.0 };
/// A large round baler.
pub const LARGE_ROUND_BALER: Wear = Wear { factor: 0.43, exponent: 1.8 };

impl Wear {
    /// All repairs up to an age, s, as a share of the list price.
    #[must_use]
    pub fn used_up(self, age_s: f64) -> f64 {
        self.factor * libm::pow(age_s / 3.6e6, self.exponent)
    }
}
