//! The valve set once by hand for each lot.

use super::{Choice, Job, Rival, Sight};

/// A lever that nobody touches while feeding.
pub(super) struct Hand {
    job: Job,
}

impl Hand {
    pub(super) fn new(job: Job) -> Self {
        Self { job }
    }
}

impl Rival for Hand {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        let turns_s = self.job.usual_turns_s(sight.inputs.ticket);
        Choice { turns_s, duty: sight.world.duty_for(turns_s, self.job.usual) }
    }
}
