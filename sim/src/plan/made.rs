//! The plan of a feeding.

use super::farm::{Farm, Kind};
use super::fit::{Fit, fit, highest_rate_kg_m};
use super::ground::{Where, field_capacity_m2_s, nutrients_kg_m2, place};
use super::hitch::Load;
use super::ration::strip_for_space_m;
use super::stack::{Winter, winter};
use crate::loss::before_loss;
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT};
use crate::world::geometry::{as_fed_kg, dry_matter_kg};
use crate::world::spec::Hay;
use std::ops::RangeInclusive;

/// Time for a turn at the end of a pass, s. Assumed.
const TURN_S: f64 = 20.0;
/// Water in wrapped silage that a dry bale is compared with, as a share.
const WRAPPED_MOISTURE: f64 = 0.5;
/// Rates that a scenario takes, lb/ft.
const RATE_LB_FT: RangeInclusive<f64> = 0.5..=40.0;

/// A feeding as planned. SI units.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The farm it was made for.
    pub farm: Farm,
    /// Dry matter that the herd eats in a day, kg.
    pub eaten_kg_day: f64,
    /// Dry matter laid in a feeding, loss included, kg.
    pub dry_kg: f64,
    /// Hay as fed in a feeding, kg.
    pub fed_kg: f64,
    /// Bales of each lot in a feeding, with parts of bales; 0 where none is used.
    pub bales: Vec<f64>,
    /// Days of hay at hand for this herd; `None` if a lot is not counted.
    pub days_left: Option<f64>,
    /// Hay for the whole winter, and what must be put up for it.
    pub winter: Winter,
    /// Space along the row that all animals need, each for itself, m.
    pub space_strip_m: f64,
    /// Length that hay is laid on, m.
    pub strip_m: f64,
    /// Hay a metre, kg/m.
    pub rate_kg_m: f64,
    /// What each lot in use asks of the machine; `None` for those not used.
    pub fits: Vec<Option<Fit>>,
    /// Ground speed that is right for all lots in use, m/s.
    pub speed_m_s: f64,
    /// Trips into the pasture.
    pub trips: f64,
    /// Time of laying, s.
    pub laying_s: f64,
    /// Time in the pasture, from entering to leaving, all trips, s.
    pub pasture_s: f64,
    /// Ground supplied with hay over the time in the pasture, m2/s.
    pub area_m2_s: f64,
    /// Where hay goes.
    pub place: Where,
    /// Nitrogen, phosphate and potash on the strip, kg/m2.
    pub nutrients_kg_m2: [f64; 3],
    /// Loads on hitch and axles with no, one and two bales, dry and wrapped; empty without a hitch.
    pub loads: Vec<Load>,
}

/// Why no plan can be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// The counted bales do not last for a feeding.
    #[error(
        "the bales at hand hold {has:.0} lb of dry matter, a feeding takes {needs:.0}; more bales (`count`), fewer head \
         or fewer days a feeding are needed"
    )]
    TooFewBales {
        /// Dry matter at hand, lb.
        has: f64,
        /// Dry matter of a feeding, lb.
        needs: f64,
    },
    /// The rate is none that a controller takes.
    #[error(
        "{rate:.1} lb/ft on a strip of {strip:.0} ft; allowed is 0.5 to 40 lb/ft, so state another `strip_ft`"
    )]
    Rate {
        /// The rate, lb/ft.
        rate: f64,
        /// The strip, ft.
        strip: f64,
    },
}

/// Plans a feeding.
///
/// # Errors
/// Too few bales at hand for one feeding; a stated strip that makes a rate beyond any use.
pub fn make(farm: Farm) -> Result<Plan, PlanError> {
    let eaten_kg_day: f64 = farm
        .herd
        .iter()
        .map(|group| {
            group.head
                * group.body_kg
                * group.intake.unwrap_or_else(|| group.class.intake(farm.tdn))
        })
        .sum();
    let dry_kg = before_loss(eaten_kg_day * farm.days, farm.loss);
    let bales = bales(&farm, dry_kg)?;
    let fed_kg: f64 =
        bales.iter().zip(&farm.lots).map(|(count, lot)| count * lot.ticket.mass_kg).sum();
    let space_strip_m = space_strip_m(&farm);
    let strip_m = strip_m(&farm, &bales, fed_kg, space_strip_m);
    let rate_kg_m = fed_kg / strip_m;
    let rate = rate_kg_m / KG_M_PER_LB_FT;
    if !RATE_LB_FT.contains(&rate) {
        return Err(PlanError::Rate { rate, strip: strip_m / M_PER_FT });
    }
    let fits: Vec<Option<Fit>> = farm
        .lots
        .iter()
        .zip(&bales)
        .map(|(lot, count)| {
            (*count > 0.0).then(|| fit(&farm.machine, &lot.ticket, rate_kg_m, farm.speed_m_s))
        })
        .collect();
    let used = || fits.iter().flatten();
    let speed_m_s = used().map(|fit| fit.speed_m_s).fold(f64::MAX, f64::min);
    let whole: f64 = bales.iter().sum::<f64>().ceil();
    let trips = (whole / farm.carried as f64).ceil();
    let place = place(&farm.place, strip_m);
    let laying_s = strip_m / speed_m_s;
    let pauses_s = (whole - trips) * farm.between_bales_s + place.turns * TURN_S;
    let driving_s = trips * 2.0 * farm.way_in_m / farm.travel_m_s;
    let pasture_s = laying_s + pauses_s + driving_s;
    let area_m2_s = field_capacity_m2_s(speed_m_s, farm.place.spacing_m, laying_s / pasture_s);
    Ok(Plan {
        eaten_kg_day,
        dry_kg,
        fed_kg,
        days_left: days_left(&farm, dry_kg),
        winter: winter(
            farm.winter_days,
            farm.storage.as_ref(),
            (farm.days, fed_kg, bales.iter().sum()),
            farm.loss,
        ),
        space_strip_m,
        strip_m,
        rate_kg_m,
        speed_m_s,
        trips,
        laying_s,
        pasture_s,
        area_m2_s,
        place,
        nutrients_kg_m2: nutrients_kg_m2(rate_kg_m, farm.place.spacing_m),
        loads: loads(&farm, &bales),
        bales,
        fits,
        farm,
    })
}

