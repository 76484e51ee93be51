//! The usual inputs, each with its source. Where nobody has published one, it says that it is assumed.

use super::input::{Estimate, Farm, Way};
use super::machinery::LARGE_ROUND_BALER as AS_A_BALER;
use crate::loss::Store;

/// Names of the ways of feeding, in the order of [`ways`].
pub const WAYS: [&str; 8] = [
    "whole bale on open ground",
    "open ring",
    "ring with a cone",
    "wagon",
    "unrolled on the ground",
    "roller feed-out with chains",
    "roller feed-out without chains",
    "roller feed-out into a bunk",
];

const ASSUMED: &str = "assumed, no source; ask a dealer";
const WATCH: &str = "assumed, no source; take the time on your farm";
const YOURS: &str = "your farm's";
const ONE: &str = "one serves any herd";

const BUSKIRK: &str = "Buskirk et al., J. Anim. Sci., 2003; bounds from Lalman, Oklahoma State, and Schnakenberg, U. Missouri, 2011";
const CONE: &str = "Buskirk et al., J. Anim. Sci., 2003; upper bound Lalman, Oklahoma State";
const WAGON: &str = "Buskirk et al., J. Anim. Sci., 2003 (trailer); bounds assumed";
const OPEN: &str = "25 to 45 %: Boyles, Ohio State, middle taken; upper bound also Bell and Martz, U. Missouri, 1973, as tabled by Boyles; lower bound bale grazing, a Lakeland study told by Yaremcio, Canadian Cattlemen";
const ROW: &str = "Schnakenberg, U. Missouri, 2011: fed on the ground in a row, a day's supply at a time; several days at once lose over 40 %";
const ROLLER: &str = "no trial of rollers is published; that of hay in a row on the ground, a day's supply: Schnakenberg, U. Missouri, 2011; lower bound the best feeder of Buskirk et al., 2003";
const BUNK: &str = "Bledsoe (adviser), thesis, U. Tennessee: bunk without a roof 9 %, with one 7 %; upper bound assumed";
const SPACE: &str = "reckoned: circumference over 37 cm a cow, the space in Buskirk et al., 2003";
const APRON: &str = "reckoned: a strip of 10 ft around it; the 10 ft are assumed";

const WEAR: &str = "a large round baler of 1,000 h in ten years: ASAE D497 table 3, from memory; that it wears like one is assumed, as are the bounds";

const WET_WINTER: &str = "Huhnke, Oklahoma State BAE-1716, as quoted by Selk, up to 9 months: middle of the range; upper bound Lane, U. Tennessee, told by Selk";

/// In the unit of the key; [`farm`] and [`ways`] turn it into SI.
const fn between(low: f64, mode: f64, high: f64, source: &'static str) -> Estimate {
    Estimate { low, mode, high, source }
}

const fn exactly(value: f64, source: &'static str) -> Estimate {
    between(value, value, value, source)
}

fn in_si(key_unit: f64, estimate: &Estimate) -> Estimate {
    let Estimate { low, mode, high, source } = *estimate;
    Estimate { low: low * key_unit, mode: mode * key_unit, high: high * key_unit, source }
}

/// What is published of a way of storing, as shares: the middle of its range, and above the range a wet
/// winter's figure where that is higher.
#[must_use]
pub fn stored(store: Store, months: f64) -> Estimate {
    let loss = store.loss(months);
    let is_higher = |wet: &f64| months <= 9.0 && *wet > loss.high;
    let (high, source) = match store.wet_winter_loss().filter(is_higher) {
        Some(wet) => (wet, WET_WINTER),
        None => (loss.high, loss.source),
    };
    Estimate { low: loss.low, mode: loss.middle(), high, source }
}

