//! The ledger: hay due to the ground by distance against hay laid and hay in the air.

use crate::settings::MeteringSettings;
use crate::units::{Length, Mass, MassFlow, Ratio, Seconds, Speed};
use serde::{Deserialize, Serialize};

/// No more than this is ever owed or paid ahead: beyond it the row is lost and repaying would harm.
const FURTHEST: Mass = Mass::from_bits(40 << 19);
/// The rollers go on when what was laid too much is down to this share of what made them wait.
const RESUME_HALVINGS: u32 = 2;

/// A row that begins again within this of its last hay goes on with what was owed.
const SAME_ROW: Length = Length::from_bits(3 << 19);

/// What the ground is owed.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Ledger {
    /// Due to the ground passed so far, less what has landed.
    owed: Mass,
    /// Torn off and not yet landed.
    air: Mass,
    /// Time since the first hay of the row, up to the time of the fall.
    flying: Seconds,
    begun: bool,
    waiting: bool,
    /// Ground passed since the rollers were stopped.
    passed: Length,
}

impl Ledger {
    /// A row begins. Close to the end of the last one it goes on with what was owed there, so that a
    /// halt does not wipe out an error; further on nothing is owed.
    pub fn open(&mut self) {
        let owed = if self.passed_near().is_some() { self.owed } else { Mass::ZERO };
        *self = Self { owed, ..Self::default() };
    }

    /// Ground passed since the rollers were stopped; `None` for so much that the next row is another.
    #[must_use]
    pub fn passed_near(&self) -> Option<Length> {
        (self.passed <= SAME_ROW).then_some(self.passed)
    }

    /// Whether hay of this row has reached the ground.
    #[must_use]
    pub fn is_landing(&self, settings: &MeteringSettings) -> bool {
        self.begun && self.flying >= settings.fall
    }

    /// A while at rest: the hay in the air lands, and ground passed now is no debt.
    pub fn rest(&mut self, travelled: Length) {
        self.owed = self.owed.saturating_sub(self.air);
        self.air = Mass::ZERO;
        self.passed = self.passed.saturating_add(travelled);
    }

    /// Enters what came of a while of laying.
    pub fn enter(
        &mut self,
        settings: &MeteringSettings,
        travelled: Length,
        torn: Mass,
        elapsed: Seconds,
    ) {
        self.begun |= torn > Mass::ZERO;
        self.air = self.air.saturating_add(torn);
        let share = settings.landing.over(elapsed).min(Ratio::ONE);
        let landed = self.air.scaled(share);
        self.air = self.air.saturating_sub(landed);
        let due =
            if self.flying < settings.fall { Mass::ZERO } else { settings.target.over(travelled) };
        if self.begun {
            self.flying = self.flying.saturating_add(elapsed).min(settings.fall);
        }
        self.owed = self
            .owed
            .saturating_add(due)
            .saturating_sub(landed)
            .held_within(FURTHEST.negated(), FURTHEST);
    }

    /// What will be owed when the hay now in the air has landed.
    fn coming(&self, settings: &MeteringSettings, speed: Speed) -> Mass {
        let due = settings.target.over(speed.over(self.flying));
        self.owed.saturating_add(due).saturating_sub(self.air)
    }

    /// Whether so much was laid too much that the rollers wait for the ground.
    #[must_use]
    pub fn is_waiting(&self) -> bool {
        self.waiting
    }

    /// The flow that lays what is due at the moment of landing and makes good what is owed, never
    /// below zero. `speed` is the ground speed now, `landing` the one to expect at landing.
    ///
    /// Repaying changes the flow by no more than the settings' share of it, so that an error is
    /// spread over the next stretch of row instead of put into one spot. `doubt` is one deviation of
    /// the hay left: the rollers do not wait for what may be an error of weighing.
    pub fn flow(
        &mut self,
        settings: &MeteringSettings,
        (speed, landing): (Speed, Speed),
        doubt: Mass,
    ) -> MassFlow {
        let owed = self.coming(settings, speed);
        let ahead = owed.negated().saturating_sub(doubt.saturating_add(doubt));
        let limit =
            if self.waiting { settings.hold.halved(RESUME_HALVINGS) } else { settings.hold };
        self.waiting = ahead > limit;
        if self.waiting {
            return MassFlow::ZERO;
        }
        let due = settings.target.flow_at(landing);
        let most = due.scaled(settings.repay_limit);
        let repaying = owed.paced(settings.repay).held_within(most.negated(), most);
        due.saturating_add(repaying).max(MassFlow::ZERO)
    }
}
