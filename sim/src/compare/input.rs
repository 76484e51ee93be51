//! What an input is: a number between bounds with its source, in SI inside and in US units where people
//! read and write it.

use std::ops::RangeInclusive;

/// What is known of an input, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Lowest that is reasonable.
    pub low: f64,
    /// Likeliest.
    pub mode: f64,
    /// Highest that is reasonable.
    pub high: f64,
    /// Who says so, or that it is assumed.
    pub source: &'static str,
}

impl Estimate {
    /// The value below which a share (0 to 1) of a triangular distribution over the bounds lies.
    #[must_use]
    pub fn quantile(&self, share: f64) -> f64 {
        let (below, above) = (self.mode - self.low, self.high - self.mode);
        let width = below + above;
        if width <= 0.0 {
            self.mode
        } else if share * width < below {
            self.low + (share * width * below).sqrt()
        } else {
            self.high - ((1.0 - share) * width * above).sqrt()
        }
    }
}

/// How an input is called and written.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    /// Its key in a file, ending in its unit.
    pub name: &'static str,
    /// What one of the file's units is in SI.
    pub unit: f64,
    /// What is allowed, in the file's unit.
    pub allowed: RangeInclusive<f64>,
}

/// A record of inputs: the same fields with estimates, with numbers, or with anything else.
macro_rules! inputs {
    ($(#[$about:meta])* $record:ident { $($(#[$doc:meta])* $field:ident: $name:literal, $unit:expr, $allowed:expr;)* }) => {
        $(#[$about])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $record<T> { $($(#[$doc])* pub $field: T,)* }

        impl<T> $record<T> {
            /// The same record of what `change` makes of each input.
            ///
            /// # Errors
            /// The first that `change` gives.
            pub fn try_map<U, E>(
                &self,
                mut change: impl FnMut(Key, &T) -> Result<U, E>,
            ) -> Result<$record<U>, E> {
                Ok($record { $($field: change(
                    Key { name: $name, unit: $unit, allowed: $allowed },
                    &self.$field,
                )?,)* })
            }

            /// The same record of what `change` makes of each input.
            pub fn map<U>(&self, mut change: impl FnMut(Key, &T) -> U) -> $record<U> {
                $record { $($field: change(
                    Key { name: $name, unit: $unit, allowed: $allowed },
                    &self.$field,
                ),)* }
            }
        }
    };
}

use crate::compare::machinery::M3_PER_GALLON;
use crate::units::{KG_PER_LB, M_PER_FT, M_S_PER_MPH, W_PER_HP};

const PERCENT: f64 = 0.01;
const MINUTE: f64 = 60.0;
const HOUR: f64 = 3_600.0;
const USD_KG_PER_USD_TON: f64 = 1.0 / (2_000.0 * KG_PER_LB);
const FT2: f64 = M_PER_FT * M_PER_FT;

inputs! {
    /// What is the same for every way: herd, hay, money, tractor.
    Farm {
        /// Animals fed.
        head: "head", 1.0, 1.0..=100_000.0;
        /// Dry matter that one eats a day, kg.
        eaten_kg: "eaten_dry_lb_per_head_day", KG_PER_LB, 2.0..=60.0;
        /// Dry matter as a share of the hay as fed.
        dry_matter: "dry_matter_percent", PERCENT, 30.0..=95.0;
        /// Days of feeding in a year.
        days: "feeding_days", 1.0, 1.0..=365.0;
        /// Mass of a bale as fed, kg.
        bale_kg: "bale_weight_lb", KG_PER_LB, 200.0..=4_000.0;
        /// Price of hay, USD/kg.
        hay_usd_kg: "hay_usd_per_ton", USD_KG_PER_USD_TON, 1.0..=1_000.0;
        /// Hay lost in store as a share of what was put up.
        stored_loss: "storage_loss_percent", PERCENT, 0.0..=80.0;
        /// Interest a year as a share.
        interest: "interest_percent", PERCENT, 0.1..=30.0;
        /// Taxes, insurance and housing a year as a share of a machine's mean value.
        taxes: "taxes_insurance_housing_percent", PERCENT, 0.0..=10.0;
        /// Wage, USD/s.
        wage_usd_s: "labor_usd_per_hour", 1.0 / HOUR, 0.0..=200.0;
        /// Labour over time on the tractor.
        labor_factor: "labor_hours_per_tractor_hour", 1.0, 1.0..=3.0;
        /// Price of diesel, USD/m3.
        diesel_usd_m3: "diesel_usd_per_gallon", 1.0 / M3_PER_GALLON, 0.0..=20.0;
        /// Power of the tractor at the shaft, W.
        tractor_w: "tractor_pto_hp", W_PER_HP, 15.0..=600.0;
        /// List price of the tractor, USD: for its repairs alone, as it is there anyway.
        tractor_usd: "tractor_list_usd", 1.0, 1_000.0..=1_000_000.0;
        /// Time over which the tractor's repairs are spread, s.
        tractor_s: "tractor_life_hours", HOUR, 1_000.0..=20_000.0;
        /// From the gate to where hay is fed, m.
        way_in_m: "gate_to_feeding_ft", M_PER_FT, 0.0..=20_000.0;
        /// Speed on the way in and out, m/s.
        travel_m_s: "travel_mph", M_S_PER_MPH, 1.0..=25.0;
        /// Time to fetch and load a bale outside the pasture, s.
        yard_s: "yard_min_per_bale", MINUTE, 0.0..=60.0;
        /// Nitrogen in hay as a share of its mass as fed.
        nitrogen: "nitrogen_lb_per_ton", 1.0 / 2_000.0, 1.0..=150.0;
    }
}

inputs! {
    /// What is particular to one way of feeding.
    Way {
        /// Hay lost as a share of what is fed.
        loss: "loss_percent", PERCENT, 0.0..=80.0;
        /// Price of one feeder or machine, USD.
        price_usd: "price_usd", 1.0, 0.0..=1_000_000.0;
        /// Price of what grows with the herd, USD a head.
        head_usd: "price_usd_per_head", 1.0, 0.0..=10_000.0;
        /// Animals that one of them serves.
        served: "head_per_unit", 1.0, 1.0..=100_000.0;
        /// Years that it lasts.
        years: "life_years", 1.0, 1.0..=50.0;
        /// What it then is worth as a share of its price.
        salvage: "salvage_percent", PERCENT, 0.0..=90.0;
        /// Repairs a year as a share of its price.
        repair: "repair_percent_per_year", PERCENT, 0.0..=50.0;
        /// Bales taken into the pasture at once.
        carried: "bales_per_trip", 1.0, 1.0..=50.0;
        /// Time in the pasture for a bale, beyond driving in and out and along the row, s.
        handling_s: "handling_min_per_bale", MINUTE, 0.0..=120.0;
        /// Row made of a bale, m; zero where none is made.
        row_m: "row_ft_per_bale", M_PER_FT, 0.0..=5_000.0;
        /// Speed along the row, m/s.
        row_m_s: "row_mph", M_S_PER_MPH, 0.5..=10.0;
        /// Ground that cattle stand on around one feeding place, m2.
        place_m2: "ground_ft2_per_place", FT2, 10.0..=1_000_000.0;
        /// Bales fed at one place before it is left.
        place_bales: "bales_per_place", 1.0, 0.1..=10_000.0;
    }
}
