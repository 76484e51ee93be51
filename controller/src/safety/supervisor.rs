//! The supervisor: whether the rollers may turn.
//!
//! ```text
//!            arm, all clear           path proved          run, all clear
//!  Resting ------------------> Testing ----------> Armed -----------------> Laying <--> Paused
//!     ^  ^---- run held too early ---' <--- too late --'                       |           |
//!     '---------------- run switch let go -------------------------------------+-----------'
//!                              ^                                               |
//!            arm, all clear    |            a condition that latches           |
//!  Latched --------------------'  <-------- from Testing, Armed, Laying, Paused
//!
//!  Isolated  <----- a condition that isolates, from anywhere; until power is switched off
//! ```
//!
//! From [`Phase::Latched`] as from [`Phase::Resting`] it takes the same two acts, in their order and
//! each newly made: press and release the arming button - which also says that everybody is clear -
//! then close the run switch. A switch that is already closed counts for nothing. Without feedback
//! from the valve there is nothing to test and [`Phase::Testing`] is passed over.

use super::conditions::{Condition, Response, Row, TABLE};
use super::gate::Permit;
use super::observed::Observed;
use super::twin::Twin;
use super::valve_path::Tested;
use crate::settings::SafetySettings;
use crate::units::{Duty, Instant, Span};
use serde::{Deserialize, Serialize};

/// What the machine is doing.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub enum Phase {
    /// Stopped; two deliberate acts are needed before anything may turn.
    #[default]
    Resting,
    /// The first act was done; a pulse within the dead band proves the path to the valve.
    Testing,
    /// The second act may follow for a short while.
    Armed,
    /// Hay is being laid while the operator holds the switch.
    Laying,
    /// The rollers rest until the tractor moves on; the operator still holds the switch.
    Paused,
    /// Stopped by a condition, latched until it is gone and the operator acts anew.
    Latched,
    /// Stopped until power is switched off and on.
    Isolated,
}

impl Phase {
    /// Words in which any two phases differ by several bits.
    const fn code(self) -> u32 {
        match self {
            Self::Resting => 0,
            Self::Testing => 0x0F0F_00FE,
            Self::Armed => 0x3333_333C,
            Self::Laying => 0x5555_555A,
            Self::Paused => 0x6666_6668,
            Self::Latched => 0x9999_9996,
            Self::Isolated => 0xFFFF_FFFE,
        }
    }
}

/// The operator's acts in one tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Acts {
    /// The arming button was newly pressed.
    pub arm: bool,
    /// The run switch is closed.
    pub run: bool,
}

/// How long each condition has lasted; in rows of 16, as long arrays cannot be saved.
type Lasted = [[Span; 16]; 3];
const _: () = assert!(TABLE.len() <= 48);

/// A condition whose patience is longer does not forbid the second act by a single tick.
const SOON: Span = Span::from_millis(1_000);

/// What the supervisor remembers.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Supervisor {
    phase: Phase,
    /// The phase's code, and in its lowest bit whether the run switch was closed.
    check: Twin,
    cause: Option<Condition>,
    until: Instant,
    run_was_closed: bool,
    lasted: Lasted,
    /// Those that have lasted at all: most never do, and need not be looked at.
    remembered: Observed,
    carrying_on: Observed,
}

impl Supervisor {
    /// What the machine is doing; isolated if memory contradicts itself.
    #[must_use]
    pub fn phase(&self) -> Phase {
        let code = self.phase.code() | u32::from(self.run_was_closed);
        if self.check.get() == Some(code) { self.phase } else { Phase::Isolated }
    }

    /// Why it stopped last, or would not be armed, until it is.
    #[must_use]
    pub fn cause(&self) -> Option<Condition> {
        self.cause
    }

    /// What is wrong but carried on with.
    #[must_use]
    pub fn carrying_on(&self) -> Observed {
        self.carrying_on
    }

    /// What the gate may do in this phase. `tested` is how the test of the valve's path stands.
    fn permit(phase: Phase, tested: Tested) -> Permit {
        match phase {
            Phase::Laying => Permit::Lay,
            Phase::Testing if tested == Tested::Feel => Permit::Feel,
            Phase::Testing if tested == Tested::Pulse => Permit::Test,
            Phase::Isolated => Permit::Never,
            _ => Permit::Shut,
        }
    }

    /// One tick: takes note of the conditions, then changes the phase at most once. Gives the phase and what
    /// the gate may do in it.
    pub fn update(
        &mut self,
        settings: &SafetySettings,
        (observed, tested): (Observed, Tested),
        acts: Acts,
        now: Instant,
        elapsed: Span,
    ) -> (Phase, Permit) {
        let phase = self.phase();
        let broken = phase == Phase::Isolated && self.phase != Phase::Isolated;
        let observed = observed
            .with(Condition::MemoryBroken, broken)
            .with(Condition::SwitchesContradict, acts.arm && acts.run);
        let lasting = self.note(settings, observed, elapsed);
        let run_newly = acts.run && !self.run_was_closed;
        self.run_was_closed = acts.run;
        self.phase = phase;
        if phase != Phase::Isolated || broken {
            self.change(settings, (observed, lasting, tested), (acts, run_newly), now);
        }
        self.check = Twin::new(self.phase.code() | u32::from(self.run_was_closed));
        (self.phase, Self::permit(self.phase, tested))
    }

