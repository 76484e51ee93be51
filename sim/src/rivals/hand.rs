//! The valve set once by hand for each lot.

use super::{Choice, Job, Rival, Sight};

/// A person takes this long, s, to bring the rollers to the speed that is wanted, while the first bale
/// of a lot is laid; with cold oil the lever comes to stand further out. Common practice, no source.
const SETTING_S: f64 = 10.0;
/// Time over which the person evens out what the lever needs meanwhile, s.
const FEEL_S: f64 = 2.0;

/// A lever that is set once and then stays where it is.
pub(super) struct Hand {
    job: Job,
    ticket: Option<u8>,
    /// Where it stands for this ticket; `None` before any hay.
    duty: Option<f64>,
    set_s: f64,
}

impl Hand {
    pub(super) fn new(job: Job) -> Self {
        Self { job, ticket: None, duty: None, set_s: 0.0 }
    }

    /// The roller speed that the lever is set for and the duty that it gives: while it is set, the one
    /// that holds that speed, which nobody does better by hand.
    pub(super) fn stands(&mut self, sight: &Sight<'_>) -> Choice {
        let ticket = sight.inputs.ticket;
        if self.ticket != Some(ticket) {
            *self = Self { ticket: Some(ticket), ..Self::new(self.job.clone()) };
        }
        let turns_s = self.job.usual_turns_s(ticket);
        let held = sight.world.duty_for(turns_s, self.job.usual);
        let duty = self.duty.get_or_insert(held);
        if self.set_s >= SETTING_S {
            return Choice { turns_s, duty: *duty };
        }
        self.set_s += sight.tick_s;
        *duty += (held - *duty) * sight.tick_s / FEEL_S;
        Choice { turns_s, duty: held }
    }
}

impl Rival for Hand {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        self.stands(sight)
    }
}