/// Bales of each lot, used up in their order.
fn bales(farm: &Farm, dry_kg: f64) -> Result<Vec<f64>, PlanError> {
    let mut needed_kg = dry_kg;
    let taken: Vec<f64> = farm
        .lots
        .iter()
        .map(|lot| {
            let bale_kg = dry_matter_kg(lot.ticket.mass_kg, lot.ticket.moisture);
            let count = (needed_kg / bale_kg).min(lot.count.unwrap_or(f64::MAX));
            needed_kg -= count * bale_kg;
            // What rounding leaves is no part of a bale.
            if needed_kg < 1e-9 * dry_kg {
                needed_kg = 0.0;
            }
            count
        })
        .collect();
    if needed_kg > 0.0 {
        let (has, needs) = ((dry_kg - needed_kg) / KG_PER_LB, dry_kg / KG_PER_LB);
        return Err(PlanError::TooFewBales { has, needs });
    }
    Ok(taken)
}

fn days_left(farm: &Farm, dry_kg: f64) -> Option<f64> {
    let lots = farm.lots.iter();
    let at_hand =
        lots.map(|lot| Some(lot.count? * dry_matter_kg(lot.ticket.mass_kg, lot.ticket.moisture)));
    let dry: Option<Vec<f64>> = at_hand.collect();
    Some(dry?.iter().sum::<f64>() / dry_kg * farm.days)
}

/// Length on which every animal has its space.
fn space_strip_m(farm: &Farm) -> f64 {
    let needs = farm.herd.iter().map(|group| {
        let usual_m = group.class.space_in(group.body_kg / KG_PER_LB).1 * M_PER_FT / 12.0;
        strip_for_space_m(group.head, farm.place.space_m.unwrap_or(usual_m), farm.place.sides)
    });
    needs.sum()
}

/// Length to lay on: as stated; the whole bunk; else what animals need, or longer if the rollers cannot
/// lay so much on so little.
fn strip_m(farm: &Farm, bales: &[f64], fed_kg: f64, space_strip_m: f64) -> f64 {
    match (farm.place.strip_m, farm.place.kind) {
        (Some(strip_m), _) => strip_m,
        (None, Kind::Bunk) => farm.place.row_m,
        (None, Kind::Pasture) => {
            let used = farm.lots.iter().zip(bales).filter(|(_, count)| **count > 0.0);
            let highest = used
                .map(|(lot, _)| highest_rate_kg_m(&farm.machine, &lot.ticket, farm.speed_m_s))
                .fold(f64::MAX, f64::min);
            space_strip_m.max(fed_kg / highest)
        }
    }
}

/// With the heaviest bale in use, and with wrapped silage of its dry matter.
fn loads(farm: &Farm, bales: &[f64]) -> Vec<Load> {
    let Some(hitch) = &farm.hitch else { return Vec::new() };
    let used = farm.lots.iter().zip(bales).filter(|(_, count)| **count > 0.0);
    let heaviest =
        used.map(|(lot, _)| &lot.ticket).max_by(|one, other| one.mass_kg.total_cmp(&other.mass_kg));
    let Some(ticket) = heaviest else { return Vec::new() };
    let dry_kg = dry_matter_kg(ticket.mass_kg, ticket.moisture);
    let counts = 1..=hitch.bales_m.len();
    let mut loads = vec![hitch.load(0, false, 0.0)];
    loads.extend(
        counts.clone().map(|count| hitch.load(count, ticket.hay == Hay::Wrapped, ticket.mass_kg)),
    );
    if ticket.hay == Hay::Dry {
        let wrapped_kg = as_fed_kg(dry_kg, WRAPPED_MOISTURE);
        loads.extend(counts.map(|count| hitch.load(count, true, wrapped_kg)));
    }
    loads
}
