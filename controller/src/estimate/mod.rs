//! Floor 2: readings into roller speed, ground speed, bite and hay left.

mod account;
mod bale;
mod feel;
mod gauge;
mod ground;
mod lots;
mod roller;

pub use account::{ACCOUNT_WORDS, Account};
pub use bale::BaleFilter;
pub use feel::{Feel, Felt};
pub use gauge::GaugeScale;
pub use ground::{GroundFollower, GroundSpeed, choose};
pub use lots::{Lesson, Lots};
pub use roller::{RollerFollower, RollerSpeed};

use crate::settings::{EstimateSettings, Ticket};
use crate::signals::{Quality, Readings};
use crate::units::{Bite, FactorVariance, Mass, Pressure, Ratio, Span, Turns};
use serde::{Deserialize, Serialize};

/// Share of a sudden loss of weight that is believed with each conversion: three in a row convince.
const SUDDEN: Ratio = Ratio::from_bits(26_214); // 0.4
/// The roughness of the ride is the mean error of a weighing over about this many conversions.
const ROUGHNESS_HALVINGS: u32 = 6;
/// A loss of weight is no clump unless it stands out of the roughness by this factor.
const STANDS_OUT: Ratio = Ratio::from_bits(6 << 16);

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
    /// A dense core is felt. Nothing is felt without [`Self::pressure`].
    pub in_core: bool,
    /// Hay torn off the bale in this tick. Weighing corrects what is left, not what was torn.
    pub torn: Mass,
    /// Pressure across the motors, if known.
    pub pressure: Option<Pressure>,
    /// A new bale was loaded in this tick.
    pub loaded: bool,
    /// A clump left in this tick.
    pub clump: Option<Mass>,
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
    gauge: GaugeScale,
    sudden: Mass,
    /// Mean error of the bale's weighings of late.
    roughness: Mass,
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
            gauge: GaugeScale::default(),
            sudden: Mass::ZERO,
            roughness: settings.clump_mass,
        }
    }

    /// The account of before power was off, nothing else known yet.
    #[must_use]
    pub fn with_account(settings: &EstimateSettings, account: Account) -> Self {
        Self { account, may_be_over: account.may_be_over(), ..Self::new(settings) }
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
        let usual = usual_bite(ticket, bale.left(), pressure.is_some());
        let now = usual.scaled(Ratio::ONE.saturating_add(felt.difference));
        let mut torn = bale.turn(settings, now, roller.turned, may_be_core);
        let lesson = (torn, now.over(roller.turned));
        let clump = self.weigh(settings, readings, &mut bale, &mut torn);
        self.gauge(settings, ticket, readings, &mut bale);
        self.account.bale = Some(bale);
        if roller.turned > Turns::ZERO {
            self.account.lesson.add(lesson, bale.left());
        }
        let weighs = readings.weigh.mass.quality == Quality::Good;
        let scale = if weighs { FactorVariance::ZERO } else { settings.ticket_mass_variance };
        Estimates {
            roller,
            ground,
            left: (bale.left(), bale.left_deviation()),
            usual_bite: usual,
            bite: (now.scaled(bale.factor()), now.scaled(bale.factor_deviation(scale))),
            core_expected: ticket.core_mass > Mass::ZERO,
            in_core: felt.core,
            torn,
            pressure,
            loaded,
            clump,
        }
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
            self.sudden = Mass::ZERO;
            self.roughness = settings.clump_mass;
            self.feel = Feel::default();
            self.gauge = GaugeScale::default();
        }
        loaded
    }

    /// Weigh cells: each new conversion corrects the mass; a sudden loss is taken as a clump.
    fn weigh(
        &mut self,
        settings: &EstimateSettings,
        readings: &Readings,
        bale: &mut BaleFilter,
        torn: &mut Mass,
    ) -> Option<Mass> {
        let measured = readings.weigh.mass.good().filter(|_| readings.weigh.fresh)?;
        let error = measured.saturating_sub(bale.left());
        self.sudden = self.sudden.saturating_add(error.saturating_sub(self.sudden).scaled(SUDDEN));
        let rougher = error.magnitude().saturating_sub(self.roughness).halved(ROUGHNESS_HALVINGS);
        self.roughness = self.roughness.saturating_add(rougher);
        let clump = self.sudden.negated();
        if clump > settings.clump_mass.max(self.roughness.scaled(STANDS_OUT)) {
            bale.lost(clump);
            self.sudden = Mass::ZERO;
            *torn = torn.saturating_add(clump);
            return Some(clump);
        }
        let deviation =
            self.roughness.scaled(settings.weigh_inflation).max(settings.weigh_deviation);
        bale.weighed(measured, deviation.times(deviation));
        None
    }

    /// Bale gauge: by the ticket while weigh cells correct it, by what they have told without them.
    fn gauge(
        &mut self,
        settings: &EstimateSettings,
        ticket: &Ticket,
        readings: &Readings,
        bale: &mut BaleFilter,
    ) {
        let busy = readings.weigh.fresh || readings.speeds.satellite.age == Span::ZERO;
        let due = self.gauge.is_due(busy);
        let Some(gap) = readings.analog.gauge.good().filter(|_| due) else { return };
        let told = ticket.left_at_radius(settings.gauge_axis.saturating_sub(gap));
        let weighs = readings.weigh.mass.quality == Quality::Good;
        let measured = if weighs {
            self.gauge.follow(ticket, told, bale.left());
            Some(told)
        } else {
            self.gauge.mass(told)
        };
        if let Some(measured) = measured {
            bale.weighed(measured, settings.gauge_variance);
        }
    }
}

/// The bite that the ticket lets expect. Who feels the core when it comes need not guess where.
fn usual_bite(ticket: &Ticket, left: Mass, feels: bool) -> Bite {
    if feels { ticket.bite_around_core(left) } else { ticket.expected_bite(left) }
}
