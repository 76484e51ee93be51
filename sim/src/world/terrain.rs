//! The ground that the tractor drives over: hills and mud, by the way driven.

use super::wander::Wander;
use crate::random::Stream;

/// What the ground is like. The default is flat and firm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TerrainSpec {
    /// Deviation of the slope along the way, rise over run.
    pub slope: f64,
    /// Way from one drawn slope to the next, m; at least 1.
    pub hill_m: f64,
    /// Share of the way that is muddy.
    pub mud_share: f64,
    /// Slip of the wheels in mud: share of their way that the tractor does not make, below 1.
    pub mud_slip: f64,
}

/// Length of a stretch that is muddy or firm throughout, m.
const STRETCH_M: f64 = 10.0;

/// The ground at one place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// Slope, rise over run; uphill is positive.
    pub slope: f64,
    /// Slip of the wheels, a share of their way.
    pub slip: f64,
}

/// The ground, seen along the way.
#[derive(Clone, Debug)]
pub struct Terrain {
    spec: TerrainSpec,
    plain: bool,
    hills: Wander,
    mud: Stream,
}

impl Terrain {
    /// Ground whose hills and mud are keyed by `random`.
    #[must_use]
    pub fn new(spec: &TerrainSpec, random: Stream) -> Self {
        // A wander over millimetres instead of milliseconds.
        let hills = Wander::new(random.named("hills"), spec.hill_m.max(1.0));
        let plain = spec.slope == 0.0 && spec.mud_share == 0.0;
        Self { spec: *spec, plain, hills, mud: random.named("mud") }
    }

    /// The ground at an odometer, m, not negative.
    #[inline]
    pub fn at(&mut self, odometer_m: f64) -> Spot {
        if self.plain { Spot::default() } else { self.rough_at(odometer_m) }
    }

    fn rough_at(&mut self, odometer_m: f64) -> Spot {
        let stretch = (odometer_m * (1.0 / STRETCH_M)) as u64;
        let muddy = self.mud.uniform(stretch) < self.spec.mud_share;
        Spot {
            slope: self.spec.slope * self.hills.at((odometer_m * 1e3) as u64),
            slip: if muddy { self.spec.mud_slip } else { 0.0 },
        }
    }
}
