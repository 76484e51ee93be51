//! How fast machine time runs.

/// A pace from here on means: as fast as it goes.
pub const FASTEST: f64 = 1_000.0;
/// Machine time that one picture may be late for, s: a window that hung does not catch up.
const LONGEST_S: f64 = 0.1;
/// Most ticks between two pictures, whatever the pace.
const MOST_TICKS: u64 = 20_000;

/// What is run to as fast as it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Goal {
    /// The next moment in which the controller has the core near.
    Core,
    /// A machine time, s.
    Time(f64),
}

/// Pause, single ticks, a pace, or a goal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clock {
    /// Whether time runs.
    pub running: bool,
    /// Machine seconds a second; from [`FASTEST`] on as fast as it goes.
    pub pace: f64,
    /// What is run to; then time stands.
    pub goal: Option<Goal>,
    owed: f64,
}

impl Default for Clock {
    fn default() -> Self {
        Self { running: false, pace: 1.0, goal: None, owed: 0.0 }
    }
}

impl Clock {
    /// Ticks that are due after so much time of a person, s.
    pub fn due(&mut self, elapsed_s: f64, ticks_s: u64) -> u64 {
        if !self.running {
            self.owed = 0.0;
            return 0;
        }
        if self.is_fastest() {
            return MOST_TICKS;
        }
        self.owed += elapsed_s.clamp(0.0, LONGEST_S) * self.pace * ticks_s as f64;
        let due = self.owed.floor();
        self.owed -= due;
        (due as u64).min(MOST_TICKS)
    }

    /// Whether time runs as fast as it goes.
    #[must_use]
    pub fn is_fastest(&self) -> bool {
        self.pace >= FASTEST || self.goal.is_some()
    }

    /// Time stands, nothing is run to.
    pub fn stop(&mut self) {
        (self.running, self.goal) = (false, None);
    }

    /// Runs to a goal and stands there.
    pub fn run_to(&mut self, goal: Goal) {
        (self.running, self.goal) = (true, Some(goal));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pace_is_kept_over_many_pictures() {
        let mut clock = Clock { running: true, pace: 2.5, ..Clock::default() };
        let ticks: u64 = (0..60).map(|_| clock.due(1.0 / 60.0, 100)).sum();
        assert!((249..=251).contains(&ticks), "{ticks} ticks in a second at 2.5 times life");
    }

    #[test]
    fn a_window_that_hung_does_not_catch_up() {
        let mut clock = Clock { running: true, ..Clock::default() };
        assert_eq!(clock.due(30.0, 100), 10);
    }

    #[test]
    fn a_clock_that_stands_owes_nothing() {
        let mut clock = Clock::default();
        assert_eq!(clock.due(1.0, 100), 0);
        clock.run_to(Goal::Core);
        assert_eq!(clock.due(0.0, 100), MOST_TICKS);
        clock.stop();
        assert_eq!(clock.due(1.0, 100), 0);
    }
}
