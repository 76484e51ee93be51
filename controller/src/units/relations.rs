//! Which quantities may be multiplied or divided, and what comes of it. The only such place.
//!
//! Products are rounded to nearest, quotients truncated towards zero; both saturate. A quotient by
//! zero saturates towards the sign of the numerator.

use super::arith::{product, quotient};
use super::quantity::*;

/// `A.name(B) -> C`, as a product.
macro_rules! product {
    ($($(#[$doc:meta])* $a:ident . $name:ident ( $b:ident ) -> $c:ident;)*) => {$(
        impl $a {
            $(#[$doc])*
            #[must_use]
            pub fn $name(self, other: $b) -> $c {
                const SHIFT: u32 = $a::FRACTION.saturating_add($b::FRACTION).saturating_sub($c::FRACTION);
                $c::from_bits(product(self.to_bits(), other.to_bits(), SHIFT))
            }
        }
    )*};
}

/// `A.name(B) -> C`, as a quotient.
macro_rules! quotient {
    ($($(#[$doc:meta])* $a:ident . $name:ident ( $b:ident ) -> $c:ident;)*) => {$(
        impl $a {
            $(#[$doc])*
            #[must_use]
            pub fn $name(self, other: $b) -> $c {
                const SHIFT: u32 = $c::FRACTION.saturating_add($b::FRACTION).saturating_sub($a::FRACTION);
                $c::from_bits(quotient(self.to_bits(), other.to_bits(), SHIFT))
            }
        }
    )*};
}

product! {
    /// Distance covered in a time.
    Speed.over(Seconds) -> Length;
    /// Speed gained in a time.
    Acceleration.over(Seconds) -> Speed;
    /// Hay that a row of this rate takes each second at a ground speed.
    LineRate.flow_at(Speed) -> MassFlow;
    /// Hay that a row of this rate holds on a length.
    LineRate.over(Length) -> Mass;
    /// Hay that flows in a time.
    MassFlow.over(Seconds) -> Mass;
    /// Turns made in a time.
    TurnRate.over(Seconds) -> Turns;
    /// Hay torn off each second at a roller speed.
    Bite.flow_at(TurnRate) -> MassFlow;
    /// Hay torn off in a number of turns.
    Bite.over(Turns) -> Mass;
    /// A deviation of mass, squared.
    Mass.times(Mass) -> MassVariance;
    /// Share of the way that a first-order lag goes in a time much shorter than its own.
    Frequency.over(Seconds) -> Ratio;
    /// Valve command for a roller speed.
    ValveGain.duty_for(TurnRate) -> Duty;
    /// Pressure that a mass of hay asks for.
    PressurePerMass.of(Mass) -> Pressure;
    /// Variance that a mass times this uncertain factor adds to its covariance with the factor.
    FactorVariance.times_mass(Mass) -> MassFactorCovariance;
    /// Variance of a factor that wanders by this much a turn, over some turns.
    FactorVariance.over(Turns) -> FactorVariance;
    /// Variance that a mass times an uncertain factor adds to the variance of the mass.
    MassFactorCovariance.times_mass(Mass) -> MassVariance;
    /// Flow that brings this hay in the time whose inverse this is.
    Mass.paced(Frequency) -> MassFlow;
    /// Correction of a factor for an error of mass; a mass as a share of another one, whose inverse this is.
    PerMass.of(Mass) -> Ratio;
    /// Variance of a factor that a correction takes away.
    PerMass.of_covariance(MassFactorCovariance) -> FactorVariance;
}

quotient! {
    /// Roller speed that gives this flow with a bite.
    MassFlow.turn_rate_with(Bite) -> TurnRate;
    /// Ground speed at which this flow makes a row of a rate.
    MassFlow.speed_for(LineRate) -> Speed;
    /// Row rate that this flow makes at a ground speed.
    MassFlow.rate_at(Speed) -> LineRate;
    /// Speed that covers this distance in a time.
    Length.within(Seconds) -> Speed;
    /// Speed gained in this time, as an acceleration.
    Speed.gained_within(Seconds) -> Acceleration;
    /// So much for each kilogram, if it is so much for this mass.
    Ratio.per(Mass) -> PerMass;
    /// Gain of a factor from an error of mass: covariance over variance.
    MassFactorCovariance.per(MassVariance) -> PerMass;
}
