//! From valve to turning rollers: supply, line, motors, relief, inertia.
//!
//! Two states, pressure and speed, are linear while the rollers turn: oil that the motors do not take
//! builds pressure, pressure and drag move the rollers. They are advanced by their exact step. Friction
//! can stop the rollers but never turn them, and at rest only the pressure moves.
//!
//! Oil and coil have one temperature throughout a run.

use super::STEP_S;
use super::formulas::torque_nm;
use super::propagator::Propagator;
use super::spec::{Command, MachineSpec, Motion};
use super::valve::Valve;
use core::f64::consts::PI;

/// What motors, line and valve are assumed to do beyond what a machine's data sheet says.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveLaw {
    /// Assumed, 3e-12 to 1.5e-11: leakage past the motors, m3/s for each Pa.
    pub leakage_m3_s_pa: f64,
    /// Assumed, 2e-11 to 1e-10: what a spool for motors bleeds across them in its dead band, so that
    /// they coast to rest instead of springing back, m3/s for each Pa.
    pub neutral_bleed_m3_s_pa: f64,
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
    /// Assumed, 35 to 65: temperature of the oil at which all these hold, C.
    pub stated_c: f64,
    /// Assumed, 0.3 to 1: drag grows with viscosity to this power; leakage falls with its first.
    pub drag_exponent: f64,
    /// Assumed, 0 to 0.6: lag of valve and spool grows with viscosity to this power.
    pub lag_exponent: f64,
    /// Assumed, 0 to 0.06: share of its speed that the engine loses to full flow at relief pressure.
    pub engine_droop: f64,
}

impl Default for DriveLaw {
    fn default() -> Self {
        Self {
            leakage_m3_s_pa: 7e-12,
            neutral_bleed_m3_s_pa: 4e-11,
            compliance_m3_pa: 5e-13,
            inertia_kg_m2: 2.5,
            running_loss_nm: 25.0,
            standing_loss_nm: 40.0,
            viscous_nm_s: 6.0,
            spool_slew_s: 6.0,
            spring_s: 0.06,
            stated_c: 50.0,
            drag_exponent: 0.5,
            lag_exponent: 0.25,
            engine_droop: 0.02,
        }
    }
}

impl DriveLaw {
    /// The law with leakage, drag and the machine's valve lag, s, as they are at the machine's oil
    /// temperature.
    #[must_use]
    pub fn at_temperature(&self, machine: &MachineSpec) -> (Self, f64) {
        let oil = machine.oil.oil();
        let viscosity = oil.viscosity_mm2_s(machine.oil_c) / oil.viscosity_mm2_s(self.stated_c);
        let law = Self {
            leakage_m3_s_pa: self.leakage_m3_s_pa / viscosity,
            neutral_bleed_m3_s_pa: self.neutral_bleed_m3_s_pa / viscosity,
            viscous_nm_s: self.viscous_nm_s * libm::pow(viscosity, self.drag_exponent),
            ..self.clone()
        };
        (law, machine.valve_lag_s * libm::pow(viscosity, self.lag_exponent))
    }
}

/// The hydraulic drive of the two rollers, which are geared together.
#[derive(Clone, Debug)]
pub struct Drive {
    valve: Valve,
    remote_m3_s: f64,
    pump_m3_per_turn: f64,
    relief_pa: f64,
    /// Pressure of the return line over the square of the opening.
    return_pa: f64,
    droop_pa: f64,
    /// Share of its speed that the loaded engine holds.
    droop: f64,
    displacement_m3: f64,
    leakage: f64,
    /// Displacement a radian: also torque for each Pa.
    torque_nm_pa: f64,
    open: Gear,
    neutral: Gear,
    running_loss_nm: f64,
    standing_loss_nm: f64,
    pressure_pa: f64,
    speed_rad_s: f64,
    energy_j: f64,
}

/// How pressure and speed go on, with the spool open or in its dead band.
#[derive(Clone, Copy, Debug)]
struct Gear {
    turning: Propagator,
    standing: Propagator,
}

impl Gear {
    fn new(law: &DriveLaw, torque_nm_pa: f64, leak: f64) -> Self {
        let (line, rollers) = (1.0 / law.compliance_m3_pa, 1.0 / law.inertia_kg_m2);
        let turning = [
            [-line * leak, -line * torque_nm_pa],
            [rollers * torque_nm_pa, -rollers * law.viscous_nm_s],
        ];
        let standing = [[-line * leak, 0.0], [0.0, 0.0]];
        Self {
            turning: Propagator::new(turning, [line, rollers], STEP_S),
            standing: Propagator::new(standing, [line, 0.0], STEP_S),
        }
    }
}