/// The usual farm, in SI.
#[must_use]
pub fn farm() -> Farm<Estimate> {
    let farm = Farm {
        head: exactly(100.0, YOURS),
        eaten_kg: between(
            25.3,
            28.0,
            31.5,
            "Gross, thesis, Oklahoma State: dry cows 28.0, nursing 31.5; Buskirk et al., 2003: 25.3",
        ),
        dry_matter: between(84.0, 88.0, 90.0, "Rasby, U. Nebraska, 2012; bounds assumed"),
        days: between(120.0, 150.0, 180.0, "Mayo and Thomas, UF/IFAS, 2024; bounds assumed"),
        bale_kg: between(
            1_100.0,
            1_200.0,
            1_300.0,
            "Lalman, Oklahoma State; bounds: guesses err by 100 lb, Blazek and Wiegand, U. Wisconsin, told by Rankin",
        ),
        hay_usd_kg: between(
            95.0,
            132.0,
            161.0,
            "USDA Agricultural Prices, read second-hand: other hay Oct 2020, alfalfa Jan 2025; lower bound Undersander, Progressive Forage",
        ),
        stored_loss: in_si(100.0, &stored(Store::Ground, 9.0)),
        interest: between(
            5.0,
            8.0,
            10.0,
            "Edwards, Iowa State AgDM A3-29: 8 %, 5 % less inflation; upper bound assumed",
        ),
        taxes: exactly(1.0, "Edwards, Iowa State AgDM A3-29"),
        wage_usd_s: between(15.0, 20.0, 30.0, "assumed, no source; what an hour is worth to you"),
        labor_factor: between(
            1.1,
            1.1,
            1.2,
            "machinery cost equations after ASAE Standards 2000: tractors 1.1, other machines 1.2",
        ),
        diesel_usd_m3: between(3.0, 3.5, 4.5, "assumed, no source; look at your last bill"),
        tractor_w: between(80.0, 100.0, 130.0, "assumed, no source; your tractor's"),
        tractor_usd: between(70_000.0, 100_000.0, 150_000.0, "assumed, no source; your tractor's"),
        tractor_s: between(
            5_000.0,
            6_000.0,
            10_000.0,
            "example of Edwards, Iowa State AgDM A3-29 (from memory); bounds assumed",
        ),
        way_in_m: between(500.0, 1_000.0, 2_500.0, "assumed, no source; your pasture's"),
        travel_m_s: between(4.0, 6.0, 10.0, "assumed, no source"),
        yard_s: between(3.0, 4.0, 6.0, WATCH),
        nitrogen: exactly(45.0, "Grev, U. Maryland Extension, 2022"),
    };
    farm.map(|key, estimate| in_si(key.unit, estimate))
}