    /// The one place where the phase changes.
    fn change(
        &mut self,
        settings: &SafetySettings,
        (observed, lasting, tested): (Observed, Observed, Tested),
        (acts, run_newly): (Acts, bool),
        now: Instant,
    ) {
        if let Some(row) = lasting.and(Observed::ISOLATING).worst() {
            return self.transition_to_stopped(row);
        }
        match self.phase {
            Phase::Resting | Phase::Latched if acts.arm => {
                match observed.and(Observed::ALWAYS).worst() {
                    Some(row) => self.cause = Some(row.condition),
                    None if acts.run => self.cause = Some(Condition::SwitchesContradict),
                    None => self.transition_to_testing(settings, now),
                }
            }
            Phase::Resting | Phase::Latched | Phase::Isolated => {}
            Phase::Testing => match lasting.and(Observed::ALWAYS).worst() {
                Some(row) => self.transition_to_stopped(row),
                None if acts.run => self.phase = Phase::Resting,
                None if tested == Tested::Passed => self.transition_to_armed(settings, now),
                None => {}
            },
            Phase::Armed => {
                match (lasting.and(Observed::ALWAYS).worst(), forbids_run(settings, observed)) {
                    (Some(row), _) => self.transition_to_stopped(row),
                    (None, Some(row)) if run_newly => self.transition_to_stopped(row),
                    (None, None) if run_newly => self.phase = Phase::Laying,
                    (None, _) if now > self.until => self.phase = Phase::Resting,
                    (None, _) => {}
                }
            }
            Phase::Laying => match lasting.and(Observed::STOPPING).worst() {
                Some(row) if row.response == Response::Pause && acts.run && may_pause(settings) => {
                    self.phase = Phase::Paused;
                    self.until = now.later_by(settings.pause);
                }
                Some(row) => self.transition_to_stopped(row),
                None => {}
            },
            Phase::Paused => self.resume(observed, acts, now),
        }
    }

    /// Out of a pause: on with the row, or to a stop.
    fn resume(&mut self, observed: Observed, acts: Acts, now: Instant) {
        match observed.and(Observed::STOPPING).worst() {
            Some(row) if row.response > Response::Pause => self.transition_to_stopped(row),
            _ if !acts.run => self.transition_to_stopped(Condition::RunReleased.row()),
            Some(row) if now > self.until => self.transition_to_stopped(row),
            Some(_) => {}
            None => {
                self.phase = Phase::Laying;
                self.lasted = Lasted::default();
            }
        }
    }

    fn transition_to_testing(&mut self, settings: &SafetySettings, now: Instant) {
        self.cause = None;
        if settings.test_duty == Duty::ZERO {
            self.transition_to_armed(settings, now);
        } else {
            self.phase = Phase::Testing;
        }
    }

    fn transition_to_armed(&mut self, settings: &SafetySettings, now: Instant) {
        self.phase = Phase::Armed;
        self.until = now.later_by(settings.arming);
        self.lasted = Lasted::default();
    }

    fn transition_to_stopped(&mut self, row: &Row) {
        self.cause = Some(row.condition);
        self.phase = match row.response {
            Response::CarryOn | Response::EndRow => Phase::Resting,
            Response::Pause | Response::StopAndLatch => Phase::Latched,
            Response::StopAndIsolate => Phase::Isolated,
        };
    }

    /// How long each condition has lasted, and which have outlasted their patience. Time without a
    /// condition only pays its time back, so that a flapping one cannot postpone its stop for ever.
    fn note(&mut self, settings: &SafetySettings, observed: Observed, elapsed: Span) -> Observed {
        let half = Span::from_micros(elapsed.to_micros().wrapping_shr(1));
        let counted = observed.less(Observed::AT_ONCE);
        let mut lasting = observed.and(Observed::AT_ONCE);
        let mut remembered = counted;
        let all = self.lasted.as_flattened_mut();
        counted.for_each(|rank, row, alone| {
            let Some(lasted) = all.get_mut(rank) else { return };
            *lasted = lasted.saturating_add(elapsed);
            if *lasted >= row.patience(settings) {
                lasting = lasting.or(alone);
            }
        });
        self.remembered.less(counted).for_each(|rank, _, alone| {
            let Some(lasted) = all.get_mut(rank) else { return };
            *lasted = lasted.saturating_sub(half);
            if *lasted > Span::ZERO {
                remembered = remembered.or(alone);
            }
        });
        self.remembered = remembered;
        self.carrying_on = lasting.less(Observed::STOPPING);
        lasting
    }
}

fn may_pause(settings: &SafetySettings) -> bool {
    settings.pause > Span::ZERO
}

/// The worst condition present that forbids the second act. What takes long to show itself, as speed
/// sources that lag, is left to its own row.
fn forbids_run(settings: &SafetySettings, observed: Observed) -> Option<&'static Row> {
    let released = Observed::default().with(Condition::RunReleased, true);
    let mut rows = observed.and(Observed::STOPPING).less(released).rows();
    rows.find(|row| row.patience(settings) <= SOON)
}
