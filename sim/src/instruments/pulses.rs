//! Pulse pick-ups with the time of each edge.

use crate::random::Stream;
use strewn_controller::wires::PulseWire;

/// A pick-up before a toothed wheel. It cannot tell directions: every tooth that passes counts.
#[derive(Clone, Debug)]
pub struct Pickup {
    random: Stream,
    per_unit: f64,
    teeth: u32,
    pitch_error: f64,
    start: f64,
    /// Distance gone either way, in pitches.
    travelled: f64,
    tooth: u64,
    next_edge: f64,
    wire: PulseWire,
}

impl Pickup {
    /// `per_unit` pitches a unit of the travel followed, `teeth` before they come round again, `start`
    /// pitches short of the first. With 0 pitches it never moves.
    #[must_use]
    pub fn new(per_unit: f64, teeth: u32, pitch_error: f64, start: f64, random: Stream) -> Self {
        let wire = PulseWire::default();
        let (teeth, next_edge) = (teeth.max(1), 1.0 - start);
        Self {
            random,
            per_unit,
            teeth,
            pitch_error,
            start,
            travelled: 0.0,
            tooth: 1,
            next_edge,
            wire,
        }
    }

    /// Follows a travel, which never falls, to the end of a step of a millisecond, with edges timed
    /// within it.
    #[inline]
    pub fn follow(&mut self, travel: f64, step: u64) {
        let before = self.travelled;
        self.travelled = travel * self.per_unit;
        if self.travelled >= self.next_edge {
            self.pass(self.travelled - before, step);
        }
    }

    /// Lets the teeth pass that have come by while the wheel moved so many pitches.
    #[cold]
    fn pass(&mut self, moved: f64, step: u64) {
        while self.travelled >= self.next_edge {
            let before_end = ((self.travelled - self.next_edge) / moved).clamp(0.0, 1.0);
            let edge_us = step * 1000 - (before_end * 1000.0) as u64;
            self.wire.count = self.wire.count.wrapping_add(1);
            self.wire.last_edge_us = (edge_us & 0xFFFF_FFFF) as u32;
            self.tooth += 1;
            let error = 2.0 * self.random.uniform(self.tooth % u64::from(self.teeth)) - 1.0;
            self.next_edge = self.tooth as f64 - self.start + self.pitch_error * error;
        }
    }

    /// The wire now.
    #[must_use]
    pub fn wire(&self) -> PulseWire {
        self.wire
    }
}
