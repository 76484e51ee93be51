//! Floor 0: quantities over fixed-point numbers, and time.
//!
//! A value outside a range saturates; nothing wraps, panics or divides in 64 bits. Every unit is SI;
//! pounds and feet exist only where people read them.

pub mod arith;
mod quantity;
mod relations;
mod time;

pub use quantity::{
    Acceleration, Bite, Duty, FactorVariance, Frequency, Length, LineRate, Mass,
    MassFactorCovariance, MassFlow, MassVariance, PerMass, Pressure, PressurePerMass, Ratio,
    Seconds, Speed, TurnRate, Turns, ValveGain,
};
pub use time::{Instant, Span};
