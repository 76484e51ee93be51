//! Settings of floor 1: how counts, edges and switches are to be read.
//!
//! The configuration holds what a person measures or reads from a data sheet; building it checks
//! every field and turns it into the numbers that the tick uses.

use super::error::{SettingError, check};
use crate::units::arith::{product, quotient};
use crate::units::{Length, Pressure, Span, Speed};
use core::ops::RangeInclusive;
use serde::{Deserialize, Serialize};

/// How the wires are to be read, in physical integers. What is `None` is not fitted.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignalConfig {
    /// Shortest time between two edges of a roller's sensor that the machine can make, us.
    pub roller_shortest_us: i32,
    /// A ground wheel or radar with a pulse output.
    pub ground: Option<GroundConfig>,
    /// Fastest believable ground speed, either way, mm/s.
    pub fastest_mm_s: i32,
    /// Age at which a speed from the CAN bus is stale, ms.
    pub bus_stale_ms: i32,
    /// Age at which a satellite receiver's speed is stale, ms.
    pub satellite_stale_ms: i32,
    /// Age at which the bus's stop button counts as gone, ms.
    pub bus_stop_stale_ms: i32,
    /// Weigh cells under the cradle.
    pub weigh: Option<WeighConfig>,
    /// Pressure across the roller motors, values in kPa.
    pub pressure: Option<AnalogConfig>,
    /// Bale gauge, values in mm.
    pub gauge: Option<AnalogConfig>,
    /// Lowest and highest counts of the reference voltage.
    pub reference_counts: (i32, i32),
    /// Longest time the two stop channels may differ before they contradict each other, ms.
    pub stop_disagree_ms: i32,
    /// Time after which a lost person counts as lost, ms.
    pub present_release_ms: i32,
    /// Time after which a let-go run switch counts as let go, ms.
    pub run_release_ms: i32,
    /// Time that a button must have been open without a break before a press of it counts, ms.
    pub button_release_ms: i32,
}

/// A pulse sensor that measures the ground.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GroundConfig {
    /// Ground covered from edge to edge, um.
    pub pitch_um: i32,
    /// Shortest possible time between two edges, us.
    pub shortest_us: i32,
    /// Time without an edge after which the machine counts as standing, ms.
    pub standing_ms: i32,
}

/// Weigh cells.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeighConfig {
    /// Counts with nothing on the machine.
    pub zero_counts: i32,
    /// Mass of one count, mg.
    pub mg_per_count: i32,
    /// Lowest and highest counts that sound cells can give.
    pub counts: (i32, i32),
    /// Longest time in which conversions may bring exactly the same counts, ms.
    pub frozen_ms: i32,
    /// Age at which a conversion is stale, ms.
    pub stale_ms: i32,
}

/// An analog sensor on a straight line through two points.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalogConfig {
    /// Counts at the two points, lower first.
    pub counts: (i32, i32),
    /// Values at the same points, kPa for pressure and mm for the gauge.
    pub values: (i32, i32),
    /// Lowest and highest counts that a sound sensor and cable can give.
    pub live_counts: (i32, i32),
}

/// [`SignalConfig`] in machine numbers; only [`SignalConfig::build`] makes it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(missing_docs, reason = "each field is that of the configuration, without its unit")]
pub struct SignalSettings {
    pub roller_shortest: Span,
    pub ground: Option<GroundSettings>,
    pub fastest: Speed,
    pub bus_stale: Span,
    pub satellite_stale: Span,
    pub bus_stop_stale: Span,
    pub weigh: Option<WeighSettings>,
    pub pressure: Option<AnalogLine>,
    pub gauge: Option<AnalogLine>,
    pub reference: (i32, i32),
    pub stop_disagree: Span,
    pub present_release: Span,
    pub run_release: Span,
    pub button_release: Span,
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

/// [`AnalogConfig`] in machine numbers: a straight line from counts to a raw quantity.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AnalogLine {
    /// Counts at the lower point.
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
}

impl Default for SignalConfig {
    fn default() -> Self {
        Self::TYPICAL
    }
}

impl SignalConfig {
    /// A machine with everything fitted. The sensors are common kinds, the values from memory and
    /// common practice: transmitters with 10 to 90 % of the supply, an amplifier with 1 g a count.
    pub const TYPICAL: Self = Self {
        roller_shortest_us: 2_000,
        ground: Some(GroundConfig { pitch_um: 10_000, shortest_us: 500, standing_ms: 500 }),
        fastest_mm_s: 15_000,
        bus_stale_ms: 300,
        satellite_stale_ms: 1_500,
        bus_stop_stale_ms: 3_000,
        weigh: Some(WeighConfig {
            zero_counts: 0,
            mg_per_count: 1_000,
            counts: (-500_000, 4_000_000),
            frozen_ms: 500,
            stale_ms: 100,
        }),
        pressure: Some(AnalogConfig {
            counts: (410, 3_686),
            values: (0, 25_000),
            live_counts: (205, 3_891),
        }),
        gauge: Some(AnalogConfig {
            counts: (410, 3_686),
            values: (0, 1_500),
            live_counts: (205, 3_891),
        }),
        reference_counts: (1_988, 2_108),
        stop_disagree_ms: 50,
        present_release_ms: 100,
        run_release_ms: 50,
        button_release_ms: 200,
    };

