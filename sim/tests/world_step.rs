//! Whether a millisecond is short enough.
//!
//! A unit of time that is half as long makes every speed half as large a number and every time twice as
//! large a one. The same machine written in it is the same machine at half the step.

use strewn::random::Stream;
use strewn::score::spread::coefficient_of_variation;
use strewn::world::air::FallLaw;
use strewn::world::dense_core::CoreLaw;
use strewn::world::hydraulics::DriveLaw;
use strewn::world::spec::{BaleSpec, Command, Condition, Hay, MachineSpec, Motion, Profile};
use strewn::world::{Laws, World};

/// Bales of which a figure is the mean.
const BALES: u64 = 30;
/// Bins of the row in 3 ft, 0.91 m.
const SEGMENT: usize = 30;

/// Everything in a unit of time of which a second has so many.
fn in_units(per_second: f64) -> (Laws, MachineSpec, Motion) {
    let (drive, core, fall) = (DriveLaw::default(), CoreLaw::default(), FallLaw::default());
    let laws = Laws {
        drive: DriveLaw {
            leakage_m3_s_pa: drive.leakage_m3_s_pa / per_second,
            neutral_bleed_m3_s_pa: drive.neutral_bleed_m3_s_pa / per_second,
            inertia_kg_m2: drive.inertia_kg_m2 * per_second * per_second,
            viscous_nm_s: drive.viscous_nm_s * per_second,
            spool_slew_s: drive.spool_slew_s / per_second,
            spring_s: drive.spring_s * per_second,
            ..drive
        },
        core: CoreLaw { slow_turns_s: core.slow_turns_s / per_second, ..core },
        fall: FallLaw { fall_spread_s: fall.fall_spread_s * per_second },
        ..Laws::default()
    };
    let usual = MachineSpec::default();
    let machine = MachineSpec {
        remote_flow_m3_s: usual.remote_flow_m3_s / per_second,
        valve_lag_s: usual.valve_lag_s * per_second,
        fall_s: usual.fall_s * per_second,
        ..usual
    };
    let motion = Motion { speed_m_s: 1.34 / per_second, engine_turns_s: 32.0 / per_second };
    (laws, machine, motion)
}

/// Unevenness of the row and the share of hay that left as clumps, when a bale with a dense core is fed
/// for a minute at a duty that rises and falls.
fn figures(bale: u64, per_second: u32) -> [f64; 2] {
    let (laws, machine, motion) = in_units(f64::from(per_second));
    let mut world = World::under(laws, &machine, Stream::root(7));
    let spec = BaleSpec {
        diameter_m: 1.5,
        width_m: 1.35,
        mass_kg: 500.0,
        moisture: 0.15,
        hay: Hay::Dry,
        profile: Profile::DenseCore { ratio: 3.0, radius: 0.3 },
        condition: Condition { out_of_round: 0.05, ..Condition::SOUND },
    };
    world.load(&spec, bale);
    for step in 0..60_000 * per_second {
        let duty = if (step / (3_000 * per_second)).is_multiple_of(2) { 0.36 } else { 0.42 };
        world.step(Command { duty, enable: true }, motion);
    }
    let whole = world.ground_kg().chunks(SEGMENT).map(|bins| bins.iter().sum::<f64>());
    let row: Vec<f64> = whole.skip_while(|kg| *kg == 0.0).take_while(|kg| *kg > 0.0).collect();
    let clumped_kg: f64 = world.clumps().iter().map(|clump| clump.1).sum();
    [coefficient_of_variation(&row).expect("a row"), clumped_kg / spec.mass_kg]
}

#[test]
fn halving_the_step_changes_figures_by_less_than_their_confidence_interval() {
    let pairs: Vec<_> = (0..BALES).map(|bale| (figures(bale, 1), figures(bale, 2))).collect();
    for (figure, name) in ["unevenness", "share of clumps"].into_iter().enumerate() {
        let count = BALES as f64;
        let mean = pairs.iter().map(|pair| pair.0[figure]).sum::<f64>() / count;
        let squares = pairs.iter().map(|pair| (pair.0[figure] - mean).powi(2)).sum::<f64>();
        // Half of a 95 % interval of the mean: 1.96 deviations of it.
        let interval = 1.96 * (squares / (count - 1.0) / count).sqrt();
        let change = pairs.iter().map(|pair| pair.1[figure] - pair.0[figure]).sum::<f64>() / count;
        println!("{name}: {mean:.4} +/- {interval:.4}, at half the step {change:+.5}");
        assert!(mean > 0.0 && change.abs() < interval, "{name}: {change} of {mean} +/- {interval}");
    }
}
