//! Roller speed from edge times.
//!
//! At 20 turns a minute a coarse gear gives a few edges a second, so counting edges in a window would
//! be both late and rough. The time between edges is neither. While no edge comes, the speed can only
//! be lower than one edge in the time waited, and is taken as that.

use crate::settings::EstimateSettings;
use crate::signals::Pulses;
use crate::units::{Ratio, Span, TurnRate, Turns, arith::divide_wide};
use serde::{Deserialize, Serialize};

/// Two rollers driven together may differ by this share before they count as disagreeing.
const AGREEMENT: Ratio = Ratio::from_bits(16_384); // a quarter
/// Below this neither roller's speed is known well enough to compare.
const COMPARABLE: TurnRate = TurnRate::from_bits(13_107); // 0.2 turns/s

/// Slower is no turning: it is what one edge makes of a long rest. Below any speed that counts as
/// standing.
const STILL: TurnRate = TurnRate::from_bits(328); // 0.005 turns/s

/// Roller speed as known now.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct RollerSpeed {
    /// The faster of the two rollers: the safe side for whoever asks whether they stand.
    pub rate: TurnRate,
    /// The mean of both, for metering: the faster of two rough readings is always a little too fast.
    /// While they disagree, the faster.
    pub mean: TurnRate,
    /// Turns of the first roller in this tick, always counted forward.
    pub turned: Turns,
    /// Whether both rollers tell the same.
    pub agree: bool,
}

/// Speeds of both rollers, carried from tick to tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct RollerFollower {
    rates: [TurnRate; 2],
}

impl RollerFollower {
    /// One tick.
    pub fn update(&mut self, settings: &EstimateSettings, readings: [Pulses; 2]) -> RollerSpeed {
        for (rate, reading) in self.rates.iter_mut().zip(readings) {
            *rate = follow(settings, *rate, reading);
        }
        let [first, second] = self.rates;
        let [reading, _] = readings;
        let edges = i64::from(reading.edges.min(1_000));
        let turned = edges.saturating_mul(i64::from(settings.turns_per_edge.to_bits()));
        let faster = first.max(second);
        let apart = first.saturating_sub(second).magnitude();
        let agree = faster < COMPARABLE || apart <= faster.scaled(AGREEMENT);
        let middle = first.saturating_add(second).halved(1);
        RollerSpeed {
            rate: faster,
            mean: if agree { middle } else { faster },
            turned: Turns::from_bits(i32::try_from(turned).unwrap_or(i32::MAX)),
            agree,
        }
    }
}

fn follow(settings: &EstimateSettings, last: TurnRate, reading: Pulses) -> TurnRate {
    let followed = match reading.span {
        Some(span) => rate(settings, reading.edges, span),
        None if is_below_an_edge(settings, last, reading.since_last) => last,
        // The first edge after the start tells no speed yet.
        None => rate(settings, 1, reading.since_last),
    };
    if followed < STILL { TurnRate::ZERO } else { followed }
}

/// Whether a speed brings no more than an edge in this time: most waits for an edge need no division.
fn is_below_an_edge(settings: &EstimateSettings, rate: TurnRate, span: Span) -> bool {
    let come = u64::from(rate.to_bits().unsigned_abs()).wrapping_mul(u64::from(span.to_micros()));
    come <= u64::from(settings.rate_per_edge)
}

/// Edges in a time, as turns a second; no time at all saturates.
fn rate(settings: &EstimateSettings, edges: u32, span: Span) -> TurnRate {
    let numerator = u64::from(settings.rate_per_edge).saturating_mul(u64::from(edges));
    TurnRate::from_bits(i32::try_from(divide_wide(numerator, span.to_micros())).unwrap_or(i32::MAX))
}
