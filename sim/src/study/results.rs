//! What a campaign keeps of each bale: what it was, and what every contender made of it.

use crate::bench::record::Run;
use crate::bench::scenario::{Bale, Heed, Scenario};
use crate::score::{self, INTERVAL_M};
use crate::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH};
use crate::world::spec::{Hay, Profile};
use serde::{Deserialize, Serialize};

/// The long interval: 10 ft, m.
const LONG_M: f64 = 10.0 * M_PER_FT;

/// One bale and all its contenders, in the order of the laws.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BaleResult {
    /// Number of the bale, counted from 1.
    pub bale: u32,
    /// Number of its lot, counted from 1.
    pub lot: u32,
    /// What was fed, and how.
    pub facts: Facts,
    /// What became of it.
    pub outcomes: Vec<Outcome>,
}

/// Kind of core as it truly is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum CoreKind {
    /// The same density everywhere.
    Even,
    /// Loose at the centre.
    Soft,
    /// Tight at the centre.
    Dense,
}

impl CoreKind {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Even, Self::Soft, Self::Dense];

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Even => "even",
            Self::Soft => "soft",
            Self::Dense => "dense",
        }
    }
}

/// What was fed, and how. US units: they are what the file of results has.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// Kind of core as it truly is.
    pub core: CoreKind,
    /// Density at the centre over that at the surface.
    pub core_ratio: f32,
    /// Whether the hay is wrapped silage.
    pub wrapped: bool,
    /// Water, % of the weight as fed.
    pub moisture_percent: f32,
    /// Diameter, ft.
    pub diameter_ft: f32,
    /// Width, ft.
    pub width_ft: f32,
    /// Weight as fed, lb.
    pub weight_lb: f32,
    /// The ticket's weight, lb.
    pub ticket_weight_lb: f32,
    /// Hay wanted, lb/ft.
    pub target_lb_ft: f32,
    /// Ground speed that the driver wants, mph.
    pub speed_mph: f32,
    /// Deviation of ground speed, %.
    pub speed_wander_percent: f32,
    /// Whether the driver follows the advised speed.
    pub heed: Heed,
    /// Weigh cells fitted.
    pub weigh: bool,
    /// Pressure fitted.
    pub pressure: bool,
    /// Bale gauge fitted.
    pub gauge: bool,
}

/// What one contender made of a bale. A figure that there is none of is infinite for evenness: a bale of
/// which no row came is as uneven as can be.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Unevenness over 3 ft.
    pub unevenness_3_ft: f32,
    /// Unevenness over 10 ft.
    pub unevenness_10_ft: f32,
    /// Clumps on the ground.
    pub clumps: u32,
    /// Heaviest 3 ft, lb/ft.
    pub heaviest_lb_ft: f32,
    /// Hay laid, lb.
    pub laid_lb: f32,
    /// Hay left on the machine, lb.
    pub left_lb: f32,
    /// Length of the row, ft.
    pub row_ft: f32,
    /// Time of laying, s.
    pub time_s: f32,
}

impl Facts {
    fn of(scenario: &Scenario, bale: &Bale) -> Self {
        let (spec, ticket) = (&bale.spec, &scenario.tickets[bale.ticket]);
        let (core, core_ratio) = match spec.profile {
            Profile::Even => (CoreKind::Even, 1.0),
            Profile::SoftCore { centre, .. } => (CoreKind::Soft, centre),
            Profile::DenseCore { ratio, .. } => (CoreKind::Dense, ratio),
        };
        let fastest_m_s = scenario.drive.iter().map(|leg| leg.speed_m_s).fold(0.0, f64::max);
        Self {
            core,
            core_ratio: core_ratio as f32,
            wrapped: spec.hay == Hay::Wrapped,
            moisture_percent: (spec.moisture * 100.0) as f32,
            diameter_ft: (spec.diameter_m / M_PER_FT) as f32,
            width_ft: (spec.width_m / M_PER_FT) as f32,
            weight_lb: (spec.mass_kg / KG_PER_LB) as f32,
            ticket_weight_lb: (ticket.mass_kg / KG_PER_LB) as f32,
            target_lb_ft: (scenario.target_kg_m / KG_M_PER_LB_FT) as f32,
            speed_mph: (fastest_m_s / M_S_PER_MPH) as f32,
            speed_wander_percent: (scenario.tractor.wander * 100.0) as f32,
            heed: scenario.heed,
            weigh: scenario.sensors.weigh,
            pressure: scenario.sensors.pressure,
            gauge: scenario.sensors.gauge,
        }
    }
}

impl Outcome {
    fn of(run: &Run, index: usize) -> Self {
        let short = score::bale(run, index, INTERVAL_M);
        let long = score::bale(run, index, LONG_M);
        let uneven =
            |unevenness: Option<f64>| unevenness.map_or(f32::INFINITY, |value| value as f32);
        let heaviest_kg_m = short.heaviest.map_or(0.0, |place| place.laid_kg_m);
        // A bale that a contender never came to is left as a whole.
        let loaded = run.bales.get(index);
        let left_kg = loaded.map_or(f64::INFINITY, |bale| bale.left_kg);
        Self {
            unevenness_3_ft: uneven(short.unevenness),
            unevenness_10_ft: uneven(long.unevenness),
            clumps: short.clumps.len() as u32,
            heaviest_lb_ft: (heaviest_kg_m / KG_M_PER_LB_FT) as f32,
            laid_lb: (short.laid_kg / KG_PER_LB) as f32,
            left_lb: (left_kg / KG_PER_LB) as f32,
            row_ft: (short.length_m / M_PER_FT) as f32,
            time_s: short.time_s as f32,
        }
    }
}

/// What the last bale of a job was and what each run made of it.
pub(super) fn last(scenario: &Scenario, runs: &[Run]) -> (Facts, Vec<Outcome>) {
    let index = scenario.bales.len() - 1;
    let facts = Facts::of(scenario, &scenario.bales[index]);
    let outcome = |run| outcome(&facts, run, index);
    let outcomes = runs.iter().map(outcome).collect();
    (facts, outcomes)
}

/// What a run made of a bale. No more can be left of it than it weighed.
fn outcome(facts: &Facts, run: &Run, index: usize) -> Outcome {
    let mut outcome = Outcome::of(run, index);
    outcome.left_lb = outcome.left_lb.min(facts.weight_lb);
    outcome
}

/// The results of a lot, a bale each; `first` is the number of its first bale, `lot` its own, both
/// counted from 1.
#[must_use]
pub fn results(scenario: &Scenario, runs: &[Run], (first, lot): (u32, u32)) -> Vec<BaleResult> {
    let bales = scenario.bales.iter().enumerate();
    let result = |(index, bale): (usize, &Bale)| {
        let facts = Facts::of(scenario, bale);
        let outcomes = runs.iter().map(|run| outcome(&facts, run, index)).collect();
        BaleResult { bale: first + index as u32, lot, facts, outcomes }
    };
    bales.map(result).collect()
}
