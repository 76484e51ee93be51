//! Roller speed in proportion to ground speed.

use super::{Choice, Job, Rival, Sight};

/// A fixed proportion: the true ground speed, the ticket's bite, nothing learned.
pub(super) struct Proportional {
    job: Job,
}

impl Proportional {
    pub(super) fn new(job: Job) -> Self {
        Self { job }
    }
}

impl Rival for Proportional {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        let flow_kg_s = self.job.target_kg_m * sight.motion.speed_m_s;
        Choice::hold(flow_kg_s / self.job.ticket_bite_kg(sight.inputs.ticket), sight)
    }
}
