//! Hay left on the machine and the bite, with their uncertainty: a Kalman filter of two states.
//!
//! The states are the mass left and a factor on the bite that the ticket lets expect. Each turn of
//! the rollers takes factor x expected bite off the mass; the factor wanders a little with every
//! turn. Weigh cells and bale gauge measure the mass; pressure speaks of the bite; with none of them
//! the ticket alone carries on. An empty machine is a measurement too: it teaches the factor for the
//! next bale of the lot.

use crate::settings::{EstimateSettings, Ticket};
use crate::units::arith::root;
use crate::units::{
    Bite, FactorVariance, Mass, MassFactorCovariance, MassVariance, PerMass, Ratio, Turns,
};
use serde::{Deserialize, Serialize};

/// The factor stays within these, whatever the wires say.
pub(super) const LEAST_FACTOR: Ratio = Ratio::from_bits(16_384); // 0.25
pub(super) const MOST_FACTOR: Ratio = Ratio::from_bits(262_144); // 4
/// How much faster doubt about the bite grows where a dense core may begin: without pressure only the
/// hay that leaves tells of one.
const CORE_DOUBT: Ratio = Ratio::from_bits(100 << 16);
/// Doubt grows no further than a deviation of 150 kg, and of 1 in the factor.
const MASS_VARIANCE_LIMIT: MassVariance = MassVariance::from_bits(22_500 << 16);
const FACTOR_VARIANCE_LIMIT: FactorVariance = FactorVariance::ONE;
/// Nor can the two go together by more than both limits allow.
const COVARIANCE_LIMIT: MassFactorCovariance = MassFactorCovariance::from_bits(150 << 20);

/// Variance of the bite between one moment and the next, which no filter of weighings follows: waves
/// of the windrow, layers. One deviation is 4.2 %. Assumed.
const RIPPLE: FactorVariance = FactorVariance::from_bits(30_199);
/// Doubt of the mass when another bale than the account's lies there: one deviation is 75 kg.
const NEW_MASS_DOUBT: MassVariance = MassVariance::from_bits(5_625 << 16);
/// Doubt of the bite when hay has become denser at once: one deviation is 30 %. Assumed.
const NEW_DOUBT: FactorVariance = FactorVariance::from_bits(1_509_949);

/// Mass left, factor, and how sure they are.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct BaleFilter {
    mass: Mass,
    factor: Ratio,
    mass_variance: MassVariance,
    covariance: MassFactorCovariance,
    factor_variance: FactorVariance,
}

impl BaleFilter {
    /// A bale of the ticket's mass, its factor as learned from the lot.
    #[must_use]
    pub fn loaded(settings: &EstimateSettings, ticket: &Ticket, factor: Ratio) -> Self {
        let deviation = ticket.mass.scaled(settings.ticket_mass_share);
        Self {
            mass: ticket.mass,
            factor: factor.held_within(LEAST_FACTOR, MOST_FACTOR),
            mass_variance: deviation.times(deviation).min(MASS_VARIANCE_LIMIT),
            covariance: MassFactorCovariance::ZERO,
            factor_variance: settings.bale_factor_variance,
        }
    }

    /// Hay left, never below zero.
    #[must_use]
    pub fn left(&self) -> Mass {
        self.mass
    }

    /// One standard deviation of the hay left.
    #[must_use]
    pub fn left_deviation(&self) -> Mass {
        Mass::ONE.scaled(Ratio::from_bits(self.mass_variance.to_bits()).square_root())
    }

    /// The factor on the expected bite.
    #[must_use]
    pub fn factor(&self) -> Ratio {
        self.factor
    }

    /// One standard deviation of the factor, as it is at this moment: the bite also rises and falls
    /// within less than the filter can follow. `scale` is the variance of what all its masses may be off
    /// by in common: who weighs nothing has no other measure of mass than the ticket's.
    #[must_use]
    pub fn factor_deviation(&self, scale: FactorVariance) -> Ratio {
        // 24 fraction bits halve to 12; four more are shifted in to keep the resolution of a ratio.
        let variance = self.factor_variance.saturating_add(RIPPLE).saturating_add(scale);
        Ratio::from_bits(root(variance.to_bits().max(0).unsigned_abs(), 8).cast_signed())
    }

    /// The hay has become another one at once: what was learned of the bite is in doubt.
    pub fn doubt(&mut self) {
        self.factor_variance = self.factor_variance.max(NEW_DOUBT);
    }

