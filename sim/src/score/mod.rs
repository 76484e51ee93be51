//! Hay on the ground into figures. Pure functions over a finished [`Run`].
//!
//! The strip of a bale reaches from its first to its last hay on the ground, in whole ground bins; where
//! the next bale's hay begins earlier, the strip ends there, so that no hay counts twice. A bale fed in
//! rows of fixed length has a strip for each. Every figure
//! of evenness depends on the interval over which hay is summed, so the interval is an argument and
//! is kept beside the result.

mod clump;
pub mod spread;

pub use clump::{Clump, Heaviest, WINDOW_M};

use crate::bench::record::{BaleRun, Run};
use crate::units::M_PER_FT;
use std::ops::Range;

/// The usual interval: 3 ft, m.
pub const INTERVAL_M: f64 = 3.0 * M_PER_FT;

/// Joules in a kilowatt-hour.
const J_PER_KWH: f64 = 3.6e6;

/// One segment of a strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Which bale of the run laid it, counted from 0.
    pub bale: usize,
    /// Odometer at its start, m.
    pub from_m: f64,
    /// Hay on it, kg/m.
    pub laid_kg_m: f64,
    /// Hay asked for, kg/m; positive.
    pub target_kg_m: f64,
}

impl Segment {
    /// Laid over target: 1 is right.
    #[must_use]
    pub fn relative(&self) -> f64 {
        self.laid_kg_m / self.target_kg_m
    }
}

/// What a strip, or several, amount to. `None` where there is nothing to divide by.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Interval of the segments, m: the one asked for, rounded to whole ground bins.
    pub interval_m: f64,
    /// How many whole segments there were.
    pub segments: usize,
    /// Root mean square of laid / target - 1 over the segments; 0 is perfect.
    pub unevenness: Option<f64>,
    /// Coefficient of variation of laid / target over the segments, with divisor n - 1.
    pub variation: Option<f64>,
    /// Share of segments within 10 % of the target.
    pub within_tenth: Option<f64>,
    /// Share of segments below half the target.
    pub below_half: Option<f64>,
    /// Share of segments above twice the target.
    pub above_twice: Option<f64>,
    /// The heaviest [`WINDOW_M`] and where it lies.
    pub heaviest: Option<Heaviest>,
    /// Clumps in the order laid.
    pub clumps: Vec<Clump>,
    /// Hay as loaded, kg.
    pub loaded_kg: f64,
    /// Hay still on the machine at the end, kg.
    pub left_kg: f64,
    /// Hay on the ground within the strips, kg.
    pub laid_kg: f64,
    /// Length of the strips from first to last hay, without the seams and what lies between rows, m.
    pub length_m: f64,
    /// Ground driven over between the strips of bales that follow one another, m. It is no part of
    /// the evenness.
    pub seams_m: f64,
    /// Time of laying from first to last hay, without the time between bales, s.
    pub time_s: f64,
    /// Hydraulic work for each mass laid, kWh/Mg; only for a run as a whole.
    pub energy_kwh_mg: Option<f64>,
}

impl Figures {
    /// Hay laid for each length of strip, kg/m; `None` when no length was laid.
    #[must_use]
    pub fn mean_kg_m(&self) -> Option<f64> {
        spread::ratio(self.laid_kg, self.length_m)
    }
}

/// Figures over all bales of a run.
#[must_use]
pub fn whole(run: &Run, interval_m: f64) -> Figures {
    let all: Vec<usize> = (0..run.bales.len()).collect();
    let mut figures = figures(run, &all, interval_m);
    figures.energy_kwh_mg = spread::ratio(run.energy_j / J_PER_KWH, figures.laid_kg / 1000.0);
    figures
}

/// Figures over the bales of one name. A name that no bale has gives the figures of nothing.
#[must_use]
pub fn kind(run: &Run, name: &str, interval_m: f64) -> Figures {
    let chosen = |&index: &usize| run.bales.get(index).is_some_and(|bale| bale.name == name);
    let indices: Vec<usize> = (0..run.bales.len()).filter(chosen).collect();
    figures(run, &indices, interval_m)
}

/// Figures of one bale, counted from 0. A bale that is not there gives the figures of nothing.
#[must_use]
pub fn bale(run: &Run, index: usize, interval_m: f64) -> Figures {
    let chosen = [index];
    figures(run, if index < run.bales.len() { &chosen } else { &[] }, interval_m)
}

/// The names of a run's bales, each once, in the order first fed.
#[must_use]
pub fn kinds(run: &Run) -> Vec<&str> {
    let mut names = Vec::new();
    for bale in &run.bales {
        if !names.contains(&bale.name.as_str()) {
            names.push(&bale.name);
        }
    }
    names
}

