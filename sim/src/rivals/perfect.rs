//! Perfect knowledge of the present without the tufts: the first bound.

use super::{Choice, Job, Rival, Sight};

/// Knows bite, ground speed and valve of this moment. The lag of the valve is made up for by the
/// change since the last tick, which is all that the present tells about the future.
pub(super) struct Perfect {
    job: Job,
    asked_turns_s: Option<f64>,
}

impl Perfect {
    pub(super) fn new(job: Job) -> Self {
        Self { job, asked_turns_s: None }
    }

    /// The roller speed that lays the target now, turns/s, and the one to command for it.
    pub(super) fn turns_s(&mut self, sight: &Sight<'_>) -> (f64, f64) {
        let bite_kg = sight.world.bite_kg();
        let flow_kg_s = self.job.target_kg_m * sight.motion.speed_m_s;
        let turns_s = if bite_kg > 0.0 { flow_kg_s / bite_kg } else { 0.0 };
        let before = self.asked_turns_s.replace(turns_s).unwrap_or(turns_s);
        let lag_s = self.job.machine.valve_lag_s;
        (turns_s, turns_s + lag_s * (turns_s - before) / sight.tick_s)
    }
}

impl Rival for Perfect {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        let (turns_s, ahead_turns_s) = self.turns_s(sight);
        Choice { turns_s, ..Choice::hold(ahead_turns_s.max(0.0), sight) }
    }

    fn wait(&mut self, _sight: &Sight<'_>) {
        self.asked_turns_s = None;
    }
}
