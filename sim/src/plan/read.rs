//! A farm's file into a [`Farm`]: defaults, ranges, US units into SI.

use super::farm::{Farm, Herd, Kind, Lot, Place};
use super::hitch::{Hitch, Tractor};
use super::ration::{Class, usual_loss};
use super::stack::Storage;
use crate::bench::scenario::lots::{check_density, ticket};
use crate::bench::scenario::read::machine;
use crate::loss::Store;
use crate::table::{Table, TableError, parsed};
use crate::units::{KG_PER_LB, M_PER_FT, M_S_PER_MPH, W_PER_HP};
use crate::world::spec::MachineSpec;

const M_PER_IN: f64 = M_PER_FT / 12.0;
/// Most classes of animals, and most lots of bales: as many tickets as the controller keeps.
const MOST_CLASSES: usize = 20;
const MOST_LOTS: usize = crate::bench::scenario::Scenario::TICKETS;
/// Digestible nutrients of hay that nobody tested. From memory; a test is better.
const KINDS: &[(&str, f64)] = &[("mature grass", 0.50), ("grass", 0.56), ("legume", 0.60)];
/// Source: Mayo and Thomas, University of Florida/IFAS, 2024.
const WINTER_DAYS: f64 = 150.0;
const PLACES: &[(&str, Kind)] = &[("pasture", Kind::Pasture), ("bunk", Kind::Bunk)];

pub(super) fn farm(text: &str) -> Result<Farm, TableError> {
    parsed(text, |top| {
        let name = top.text("name")?.unwrap_or("unnamed farm").to_owned();
        let days = top.number("days_per_feeding", 0.25..=14.0)?.unwrap_or(1.0);
        let loss = top.number("loss_percent", 0.0..=80.0)?;
        let winter_days = top.number("winter_days", 1.0..=365.0)?.unwrap_or(WINTER_DAYS);
        let storage = top.table("storage")?.map(storage).transpose()?;
        let herd =
            top.tables("herd", MOST_CLASSES)?.iter_mut().map(group).collect::<Result<_, _>>()?;
        let tdn = hay(top.table("hay")?)?;
        let lots = lots(top)?;
        let place = place(top.table("place")?)?;
        let drive = drive(top.table("drive")?)?;
        let (machine, carried) = carrier(top.table("machine")?)?;
        let hitch = top.table("hitch")?.map(|table| hitch(table, carried)).transpose()?;
        let herd: Vec<Herd> = herd;
        if herd.is_empty() {
            return Err(top.missing("herd", "a table [[herd]] with `head` and `weight_lb`"));
        }
        Ok(Farm {
            name,
            herd,
            tdn,
            loss: loss.map_or(usual_loss(days), |percent| percent / 100.0),
            days,
            lots,
            winter_days,
            storage,
            place,
            machine,
            carried,
            hitch,
            ..drive
        })
    })
}

fn group(table: &mut Table<'_>) -> Result<Herd, TableError> {
    let class = table.word("class", Class::NAMES)?.unwrap_or(Class::DryCow);
    let head = table.needed("head", 1.0..=100_000.0)?;
    let body_kg = table.needed("weight_lb", 100.0..=3_000.0)? * KG_PER_LB;
    let intake = table.number("intake_percent", 0.5..=5.0)?.map(|percent| percent / 100.0);
    table.finish()?;
    Ok(Herd { class, head, body_kg, intake })
}

fn hay(table: Option<Table<'_>>) -> Result<f64, TableError> {
    let Some(mut table) = table else { return Ok(KINDS[1].1) };
    let kind = table.word("kind", KINDS)?;
    let tested = table.number("tdn_percent", 30.0..=80.0)?;
    table.finish()?;
    Ok(tested.map_or(kind.unwrap_or(KINDS[1].1), |percent| percent / 100.0))
}

fn storage(mut table: Table<'_>) -> Result<Storage, TableError> {
    let store = table.word("stored", Store::NAMES)?;
    let months = table.number("months", 0.0..=Store::MOST_MONTHS)?.unwrap_or(7.0);
    let stated = table.number("loss_percent", 0.0..=80.0)?.map(|percent| percent / 100.0);
    let loss = stated.or_else(|| store.map(|store| store.loss(months).middle()));
    let Some(loss) = loss else {
        return Err(table.missing("stored", Store::names()));
    };
    table.finish()?;
    Ok(Storage { store, months, loss })
}

/// Of a bale's mass in a table of sizes, what is reckoned with: people overrate how dense their bales
/// are, "take 10 % off" (Hancock, U. Georgia, read second-hand).
const OF_A_TABLE: f64 = 0.9;

fn lots(top: &mut Table<'_>) -> Result<Vec<Lot>, TableError> {
    let mut lots = Vec::new();
    for (index, mut table) in top.tables("bales", MOST_LOTS)?.into_iter().enumerate() {
        let count = table.number("count", 1.0..=100_000.0)?;
        // Asked here only to know whether it is there; the ticket checks it.
        let weighed = table.number("weight_lb", 200.0..=4_000.0)?.is_some();
        let looked_up = table.number("table_weight_lb", 220.0..=4_000.0)?;
        if let (true, Some(lb)) = (weighed, looked_up) {
            let allowed = "only one of it and weight_lb";
            return Err(table.not_allowed("table_weight_lb", lb, allowed));
        }
        let mut ticket = ticket(&mut table, index)?;
        if let Some(lb) = looked_up {
            ticket.mass_kg = lb * KG_PER_LB * OF_A_TABLE;
            let size_m = (ticket.diameter_m, ticket.width_m);
            check_density(&table, "table_weight_lb", ticket.mass_kg, size_m)?;
        }
        lots.push(Lot { ticket, weighed, count });
    }
    if lots.is_empty() {
        let usual = crate::bench::scenario::lots::usual_ticket();
        lots.push(Lot { ticket: usual, weighed: false, count: None });
    }
    Ok(lots)
}

