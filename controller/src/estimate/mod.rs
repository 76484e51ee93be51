//! Floor 2: readings into roller speed, ground speed, bite and hay left.

mod account;
mod bale;
mod feel;
mod gauge;
mod ground;
mod lots;
mod roller;
mod scale;
mod trust;

pub use account::{ACCOUNT_WORDS, Account};
pub use bale::BaleFilter;
pub use feel::{Feel, Felt};
pub use gauge::Gauge;
pub use ground::{GroundFollower, GroundSpeed, choose};
pub use lots::{Lesson, Lots};
pub use roller::{RollerFollower, RollerSpeed};
pub use scale::Scale;
pub use trust::Before;

use crate::settings::{EstimateSettings, Ticket};
use crate::signals::{Quality, Readings};
use crate::units::{Bite, FactorVariance, Mass, Pressure, Ratio, Span, TurnRate, Turns};
use serde::{Deserialize, Serialize};

/// Slower rollers tear nothing worth a weighing.
const TURNING: TurnRate = TurnRate::from_bits(3_277); // 0.05 turns/s

/// Everything that control knows of the machine, as of this tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Estimates {
    /// Roller speed.
    pub roller: RollerSpeed,
    /// Ground speed.
    pub ground: GroundSpeed,
    /// Hay left on the machine and one standard deviation.
    pub left: (Mass, Mass),
    /// The bite that any bale of this ticket would have now.
    pub usual_bite: Bite,
    /// The bite and one standard deviation.
    pub bite: (Bite, Bite),
    /// The bale has a dense core by its ticket.
    pub core_expected: bool,
    /// A dense core is felt. Nothing is felt unless [`Self::feels`] is good.
    pub in_core: bool,
    /// Hay torn off the bale in this tick. Weighing corrects what is left, not what was torn.
    pub torn: Mass,
    /// Pressure across the motors, if known.
    pub pressure: Option<Pressure>,
    /// Whether the pressure is believed when it tells of the hay.
    pub feels: Quality,
    /// A new bale was loaded in this tick.
    pub loaded: bool,
    /// A clump left in this tick.
    pub clump: Option<Mass>,
    /// Whether the weigh cells are believed.
    pub scale: Quality,
    /// Whether the bale gauge is believed.
    pub gauge: Quality,
}

/// What the estimates need to remember.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Estimator {
    roller: RollerFollower,
    ground: GroundFollower,
    account: Account,
    /// The account is from before power was off and its bale may be over: unless a new one is called
    /// before somebody arms, arming says that one lies there.
    may_be_over: bool,
    feel: Feel,
    gauge: Gauge,
    scale: Scale,
    before: Before,
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
            feel: Feel::default(),
            gauge: Gauge::default(),
            scale: Scale::new(settings),
            before: Before::default(),
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

    /// One tick.
    pub fn update(
        &mut self,
        settings: &EstimateSettings,
        readings: &Readings,
        elapsed: Span,
    ) -> Estimates {
        let roller = self.roller.update(settings, readings.rollers);
        let ground = self.ground.update(choose(&readings.speeds), elapsed);
        let loaded = self.load(settings, readings);
        let ticket = self.ticket(settings);
        let mut bale = self.account.bale.unwrap_or_default();
        let pressure = readings.analog.pressure.good();
        let may_be_core = ticket.may_be_core(bale.left());
        let sight = (bale.left(), may_be_core);
        let felt = self.feel.update(settings, pressure, sight, roller.rate, elapsed);
        if felt.core_begins {
            bale.doubt();
        }
        let feels = believed(readings.analog.pressure.quality, self.feel.lies());
        let usual = usual_bite(ticket, bale.left(), feels == Quality::Good);
        let now = usual.scaled(Ratio::ONE.saturating_add(felt.difference));
        let mut torn = bale.turn(settings, now, roller.turned, may_be_core);
        let lesson = (torn, now.over(roller.turned));
        let clump = self.measure(settings, readings, &roller, may_be_core || felt.core, &mut bale);
        torn = torn.saturating_add(clump.unwrap_or(Mass::ZERO));
        self.before.pass(bale.factor(), elapsed);
        self.account.bale = Some(bale);
        if roller.turned > Turns::ZERO {
            self.account.lesson.add(lesson, bale.left());
        }
        let scale = believed(readings.weigh.mass.quality, self.scale.lies());
        let weighs = scale == Quality::Good;
        let in_common = if weighs { FactorVariance::ZERO } else { settings.ticket_mass_variance };
        Estimates {
            roller,
            ground,
            left: (bale.left(), bale.left_deviation()),
            usual_bite: usual,
            bite: (now.scaled(bale.factor()), now.scaled(bale.factor_deviation(in_common))),
            core_expected: ticket.core_mass > Mass::ZERO,
            in_core: felt.core,
            torn,
            pressure,
            feels,
            loaded,
            clump,
            scale,
            gauge: believed(readings.analog.gauge.quality, self.gauge.lies()),
        }
    }

    /// Weigh cells and gauge correct the account of the bale. Gives the clump that left, if one did.
    fn measure(
        &mut self,
        settings: &EstimateSettings,
        readings: &Readings,
        roller: &RollerSpeed,
        in_core: bool,
        bale: &mut BaleFilter,
    ) -> Option<Mass> {
        let lied = (self.scale.lies(), self.gauge.lies());
        let state = (roller.mean > TURNING, in_core);
        let weighed = readings.weigh.mass.good().filter(|_| readings.weigh.fresh);
        let clump = weighed.and_then(|mass| self.scale.weigh(settings, mass, bale, state));
        if let Some(gap) = readings.analog.gauge.good() {
            let ticket = self.account.ticket(settings);
            let weighs = readings.weigh.mass.quality == Quality::Good && !self.scale.lies();
            let busy = readings.weigh.fresh || readings.speeds.satellite.age == Span::ZERO;
            self.gauge.read(settings, ticket, (gap, roller.turned), bale, (weighs, busy));
        }
        if lied != (self.scale.lies(), self.gauge.lies()) {
            bale.unlearn(self.before.factor());
        }
        clump
    }

    /// The ticket of the bale on the rollers.
    #[must_use]
    pub fn ticket<'a>(&self, settings: &'a EstimateSettings) -> &'a Ticket {
        self.account.ticket(settings)
    }

    /// Whether a new bale lies there; then what was felt of the old one is forgotten.
    fn load(&mut self, settings: &EstimateSettings, readings: &Readings) -> bool {
        let switches = &readings.switches;
        let over = self.may_be_over && switches.arm_pressed;
        let loaded = self.account.bale.is_none() || switches.new_bale_pressed || over;
        if loaded {
            self.account.load(settings, readings.ticket);
            self.may_be_over = false;
            self.scale = Scale::new(settings);
            self.before = Before::new(self.account.factor(self.account.ticket));
            self.feel = Feel::default();
            self.gauge = Gauge::default();
        }
        loaded
    }
}

/// The bite that the ticket lets expect. Who feels the core when it comes need not guess where.
fn usual_bite(ticket: &Ticket, left: Mass, feels: bool) -> Bite {
    if feels { ticket.bite_around_core(left) } else { ticket.expected_bite(left) }
}

/// The quality of a sensor's reading, less what it lost by telling what cannot be.
fn believed(quality: Quality, lies: bool) -> Quality {
    if lies { quality.min(Quality::Invalid) } else { quality }
}
