//! The drive of the rollers against limits and orderings.

use strewn::random::Stream;
use strewn::world::World;
use strewn::world::hydraulics::{Drive, DriveLaw};
use strewn::world::spec::{BaleSpec, Command, Condition, Hay, MachineSpec, Motion, Profile};

const DRIVING: Motion = Motion { speed_m_s: 1.34, engine_turns_s: 20.0 };
const FULL: Command = Command { duty: 1.0, enable: true };
const REST: Command = Command { duty: 0.0, enable: true };
const OFF: Command = Command { duty: 1.0, enable: false };
const BALE: BaleSpec = BaleSpec {
    diameter_m: 1.5,
    width_m: 1.35,
    mass_kg: 500.0,
    moisture: 0.15,
    hay: Hay::Dry,
    profile: Profile::Even,
    condition: Condition::SOUND,
};

fn world(seed: u64) -> World {
    World::new(&MachineSpec::default(), Stream::root(seed))
}

#[test]
fn the_design_point_needs_a_modest_pressure() {
    // 3 lb/ft at 3 mph is 6 kg/s: about 0.9 turns a second. Common practice, no source.
    let mut world = world(2);
    world.load(&BALE, 2);
    let (mut sum_pa, mut steps) = (0.0, 0.0);
    while !world.bale_is_gone() {
        let duty = world.duty_for(0.9, DRIVING);
        world.step(Command { duty, enable: true }, DRIVING);
        if world.left_kg() > 250.0 && world.time_s() > 2.0 {
            sum_pa += world.pressure_pa();
            steps += 1.0;
        }
    }
    let psi = sum_pa / steps / strewn::units::PA_PER_PSI;
    assert!((500.0..1000.0).contains(&psi), "{psi} psi");
    // Tearing must stay far below what a tractor's remote can give at all: 1 kWh/Mg, that is 3.6 kJ/kg.
    assert!(world.energy_j() / 500.0 < 1000.0, "{} J/kg", world.energy_j() / 500.0);
}

#[test]
fn rollers_stand_six_tenths_of_a_second_after_a_stop() {
    let fast = Motion { engine_turns_s: 35.0, ..DRIVING };
    for (stop, limit_steps) in [(REST, 600), (OFF, 400)] {
        for loaded in [false, true] {
            let mut world = world(1);
            if loaded {
                world.load(&BALE, 0);
            }
            (0..2500).for_each(|_| world.step(FULL, fast));
            assert!(world.roller_turns_s() > 3.0);
            (0..limit_steps).for_each(|_| world.step(stop, fast));
            for _ in 0..1000 {
                world.step(stop, fast);
                assert_eq!(world.roller_turns_s(), 0.0, "loaded {loaded} {stop:?}");
            }
        }
    }
}

#[test]
fn no_flow_no_motion() {
    let engine_off = Motion { engine_turns_s: 0.0, ..DRIVING };
    let in_dead_band = Command { duty: 0.14, enable: true };
    let not_a_number = Command { duty: f64::NAN, enable: true };
    for (command, motion) in
        [(FULL, engine_off), (in_dead_band, DRIVING), (OFF, DRIVING), (not_a_number, DRIVING)]
    {
        let mut world = world(1);
        world.load(&BALE, 0);
        (0..3000).for_each(|_| world.step(command, motion));
        assert_eq!((world.roller_turns(), world.left_kg()), (0.0, 500.0));
    }
}

#[test]
fn more_load_means_more_pressure_more_leak_and_less_speed_until_relief_stalls() {
    let machine = MachineSpec::default();
    let settle = |load_nm: f64| {
        let mut drive = Drive::new(&machine, &DriveLaw::default());
        for _ in 0..4000 {
            drive.step(Command { duty: 0.4, enable: true }, DRIVING, load_nm);
        }
        drive
    };
    let mut last = settle(0.0);
    for load_nm in [100.0, 200.0, 400.0] {
        let next = settle(load_nm);
        assert!(next.pressure_pa() > last.pressure_pa() && next.leak_m3_s() > last.leak_m3_s());
        assert!(next.turns_s() < last.turns_s() && next.turns_s() > 0.0);
        last = next;
    }
    let stalled = settle(2000.0);
    assert_eq!((stalled.turns_s(), stalled.pressure_pa()), (0.0, machine.relief_pa));
}

#[test]
fn the_valve_shows_its_hysteresis_and_its_inverse_holds() {
    // Hysteresis: the widest gap between the rising and the falling flow curve as a share of full
    // command; the definition is common practice, no source.
    let mut world = world(1);
    let strong = Motion { engine_turns_s: 35.0, ..DRIVING };
    let mut ramp = |from: f64, to: f64| -> f64 {
        let mut crossing = f64::NAN;
        for step in 0..100_000 {
            let duty = from + (to - from) * f64::from(step) / 100_000.0;
            let before = world.roller_turns_s();
            world.step(Command { duty, enable: true }, strong);
            if (before - 2.0) * (world.roller_turns_s() - 2.0) <= 0.0 {
                crossing = duty;
            }
        }
        crossing
    };
    let gap = ramp(0.0, 1.0) - ramp(1.0, 0.0);
    assert!((0.04..0.046).contains(&gap), "gap {gap}");

    for turns_s in [0.5, 1.0, 2.5, -1.0] {
        for _ in 0..4000 {
            let duty = world.duty_for(turns_s, strong);
            world.step(Command { duty, enable: true }, strong);
        }
        assert!(
            (world.roller_turns_s() / turns_s - 1.0).abs() < 0.01,
            "{}",
            world.roller_turns_s()
        );
    }
    let most = world.flow_limit_turns_s(strong);
    assert!((most - 24.0 * 231.0 / 16.0 / 60.0).abs() < 0.01, "{most} turns/s at full flow");
}
