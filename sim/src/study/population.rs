//! What bales, drives and sensors there may be, and how often: a small file, checked.

use super::roughness::Roughness;
use crate::bench::scenario::ScenarioError;
use crate::table::{Table, parsed};
use std::ops::RangeInclusive;

/// A range that values are drawn from evenly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Least value.
    pub least: f64,
    /// Most, not below it.
    pub most: f64,
}

/// Everything that a campaign draws from, in the units of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Population {
    /// What people call it.
    pub name: String,
    /// Bales of one ticket fed one after the other.
    pub bales_per_lot: u32,
    pub(super) target_lb_per_ft: Span,
    pub(super) core: CoreShares,
    pub(super) hay: HayShares,
    pub(super) diameter_ft: Span,
    pub(super) width_ft: Span,
    pub(super) dry_lb_per_ft3: Span,
    /// One deviation of a bale's weight from its ticket, as a share.
    pub(super) weight_deviation: f64,
    pub(super) drive: DriveSpans,
    pub(super) sensors: SensorShares,
    pub(super) rough: Roughness,
}

/// Kinds of core. `even`, `soft`, `dense` are weights; not all are zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CoreShares {
    pub(super) weights: [f64; 3],
    pub(super) soft_ratio: Span,
    pub(super) dense_ratio: Span,
    pub(super) dense_radius_percent: Span,
    pub(super) wrong_on_ticket: f64,
}

/// Kinds of hay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct HayShares {
    pub(super) wrapped: f64,
    pub(super) dry_moisture_percent: Span,
    pub(super) wrapped_moisture_percent: Span,
}

/// How it is driven. `heed` are weights of promptly, late, never; not all are zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct DriveSpans {
    pub(super) speed_mph: Span,
    pub(super) speed_wander_percent: Span,
    pub(super) engine_rpm: Span,
    pub(super) heed: [f64; 3],
}

/// Shares of machines with a sensor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SensorShares {
    pub(super) weigh: f64,
    pub(super) pressure: f64,
    pub(super) gauge: f64,
    pub(super) bus_speed: f64,
    pub(super) nmea: f64,
}

impl Population {
    /// The usual population as a file: documented, to be copied and changed.
    pub const USUAL: &str = include_str!("population.toml");
    /// Most bales in a lot.
    pub const BALES_PER_LOT: u32 = 50;

    /// Reads a population from the text of a TOML file. Every key may be left out.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line: syntax, an unknown key, a value not allowed, a
    /// least value above the most, kinds that all have no share.
    pub fn parse(text: &str) -> Result<Self, ScenarioError> {
        parsed(text, Self::fill)
    }

    /// Takes the keys of a population from a table that may hold others too.
    pub(super) fn fill(top: &mut Table<'_>) -> Result<Self, ScenarioError> {
        let name = top.text("name")?.unwrap_or("unnamed").to_owned();
        let bales_per_lot = whole(top, "bales_per_lot", Self::BALES_PER_LOT)?;
        let target_lb_per_ft =
            span(top, ("least_target_lb_per_ft", "most_target_lb_per_ft"), 0.5..=40.0, (2.0, 5.0))?;
        let core = within(top, "core", core)?;
        let hay = within(top, "hay", hay)?;
        let (diameter_ft, width_ft) = within(top, "size", size)?;
        let (dry_lb_per_ft3, weight_deviation) = within(top, "weight", weight)?;
        let drive = within(top, "drive", drive)?;
        let sensors = within(top, "sensors", sensors)?;
        let rough = within(top, "rough", Roughness::fill)?;
        Ok(Self {
            name,
            bales_per_lot,
            target_lb_per_ft,
            core,
            hay,
            diameter_ft,
            width_ft,
            dry_lb_per_ft3,
            weight_deviation,
            drive,
            sensors,
            rough,
        })
    }
}

