//! The remote valve: play, lag, slew and dead band between command and flow. The closed spool blocks
//! both lines.

use super::spec::{Command, MachineSpec};
use super::{STEP_S, hydraulics::DriveLaw};

/// Spool of the valve and the play in its pilot.
#[derive(Clone, Debug)]
pub(super) struct Valve {
    half_play: f64,
    lag_share: f64,
    most_move: f64,
    spring_move: f64,
    dead_band: f64,
    /// Command behind the play, -1 to 1.
    pilot: f64,
    /// Where the spool stands, -1 to 1.
    spool: f64,
}

impl Valve {
    pub(super) fn new(machine: &MachineSpec, law: &DriveLaw) -> Self {
        Self {
            half_play: machine.hysteresis / 2.0,
            lag_share: STEP_S / (machine.valve_lag_s + STEP_S),
            most_move: law.spool_slew_s * STEP_S,
            spring_move: STEP_S / law.spring_s,
            dead_band: machine.dead_band,
            pilot: 0.0,
            spool: 0.0,
        }
    }

    /// One millisecond; gives the opening, -1 to 1. A duty that is not a number counts as none.
    pub(super) fn step(&mut self, command: Command) -> f64 {
        let duty = if command.duty.is_nan() { 0.0 } else { command.duty.clamp(-1.0, 1.0) };
        if command.enable {
            self.pilot = self.pilot.clamp(duty - self.half_play, duty + self.half_play);
            let wanted = self.lag_share * (self.pilot - self.spool);
            self.spool += wanted.clamp(-self.most_move, self.most_move);
        } else {
            // Without current the springs win over pilot and play.
            self.spool -= self.spool.clamp(-self.spring_move, self.spring_move);
            self.pilot = self.spool;
        }
        self.opening()
    }

    fn opening(&self) -> f64 {
        let open = (self.spool.abs() - self.dead_band).max(0.0) / (1.0 - self.dead_band);
        open.copysign(self.spool)
    }

    /// The duty that brings the spool to an opening, -1 to 1, from the side on which it now stands.
    pub(super) fn duty_for(&self, opening: f64) -> f64 {
        if opening == 0.0 {
            return 0.0;
        }
        let open = opening.abs().min(1.0);
        let spool = (self.dead_band + (1.0 - self.dead_band) * open).copysign(opening);
        let play = if spool > self.pilot { self.half_play } else { -self.half_play };
        (spool + play).clamp(-1.0, 1.0)
    }
}
