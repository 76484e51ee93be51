//! One way of feeding for one set of numbers: what it takes and costs in a year.

use super::input::{Farm, Way};
use super::machinery::{
    TRACTOR, WITH_OIL, capital_recovery_usd, fuel_m3_s, taxes_insurance_housing_usd,
};
use crate::loss::{before_loss, compound_loss};

/// Names of the parts of the yearly cost, in the order of [`Outcome::parts_usd`].
pub const PARTS: [&str; 6] = [
    "capital recovery",
    "taxes, insurance, housing",
    "repair",
    "fuel and oil",
    "labor",
    "hay lost",
];

/// A year of one way of feeding.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Hay fed, kg as fed.
    pub fed_kg: f64,
    /// Of it lost at feeding, kg.
    pub lost_kg: f64,
    /// Share of what was put up that is lost, in store and at feeding.
    pub lost: f64,
    /// Bales fed.
    pub bales: f64,
    /// Time from entering the pasture to leaving it, for a bale, s.
    pub pasture_s: f64,
    /// Time on the tractor in a day of feeding, with loading, s.
    pub day_s: f64,
    /// Ground around the feeding places of a year, m2: trampled where they are few, spread over where hay lies in rows.
    pub ground_m2: f64,
    /// Nitrogen of all hay fed on that ground, kg/m2.
    pub nitrogen_kg_m2: f64,
    /// Yearly cost by parts, USD; [`PARTS`] names them.
    pub parts_usd: [f64; 6],
    /// Yearly cost for each head and day of feeding, USD.
    pub head_day_usd: f64,
}

impl Outcome {
    /// Yearly cost, USD, without the hay that is eaten: that is the same for all ways.
    #[must_use]
    pub fn total_usd(&self) -> f64 {
        self.parts_usd.iter().sum()
    }
}

/// What a way of feeding takes and costs. The tractor counts with fuel, oil and repairs: it is there
/// anyway.
#[must_use]
pub fn outcome(farm: &Farm<f64>, way: &Way<f64>) -> Outcome {
    let eaten_kg = farm.head * farm.eaten_kg * farm.days / farm.dry_matter;
    let fed_kg = before_loss(eaten_kg, way.loss);
    let bales = fed_kg / farm.bale_kg;
    let driving_s = 2.0 * farm.way_in_m / farm.travel_m_s / way.carried;
    let pasture_s = driving_s + way.handling_s + way.row_m / way.row_m_s;
    let tractor_s = bales * (pasture_s + farm.yard_s);
    let price_usd = way.price_usd * (farm.head / way.served).ceil() + way.head_usd * farm.head;
    let salvage_usd = price_usd * way.salvage;
    let tractor_repair_usd_s = farm.tractor_usd * TRACTOR.used_up(farm.tractor_s) / farm.tractor_s;
    let fuel_usd_s = fuel_m3_s(farm.tractor_w) * farm.diesel_usd_m3 * WITH_OIL;
    let ground_m2 = way.place_m2 * bales / way.place_bales;
    let parts_usd = [
        capital_recovery_usd(price_usd, salvage_usd, way.years, farm.interest),
        taxes_insurance_housing_usd(price_usd, salvage_usd, farm.taxes),
        price_usd * way.repair + tractor_s * tractor_repair_usd_s,
        tractor_s * fuel_usd_s,
        tractor_s * farm.labor_factor * farm.wage_usd_s,
        (before_loss(fed_kg, farm.stored_loss) - eaten_kg) * farm.hay_usd_kg,
    ];
    Outcome {
        fed_kg,
        lost_kg: fed_kg - eaten_kg,
        lost: compound_loss(farm.stored_loss, way.loss),
        bales,
        pasture_s,
        day_s: tractor_s / farm.days,
        ground_m2,
        nitrogen_kg_m2: fed_kg * farm.nitrogen / ground_m2,
        parts_usd,
        head_day_usd: parts_usd.iter().sum::<f64>() / (farm.head * farm.days),
    }
}

/// Largest herd that is tried.
pub const LARGEST_HERD: u32 = 2_000;

/// The smallest herd from which on, up to [`LARGEST_HERD`], `way` costs no more than `other`; `None` if
/// there is none.
#[must_use]
pub fn pays_from(farm: &Farm<f64>, way: &Way<f64>, other: &Way<f64>) -> Option<u32> {
    let pays = |head: &u32| {
        let farm = Farm { head: f64::from(*head), ..farm.clone() };
        outcome(&farm, way).total_usd() <= outcome(&farm, other).total_usd()
    };
    (1..=LARGEST_HERD).rev().take_while(pays).last()
}