impl Drive {
    /// A drive at rest.
    #[must_use]
    pub fn new(machine: &MachineSpec, law: &DriveLaw) -> Self {
        let (law, lag_s) = law.at_temperature(machine);
        let torque_nm_pa = torque_nm(machine.displacement_m3, 1.0);
        let gear = |leak| Gear::new(&law, torque_nm_pa, leak);
        Self {
            valve: Valve::new(machine, &law, lag_s),
            remote_m3_s: machine.remote_flow_m3_s,
            pump_m3_per_turn: machine.pump_m3_per_turn,
            relief_pa: machine.relief_pa,
            return_pa: machine.return_pa,
            droop_pa: law.engine_droop / machine.relief_pa,
            droop: 1.0,
            displacement_m3: machine.displacement_m3,
            leakage: law.leakage_m3_s_pa,
            torque_nm_pa,
            open: gear(law.leakage_m3_s_pa),
            neutral: gear(law.leakage_m3_s_pa + law.neutral_bleed_m3_s_pa),
            running_loss_nm: law.running_loss_nm,
            standing_loss_nm: law.standing_loss_nm,
            pressure_pa: 0.0,
            speed_rad_s: 0.0,
            energy_j: 0.0,
        }
    }

    /// The same drive, moving as it does, on a machine that has changed.
    pub fn refit(&mut self, machine: &MachineSpec, law: &DriveLaw) {
        let fresh = Self::new(machine, law);
        *self = Self {
            valve: fresh.valve.moving_as(&self.valve),
            droop: self.droop,
            pressure_pa: self.pressure_pa,
            speed_rad_s: self.speed_rad_s,
            energy_j: self.energy_j,
            ..fresh
        };
    }

    /// One millisecond against a load, Nm, that only resists. Gives the turns made, signed.
    #[inline]
    pub fn step(&mut self, command: Command, motion: Motion, load_nm: f64) -> f64 {
        let opening = self.valve.step(command);
        let pump_m3_s = self.pump_m3_per_turn * motion.engine_turns_s * self.droop;
        // Felt one step later, which no governor betters.
        self.droop = 1.0 - self.droop_pa * self.pressure_pa.abs() * opening.abs();
        let flow_m3_s = (opening * self.remote_m3_s).clamp(-pump_m3_s, pump_m3_s);
        let [pressure_pa, speed_rad_s] = self.after(opening == 0.0, flow_m3_s, load_nm);
        let most_pa = self.relief_pa - self.return_pa * opening * opening;
        self.pressure_pa = pressure_pa.clamp(-most_pa, most_pa);
        let turned_rad = 0.5 * (self.speed_rad_s + speed_rad_s) * STEP_S;
        self.speed_rad_s = speed_rad_s;
        self.energy_j += self.pressure_pa * self.torque_nm_pa * turned_rad;
        turned_rad * (0.5 / PI)
    }

    /// Pressure and speed after a step, before relief.
    fn after(&self, neutral: bool, flow_m3_s: f64, load_nm: f64) -> [f64; 2] {
        let gear = if neutral { &self.neutral } else { &self.open };
        let state = [self.pressure_pa, self.speed_rad_s];
        let standing = self.speed_rad_s == 0.0;
        let pull_nm = self.torque_nm_pa * self.pressure_pa;
        if standing && pull_nm.abs() <= load_nm + self.standing_loss_nm {
            return gear.standing.step(state, [flow_m3_s, 0.0]);
        }
        let direction = if standing { pull_nm } else { self.speed_rad_s };
        let resisting_nm = -(load_nm + self.running_loss_nm).copysign(direction);
        let [pressure_pa, speed_rad_s] = gear.turning.step(state, [flow_m3_s, resisting_nm]);
        // A speed that would change its sign has been stopped by friction.
        [pressure_pa, if speed_rad_s * direction > 0.0 { speed_rad_s } else { 0.0 }]
    }

    /// Roller speed, turns/s, signed.
    #[must_use]
    pub fn turns_s(&self) -> f64 {
        self.speed_rad_s * (0.5 / PI)
    }

    /// Current through the valve's coil, A.
    #[must_use]
    pub fn coil_a(&self) -> f64 {
        self.valve.coil_a()
    }

    /// Pressure across the motors, Pa, signed; within relief less return pressure.
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