/// The whole segments of every strip of a run, in the order laid; a partial one at the end of a strip
/// is left out, and so is a bale whose target is not a positive number.
#[must_use]
pub fn segments(run: &Run, interval_m: f64) -> Vec<Segment> {
    let all: Vec<usize> = (0..run.bales.len()).collect();
    segments_of(run, &strips(run, &all), interval_m)
}

/// Flow that lays a row, lb/min: lb/ft times 88 ft/min for each mile an hour.
#[must_use]
pub fn flow_lb_min(rate_lb_ft: f64, speed_mph: f64) -> f64 {
    rate_lb_ft * 88.0 * speed_mph
}

/// Ground bins of one row of a bale.
struct Strip {
    bale: usize,
    bins: Range<usize>,
    target_kg_m: f64,
}

fn figures(run: &Run, chosen: &[usize], interval_m: f64) -> Figures {
    let strips = strips(run, chosen);
    let segments = segments_of(run, &strips, interval_m);
    let relative: Vec<f64> = segments.iter().map(Segment::relative).collect();
    let bales = || chosen.iter().map(|&index| &run.bales[index]);
    let follow = chosen.windows(2).filter(|pair| pair[1] == pair[0] + 1);
    let gap = |pair: &[usize]| run.bales[pair[1]].strip_m.0 - run.bales[pair[0]].strip_m.1;
    Figures {
        interval_m: bins_in(interval_m) as f64 * Run::BIN_M,
        segments: segments.len(),
        unevenness: spread::unevenness(&relative),
        variation: spread::coefficient_of_variation(&relative),
        within_tenth: spread::share(&relative, |r| (r - 1.0).abs() <= 0.1),
        below_half: spread::share(&relative, |r| r < 0.5),
        above_twice: spread::share(&relative, |r| r > 2.0),
        heaviest: clump::heaviest(&run.ground_kg, &strips),
        clumps: clump::clumps(&run.ground_kg, &strips),
        loaded_kg: bales().map(|bale| bale.mass_kg).sum(),
        left_kg: bales().map(|bale| bale.left_kg).sum(),
        laid_kg: strips.iter().flat_map(|strip| &run.ground_kg[strip.bins.clone()]).sum(),
        length_m: bales().flat_map(BaleRun::rows_m).map(span).sum(),
        seams_m: follow.map(gap).map(|length_m| length_m.max(0.0)).sum(),
        time_s: bales().map(|bale| span(bale.time_s)).sum(),
        energy_kwh_mg: None,
    }
}

/// From the first to the second of a pair; 0 when they run backwards or are not numbers.
fn span((from, to): (f64, f64)) -> f64 {
    (to - from).max(0.0)
}

fn strips(run: &Run, chosen: &[usize]) -> Vec<Strip> {
    let end_of_ground = run.ground_kg.len();
    // An odometer on the edge of a bin must not fall into the wrong one by rounding: a thousandth of a
    // bin is forgiven. What is not a number becomes bin 0.
    let first = |at_m: f64| ((at_m / Run::BIN_M + 1e-3).floor() as usize).min(end_of_ground);
    let end = |at_m: f64| ((at_m / Run::BIN_M - 1e-3).ceil() as usize).min(end_of_ground);
    let strips = |&index: &usize| {
        let bale = &run.bales[index];
        let next = run.bales.get(index + 1).filter(|next| span(next.strip_m) > 0.0);
        let limit = next.map_or(end_of_ground, |next| first(next.strip_m.0));
        bale.rows_m().map(move |row_m| {
            let from = first(row_m.0);
            let to = if span(row_m) > 0.0 { end(row_m.1).min(limit) } else { from };
            Strip { bale: index, bins: from..to.max(from), target_kg_m: bale.target_kg_m }
        })
    };
    chosen.iter().flat_map(strips).collect()
}

fn segments_of(run: &Run, strips: &[Strip], interval_m: f64) -> Vec<Segment> {
    let bins = bins_in(interval_m);
    let length_m = bins as f64 * Run::BIN_M;
    let mut segments = Vec::new();
    for strip in strips.iter().filter(|strip| strip.target_kg_m > 0.0) {
        for (count, hay_kg) in run.ground_kg[strip.bins.clone()].chunks_exact(bins).enumerate() {
            segments.push(Segment {
                bale: strip.bale,
                from_m: (strip.bins.start + count * bins) as f64 * Run::BIN_M,
                laid_kg_m: hay_kg.iter().sum::<f64>() / length_m,
                target_kg_m: strip.target_kg_m,
            });
        }
    }
    segments
}

/// Whole ground bins in a length, at least one.
fn bins_in(length_m: f64) -> usize {
    ((length_m / Run::BIN_M).round() as usize).max(1)
}
