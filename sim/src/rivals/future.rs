//! Perfect knowledge of the future: the last bound.

use super::tufts::Balance;
use super::{Choice, Job, Rival, Sight};
use crate::world::spec::MachineSpec;

/// The driver may change his mind: what is to come is looked at anew after so many ticks.
const LOOK_TICKS: usize = 10;

/// Knows the tuft on the rollers and what has left them, as [`super::tufts::Tufts`] does, and beyond
/// that the ground speed of the moment at which hay will land and the bite of the moment at which the
/// valve will have moved. For a valve of first order this inverts every ramp exactly.
///
/// What it does not know: tufts after the present one, clumps, what the driver will decide later.
pub(super) struct Future {
    job: Job,
    balance: Balance,
    coming_m_s: Vec<f64>,
    tick: usize,
    /// Where hay that left the rollers at the last tick will land, m.
    landing_m: Option<f64>,
}

impl Future {
    pub(super) fn new(job: Job) -> Self {
        Self { job, balance: Balance::new(), coming_m_s: Vec::new(), tick: 0, landing_m: None }
    }

    /// Ground speed so many ticks from now, m/s.
    fn speed_m_s(&self, ahead: usize) -> f64 {
        self.coming_m_s.get(self.tick + ahead).copied().unwrap_or_default()
    }

    /// Hay that came due in this tick where it will land. From the way to there and not from its speed,
    /// so that a forecast that was wrong is put right by the next one.
    fn due_kg(&mut self, sight: &Sight<'_>, fall: usize) -> f64 {
        let coming_m = (0..fall).map(|ahead| self.speed_m_s(ahead)).sum::<f64>() * sight.tick_s;
        let landing_m = sight.world.odometer_m() + coming_m;
        let before_m = self.landing_m.replace(landing_m).unwrap_or(landing_m);
        self.job.target_kg_m * (landing_m - before_m)
    }

    fn look(&mut self, sight: &Sight<'_>, ahead: usize) {
        self.tick += 1;
        if self.tick >= LOOK_TICKS || self.coming_m_s.is_empty() {
            self.coming_m_s = (sight.coming_m_s)(ahead + LOOK_TICKS);
            self.tick = 0;
        }
    }
}

impl Rival for Future {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        let MachineSpec { fall_s, valve_lag_s, .. } = self.job.machine;
        let ticks = |time_s: f64| (time_s / sight.tick_s).round() as usize;
        let (fall, lag) = (ticks(fall_s), ticks(valve_lag_s));
        self.look(sight, fall + lag + 1);
        let flow_kg_s = self.job.target_kg_m * self.speed_m_s(fall);
        let later_kg_s = self.job.target_kg_m * self.speed_m_s(fall + lag);
        let due_kg = self.due_kg(sight, fall);
        let repay_kg_s = self.balance.repay_kg_s(sight, due_kg);
        let turns = |flow_kg_s: f64, bite_kg: f64| {
            if bite_kg > 0.0 { ((flow_kg_s + repay_kg_s) / bite_kg).max(0.0) } else { 0.0 }
        };
        let torn_kg = (flow_kg_s + later_kg_s) / 2.0 * valve_lag_s;
        let ahead_turns_s = turns(later_kg_s, sight.world.bite_after_kg(torn_kg));
        Choice {
            turns_s: turns(flow_kg_s, sight.world.bite_kg()),
            ..Choice::hold(ahead_turns_s, sight)
        }
    }

    fn wait(&mut self, _sight: &Sight<'_>) {
        self.balance.forget();
        self.coming_m_s.clear();
        self.landing_m = None;
    }
}
