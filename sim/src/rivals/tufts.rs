//! Perfect knowledge of the present with the tufts: the second bound.

use super::perfect::Perfect;
use super::{Choice, Job, Rival, Sight};

/// Time in which hay that is missing or too much is made good, s: the best of 0.4 to 3 on forty bales of
/// the usual population under a seed kept for tuning (999,999).
const REPAY_S: f64 = 0.4;
/// Hay that is made good at most, kg: what rollers at their limit could not lay is gone, or the next
/// stretch would be laid far too thick. Too much is repaid to the last pound.
const MOST_MISSING_KG: f64 = 2.0;

/// What has left the rollers against what should have, the tuft that hangs on them included.
///
/// Hay falls a tuft at a time, when all of it is torn. So that the middle of a tuft lies where its hay
/// belongs, tearing runs half a tuft ahead of what is due.
pub(super) struct Balance {
    /// Due less torn, kg, when hay was last laid; hay still wound then.
    missing_kg: f64,
    wound_kg: Option<f64>,
}

impl Balance {
    pub(super) fn new() -> Self {
        Self { missing_kg: 0.0, wound_kg: None }
    }

    /// Begins anew at the next tick.
    pub(super) fn forget(&mut self) {
        *self = Self::new();
    }

    /// The flow, kg/s, that makes good what is missing after a tick in which `due_kg` came due.
    pub(super) fn repay_kg_s(&mut self, sight: &Sight<'_>, due_kg: f64) -> f64 {
        let (hanging_kg, tuft_kg) = sight.world.tuft_kg();
        let wound_kg = sight.world.left_kg() - hanging_kg;
        let torn_kg = self.wound_kg.replace(wound_kg).unwrap_or(wound_kg) - wound_kg;
        let missing_kg = self.missing_kg + due_kg - torn_kg.max(0.0);
        self.missing_kg = missing_kg.min(MOST_MISSING_KG);
        (self.missing_kg + tuft_kg / 2.0) / REPAY_S
    }
}

/// Knows what [`Perfect`] knows, the tuft that hangs on the rollers and what has left them.
pub(super) struct Tufts {
    job: Job,
    perfect: Perfect,
    balance: Balance,
}

impl Tufts {
    pub(super) fn new(job: Job) -> Self {
        Self { perfect: Perfect::new(job.clone()), job, balance: Balance::new() }
    }
}

impl Rival for Tufts {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        let due_kg = self.job.target_kg_m * sight.motion.speed_m_s * sight.tick_s;
        let repay_kg_s = self.balance.repay_kg_s(sight, due_kg);
        let (turns_s, ahead_turns_s) = self.perfect.turns_s(sight);
        let bite_kg = sight.world.bite_kg();
        let repay_turns_s = if bite_kg > 0.0 { repay_kg_s / bite_kg } else { 0.0 };
        Choice {
            turns_s: (turns_s + repay_turns_s).max(0.0),
            ..Choice::hold((ahead_turns_s + repay_turns_s).max(0.0), sight)
        }
    }

    fn wait(&mut self, sight: &Sight<'_>) {
        self.perfect.wait(sight);
        self.balance.forget();
    }
}