    /// Checks every field and turns the record into machine numbers.
    ///
    /// # Errors
    /// The first field that is not allowed.
    pub fn build(&self) -> Result<SignalSettings, SettingError> {
        let fastest = check("fastest_mm_s", self.fastest_mm_s, 1_000..=60_000)?;
        Ok(SignalSettings {
            roller_shortest: micros("roller_shortest_us", self.roller_shortest_us)?,
            ground: self.ground.as_ref().map(GroundConfig::build).transpose()?,
            fastest: Speed::from_milli(fastest),
            bus_stale: millis("bus_stale_ms", self.bus_stale_ms, 100..=2_000)?,
            satellite_stale: millis("satellite_stale_ms", self.satellite_stale_ms, 100..=5_000)?,
            bus_stop_stale: millis("bus_stop_stale_ms", self.bus_stop_stale_ms, 1_000..=10_000)?,
            weigh: self.weigh.as_ref().map(WeighConfig::build).transpose()?,
            pressure: self.pressure.as_ref().map(build_pressure).transpose()?,
            gauge: self.gauge.as_ref().map(build_gauge).transpose()?,
            reference: pair("reference_counts", self.reference_counts, 1, 4_094)?,
            stop_disagree: millis("stop_disagree_ms", self.stop_disagree_ms, 10..=50)?,
            present_release: millis("present_release_ms", self.present_release_ms, 10..=100)?,
            run_release: millis("run_release_ms", self.run_release_ms, 10..=50)?,
            button_release: millis("button_release_ms", self.button_release_ms, 10..=500)?,
        })
    }
}

impl GroundConfig {
    fn build(&self) -> Result<GroundSettings, SettingError> {
        let pitch = check("ground.pitch_um", self.pitch_um, 1_000..=2_000_000)?;
        Ok(GroundSettings {
            // 2^19 / 10^6 = 562,949,953 / 2^30.
            pitch: Length::from_bits(product(pitch, 562_949_953, 30)),
            shortest: micros("ground.shortest_us", self.shortest_us)?,
            standing: millis("ground.standing_ms", self.standing_ms, 100..=5_000)?,
        })
    }
}

impl WeighConfig {
    fn build(&self) -> Result<WeighSettings, SettingError> {
        let mg_per_count = check("weigh.mg_per_count", self.mg_per_count, 10..=20_000)?;
        Ok(WeighSettings {
            zero: check("weigh.zero_counts", self.zero_counts, -8_388_607..=8_388_606)?,
            // 2^19 / 10^6 bits a milligram, with SCALE_BITS more: 140,737,488 / 2^12.
            scale: product(mg_per_count, 140_737_488, 12),
            counts: pair("weigh.counts", self.counts, -8_388_607, 8_388_606)?,
            frozen: millis("weigh.frozen_ms", self.frozen_ms, 100..=10_000)?,
            stale: millis("weigh.stale_ms", self.stale_ms, 20..=2_000)?,
        })
    }
}

impl AnalogConfig {
    /// `fields` names counts, values and live counts for errors; `to_bits` turns a value into the
    /// raw number of the quantity measured.
    fn build(
        &self,
        fields: [&'static str; 3],
        values: RangeInclusive<i32>,
        to_bits: fn(i32) -> i32,
    ) -> Result<AnalogLine, SettingError> {
        let [counts_field, values_field, live_field] = fields;
        let low = check(counts_field, self.counts.0, 0..=3_839)?;
        // A shorter stretch would make the slope coarse, and could take it out of its range.
        let high = check(counts_field, self.counts.1, low.saturating_add(256)..=4_095)?;
        let at_low = to_bits(check(values_field, self.values.0, values.clone())?);
        let at_high = to_bits(check(values_field, self.values.1, values)?);
        let rise = at_high.saturating_sub(at_low);
        Ok(AnalogLine {
            origin: low,
            at_origin: at_low,
            slope: quotient(rise, high.saturating_sub(low), AnalogLine::SLOPE_BITS),
            live: pair(live_field, self.live_counts, 1, 4_094)?,
        })
    }
}

fn build_pressure(config: &AnalogConfig) -> Result<AnalogLine, SettingError> {
    let fields = ["pressure.counts", "pressure.values", "pressure.live_counts"];
    config
        .build(fields, 0..=32_000, |kpa| Pressure::from_milli(kpa.saturating_mul(1_000)).to_bits())
}

fn build_gauge(config: &AnalogConfig) -> Result<AnalogLine, SettingError> {
    let fields = ["gauge.counts", "gauge.values", "gauge.live_counts"];
    config.build(fields, 0..=4_000, |mm| Length::from_milli(mm).to_bits())
}

/// A pair whose lower value comes first, both within `low..=high`.
fn pair(
    field: &'static str,
    (first, second): (i32, i32),
    low: i32,
    high: i32,
) -> Result<(i32, i32), SettingError> {
    let first = check(field, first, low..=high.saturating_sub(1))?;
    Ok((first, check(field, second, first.saturating_add(1)..=high)?))
}

fn micros(field: &'static str, given: i32) -> Result<Span, SettingError> {
    Ok(Span::from_micros(check(field, given, 50..=1_000_000)?.unsigned_abs()))
}

fn millis(
    field: &'static str,
    given: i32,
    allowed: RangeInclusive<i32>,
) -> Result<Span, SettingError> {
    Ok(Span::from_millis(check(field, given, allowed)?.unsigned_abs()))
}