/// A table that may be left out: its keys then are too.
fn within<T>(
    top: &mut Table<'_>,
    key: &'static str,
    fill: impl FnOnce(&mut Table<'_>) -> Result<T, ScenarioError>,
) -> Result<T, ScenarioError> {
    match top.table(key)? {
        Some(mut table) => {
            let filled = fill(&mut table)?;
            table.finish()?;
            Ok(filled)
        }
        None => parsed("", fill),
    }
}

fn whole(table: &mut Table<'_>, key: &'static str, most: u32) -> Result<u32, ScenarioError> {
    let number = table.number(key, 1.0..=f64::from(most))?.unwrap_or(1.0);
    if number.fract() == 0.0 {
        Ok(number as u32)
    } else {
        Err(table.not_allowed(key, number, format!("a whole number, 1 to {most}")))
    }
}

fn span(
    table: &mut Table<'_>,
    (least_key, most_key): (&'static str, &'static str),
    allowed: RangeInclusive<f64>,
    (least, most): (f64, f64),
) -> Result<Span, ScenarioError> {
    let given = table.number(least_key, allowed.clone())?;
    let span = Span {
        least: given.unwrap_or(least),
        most: table.number(most_key, allowed.clone())?.unwrap_or(most),
    };
    if span.least <= span.most {
        return Ok(span);
    }
    // The key that stands in the file is the one to name.
    match given {
        Some(_) => {
            let words = format!("{} to `{most_key}`, which is {}", allowed.start(), span.most);
            Err(table.not_allowed(least_key, span.least, words))
        }
        None => {
            let words = format!("`{least_key}`, which is {}, to {}", span.least, allowed.end());
            Err(table.not_allowed(most_key, span.most, words))
        }
    }
}

/// A percentage as a share.
pub(super) fn share(
    table: &mut Table<'_>,
    key: &'static str,
    usual: f64,
) -> Result<f64, ScenarioError> {
    Ok(table.number(key, 0.0..=100.0)?.unwrap_or(usual) / 100.0)
}

/// Weights of three kinds, of which one at least is above zero.
fn weights(
    table: &mut Table<'_>,
    keys: [&'static str; 3],
    usual: [f64; 3],
) -> Result<[f64; 3], ScenarioError> {
    let mut weights = [0.0; 3];
    for ((weight, key), usual) in weights.iter_mut().zip(keys).zip(usual) {
        *weight = share(table, key, usual)?;
    }
    if weights.iter().sum::<f64>() > 0.0 {
        return Ok(weights);
    }
    let words = format!("above 0 in one of `{}` at least", keys.join("`, `"));
    Err(table.not_allowed(keys[0], 0, words))
}

fn core(table: &mut Table<'_>) -> Result<CoreShares, ScenarioError> {
    Ok(CoreShares {
        weights: weights(
            table,
            ["even_percent", "soft_percent", "dense_percent"],
            [40.0, 30.0, 30.0],
        )?,
        soft_ratio: span(table, ("least_soft_ratio", "most_soft_ratio"), 0.2..=1.0, (0.35, 0.7))?,
        dense_ratio: span(table, ("least_dense_ratio", "most_dense_ratio"), 1.0..=4.0, (1.5, 4.0))?,
        dense_radius_percent: span(
            table,
            ("least_dense_radius_percent", "most_dense_radius_percent"),
            10.0..=60.0,
            (20.0, 40.0),
        )?,
        wrong_on_ticket: share(table, "wrong_on_ticket_percent", 10.0)?,
    })
}

fn hay(table: &mut Table<'_>) -> Result<HayShares, ScenarioError> {
    Ok(HayShares {
        wrapped: share(table, "wrapped_percent", 25.0)?,
        dry_moisture_percent: span(
            table,
            ("least_dry_moisture_percent", "most_dry_moisture_percent"),
            5.0..=25.0,
            (10.0, 18.0),
        )?,
        wrapped_moisture_percent: span(
            table,
            ("least_wrapped_moisture_percent", "most_wrapped_moisture_percent"),
            30.0..=70.0,
            (40.0, 60.0),
        )?,
    })
}

fn size(table: &mut Table<'_>) -> Result<(Span, Span), ScenarioError> {
    let diameter_ft =
        span(table, ("least_diameter_ft", "most_diameter_ft"), 3.0..=7.0, (4.0, 6.0))?;
    let width_ft = span(table, ("least_width_ft", "most_width_ft"), 3.0..=6.0, (4.0, 5.0))?;
    Ok((diameter_ft, width_ft))
}

fn weight(table: &mut Table<'_>) -> Result<(Span, f64), ScenarioError> {
    let keys = ("least_dry_lb_per_ft3", "most_dry_lb_per_ft3");
    let dry_lb_per_ft3 = span(table, keys, 6.0..=14.0, (9.0, 12.0))?;
    let percent = table.number("deviation_percent", 0.0..=30.0)?;
    Ok((dry_lb_per_ft3, percent.unwrap_or(9.0) / 100.0))
}

fn drive(table: &mut Table<'_>) -> Result<DriveSpans, ScenarioError> {
    Ok(DriveSpans {
        speed_mph: span(table, ("least_speed_mph", "most_speed_mph"), 0.5..=10.0, (2.0, 4.0))?,
        speed_wander_percent: span(
            table,
            ("least_speed_wander_percent", "most_speed_wander_percent"),
            0.0..=30.0,
            (2.0, 8.0),
        )?,
        engine_rpm: span(
            table,
            ("least_engine_rpm", "most_engine_rpm"),
            800.0..=2_600.0,
            (1_600.0, 2_100.0),
        )?,
        heed: weights(
            table,
            ["promptly_percent", "late_percent", "never_percent"],
            [50.0, 30.0, 20.0],
        )?,
    })
}

fn sensors(table: &mut Table<'_>) -> Result<SensorShares, ScenarioError> {
    Ok(SensorShares {
        weigh: share(table, "weigh_percent", 70.0)?,
        pressure: share(table, "pressure_percent", 80.0)?,
        gauge: share(table, "gauge_percent", 70.0)?,
        bus_speed: share(table, "bus_speed_percent", 80.0)?,
        nmea: share(table, "nmea_percent", 70.0)?,
    })
}
