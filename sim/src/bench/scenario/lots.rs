//! Tickets and bales of a scenario file: what is known of a lot, and what is true of each bale.

use super::{Bale, Core, Scenario, ScenarioError, Ticket};
use crate::table::Table;
use crate::units::{KG_M3_PER_LB_FT3, KG_PER_LB, M_PER_FT};
use crate::world::spec::{BaleSpec, Condition, Hay, Profile, Winding};
use std::ops::RangeInclusive;

/// Density as fed that a bale may have, lb/ft3.
const DENSITY_LB_FT3: RangeInclusive<f64> = 5.0..=30.0;
/// Dry hay in a cubic foot of a bale whose weight nobody stated, lb.
///
/// Source: within the 9 to 12 lb of dry matter of Hancock, University of Georgia (from memory).
const DRY_LB_FT3: f64 = 10.0;
const HAYS: &[(&str, Hay)] = &[("dry", Hay::Dry), ("wrapped", Hay::Wrapped)];
const CORES: &[(&str, Core)] =
    &[("even", Core::Even), ("soft", Core::Soft), ("dense", Core::Dense)];
const EDGES: &[(&str, Edge)] = &[("sharp", Edge::Sharp), ("graded", Edge::Graded)];
const WINDINGS: &[(&str, Winding)] = &[("with", Winding::With), ("against", Winding::Against)];

/// How a dense core ends.
#[derive(Clone, Copy, PartialEq)]
enum Edge {
    Sharp,
    Graded,
}

pub(super) fn tickets(top: &mut Table<'_>) -> Result<Vec<Ticket>, ScenarioError> {
    let mut tickets: Vec<Ticket> = Vec::new();
    for (index, mut table) in top.tables("ticket", Scenario::TICKETS)?.into_iter().enumerate() {
        let ticket = ticket(&mut table, index)?;
        if tickets.iter().any(|earlier| earlier.name == ticket.name) {
            let given = format!("\"{}\" once more", ticket.name);
            return Err(table.not_allowed("name", given, "a name of its own for each ticket"));
        }
        tickets.push(ticket);
    }
    if tickets.is_empty() {
        tickets.push(usual_ticket());
    }
    Ok(tickets)
}

/// The lot of a scenario without tickets: even, dry, 4 ft wide and 5 ft in diameter.
pub(crate) fn usual_ticket() -> Ticket {
    let (diameter_m, width_m, moisture) = (5.0 * M_PER_FT, 4.0 * M_PER_FT, 0.15);
    Ticket {
        name: "ticket 1".to_owned(),
        diameter_m,
        width_m,
        mass_kg: usual_mass_kg(diameter_m, width_m, moisture),
        moisture,
        hay: Hay::Dry,
        core: Core::Even,
    }
}

fn volume_m3(diameter_m: f64, width_m: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m * width_m
}

/// Mass as fed of a bale that nobody weighed.
fn usual_mass_kg(diameter_m: f64, width_m: f64, moisture: f64) -> f64 {
    DRY_LB_FT3 * KG_M3_PER_LB_FT3 * volume_m3(diameter_m, width_m) / (1.0 - moisture)
}

pub(crate) fn ticket(table: &mut Table<'_>, index: usize) -> Result<Ticket, ScenarioError> {
    let usual = usual_ticket();
    let name = table.text("name")?.map_or(format!("ticket {}", index + 1), str::to_owned);
    let feet = |number: Option<f64>, usual_m| number.map_or(usual_m, |number| number * M_PER_FT);
    let diameter_m = feet(table.number("diameter_ft", 3.0..=7.0)?, usual.diameter_m);
    let width_m = feet(table.number("width_ft", 3.0..=6.0)?, usual.width_m);
    let weight_lb = table.number("weight_lb", 200.0..=4_000.0)?;
    let hay = table.word("hay", HAYS)?.unwrap_or(usual.hay);
    let usual_moisture = if hay == Hay::Wrapped { 0.5 } else { usual.moisture };
    let percent = table.number("moisture_percent", 5.0..=70.0)?;
    let moisture = percent.map_or(usual_moisture, |percent| percent / 100.0);
    let core = table.word("core", CORES)?.unwrap_or(usual.core);
    table.finish()?;
    let mass_kg = weight_lb
        .map_or(usual_mass_kg(diameter_m, width_m, moisture), |weight_lb| weight_lb * KG_PER_LB);
    check_density(table, "weight_lb", mass_kg, (diameter_m, width_m))?;
    Ok(Ticket { name, diameter_m, width_m, mass_kg, moisture, hay, core })
}

/// A weight must make a density that hay can have.
pub(crate) fn check_density(
    table: &Table<'_>,
    key: &'static str,
    mass_kg: f64,
    (diameter_m, width_m): (f64, f64),
) -> Result<(), ScenarioError> {
    let lb_per_density = volume_m3(diameter_m, width_m) * KG_M3_PER_LB_FT3 / KG_PER_LB;
    let weight_lb = mass_kg / KG_PER_LB;
    let density = weight_lb / lb_per_density;
    if DENSITY_LB_FT3.contains(&density) {
        return Ok(());
    }
    let (low, high) = (DENSITY_LB_FT3.start(), DENSITY_LB_FT3.end());
    let given = format!("{weight_lb:.0}, a density of {density:.1} lb/ft3");
    let (light, heavy) = (low * lb_per_density, high * lb_per_density);
    let allowed = format!("{low} to {high} lb/ft3, at this size {light:.0} to {heavy:.0}");
    Err(table.not_allowed(key, given, allowed))
}

