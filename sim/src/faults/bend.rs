//! What each kind does to a number, tick by tick.

use super::Kind;
use super::wires::Reach;
use crate::random::Stream;
use std::collections::VecDeque;

/// Longest delay, ticks.
const LONGEST: usize = 60;

/// A fault's size and timing, drawn once, and what it must remember.
#[derive(Clone, Debug)]
pub(super) struct Bend {
    kind: Kind,
    random: Stream,
    /// Size as a share of the reach, with sign.
    size: f64,
    factor: f64,
    delay: usize,
    /// Ticks from one spike to the next, and length of a drop-out.
    period: u64,
    held: Option<i64>,
    past: VecDeque<i64>,
}

impl Bend {
    pub(super) fn new(kind: Kind, random: Stream) -> Self {
        let draw = |name: &str| random.named(name).uniform(0);
        let sign = if draw("sign") < 0.5 { -1.0 } else { 1.0 };
        let factors = [0.0, 0.25, 0.5, 0.7, 1.4, 2.0, 4.0];
        Self {
            kind,
            random,
            size: sign * (0.03 + 0.5 * draw("size") * draw("size")),
            factor: factors[(draw("factor") * factors.len() as f64) as usize % factors.len()],
            delay: 3 + (draw("delay") * (LONGEST - 3) as f64) as usize,
            period: 5 + (draw("period") * 40.0) as u64,
            held: None,
            past: VecDeque::new(),
        }
    }

    /// Notes the value while the wire is sound, so that what is late has something to show.
    pub(super) fn note(&mut self, value: i64) {
        self.past.push_back(value);
        if self.past.len() > LONGEST {
            self.past.pop_front();
        }
    }

    /// Whether it drops out in this tick after the onset.
    pub(super) fn is_out(&self, since: u64) -> bool {
        let window = since / self.period;
        self.random.named("out").uniform(window) < 0.5
    }

    /// Whether it spikes in this tick.
    pub(super) fn spikes(&self, since: u64) -> bool {
        since.is_multiple_of(self.period)
    }

    /// The factor of a scale.
    pub(super) fn factor(&self) -> f64 {
        self.factor
    }

    /// Ticks by which it is late.
    pub(super) fn delay(&self) -> usize {
        self.delay
    }

    /// A draw of its own for this tick.
    pub(super) fn bits(&self, since: u64) -> u64 {
        self.random.named("bits").bits(since)
    }

    /// The value shown in place of `value`, `since` ticks after the onset.
    pub(super) fn number(&mut self, value: i64, (low, high): Reach, since: u64) -> i64 {
        let held = *self.held.get_or_insert(value);
        self.note(value);
        let span = (high - low) as f64;
        let shifted = |by: f64| value + (by * span).round() as i64;
        let far = if value - low > high - value { low } else { high };
        let shown = match self.kind {
            Kind::Off => 0,
            Kind::Stuck => high,
            Kind::Frozen => held,
            Kind::Offset => shifted(self.size),
            Kind::Scale => (value as f64 * self.factor).round() as i64,
            Kind::Drift => shifted(self.size * since as f64 * 0.01),
            Kind::Noise => shifted(self.size * self.random.named("noise").normal(since)),
            Kind::Spike if self.spikes(since) => far,
            Kind::Delay => self.late(),
            Kind::Intermittent if self.is_out(since) => 0,
            Kind::BitFlipped if self.bits(since) & 3 == 0 => {
                let bits = 64 - (high as u64).leading_zeros();
                value ^ (1 << ((self.bits(since) >> 8) % u64::from(bits.max(1))))
            }
            // Swapping is up to whoever knows the neighbour.
            Kind::Spike | Kind::Intermittent | Kind::BitFlipped | Kind::Swapped => value,
        };
        shown.clamp(low, high)
    }

    /// A switch has but two values.
    pub(super) fn switch(&mut self, closed: bool, since: u64) -> bool {
        let held = *self.held.get_or_insert(i64::from(closed)) != 0;
        self.note(i64::from(closed));
        let draw = self.random.named("switch").uniform(since);
        match self.kind {
            Kind::Off => false,
            Kind::Stuck => true,
            Kind::Frozen => held,
            Kind::Offset => !closed,
            Kind::Scale => closed != since.is_multiple_of(2),
            Kind::Drift => closed && draw > since as f64 * 0.003,
            Kind::Noise => draw < 0.5,
            Kind::Spike => closed != self.spikes(since),
            Kind::Delay => self.late() != 0,
            Kind::Intermittent => closed && !self.is_out(since),
            Kind::BitFlipped => closed != (draw < 0.25),
            Kind::Swapped => closed,
        }
    }

    fn late(&self) -> i64 {
        let place = self.past.len().saturating_sub(1 + self.delay);
        self.past.get(place).copied().unwrap_or(0)
    }
}
