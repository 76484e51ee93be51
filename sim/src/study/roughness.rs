//! What makes a winter rough: flaws of bales, hills, mud, tractors in gear. None of it is usual.

use super::lot::{Draw, round};
use super::population::{Span, share};
use crate::bench::scenario::ScenarioError;
use crate::table::Table;
use std::fmt::Arguments;

/// Most bands of wrap left in a bale that has any.
const MOST_BANDS: f64 = 3.0;

/// How rough it is. What is drawn up to a most is drawn evenly from 0 on; shares are of the bales.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Roughness {
    most_off_centre_percent: f64,
    most_out_of_round_percent: f64,
    wet: f64,
    most_wet_percent: f64,
    frozen: f64,
    most_frozen_percent: f64,
    wrap: f64,
    against: f64,
    most_hill_percent: f64,
    most_mud_percent: f64,
    /// Share of the tractors that are in gear.
    geared: f64,
}

impl Roughness {
    pub(super) fn fill(table: &mut Table<'_>) -> Result<Self, ScenarioError> {
        let mut most =
            |key, usual: f64, highest: f64| Ok(table.number(key, 0.0..=highest)?.unwrap_or(usual));
        Ok(Self {
            most_off_centre_percent: most("most_off_centre_percent", 0.0, 15.0)?,
            most_out_of_round_percent: most("most_out_of_round_percent", 0.0, 15.0)?,
            most_wet_percent: most("most_wet_percent", 30.0, 50.0)?,
            most_frozen_percent: most("most_frozen_percent", 30.0, 50.0)?,
            most_hill_percent: most("most_hill_percent", 0.0, 20.0)?,
            most_mud_percent: most("most_mud_percent", 0.0, 100.0)?,
            wet: share(table, "wet_bales_percent", 0.0)?,
            frozen: share(table, "frozen_bales_percent", 0.0)?,
            wrap: share(table, "wrap_bales_percent", 0.0)?,
            against: share(table, "against_bales_percent", 0.0)?,
            geared: share(table, "geared_percent", 0.0)?,
        })
    }

    /// The tractor's lines of a scenario, for a drive at this speed.
    pub(super) fn tractor(&self, draw: Draw, mph: f64, line: &mut dyn FnMut(Arguments<'_>)) {
        if draw.happens("geared", self.geared) {
            line(format_args!("gear_mph = {mph}"));
        }
        for (key, most) in
            [("hill_percent", self.most_hill_percent), ("mud_percent", self.most_mud_percent)]
        {
            write_up_to(draw, key, most, line);
        }
    }

    /// A bale's lines of it.
    pub(super) fn bale(&self, draw: Draw, line: &mut dyn FnMut(Arguments<'_>)) {
        let if_any = |name, share, most| if draw.happens(name, share) { most } else { 0.0 };
        for (key, most) in [
            ("off_centre_percent", self.most_off_centre_percent),
            ("out_of_round_percent", self.most_out_of_round_percent),
            ("wet_percent", if_any("wet", self.wet, self.most_wet_percent)),
            ("frozen_percent", if_any("frozen", self.frozen, self.most_frozen_percent)),
        ] {
            write_up_to(draw, key, most, line);
        }
        if draw.happens("wrap", self.wrap) {
            let bands = draw.span("wrap_bands", Span { least: 0.0, most: MOST_BANDS }).ceil();
            line(format_args!("wrap_bands = {}", bands.max(1.0)));
        }
        if draw.happens("against", self.against) {
            line(format_args!("winding = \"against\""));
        }
    }
}

/// A line with a value from 0 to the most; none if there is nothing to draw.
fn write_up_to(draw: Draw, key: &str, most: f64, line: &mut dyn FnMut(Arguments<'_>)) {
    if most > 0.0 {
        line(format_args!("{key} = {}", round(draw.span(key, Span { least: 0.0, most }), 0.1)));
    }
}