fn place(table: Option<Table<'_>>) -> Result<Place, TableError> {
    let mut place = Place {
        kind: Kind::Pasture,
        strip_m: None,
        space_m: None,
        sides: 1.0,
        row_m: 600.0 * M_PER_FT,
        rows: 20.0,
        spacing_m: 20.0 * M_PER_FT,
        used_m: 0.0,
    };
    let Some(mut table) = table else { return Ok(place) };
    place.kind = table.word("kind", PLACES)?.unwrap_or(place.kind);
    place.strip_m = table.number("strip_ft", 5.0..=100_000.0)?.map(|feet| feet * M_PER_FT);
    place.space_m = table.number("space_in_per_head", 4.0..=60.0)?.map(|inch| inch * M_PER_IN);
    place.sides = table
        .whole("sides", "from which animals reach the hay", 1..=2)?
        .map_or(place.sides, f64::from);
    let mut feet = |key, low: f64, high: f64, field: &mut f64| {
        let number = table.number(key, low..=high)?;
        *field = number.map_or(*field, |number| number * M_PER_FT);
        Ok(())
    };
    feet("row_ft", 20.0, 20_000.0, &mut place.row_m)?;
    feet("row_spacing_ft", 4.0, 200.0, &mut place.spacing_m)?;
    feet("used_ft", 0.0, 20_000_000.0, &mut place.used_m)?;
    place.rows = table.number("rows", 1.0..=1_000.0)?.unwrap_or(place.rows);
    if place.kind == Kind::Bunk {
        place.rows = 1.0;
        place.used_m = 0.0;
    }
    table.finish()?;
    Ok(place)
}

/// A farm of which only the driving is filled in.
fn drive(table: Option<Table<'_>>) -> Result<Farm, TableError> {
    let mut numbers = [3.0, 1_000.0, 6.0, 8.0, 1_900.0];
    if let Some(mut table) = table {
        let keys = [
            ("speed_mph", 0.5..=8.0),
            ("gate_to_feeding_ft", 0.0..=20_000.0),
            ("travel_mph", 1.0..=25.0),
            ("between_bales_s", 0.0..=600.0),
            ("engine_rpm", 800.0..=2_600.0),
        ];
        for ((key, allowed), number) in keys.into_iter().zip(&mut numbers) {
            *number = table.number(key, allowed)?.unwrap_or(*number);
        }
        table.finish()?;
    }
    let [speed_mph, way_in_ft, travel_mph, between_bales_s, engine_rpm] = numbers;
    Ok(Farm {
        name: String::new(),
        herd: Vec::new(),
        tdn: 0.0,
        loss: 0.0,
        days: 1.0,
        lots: Vec::new(),
        winter_days: WINTER_DAYS,
        storage: None,
        place: place(None)?,
        machine: MachineSpec::default(),
        carried: 2,
        engine_turns_s: engine_rpm / 60.0,
        speed_m_s: speed_mph * M_S_PER_MPH,
        way_in_m: way_in_ft * M_PER_FT,
        travel_m_s: travel_mph * M_S_PER_MPH,
        between_bales_s,
        hitch: None,
    })
}

fn carrier(table: Option<Table<'_>>) -> Result<(MachineSpec, usize), TableError> {
    let Some(mut table) = table else { return Ok((MachineSpec::default(), 2)) };
    let carried = table
        .whole("carries", "bales at once", 1..=2)?
        .map_or(2, |bales| bales.unsigned_abs() as usize);
    Ok((machine(Some(table))?, carried))
}

fn hitch(mut table: Table<'_>, carried: usize) -> Result<Hitch, TableError> {
    let table = &mut table;
    let axle = 500.0..=60_000.0;
    let back = 0.0..=200.0;
    let tractor = Tractor {
        front_kg: table.needed("front_axle_lb", axle.clone())? * KG_PER_LB,
        rear_kg: table.needed("rear_axle_lb", axle)? * KG_PER_LB,
        wheelbase_m: table.needed("wheelbase_in", 40.0..=200.0)? * M_PER_IN,
        weights_ahead_m: table.number("front_weights_ahead_in", 0.0..=150.0)?.unwrap_or(30.0)
            * M_PER_IN,
        links_behind_m: table.number("links_behind_axle_in", 10.0..=80.0)?.unwrap_or(35.0)
            * M_PER_IN,
    };
    let weights_kg = table.number("front_weights_lb", 0.0..=10_000.0)?.unwrap_or(0.0) * KG_PER_LB;
    let machine_kg = table.needed("machine_lb", 100.0..=20_000.0)? * KG_PER_LB;
    let machine_m = table.needed("machine_behind_links_in", back.clone())? * M_PER_IN;
    let first = table.needed("bale_1_behind_links_in", back.clone())?;
    let second = table.number("bale_2_behind_links_in", back.clone())?;
    let mut bales_m = vec![first * M_PER_IN];
    if carried == 2 {
        let second = second.ok_or_else(|| {
            table.missing("bale_2_behind_links_in", "0 to 200, as the machine carries 2 bales")
        })?;
        bales_m.push(second * M_PER_IN);
    }
    let lift_kg = table.number("lift_lb", 500.0..=40_000.0)?.map(|pounds| pounds * KG_PER_LB);
    let category = table.whole("category", "of the hitch", 1..=4)?;
    let power_w = table.number("power_hp", 15.0..=600.0)?.map(|power| power * W_PER_HP);
    table.finish()?;
    Ok(Hitch { tractor, weights_kg, machine_kg, machine_m, bales_m, lift_kg, category, power_w })
}
