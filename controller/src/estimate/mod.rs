//! Floor 2: readings into roller speed, ground speed, bite and hay left.
//!
//! The roller speed is made in every tick, the rest in its [`Turn`].

mod account;
mod bale;
mod estimates;
mod feel;
mod gauge;
mod ground;
mod lots;
mod roller;
mod scale;
mod trust;

pub use account::{ACCOUNT_WORDS, Account};
pub use bale::BaleFilter;
pub use estimates::{Estimates, Hay};
pub use feel::{Feel, Felt};
pub use gauge::Gauge;
pub use ground::{GroundFollower, GroundSpeed, choose};
pub use lots::{Lesson, Lots};
pub use roller::{RollerFollower, RollerSpeed};
pub use scale::Scale;
pub use trust::Before;

use crate::settings::{EstimateSettings, Ticket};
use crate::signals::{Quality, Readings, Turn};
use crate::units::{Bite, FactorVariance, Mass, Ratio, TurnRate, Turns};
use serde::{Deserialize, Serialize};

/// Slower rollers tear nothing worth a weighing.
const TURNING: TurnRate = TurnRate::from_bits(3_277); // 0.05 turns/s

/// What the estimates need to remember.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Estimator {
    roller: RollerFollower,
    ground: GroundFollower,
    account: Account,
    /// The account is from before power was off and its bale may be over: unless a new one is called
    /// before somebody arms, arming says that one lies there.
    may_be_over: bool,
    /// A new bale was called since the hay's last turn.
    called: bool,
    /// Turns since then.
    turned: Turns,
    feel: Feel,
    felt: Felt,
    gauge: Gauge,
    scale: Scale,
    before: Before,
    estimates: Estimates,
}

impl Estimator {
    /// Nothing known yet.
    #[must_use]
    pub fn new(settings: &EstimateSettings) -> Self {
        Self {
            roller: RollerFollower::default(),
            ground: GroundFollower::default(),
            account: Account::default(),
            may_be_over: false,
            called: false,
            turned: Turns::ZERO,
            feel: Feel::default(),
            felt: Felt::default(),
            gauge: Gauge::default(),
            scale: Scale::new(settings),
            before: Before::default(),
            estimates: Estimates::default(),
        }
    }

    /// The account of before power was off, nothing else known yet.
    #[must_use]
    pub fn with_account(settings: &EstimateSettings, account: Account) -> Self {
        let before = account.bale.map_or(Before::default(), |bale| Before::new(bale.factor()));
        Self { account, may_be_over: account.may_be_over(), before, ..Self::new(settings) }
    }

    /// What is to outlast power-off.
    #[must_use]
    pub fn account(&self) -> &Account {
        &self.account
    }

