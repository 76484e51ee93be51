//! The remote valve: current, play, lag, slew and dead band between command and flow.

use super::oil::copper_resistance;
use super::spec::{Command, MachineSpec};
use super::{STEP_S, hydraulics::DriveLaw};

/// Coil and spool of the valve and the play in its pilot.
#[derive(Clone, Debug)]
pub(super) struct Valve {
    /// Current at full duty, A.
    full_a: f64,
    /// Force of that current over the one at which the whole stroke is stated.
    force: f64,
    half_play: f64,
    lag_share: f64,
    most_move: f64,
    spring_move: f64,
    dead_band: f64,
    /// Opening over what the spool has gone beyond the dead band.
    opening_gain: f64,
    /// Duty in force, 0 without enable.
    duty: f64,
    /// Force of the command behind the play, -1 to 1.
    pilot: f64,
    /// Where the spool stands, -1 to 1.
    spool: f64,
    /// How far the valve is open, -1 to 1.
    opening: f64,
}

impl Valve {
    /// A closed valve whose lag, s, holds at the oil's temperature.
    pub(super) fn new(machine: &MachineSpec, law: &DriveLaw, lag_s: f64) -> Self {
        let full_a = machine.supply_v / (machine.coil_ohm * copper_resistance(machine.coil_c));
        let stated_a = MachineSpec::STATED_SUPPLY_V / machine.coil_ohm;
        Self {
            full_a,
            force: full_a / stated_a,
            half_play: machine.hysteresis * (1.0 - machine.dither) / 2.0,
            lag_share: 1.0 - libm::exp(-STEP_S / lag_s),
            most_move: law.spool_slew_s * STEP_S,
            spring_move: STEP_S / law.spring_s,
            dead_band: machine.dead_band,
            opening_gain: 1.0 / (1.0 - machine.dead_band),
            duty: 0.0,
            pilot: 0.0,
            spool: 0.0,
            opening: 0.0,
        }
    }

    /// This valve where another one stands.
    pub(super) fn moving_as(self, other: &Self) -> Self {
        let Self { duty, pilot, spool, opening, .. } = *other;
        Self { duty, pilot, spool, opening, ..self }
    }

    /// One millisecond; gives the mean opening, -1 to 1. A duty that is not a number counts as none.
    pub(super) fn step(&mut self, command: Command) -> f64 {
        let before = self.opening;
        let duty = if command.duty.is_nan() { 0.0 } else { command.duty.clamp(-1.0, 1.0) };
        if command.enable {
            self.duty = duty;
            let force = (duty * self.force).clamp(-1.0, 1.0);
            self.pilot = self.pilot.clamp(force - self.half_play, force + self.half_play);
            let wanted = self.lag_share * (self.pilot - self.spool);
            self.spool += wanted.clamp(-self.most_move, self.most_move);
        } else {
            // Without current the springs win over pilot and play.
            self.duty = 0.0;
            self.spool -= self.spool.clamp(-self.spring_move, self.spring_move);
            self.pilot = self.spool;
        }
        let open = (self.spool.abs() - self.dead_band).max(0.0) * self.opening_gain;
        self.opening = open.copysign(self.spool);
        0.5 * (before + self.opening)
    }

    /// Current through the coil, A.
    pub(super) fn coil_a(&self) -> f64 {
        self.duty.abs() * self.full_a
    }

    /// The duty that brings the spool to an opening, -1 to 1, from the side on which it now stands.
    pub(super) fn duty_for(&self, opening: f64) -> f64 {
        if opening == 0.0 {
            return 0.0;
        }
        let open = opening.abs().min(1.0);
        let spool = (self.dead_band + (1.0 - self.dead_band) * open).copysign(opening);
        let play = if spool > self.pilot { self.half_play } else { -self.half_play };
        ((spool + play) / self.force).clamp(-1.0, 1.0)
    }
}