pub(super) fn bales(top: &mut Table<'_>, tickets: &[Ticket]) -> Result<Vec<Bale>, ScenarioError> {
    let tables = top.tables("bale", Scenario::BALES)?;
    if tables.is_empty() {
        let as_told = |(index, ticket): (usize, &Ticket)| Bale {
            name: ticket.name.clone(),
            ticket: index,
            spec: spec(ticket, ticket.mass_kg, ticket.moisture, ticket.core.usual_profile()),
        };
        return Ok(tickets.iter().enumerate().map(as_told).collect());
    }
    let numbered = tables.into_iter().enumerate();
    numbered.map(|(index, mut table)| bale(&mut table, index, tickets)).collect()
}

fn bale(table: &mut Table<'_>, index: usize, tickets: &[Ticket]) -> Result<Bale, ScenarioError> {
    let name = table.text("name")?.map_or(format!("bale {}", index + 1), str::to_owned);
    let names: Vec<_> =
        tickets.iter().enumerate().map(|(index, ticket)| (ticket.name.as_str(), index)).collect();
    let number = table.word("ticket", &names)?.unwrap_or(0);
    let ticket = &tickets[number];
    let weight_lb = table.number("weight_lb", 200.0..=4_000.0)?;
    let mass_kg = weight_lb.map_or(ticket.mass_kg, |weight_lb| weight_lb * KG_PER_LB);
    let percent = table.number("moisture_percent", 5.0..=70.0)?;
    let moisture = percent.map_or(ticket.moisture, |percent| percent / 100.0);
    let core = table.word("core", CORES)?.unwrap_or(ticket.core);
    let core_ratio = table.number("core_ratio", 0.2..=6.0)?;
    let core_radius = share(table, "core_radius_percent", 10.0..=60.0)?;
    let edge = table.word("core_edge", EDGES)?;
    let condition = condition(table)?;
    table.finish()?;
    check_density(table, "weight_lb", mass_kg, (ticket.diameter_m, ticket.width_m))?;
    check_core(table, core, core_ratio, core_radius)?;
    if edge.is_some() && core != Core::Dense {
        return Err(table.not_allowed("core_edge", "given", "a value with a dense core only"));
    }
    let mut profile = core.usual_profile();
    match &mut profile {
        Profile::Even => {}
        Profile::SoftCore { centre, .. } => *centre = core_ratio.unwrap_or(*centre),
        Profile::DenseCore { ratio, radius } => {
            *ratio = core_ratio.unwrap_or(*ratio);
            *radius = core_radius.unwrap_or(*radius);
            if edge == Some(Edge::Graded) {
                profile = Profile::graded_core(*ratio, *radius);
            }
        }
    }
    let sound = spec(ticket, mass_kg, moisture, profile);
    Ok(Bale { name, ticket: number, spec: BaleSpec { condition, ..sound } })
}

/// A number in per cent as a share.
fn share(
    table: &mut Table<'_>,
    key: &'static str,
    percents: RangeInclusive<f64>,
) -> Result<Option<f64>, ScenarioError> {
    Ok(table.number(key, percents)?.map(|percent| percent / 100.0))
}

/// What sets a bale apart from a sound one.
fn condition(table: &mut Table<'_>) -> Result<Condition, ScenarioError> {
    let sound = Condition::SOUND;
    Ok(Condition {
        off_centre: share(table, "off_centre_percent", 0.0..=15.0)?.unwrap_or(sound.off_centre),
        out_of_round: share(table, "out_of_round_percent", 0.0..=15.0)?
            .unwrap_or(sound.out_of_round),
        wet_share: share(table, "wet_percent", 0.0..=50.0)?.unwrap_or(sound.wet_share),
        frozen_share: share(table, "frozen_percent", 0.0..=50.0)?.unwrap_or(sound.frozen_share),
        wrap_bands: table.number("wrap_bands", 0.0..=20.0)?.unwrap_or(0.0).round() as u32,
        winding: table.word("winding", WINDINGS)?.unwrap_or(sound.winding),
    })
}

/// A core's numbers must fit its kind.
fn check_core(
    table: &Table<'_>,
    core: Core,
    ratio: Option<f64>,
    radius: Option<f64>,
) -> Result<(), ScenarioError> {
    let (words, ratios) = match core {
        Core::Even => ("no value with an even core", f64::INFINITY..=f64::INFINITY),
        Core::Soft => ("0.2 to 1 with a soft core", 0.2..=1.0),
        Core::Dense => ("1 to 6 with a dense core", 1.0..=6.0),
    };
    if let Some(ratio) = ratio.filter(|ratio| !ratios.contains(ratio)) {
        return Err(table.not_allowed("core_ratio", ratio, words));
    }
    match radius.filter(|_| core != Core::Dense) {
        Some(radius) => {
            let allowed = "a value with a dense core only";
            Err(table.not_allowed("core_radius_percent", radius * 100.0, allowed))
        }
        None => Ok(()),
    }
}

fn spec(ticket: &Ticket, mass_kg: f64, moisture: f64, profile: Profile) -> BaleSpec {
    let (diameter_m, width_m, hay) = (ticket.diameter_m, ticket.width_m, ticket.hay);
    let condition = Condition::SOUND;
    BaleSpec { diameter_m, width_m, mass_kg, moisture, hay, profile, condition }
}
