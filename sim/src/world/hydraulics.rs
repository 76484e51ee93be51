//! From valve to turning rollers: supply, line, motors, relief, inertia.
//!
//! Two states, pressure and speed, advanced semi-implicitly: pressure first with its leak implicit,
//! then speed with that pressure and its viscous drag implicit. Friction can stop the rollers but
//! never turn them. Stable while the line's own frequency times the step is below 2; it is 0.03.

use super::STEP_S;
use super::formulas::torque_nm;
use super::spec::{Command, MachineSpec, Motion};
use super::valve::Valve;
use core::f64::consts::PI;

/// What motors, line and valve are assumed to do beyond what a machine's data sheet says.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveLaw {
    /// Assumed, 3e-12 to 1.5e-11: leakage past the motors, m3/s for each Pa.
    pub leakage_m3_s_pa: f64,
    /// Assumed, 3e-13 to 3e-12: oil that the line takes up, m3 for each Pa.
    pub compliance_m3_pa: f64,
    /// Assumed, 1 to 6: inertia of rollers and what turns with them, kg m2.
    pub inertia_kg_m2: f64,
    /// Assumed, 10 to 50: friction of motors and bearings while they turn, Nm.
    pub running_loss_nm: f64,
    /// Assumed, 15 to 90: friction that holds them at rest, Nm; above the running loss.
    pub standing_loss_nm: f64,
    /// Assumed, 1 to 10: drag that grows with speed, Nm for each radian a second.
    pub viscous_nm_s: f64,
    /// Assumed, 3 to 15: fastest move of the spool, whole strokes a second.
    pub spool_slew_s: f64,
    /// Assumed, 0.04 to 0.1: time in which springs close a wide open spool without current, s.
    pub spring_s: f64,
}

impl Default for DriveLaw {
    fn default() -> Self {
        Self {
            leakage_m3_s_pa: 5e-12,
            compliance_m3_pa: 8e-13,
            inertia_kg_m2: 2.5,
            running_loss_nm: 25.0,
            standing_loss_nm: 40.0,
            viscous_nm_s: 4.0,
            spool_slew_s: 6.0,
            spring_s: 0.06,
        }
    }
}

/// The hydraulic drive of the two rollers, which are geared together.
#[derive(Clone, Debug)]
pub struct Drive {
    valve: Valve,
    remote_m3_s: f64,
    pump_m3_per_turn: f64,
    relief_pa: f64,
    displacement_m3: f64,
    leakage: f64,
    /// Displacement a radian: also torque for each Pa.
    torque_nm_pa: f64,
    pressure_gain: f64,
    leak_share: f64,
    speed_gain: f64,
    viscous_share: f64,
    running_loss_nm: f64,
    standing_loss_nm: f64,
    pressure_pa: f64,
    speed_rad_s: f64,
    energy_j: f64,
}

impl Drive {
    /// A drive at rest.
    #[must_use]
    pub fn new(machine: &MachineSpec, law: &DriveLaw) -> Self {
        let pressure_gain = STEP_S / law.compliance_m3_pa;
        let speed_gain = STEP_S / law.inertia_kg_m2;
        Self {
            valve: Valve::new(machine, law),
            remote_m3_s: machine.remote_flow_m3_s,
            pump_m3_per_turn: machine.pump_m3_per_turn,
            relief_pa: machine.relief_pa,
            displacement_m3: machine.displacement_m3,
            leakage: law.leakage_m3_s_pa,
            torque_nm_pa: torque_nm(machine.displacement_m3, 1.0),
            pressure_gain,
            leak_share: 1.0 / (1.0 + pressure_gain * law.leakage_m3_s_pa),
            speed_gain,
            viscous_share: 1.0 / (1.0 + speed_gain * law.viscous_nm_s),
            running_loss_nm: law.running_loss_nm,
            standing_loss_nm: law.standing_loss_nm,
            pressure_pa: 0.0,
            speed_rad_s: 0.0,
            energy_j: 0.0,
        }
    }

    /// One millisecond against a load, Nm, that only resists. Gives the turns made, signed.
    pub fn step(&mut self, command: Command, motion: Motion, load_nm: f64) -> f64 {
        let pump_m3_s = self.pump_m3_per_turn * motion.engine_turns_s;
        let flow_m3_s = (self.valve.step(command) * self.remote_m3_s).clamp(-pump_m3_s, pump_m3_s);
        let gained = flow_m3_s - self.torque_nm_pa * self.speed_rad_s;
        let free_pa = (self.pressure_pa + self.pressure_gain * gained) * self.leak_share;
        self.pressure_pa = free_pa.clamp(-self.relief_pa, self.relief_pa);
        self.speed_rad_s = self.speed_against(load_nm);
        let turned_rad = self.speed_rad_s * STEP_S;
        self.energy_j += self.pressure_pa * self.torque_nm_pa * turned_rad;
        turned_rad * (0.5 / PI)
    }

    fn speed_against(&self, load_nm: f64) -> f64 {
        let driven = self.speed_rad_s + self.speed_gain * self.torque_nm_pa * self.pressure_pa;
        let free = driven * self.viscous_share;
        let loss_nm =
            if self.speed_rad_s == 0.0 { self.standing_loss_nm } else { self.running_loss_nm };
        let grip = self.speed_gain * (load_nm + loss_nm);
        if free.abs() <= grip { 0.0 } else { free - grip.copysign(free) }
    }

    /// Roller speed, turns/s, signed.
    #[must_use]
    pub fn turns_s(&self) -> f64 {
        self.speed_rad_s * (0.5 / PI)
    }

    /// Pressure across the motors, Pa, signed; within the relief pressure.
    #[must_use]
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Leakage past the motors at the present pressure, m3/s, signed.
    #[must_use]
    pub fn leak_m3_s(&self) -> f64 {
        self.leakage * self.pressure_pa
    }

    /// Work of the oil on the rollers since the start, J.
    #[must_use]
    pub fn energy_j(&self) -> f64 {
        self.energy_j
    }

    /// Roller speed, turns/s, at full valve and no load.
    #[must_use]
    pub fn flow_limit_turns_s(&self, motion: Motion) -> f64 {
        let pump_m3_s = self.pump_m3_per_turn * motion.engine_turns_s;
        pump_m3_s.min(self.remote_m3_s) / self.displacement_m3
    }

    /// The duty that holds a roller speed, turns/s, against the present pressure; ends at +/-1.
    #[must_use]
    pub fn duty_for(&self, turns_s: f64, motion: Motion) -> f64 {
        if turns_s == 0.0 {
            return 0.0;
        }
        let most = self.flow_limit_turns_s(motion);
        let flow_m3_s = turns_s.clamp(-most, most) * self.displacement_m3 + self.leak_m3_s();
        self.valve.duty_for(flow_m3_s / self.remote_m3_s)
    }
}
