//! How the tractor moves: modelled from a wanted speed, or recorded.

use super::STEP_S;
use super::spec::{Motion, TractorSpec};
use super::terrain::{Terrain, TerrainSpec};
use super::wander::Wander;
use crate::random::Stream;

/// A modelled tractor.
#[derive(Clone, Debug)]
pub struct Tractor {
    spec: TractorSpec,
    speed_wander: Wander,
    engine_wander: Wander,
    terrain: Terrain,
    odometer_m: f64,
    steps: u64,
    speed_m_s: f64,
}

impl Tractor {
    /// A tractor at rest with its engine running.
    #[must_use]
    pub fn new(spec: &TractorSpec, random: Stream) -> Self {
        Self {
            spec: spec.clone(),
            speed_wander: Wander::new(random.named("speed"), spec.wander_s),
            engine_wander: Wander::new(random.named("engine"), spec.wander_s),
            terrain: Terrain::new(&TerrainSpec::default(), random),
            odometer_m: 0.0,
            steps: 0,
            speed_m_s: 0.0,
        }
    }

    /// The same tractor on this ground instead of flat and firm one.
    #[must_use]
    pub fn over(mut self, terrain: Terrain) -> Self {
        self.terrain = terrain;
        self
    }

    /// It is driven like this from now on.
    pub fn refit(&mut self, spec: &TractorSpec) {
        self.spec.clone_from(spec);
    }

    /// One millisecond towards a wanted ground speed, m/s; below zero counts as standing.
    #[inline]
    pub fn step(&mut self, wanted_m_s: f64) -> Motion {
        let wander = 1.0 + self.spec.wander * self.speed_wander.at(self.steps);
        let engine = 1.0 + self.spec.engine_wander * self.engine_wander.at(self.steps);
        self.steps += 1;
        let spot = self.terrain.at(self.odometer_m);
        let share = (1.0 - self.spec.slope_loss * spot.slope) * (1.0 - spot.slip);
        let gain = (wanted_m_s * wander * share).max(0.0) - self.speed_m_s;
        self.speed_m_s +=
            gain.clamp(-self.spec.braking_m_s2 * STEP_S, self.spec.acceleration_m_s2 * STEP_S);
        self.odometer_m += self.speed_m_s * STEP_S;
        let set_turns_s = match self.spec.gear_m {
            Some(gear_m) => {
                (self.speed_m_s / (1.0 - spot.slip) / gear_m).max(self.spec.idle_turns_s)
            }
            None => self.spec.engine_turns_s,
        };
        Motion { speed_m_s: self.speed_m_s, engine_turns_s: (set_turns_s * engine).max(0.0) }
    }
}

/// A recorded drive: straight lines between samples.
#[derive(Clone, Debug)]
pub struct Recorded {
    samples: Vec<(f64, Motion)>,
    next: usize,
}

impl Recorded {
    /// From samples of (time s, motion) in order of time.
    #[must_use]
    pub fn new(samples: Vec<(f64, Motion)>) -> Self {
        Self { samples, next: 0 }
    }

    /// Motion at a time, s. Before the first sample it is that sample; after the last one the tractor
    /// stands; without samples it stands with its engine off.
    pub fn at(&mut self, time_s: f64) -> Motion {
        if self.next > 0 && self.samples[self.next - 1].0 > time_s {
            self.next = 0;
        }
        while self.samples.get(self.next).is_some_and(|sample| sample.0 <= time_s) {
            self.next += 1;
        }
        let before = self.next.checked_sub(1).map(|last| self.samples[last]);
        match (before, self.samples.get(self.next).copied()) {
            (None, None) => Motion::default(),
            (None, Some((_, first))) => first,
            (Some((_, last)), None) => Motion { speed_m_s: 0.0, ..last },
            (Some((from_s, from)), Some((to_s, to))) => {
                let share = (time_s - from_s) / (to_s - from_s);
                let mix = |from: f64, to: f64| from + (to - from) * share;
                Motion {
                    speed_m_s: mix(from.speed_m_s, to.speed_m_s),
                    engine_turns_s: mix(from.engine_turns_s, to.engine_turns_s),
                }
            }
        }
    }
}