    /// Another mass lies there than the account has: it is in doubt.
    pub fn doubt_mass(&mut self) {
        self.mass_variance = self.mass_variance.max(NEW_MASS_DOUBT);
    }

    /// What was learned of the bite of late came from a sensor that lied: back to what was known before.
    pub fn unlearn(&mut self, factor: Ratio) {
        self.factor = factor.held_within(LEAST_FACTOR, MOST_FACTOR);
    }

    /// The rollers have turned: takes the hay off and lets the uncertainty grow. Returns the hay torn.
    ///
    /// `bite` is the one to expect of any bale like this now; it is uncertain by more than usual where
    /// a dense core may begin.
    pub fn turn(
        &mut self,
        settings: &EstimateSettings,
        bite: Bite,
        turned: Turns,
        may_be_core: bool,
    ) -> Mass {
        if turned == Turns::ZERO {
            return Mass::ZERO;
        }
        let expected = bite.over(turned);
        let torn = expected.scaled(self.factor).min(self.mass);
        self.mass = self.mass.saturating_sub(torn);
        let shared = self.factor_variance.times_mass(expected);
        let doubled = self.covariance.saturating_add(self.covariance).saturating_sub(shared);
        self.mass_variance = self
            .mass_variance
            .saturating_sub(doubled.times_mass(expected))
            .held_within(MassVariance::ZERO, MASS_VARIANCE_LIMIT);
        self.covariance = self
            .covariance
            .saturating_sub(shared)
            .held_within(COVARIANCE_LIMIT.negated(), COVARIANCE_LIMIT);
        let wander = settings.factor_wander.over(turned);
        let wander = wander.scaled(if may_be_core { CORE_DOUBT } else { Ratio::ONE });
        self.factor_variance =
            self.factor_variance.saturating_add(wander).min(FACTOR_VARIANCE_LIMIT);
        torn
    }

    /// The mass was measured with this variance.
    pub fn weighed(&mut self, measured: Mass, variance: MassVariance) {
        let error = measured.saturating_sub(self.mass);
        let total = self.mass_variance.saturating_add(variance);
        let mass_gain = self.mass_variance.share_of(total);
        let factor_gain: PerMass = self.covariance.per(total);
        self.mass = self.mass.saturating_add(error.scaled(mass_gain)).max(Mass::ZERO);
        self.factor = self
            .factor
            .saturating_add(factor_gain.of(error))
            .held_within(LEAST_FACTOR, MOST_FACTOR);
        let explained = factor_gain.of_covariance(self.covariance);
        self.factor_variance =
            self.factor_variance.saturating_sub(explained).max(FactorVariance::ZERO);
        let rest = mass_gain.complement();
        self.covariance = self.covariance.scaled(rest);
        self.mass_variance = self.mass_variance.scaled(rest);
    }

    /// Hay left at once, without learning the bite from it: a clump went.
    pub fn lost(&mut self, clump: Mass) {
        self.mass = self.mass.saturating_sub(clump).max(Mass::ZERO);
    }

    /// As plain numbers.
    pub(super) fn to_words(self) -> [i32; 5] {
        [
            self.mass.to_bits(),
            self.factor.to_bits(),
            self.mass_variance.to_bits(),
            self.covariance.to_bits(),
            self.factor_variance.to_bits(),
        ]
    }

    /// From plain numbers; `None` for any that the filter never comes to.
    pub(super) fn from_words(words: [i32; 5]) -> Option<Self> {
        let [mass, factor, mass_variance, covariance, factor_variance] = words;
        let filter = Self {
            mass: Mass::from_bits(mass),
            factor: Ratio::from_bits(factor),
            mass_variance: MassVariance::from_bits(mass_variance),
            covariance: MassFactorCovariance::from_bits(covariance),
            factor_variance: FactorVariance::from_bits(factor_variance),
        };
        let sound = filter.mass >= Mass::ZERO
            && (LEAST_FACTOR..=MOST_FACTOR).contains(&filter.factor)
            && (MassVariance::ZERO..=MASS_VARIANCE_LIMIT).contains(&filter.mass_variance)
            && filter.covariance.magnitude() <= COVARIANCE_LIMIT
            && (FactorVariance::ZERO..=FACTOR_VARIANCE_LIMIT).contains(&filter.factor_variance);
        sound.then_some(filter)
    }
}