    /// The ticket of the bale on the rollers.
    #[must_use]
    pub fn ticket<'a>(&self, settings: &'a EstimateSettings) -> &'a Ticket {
        self.account.ticket(settings)
    }

    /// One tick: roller speed, and whatever else has its turn.
    pub fn update(&mut self, settings: &EstimateSettings, readings: &Readings) {
        let switches = &readings.switches;
        self.called |= switches.new_bale_pressed || (self.may_be_over && switches.arm_pressed);
        let roller = self.roller.update(settings, readings.rollers);
        self.turned = self.turned.saturating_add(roller.turned);
        self.estimates.roller = roller;
        self.estimates.pressure = readings.analog.pressure.good();
        match readings.turn {
            Turn::Ground => {
                let speed = choose(&readings.speeds);
                self.estimates.ground = self.ground.update(speed, readings.round);
                self.doubt(settings, readings.even);
            }
            Turn::Hay => self.estimates.hay = self.weigh(settings, readings),
            Turn::Row => self.feel(settings, readings),
            Turn::Sentence => {}
        }
    }

    /// As of the last tick.
    #[must_use]
    pub fn estimates(&self) -> &Estimates {
        &self.estimates
    }

    /// The hay's turn: takes off the bale what the rollers tore, and lets one sensor correct the rest.
    fn weigh(&mut self, settings: &EstimateSettings, readings: &Readings) -> Hay {
        let loaded = self.load(settings, readings);
        let turned = self.turned;
        self.turned = Turns::ZERO;
        let ticket = self.account.ticket(settings);
        let mut bale = self.account.bale.unwrap_or_default();
        let may_be_core = ticket.may_be_core(bale.left());
        let feels = self.estimates.feels == Quality::Good;
        let usual = usual_bite(ticket, bale.left(), feels);
        let now = as_felt(usual, self.felt);
        let mut torn = bale.turn(settings, now, turned, may_be_core);
        let lesson = (torn, now.over(turned));
        let clump = self.measure(settings, readings, turned, may_be_core, &mut bale);
        torn = torn.saturating_add(clump.unwrap_or(Mass::ZERO));
        self.before.pass(bale.factor(), readings.round);
        self.account.bale = Some(bale);
        if turned > Turns::ZERO {
            self.account.lesson.add(lesson, bale.left());
        }
        let Hay { left: (_, left_deviation), bite: (_, bite_deviation), .. } = self.estimates.hay;
        Hay {
            left: (bale.left(), left_deviation),
            usual_bite: usual,
            bite: (now.scaled(bale.factor()), bite_deviation),
            core_expected: ticket.core_mass > Mass::ZERO,
            turned,
            torn,
            loaded,
            clump,
            scale: believed(readings.weigh.mass.quality, self.scale.lies()),
            gauge: believed(readings.analog.gauge.quality, self.gauge.lies()),
        }
    }

    /// Weigh cells or gauge correct the account of the bale. Gives the clump that left, if one did.
    fn measure(
        &mut self,
        settings: &EstimateSettings,
        readings: &Readings,
        turned: Turns,
        may_be_core: bool,
        bale: &mut BaleFilter,
    ) -> Option<Mass> {
        let lied = (self.scale.lies(), self.gauge.lies());
        let mut clump = None;
        if let Some(gap) = readings.analog.gauge.good().filter(|_| self.gauge.has_its_turn(turned))
        {
            let ticket = self.account.ticket(settings);
            let weighs = readings.weigh.mass.quality == Quality::Good && !self.scale.lies();
            let (_, deviation) = self.estimates.hay.left;
            self.gauge.read(settings, ticket, gap, (bale, deviation), weighs);
        } else if let Some(mass) = readings.weigh.mass.good().filter(|_| readings.weigh.fresh) {
            let state = (self.estimates.roller.mean > TURNING, may_be_core || self.felt.core);
            clump = self.scale.weigh(settings, mass, bale, state);
        }
        if lied != (self.scale.lies(), self.gauge.lies()) {
            bale.unlearn(self.before.factor());
        }
        clump
    }

    /// The row's turn: what is felt of the hay.
    fn feel(&mut self, settings: &EstimateSettings, readings: &Readings) {
        let Some(bale) = &mut self.account.bale else { return };
        let may_be_core = settings.ticket(self.account.ticket).may_be_core(bale.left());
        let sight = (bale.left(), may_be_core);
        let Estimates { pressure, roller, .. } = self.estimates;
        self.felt = self.feel.update(settings, pressure, sight, roller.rate, readings.round);
        if self.felt.core_begins {
            bale.doubt();
        }
        self.estimates.in_core = self.felt.core;
        self.estimates.feels = believed(readings.analog.pressure.quality, self.feel.lies());
    }

    /// How far the hay is known: roots are dear, so that each deviation has every other round.
    fn doubt(&mut self, settings: &EstimateSettings, even: bool) {
        let Some(bale) = &self.account.bale else { return };
        let hay = &mut self.estimates.hay;
        if even {
            hay.left.1 = bale.left_deviation();
            return;
        }
        let weighs = hay.scale == Quality::Good;
        let in_common = if weighs { FactorVariance::ZERO } else { settings.ticket_mass_variance };
        hay.bite.1 = as_felt(hay.usual_bite, self.felt).scaled(bale.factor_deviation(in_common));
    }

    /// Whether a new bale lies there; then what was felt of the old one is forgotten.
    fn load(&mut self, settings: &EstimateSettings, readings: &Readings) -> bool {
        let loaded = self.account.bale.is_none() || self.called;
        self.called = false;
        if loaded {
            self.account.load(settings, readings.ticket);
            self.may_be_over = false;
            self.scale = Scale::new(settings);
            self.before = Before::new(self.account.factor(self.account.ticket));
            self.feel = Feel::default();
            self.felt = Felt::default();
            self.gauge = Gauge::default();
        }
        loaded
    }
}

/// The bite that the ticket lets expect. Who feels the core when it comes need not guess where.
fn usual_bite(ticket: &Ticket, left: Mass, feels: bool) -> Bite {
    if feels { ticket.bite_around_core(left) } else { ticket.expected_bite(left) }
}

/// A bite less or more what is felt to be different about it.
fn as_felt(usual: Bite, felt: Felt) -> Bite {
    usual.scaled(Ratio::ONE.saturating_add(felt.difference))
}

/// The quality of a sensor's reading, less what it lost by telling what cannot be.
fn believed(quality: Quality, lies: bool) -> Quality {
    if lies { quality.min(Quality::Invalid) } else { quality }
}
