//! A row of a fixed length, as at a bunk: how much of it has hay, and whether the rollers must stop now
//! for the last hay to land on its end.

use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What lets the next start go on with this row instead of beginning another one.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
enum GoesOn {
    /// Nothing: it is over.
    #[default]
    Never,
    /// It was interrupted, and the machine is still near.
    Near,
    /// Its bale was fed out and another one has come; the ground driven for it is no part of the row.
    Anywhere,
}

/// How far the row has come.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Mark {
    laid: Length,
    /// Hay of this start has landed, or goes on where the last has.
    begun: bool,
    goes_on: GoesOn,
    /// The bale was fed out when the rollers came to rest.
    fed_out: bool,
}

impl Mark {
    /// Laying begins. `passed` is the ground passed since the rollers stopped, if that is so little that
    /// they stopped in the same place.
    pub fn open(&mut self, passed: Option<Length>) {
        let near = passed.filter(|_| self.goes_on == GoesOn::Near);
        self.laid = match (self.goes_on, near) {
            (_, Some(passed)) => self.laid.saturating_add(passed),
            (GoesOn::Anywhere, None) => self.laid,
            (GoesOn::Never | GoesOn::Near, None) => Length::ZERO,
        };
        self.begun = near.is_some();
        self.goes_on = GoesOn::Near;
    }

    /// Laying ends, with a bale that is fed out or not. Once another one lies there it is too late to ask: a
    /// scale shows that one before anybody tells of it.
    pub fn rest(&mut self, fed_out: bool) {
        self.fed_out = fed_out;
    }

    /// Another bale was loaded. Only one that was fed out leaves the rest of its row to the next.
    pub fn load(&mut self) {
        let left = self.fed_out && self.goes_on != GoesOn::Never;
        self.goes_on = if left { GoesOn::Anywhere } else { GoesOn::Never };
    }

    /// A while of laying: whether the row of this length ends here. `landing` is whether hay reaches
    /// the ground, `coming` the ground to be passed until hay torn off now does. No length, no end.
    pub fn pass(
        &mut self,
        length: Option<Length>,
        landing: bool,
        travelled: Length,
        coming: Length,
    ) -> bool {
        self.begun |= landing;
        if self.begun {
            self.laid = self.laid.saturating_add(travelled);
        }
        let ends = length.is_some_and(|length| self.laid.saturating_add(coming) >= length);
        if ends {
            self.goes_on = GoesOn::Never;
        }
        ends
    }
}
