//! Edges of a pulse sensor.
//!
//! Speed comes from the times of edges, not from counts in a window: at 20 rpm a coarse gear gives a
//! few edges a second.

use super::reading::Quality;
use crate::units::{Instant, Span};
use crate::wires::PulseWire;
use serde::{Deserialize, Serialize};

/// How far the capture of an edge and the reading of the clock may lie apart.
const CAPTURE: Span = Span::from_millis(1);

/// What one tick saw of a pulse sensor.
///
/// A sensor that stands still and one that is cut look alike: good, no edges, `since_last` growing.
/// Telling them apart takes what the rollers were asked to do, which is not known here.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Pulses {
    /// Edges since the last tick; zero if they were impossible.
    pub edges: u32,
    /// Time that these edges took: from the last edge of an earlier tick to the last of this one.
    /// `None` without edges, and for the first edge after the start.
    pub span: Option<Span>,
    /// Time since the last edge; [`Span::MAX`] if there was none.
    pub since_last: Span,
    /// [`Quality::Invalid`] in a tick that brought impossible edges, [`Quality::Good`] otherwise;
    /// [`Quality::Absent`] if the sensor is not fitted.
    pub quality: Quality,
}

/// Memory of one pulse sensor.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct PulseChannel {
    seen: Option<Seen>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
struct Seen {
    tick: Instant,
    count: u32,
    /// How long before that tick the last edge came, us; below zero if the capture ran ahead of the clock,
    /// after 35 minutes no longer.
    age_us: Option<i32>,
}

impl PulseChannel {
    /// Takes the wire of one tick. `shortest` is the shortest time the machine can make between two
    /// edges.
    ///
    /// The first tick only notes where the counter stands. Edges are impossible if they would be
    /// closer than `shortest`, or if the time of the last one does not lie in this tick: noise, a
    /// counter that jumps, a capture that is stuck. They are dropped and the measure starts over.
    pub fn update(&mut self, shortest: Span, now: Instant, wire: PulseWire) -> Pulses {
        let Some(seen) = self.seen else {
            self.seen = Some(Seen { tick: now, count: wire.count, age_us: None });
            return Pulses { since_last: Span::MAX, quality: Quality::Good, ..Pulses::default() };
        };
        let passed_us = signed(now.since(seen.tick));
        let earlier_us = seen.age_us.map(|age_us| age_us.saturating_add(passed_us));
        let edges = wire.count.wrapping_sub(seen.count);
        let (age_us, good) = match edges {
            0 => (earlier_us, true),
            _ => judge(edges, shortest, passed_us, (earlier_us, now.since_low(wire.last_edge_us))),
        };
        self.seen = Some(Seen { tick: now, count: wire.count, age_us });
        let edges = if good { edges } else { 0 };
        let both = earlier_us.zip(age_us).filter(|_| edges > 0);
        Pulses {
            edges,
            span: both.map(|(earlier_us, age_us)| unsigned(earlier_us.saturating_sub(age_us))),
            since_last: age_us.map_or(Span::MAX, unsigned),
            quality: if good { Quality::Good } else { Quality::Invalid },
        }
    }
}

/// The age of the edge to measure from, and whether new edges are possible. `ages_us` are those of the last
/// edge of an earlier tick and of the last one of this tick, `passed_us` is the time between the ticks.
fn judge(
    edges: u32,
    shortest: Span,
    passed_us: i32,
    (earlier_us, age_us): (Option<i32>, i32),
) -> (Option<i32>, bool) {
    let capture_us = signed(CAPTURE);
    let most_us = passed_us.saturating_add(capture_us);
    let in_tick = (capture_us.saturating_neg()..=most_us).contains(&age_us);
    // Even a broken edge says that something moves; it is put where it does least harm.
    let age_us = if in_tick { age_us } else { 0 };
    // Without an earlier edge there may have been one just before the last tick.
    let earlier_us = earlier_us.unwrap_or(most_us.max(age_us).saturating_add(signed(shortest)));
    let span = unsigned(earlier_us.saturating_sub(age_us));
    let least_us = u64::from(edges).wrapping_mul(u64::from(shortest.to_micros()));
    (Some(age_us), in_tick && u64::from(span.to_micros()) >= least_us)
}

fn signed(span: Span) -> i32 {
    i32::try_from(span.to_micros()).unwrap_or(i32::MAX)
}

fn unsigned(micros: i32) -> Span {
    Span::from_micros(micros.max(0).unsigned_abs())
}
