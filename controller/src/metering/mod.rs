//! Floor 3: estimates and a target into a proposed valve command and an advised ground speed.

mod dense_core;
mod ledger;
mod mark;
mod swings;
mod valve;

pub use dense_core::roller_limit;
pub use ledger::Ledger;
pub use mark::Mark;
pub use valve::{MOST_LEARNED, ValveLaw};

use crate::estimate::Estimates;
use crate::settings::{MeteringSettings, Ticket};
use crate::signals::{Readings, Turn};
use crate::units::{
    Duty, Frequency, LineRate, Mass, MassFlow, Ratio, Seconds, Span, Speed, TurnRate,
};
use serde::{Deserialize, Serialize};

/// The driver is advised to stay this share below the speed that could just be held.
const ADVISED_SHARE: Ratio = Ratio::from_bits(60_948); // 0.93
/// A driver takes about so long to follow an advice. Assumed.
const DRIVER: Seconds = Seconds::from_bits(3 << 24); // 3 s
/// The rate laid, for the eye, is averaged over about half a second.
const SHOWN_PACE: Frequency = Frequency::from_bits(2 << 16);
/// A ground speed below this makes no rate to show.
const SHOWN_SPEED: Speed = Speed::from_bits(6_554); // 0.1 m/s

/// What metering proposes; the gate decides.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Proposal {
    /// Roller speed asked for.
    pub rate: TurnRate,
    /// Valve command.
    pub duty: Duty,
    /// Highest ground speed at which the target can be held; [`Speed::MAX`] when any will do.
    pub advised: Speed,
    /// The rate being laid, as estimated.
    pub laid: LineRate,
    /// The core is near.
    pub core_near: bool,
    /// The rollers wait for the ground to catch up.
    pub holding: bool,
    /// A row of fixed length ends here.
    pub at_mark: bool,
}

/// What metering remembers.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Meter {
    ledger: Ledger,
    mark: Mark,
    valve: ValveLaw,
    flow: MassFlow,
    laying: bool,
}

impl Meter {
    /// As after power-on, with a correction of the valve learned before.
    #[must_use]
    pub fn taught(learned: Duty) -> Self {
        Self { valve: ValveLaw::taught(learned), ..Self::default() }
    }

    /// The correction of the valve that was learned.
    #[must_use]
    pub fn learned(&self) -> Duty {
        self.valve.learned()
    }

    /// One tick: a valve command in every one, a new plan in [`Turn::Row`]; `last` is what was proposed
    /// before. While `laying` is false the ledger rests and nothing is proposed. `open` is whether the gate
    /// let the last command through.
    pub fn propose(
        &mut self,
        settings: &MeteringSettings,
        ticket: &Ticket,
        readings: &Readings,
        estimates: &Estimates,
        (laying, open): (bool, bool),
        last: Proposal,
    ) -> Proposal {
        if self.laying && !laying {
            self.mark.rest(is_fed_out(ticket, estimates.hay.left));
        }
        if laying && !self.laying {
            self.mark.open(self.ledger.passed_near());
            self.ledger.open();
        }
        self.laying = laying;
        let planned = match readings.turn {
            Turn::Row => {
                let told = self.tell(settings, ticket, estimates, readings, last);
                self.plan(settings, ticket, estimates, readings.round, told)
            }
            Turn::Ground | Turn::Hay | Turn::Sentence => last,
        };
        if !laying {
            self.valve.rest();
            let Proposal { advised, laid, core_near, .. } = planned;
            return Proposal { advised, laid, core_near, ..Proposal::default() };
        }
        let rollers = (estimates.roller.mean, open);
        let duty = self.valve.command(settings, planned.rate, rollers, readings.elapsed());
        Proposal { duty, ..planned }
    }

    /// What the row asks for now: everything but the valve command and what the driver is told.
    fn plan(
        &mut self,
        settings: &MeteringSettings,
        ticket: &Ticket,
        estimates: &Estimates,
        round: Span,
        last: Proposal,
    ) -> Proposal {
        let Estimates { ground, hay, .. } = estimates;
        if hay.loaded {
            // What the last bale left undone is no debt of the new one.
            self.ledger = Ledger::default();
            self.mark.load();
        }
        let (cap, core_near) = roller_limit(settings, ticket, estimates, hay.left.0);
        let (bite, _) = hay.bite;
        if !self.laying {
            self.ledger.rest(ground.travelled);
            return Proposal { core_near, ..last };
        }
        self.ledger.enter(settings, ground.travelled, hay.torn, round.seconds());
        let speeds = (ground.speed, ground.after(settings.lead));
        let landing = self.ledger.is_landing(settings);
        let coming = ground.speed.over(settings.lead);
        let at_mark = self.mark.pass(settings.row_length, landing, ground.travelled, coming);
        let (_, doubt) = hay.left;
        let flow = self.ledger.flow(settings, speeds, doubt);
        Proposal {
            rate: flow.turn_rate_with(bite).held_within(TurnRate::ZERO, cap),
            core_near,
            holding: self.ledger.is_waiting(),
            at_mark,
            ..last
        }
    }

    /// What the driver is told: the advice in even rounds, the rate laid in the others.
    fn tell(
        &mut self,
        settings: &MeteringSettings,
        ticket: &Ticket,
        estimates: &Estimates,
        readings: &Readings,
        last: Proposal,
    ) -> Proposal {
        if readings.even {
            return Proposal { advised: self.advise(settings, ticket, estimates), ..last };
        }
        let elapsed = readings.round.saturating_add(readings.round);
        Proposal { laid: self.show(estimates, elapsed), ..last }
    }

    /// The ground speed at which the rollers will just keep up.
    fn advise(&self, settings: &MeteringSettings, ticket: &Ticket, estimates: &Estimates) -> Speed {
        let soon = limit_soon(settings, ticket, estimates);
        let limit = self.valve.limit().map_or(soon, |reached| soon.min(reached));
        if limit >= settings.most_rate {
            return Speed::MAX;
        }
        let (bite, _) = estimates.hay.bite;
        bite.flow_at(limit).speed_for(settings.target).scaled(ADVISED_SHARE)
    }

    /// The rate laid of late, for the eye.
    fn show(&mut self, estimates: &Estimates, elapsed: Span) -> LineRate {
        let (bite, _) = estimates.hay.bite;
        let flow = bite.flow_at(estimates.roller.mean);
        let share = SHOWN_PACE.over(elapsed.seconds()).min(Ratio::ONE);
        self.flow = self.flow.saturating_add(flow.saturating_sub(self.flow).scaled(share));
        if estimates.ground.speed < SHOWN_SPEED {
            return LineRate::ZERO;
        }
        self.flow.rate_at(estimates.ground.speed)
    }
}

/// Whether a bale was fed, but for what the estimate or a scale may be off by: a sixteenth of it.
fn is_fed_out(ticket: &Ticket, (left, deviation): (Mass, Mass)) -> bool {
    left.halved(1) < deviation || left < ticket.mass.halved(4)
}

/// The limit of the roller speed that will hold when a driver told now has changed speed.
fn limit_soon(settings: &MeteringSettings, ticket: &Ticket, estimates: &Estimates) -> TurnRate {
    let (left, _) = estimates.hay.left;
    let (bite, _) = estimates.hay.bite;
    let gone = bite.over(estimates.roller.mean.over(DRIVER));
    roller_limit(settings, ticket, estimates, left.saturating_sub(gone)).0
}
