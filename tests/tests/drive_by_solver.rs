//! The drive of the rollers against a general-purpose solver of differential equations.
//!
//! The equations are written down here a second time, as a textbook would, and solved to a tight
//! tolerance by the eighth-order Runge-Kutta method of Dormand and Prince (Hairer, Norsett, Wanner,
//! Solving Ordinary Differential Equations I, 1993) as the crate `ode_solvers` has it. Compared are
//! smooth stretches: the rollers keep turning and relief stays shut.

use ode_solvers::{Dop853, System, Vector3};
use strewn::random::Stream;
use strewn::world::hydraulics::{Drive, DriveLaw};
use strewn::world::spec::{Command, MachineSpec, Motion};

/// More oil than the remote takes: the pump does not limit.
const MOTION: Motion = Motion { speed_m_s: 1.34, engine_turns_s: 40.0 };
/// Time between two comparisons, steps of a millisecond.
const COMPARED_STEPS: u32 = 20;

/// Spool (share), pressure (MPa), speed (rad/s) under a constant command and load.
struct Equations {
    machine: MachineSpec,
    law: DriveLaw,
    lag_s: f64,
    pilot: f64,
    load_nm: f64,
}

impl System<f64, Vector3<f64>> for Equations {
    fn system(&self, _: f64, state: &Vector3<f64>, slope: &mut Vector3<f64>) {
        let (machine, law) = (&self.machine, &self.law);
        let (spool, pressure_pa, speed) = (state[0], state[1] * 1e6, state[2]);
        let radian_m3 = machine.displacement_m3 / (2.0 * std::f64::consts::PI);
        let opening = (spool - machine.dead_band).max(0.0) / (1.0 - machine.dead_band);
        let flow = opening * machine.remote_flow_m3_s;
        let leak = law.leakage_m3_s_pa * pressure_pa;
        let torque_nm =
            radian_m3 * pressure_pa - law.viscous_nm_s * speed - law.running_loss_nm - self.load_nm;
        slope[0] = ((self.pilot - spool) / self.lag_s).clamp(-law.spool_slew_s, law.spool_slew_s);
        slope[1] = (flow - radian_m3 * speed - leak) / law.compliance_m3_pa * 1e-6;
        slope[2] = torque_nm / law.inertia_kg_m2;
    }
}

/// Worst differences of pressure and speed over their values in one draw; nothing if the stretch was
/// not smooth.
fn differences(random: Stream) -> Option<(f64, f64)> {
    let even = |name: &str, low: f64, high: f64| low + (high - low) * random.named(name).uniform(0);
    let machine = MachineSpec { oil_c: even("oil", -5.0, 90.0), ..MachineSpec::default() };
    let (before, after) = (even("before", 0.35, 0.9), even("after", 0.35, 0.9));
    let load_nm = even("load", 20.0, 200.0);
    let mut drive = Drive::new(&machine, &DriveLaw::default());
    for _ in 0..6000 {
        drive.step(Command { duty: before, enable: true }, MOTION, load_nm);
    }
    // The pilot follows the command with play on one side.
    let half_play = machine.hysteresis / 2.0;
    let spool = before - half_play;
    let pilot = spool.clamp(after - half_play, after + half_play);
    let (law, lag_s) = DriveLaw::default().at_temperature(&machine);
    let relief_pa = machine.relief_pa;
    let mut state = Vector3::new(
        spool,
        drive.pressure_pa() * 1e-6,
        drive.turns_s() * 2.0 * std::f64::consts::PI,
    );
    let (mut worst_pressure, mut worst_speed): (f64, f64) = (0.0, 0.0);
    for _ in 0..25 {
        let equations =
            Equations { machine: machine.clone(), law: law.clone(), lag_s, pilot, load_nm };
        let until_s = f64::from(COMPARED_STEPS) * 1e-3;
        let mut solver = Dop853::new(equations, 0.0, until_s, until_s, state, 1e-10, 1e-12);
        solver.integrate().expect("smooth equations are solved");
        state = *solver.y_out().last().expect("an end");
        for _ in 0..COMPARED_STEPS {
            drive.step(Command { duty: after, enable: true }, MOTION, load_nm);
        }
        let speed = drive.turns_s() * 2.0 * std::f64::consts::PI;
        if speed < 0.5 || drive.pressure_pa() < 1e6 || drive.pressure_pa() >= 0.99 * relief_pa {
            return None;
        }
        worst_pressure = worst_pressure.max((drive.pressure_pa() * 1e-6 / state[1] - 1.0).abs());
        worst_speed = worst_speed.max((speed / state[2] - 1.0).abs());
    }
    Some((worst_pressure, worst_speed))
}

#[test]
fn pressure_and_speed_agree_within_a_thousandth() {
    let draws: Vec<_> =
        (0..200).filter_map(|draw| differences(Stream::root(1).numbered(draw))).take(10).collect();
    assert_eq!(draws.len(), 10, "enough smooth stretches");
    for (pressure, speed) in draws {
        assert!(pressure < 1e-3 && speed < 1e-3, "pressure off by {pressure}, speed by {speed}");
    }
}
