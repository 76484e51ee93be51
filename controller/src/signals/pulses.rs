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
    edge: Option<Instant>,
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
            self.seen = Some(Seen { tick: now, count: wire.count, edge: None });
            return Pulses { since_last: Span::MAX, quality: Quality::Good, ..Pulses::default() };
        };
        let edges = wire.count.wrapping_sub(seen.count);
        let (edge, good) = match edges {
            0 => (seen.edge, true),
            _ => seen.judge(edges, shortest, now, now.nearest(wire.last_edge_us)),
        };
        self.seen = Some(Seen { tick: now, count: wire.count, edge });
        let edges = if good { edges } else { 0 };
        let span = seen.edge.zip(edge).filter(|_| edges > 0);
        Pulses {
            edges,
            span: span.map(|(earlier, last)| last.since(earlier)),
            since_last: edge.map_or(Span::MAX, |edge| now.since(edge)),
            quality: if good { Quality::Good } else { Quality::Invalid },
        }
    }
}

impl Seen {
    /// When the last of `edges` new edges came, and whether they are possible.
    fn judge(
        self,
        edges: u32,
        shortest: Span,
        now: Instant,
        edge: Instant,
    ) -> (Option<Instant>, bool) {
        let in_tick = edge.later_by(CAPTURE) >= self.tick && edge <= now.later_by(CAPTURE);
        // Even a broken edge says that something moves; it is put where it does least harm.
        let edge = if in_tick { edge } else { now };
        // Without an earlier edge there may have been one just before the last tick.
        let earlier_span = match self.edge {
            Some(earlier) => edge.since(earlier),
            None => edge.since(self.tick).saturating_add(shortest).saturating_add(CAPTURE),
        };
        let least = u64::from(edges).wrapping_mul(u64::from(shortest.to_micros()));
        (Some(edge), in_tick && u64::from(earlier_span.to_micros()) >= least)
    }
}