/// The usual ways of feeding, in SI, in the order of [`WAYS`].
#[must_use]
pub fn ways() -> [Way<Estimate>; 8] {
    let whole = Way {
        loss: between(20.0, 35.0, 45.0, OPEN),
        price_usd: exactly(0.0, "none: the loader or spear is there anyway"),
        head_usd: exactly(0.0, "none"),
        served: exactly(100_000.0, ONE),
        years: exactly(10.0, "nothing is bought"),
        salvage: exactly(0.0, "nothing is bought"),
        repair: exactly(0.0, "nothing is bought"),
        carried: between(1.0, 2.0, 2.0, "assumed: one on the loader, one on the spear"),
        handling_s: between(1.5, 2.0, 3.0, WATCH),
        row_m: exactly(0.0, "no row"),
        row_m_s: exactly(3.0, "no row"),
        place_m2: between(314.0, 491.0, 707.0, APRON),
        place_bales: exactly(1.0, "each bale on fresh ground"),
    };
    let ring = Way {
        loss: between(5.0, 6.1, 20.5, BUSKIRK),
        price_usd: between(300.0, 450.0, 700.0, ASSUMED),
        served: between(16.0, 20.0, 24.0, SPACE),
        years: between(4.0, 7.0, 10.0, ASSUMED),
        repair: between(1.0, 3.0, 6.0, ASSUMED),
        handling_s: between(2.0, 3.0, 5.0, WATCH),
        place_m2: between(500.0, 616.0, 800.0, APRON),
        place_bales: between(1.0, 2.0, 4.0, "assumed: the ring is rolled on after two bales"),
        ..whole.clone()
    };
    let cone = Way {
        loss: between(3.4, 3.5, 5.3, CONE),
        price_usd: between(800.0, 1_300.0, 2_000.0, ASSUMED),
        ..ring.clone()
    };
    let wagon = Way {
        loss: between(8.0, 11.4, 15.0, WAGON),
        price_usd: between(5_000.0, 8_000.0, 12_000.0, ASSUMED),
        served: between(36.0, 46.0, 56.0, SPACE),
        years: between(8.0, 12.0, 15.0, ASSUMED),
        salvage: between(0.0, 15.0, 30.0, ASSUMED),
        handling_s: between(2.5, 4.0, 6.0, WATCH),
        place_m2: between(1_000.0, 1_232.0, 1_500.0, APRON),
        place_bales: between(
            5.0,
            12.0,
            30.0,
            "assumed: the wagon stands until the ground gives way",
        ),
        ..ring.clone()
    };
    let unrolled = Way {
        loss: between(5.0, 12.0, 40.0, ROW),
        price_usd: between(2_500.0, 4_500.0, 8_000.0, ASSUMED),
        served: exactly(100_000.0, ONE),
        carried: exactly(1.0, "assumed: one on the unrolling arms"),
        handling_s: between(3.0, 4.5, 7.0, WATCH),
        row_m: between(118.0, 236.0, 236.0, "exact: a 5-ft bale wound in layers of 1 to 2 in"),
        row_m_s: between(1.5, 2.0, 3.0, "assumed, no source"),
        place_m2: between(2_360.0, 4_720.0, 4_720.0, "reckoned: the row on a strip of 20 ft"),
        place_bales: exactly(1.0, "each bale on fresh ground"),
        ..wagon.clone()
    };
    let chains = Way {
        loss: between(3.5, 12.0, 20.0, ROLLER),
        price_usd: between(10_000.0, 16_000.0, 24_000.0, ASSUMED),
        repair: between(2.0, 100.0 * AS_A_BALER.used_up(1_000.0 * 3_600.0) / 10.0, 8.0, WEAR),
        carried: between(1.0, 2.0, 2.0, "assumed: a machine for one bale or two"),
        handling_s: between(0.8, 1.4, 2.5, WATCH),
        row_m: between(120.0, 240.0, 400.0, "reckoned: 1,200 lb at 5 lb/ft; bounds 10 and 3 lb/ft"),
        row_m_s: between(2.0, 3.0, 5.0, "common practice, no source: 2 to 5 mph"),
        place_m2: between(2_400.0, 4_800.0, 8_000.0, "reckoned: the row on a strip of 20 ft"),
        ..unrolled.clone()
    };
    let rollers = Way {
        price_usd: between(14_000.0, 22_000.0, 32_000.0, ASSUMED),
        repair: between(1.0, 2.5, 5.0, ASSUMED),
        handling_s: between(0.7, 1.2, 2.0, WATCH),
        ..chains.clone()
    };
    let bunk = Way {
        loss: between(7.0, 9.0, 12.0, BUNK),
        head_usd: between(
            50.0,
            100.0,
            180.0,
            "assumed: 27 in of bunk a head (FASS Guide, 2020, as tabled by Penn State Extension) at 45 USD a foot",
        ),
        row_m: between(80.0, 120.0, 240.0, "reckoned: 1,200 lb at 10 lb/ft; assumed bounds"),
        place_m2: between(
            3_000.0,
            4_500.0,
            8_000.0,
            "reckoned: 225 ft of bunk with 20 ft to stand on",
        ),
        place_bales: between(200.0, 500.0, 1_000.0, "assumed: the bunk stays where it is"),
        ..rollers.clone()
    };
    let ways = [whole, ring, cone, wagon, unrolled, chains, rollers, bunk];
    ways.map(|way| way.map(|key, estimate| in_si(key.unit, estimate)))
}
