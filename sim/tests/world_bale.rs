//! Bale and tearing against exact balances, limits and orderings.

use proptest::prelude::*;
use strewn::random::Stream;
use strewn::world::World;
use strewn::world::bale::{Bale, WaveLaw};
use strewn::world::bite::TearingLaw;
use strewn::world::spec::{
    BaleSpec, Command, Condition, Hay, MachineSpec, Motion, Profile, Winding,
};

const DRIVING: Motion = Motion { speed_m_s: 1.34, engine_turns_s: 20.0 };
const OFF: Command = Command { duty: 1.0, enable: false };
const DENSE: Profile = Profile::DenseCore { ratio: 3.0, radius: 0.3 };

fn bale(profile: Profile) -> BaleSpec {
    BaleSpec {
        diameter_m: 1.5,
        width_m: 1.35,
        mass_kg: 500.0,
        moisture: 0.15,
        hay: Hay::Dry,
        profile,
        condition: Condition::SOUND,
    }
}

fn world(seed: u64) -> World {
    World::new(&MachineSpec::default(), Stream::root(seed))
}

/// Feeds until the bale is gone or five minutes are over, at a roller speed held with full knowledge.
fn feed(world: &mut World, turns_s: f64) {
    for _ in 0..300_000 {
        if world.bale_is_gone() {
            break;
        }
        let duty = world.duty_for(turns_s, DRIVING);
        world.step(Command { duty, enable: true }, DRIVING);
    }
}

fn all_kg(world: &World) -> f64 {
    world.left_kg() + world.in_air_kg() + world.ground_kg().iter().sum::<f64>()
}

fn profiles() -> impl Strategy<Value = Profile> {
    prop_oneof![
        Just(Profile::Even),
        (0.0..1.5, 0.3..4.0).prop_map(|(centre, exponent)| Profile::SoftCore { centre, exponent }),
        (0.5..4.0, 0.1..0.6).prop_map(|(ratio, radius)| Profile::DenseCore { ratio, radius }),
        (1.0..4.0, 0.1..0.6).prop_map(|(ratio, radius)| Profile::graded_core(ratio, radius)),
    ]
}

fn conditions() -> impl Strategy<Value = Condition> {
    let shares = (0.0..0.15, 0.0..0.15, 0.0..0.5, 0.0..0.5);
    (shares, 0..5u32, any::<bool>()).prop_map(|(shares, wrap_bands, with)| Condition {
        off_centre: shares.0,
        out_of_round: shares.1,
        wet_share: shares.2,
        frozen_share: shares.3,
        wrap_bands,
        winding: if with { Winding::With } else { Winding::Against },
    })
}

/// Sizes from 4x4 to 6x6 ft, dry hay and silage of 45 to 60 % water at the same dry matter.
fn makes() -> impl Strategy<Value = BaleSpec> {
    let sizes = (1.2..1.85f64, 1.2..1.85f64, 130.0..200.0f64);
    (sizes, prop_oneof![Just(None), (0.45..0.6f64).prop_map(Some)], profiles(), conditions())
        .prop_map(|((diameter_m, width_m, dry_kg_m3), water, profile, condition)| {
            let moisture = water.unwrap_or(0.15);
            let dry_kg = dry_kg_m3 * core::f64::consts::FRAC_PI_4 * diameter_m.powi(2) * width_m;
            BaleSpec {
                diameter_m,
                width_m,
                mass_kg: dry_kg / (1.0 - moisture),
                moisture,
                hay: if water.is_some() { Hay::Wrapped } else { Hay::Dry },
                profile,
                condition,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn radius_and_mass_are_inverse(profile in profiles(), share in 0.0..1.0) {
        let bale = Bale::new(&bale(profile), &WaveLaw::default(), Stream::root(1));
        let left_kg = share * bale.mass_kg();
        let back_kg = bale.mass_within(bale.radius_for(left_kg));
        prop_assert!((back_kg - left_kg).abs() < 1e-9 * bale.mass_kg(), "{left_kg} became {back_kg}");
    }

    #[test]
    fn density_is_the_slope_of_mass(profile in profiles(), radius in 0.05..0.95f64) {
        let bale = Bale::new(&bale(profile), &WaveLaw::default(), Stream::root(1));
        let (inner, outer) = ((radius - 1e-5) * bale.radius_m(), (radius + 1e-5) * bale.radius_m());
        if let Profile::DenseCore { radius: edge, .. } = profile {
            prop_assume!((radius - edge).abs() > 1e-4);
        }
        let ring_m3 = core::f64::consts::PI * (outer * outer - inner * inner) * bale.width_m();
        let mean = (bale.mass_within(outer) - bale.mass_within(inner)) / ring_m3;
        let here = bale.density_at(radius * bale.radius_m());
        prop_assert!((mean / here - 1.0).abs() < 1e-4, "slope {mean}, density {here}");
    }

    #[test]
    fn hay_is_neither_made_nor_lost(
        seed in 0u64..1000,
        make in makes(),
        acts in prop::collection::vec((-1.2..1.2f64, any::<bool>(), 0.0..4.0, 0.0..40.0, 1..1500u32), 1..24),
    ) {
        let mut world = world(seed);
        world.load(&make, seed);
        for (duty, enable, speed_m_s, engine_turns_s, steps) in acts {
            for _ in 0..steps {
                world.step(Command { duty, enable }, Motion { speed_m_s, engine_turns_s });
            }
            let share = all_kg(&world) / make.mass_kg;
            prop_assert!((share - 1.0).abs() < 1e-9, "{share} of the hay is there");
            prop_assert!(world.bite_kg() >= 0.0 && world.bale_face_m() >= 0.0);
            prop_assert!(world.pressure_pa().abs() <= MachineSpec::default().relief_pa);
            prop_assert!(world.left_kg() >= 0.0 && world.roller_turns_s().is_finite());
        }
    }
}

#[test]
fn the_whole_bale_ends_on_the_ground() {
    for profile in [Profile::Even, DENSE] {
        let mut world = world(3);
        world.load(&bale(profile), 0);
        feed(&mut world, 1.0);
        assert!(world.bale_is_gone() && world.bite_kg() == 0.0 && world.bale_radius_m() == 0.0);
        for _ in 0..2048 {
            world.step(OFF, DRIVING);
        }
        assert_eq!(world.in_air_kg(), 0.0);
        assert!((world.ground_kg().iter().sum::<f64>() / 500.0 - 1.0).abs() < 1e-9);
        let clumped_kg: f64 = world.clumps().iter().map(|clump| clump.1).sum();
        assert!(clumped_kg < 150.0 && (profile == DENSE || clumped_kg == 0.0));
    }
}

#[test]
fn equal_seeds_give_equal_bits_and_other_bales_differ() {
    let feed_one = |seed, index| {
        let mut world = world(seed);
        world.load(&bale(DENSE), index);
        feed(&mut world, 1.0);
        world.ground_kg().iter().map(|kg| kg.to_bits()).collect::<Vec<_>>()
    };
    assert_eq!(feed_one(5, 0), feed_one(5, 0));
    assert_ne!(feed_one(5, 0), feed_one(5, 1));
    assert_ne!(feed_one(5, 0), feed_one(6, 0));
}

#[test]
fn denser_hay_gives_less_volume_and_yet_more_mass() {
    let law = TearingLaw::default();
    for hay in [Hay::Dry, Hay::Wrapped] {
        for density in [80.0, 150.0, 250.0, 400.0] {
            let (depth_m, deeper_m) =
                (law.depth_at(density, 0.7, hay), law.depth_at(3.0 * density, 0.7, hay));
            assert!(deeper_m < depth_m);
            let ratio = 3.0 * deeper_m / depth_m;
            assert!((1.5..=2.5).contains(&ratio), "mass a turn changes by {ratio}");
            assert!(law.work_at(3.0 * density, 0.3, hay) > law.work_at(density, 0.3, hay));
            // Water is not torn: a kilogram with half as much dry matter takes half the work.
            let (wet, dry) = (law.work_at(density, 0.5, hay), law.work_at(density, 0.0, hay));
            assert!((wet / dry - 0.5).abs() < 1e-12);
        }
        assert!(law.depth_at(190.0, 0.3, hay) < law.depth_at(190.0, 0.9, hay));
    }
}

#[test]
fn waves_along_the_bale_move_no_hay_and_cost_a_little_bite_and_some_torque() {
    let strong = WaveLaw { along_share: 0.15, ..WaveLaw::default() };
    let made = Bale::new(&bale(Profile::Even), &strong, Stream::root(1));
    let mut squares = 0.0;
    for stretches in made.along() {
        let mean = stretches.iter().sum::<f64>() / stretches.len() as f64;
        assert!((mean - 1.0).abs() < 1e-12, "a layer weighs {mean} of what it did");
        squares += stretches.iter().map(|factor| (factor - 1.0).powi(2)).sum::<f64>();
    }
    let stretches = made.along().len() * made.along()[0].len();
    let deviation = (squares / stretches as f64).sqrt();
    assert!((0.11..0.16).contains(&deviation), "deviation {deviation} instead of about 0.134");
    // A mean of powers: below 1 for an exponent below 1, above 1 for one above 1 (Jensen, 1906).
    let law = TearingLaw::default();
    let (bite, torque) = law.along(&made.along()[0]);
    assert!(bite < 1.0 && bite > 0.98 && torque > 1.0 && torque < 1.02, "{bite}, {torque}");
    let (bite, torque) = law.along(&[1.0; strewn::world::bale::STRETCHES]);
    assert!((bite - 1.0).abs() < 1e-12 && (torque - 1.0).abs() < 1e-12);
}

#[test]
fn the_bite_stays_in_a_sensible_span_and_differs_between_bales() {
    let first: Vec<f64> = (0..200)
        .map(|index| {
            let mut world = world(1);
            world.load(&bale(Profile::Even), index);
            world.bite_kg()
        })
        .collect();
    let mean = first.iter().sum::<f64>() / 200.0;
    let deviation = (first.iter().map(|bite| (bite - mean).powi(2)).sum::<f64>() / 200.0).sqrt();
    assert!((6.0..7.5).contains(&mean), "mean outer bite {mean}");
    assert!((0.12..0.19).contains(&(deviation / mean)), "deviation {deviation} of {mean}");
}

#[test]
fn a_dense_core_clumps_when_turned_fast_and_not_when_turned_slowly() {
    let clumps_at = |turns_s: f64| {
        let core_kg = 500.0 * DENSE.share_within(0.3);
        let mut count = 0;
        for seed in 0..24 {
            let mut world = world(seed);
            world.load(&bale(DENSE), 0);
            while world.left_kg() > core_kg {
                let duty = world.duty_for(1.0, DRIVING);
                world.step(Command { duty, enable: true }, DRIVING);
            }
            feed(&mut world, turns_s);
            count += world.clumps().len();
        }
        f64::from(u32::try_from(count).expect("few")) / 24.0
    };
    let (slow, normal, fast) = (clumps_at(0.4), clumps_at(1.0), clumps_at(1.6));
    assert!(slow < 0.1, "{slow} clumps a bale when slow");
    assert!((1.0..=3.0).contains(&normal), "{normal} clumps a bale at one turn a second");
    assert!(fast > 1.5 * normal, "{fast} clumps a bale when fast");
}

/// Bite and torque of the drive while a bale with this condition is fed down to 150 kg, as (mass left,
/// bite, face radius over mean radius), once every 0.2 kg.
fn trace(condition: Condition, seed: u64) -> Vec<(f64, f64, f64)> {
    let mut world = world(seed);
    world.load(&BaleSpec { condition, ..bale(Profile::Even) }, 0);
    let mut points = Vec::new();
    while world.left_kg() > 150.0 {
        let duty = world.duty_for(1.0, DRIVING);
        world.step(Command { duty, enable: true }, DRIVING);
        points.push((
            world.left_kg(),
            world.bite_kg(),
            world.bale_face_m() / world.bale_radius_m(),
        ));
    }
    points
}

#[test]
fn a_bale_off_its_centre_wobbles_once_a_turn_and_an_oval_one_twice() {
    // Exact: rollers of diameter d turn a bale of radius r by d / 2r without slip. Its first 100 kg
    // of 500 are torn at a mean radius of about 0.71 m and a mean bite near the one seen.
    let round = Condition::SOUND;
    for (condition, per_turn) in [
        (Condition { off_centre: 0.05, ..round }, 1.0),
        (Condition { out_of_round: 0.05, ..round }, 2.0),
    ] {
        let points: Vec<_> =
            trace(condition, 1).into_iter().filter(|point| point.0 > 400.0).collect();
        let (low, high) = points
            .iter()
            .fold((f64::MAX, f64::MIN), |(low, high), point| (low.min(point.2), high.max(point.2)));
        assert!((low - 0.95).abs() < 2e-3 && (high - 1.05).abs() < 2e-3, "{low} to {high}");
        let crossings =
            points.windows(2).filter(|pair| (pair[0].2 - 1.0) * (pair[1].2 - 1.0) < 0.0).count();
        let bite_kg = points.iter().map(|point| point.1).sum::<f64>() / points.len() as f64;
        let turns = 100.0 / bite_kg * MachineSpec::default().roller_diameter_m / (2.0 * 0.71);
        let expected = 2.0 * per_turn * turns;
        assert!((crossings as f64 - expected).abs() < 2.0, "{crossings} instead of {expected}");
    }
    assert!(trace(round, 1).iter().all(|point| point.2 == 1.0));
}

#[test]
fn patches_hold_the_share_of_hay_that_was_asked_for() {
    // A frozen patch halves the bite at its place and nowhere else.
    let mut shares = 0.0;
    for seed in 0..20 {
        let frozen = Condition { frozen_share: 0.1, ..Condition::SOUND };
        let mut world = world(seed);
        world.load(&BaleSpec { condition: frozen, ..bale(Profile::Even) }, 0);
        let mut sound = World::new(&MachineSpec::default(), Stream::root(seed));
        sound.load(&bale(Profile::Even), 0);
        let bite_at = |world: &mut World, left_kg: f64| {
            while world.left_kg() > left_kg {
                let duty = world.duty_for(1.5, DRIVING);
                world.step(Command { duty, enable: true }, DRIVING);
            }
            world.bite_kg()
        };
        let places = (30..490).rev().map(f64::from);
        let slow = places
            .filter(|place| bite_at(&mut world, *place) < 0.75 * bite_at(&mut sound, *place))
            .count();
        shares += slow as f64 / 460.0 / 20.0;
    }
    assert!((0.06..0.13).contains(&shares), "{shares} of the hay instead of 0.1");
}

#[test]
fn flaws_cost_torque_and_turning_against_the_winding_tears_less() {
    let energy_j = |condition| {
        let mut world = world(4);
        world.load(&BaleSpec { condition, ..bale(Profile::Even) }, 0);
        feed(&mut world, 1.0);
        world.energy_j()
    };
    let sound = energy_j(Condition::SOUND);
    let frozen = energy_j(Condition { frozen_share: 0.2, ..Condition::SOUND });
    let wet = energy_j(Condition { wet_share: 0.2, ..Condition::SOUND });
    let wrap = energy_j(Condition { wrap_bands: 6, ..Condition::SOUND });
    let against = energy_j(Condition { winding: Winding::Against, ..Condition::SOUND });
    for (worse, name) in [(frozen, "frozen"), (wet, "wet"), (wrap, "wrap"), (against, "against")] {
        assert!(worse > 1.005 * sound, "{name}: {worse} J against {sound} J");
    }
    let bite = |winding| trace(Condition { winding, ..Condition::SOUND }, 4)[0].1;
    assert!(bite(Winding::Against) < bite(Winding::With));
}

#[test]
fn a_whole_core_may_tumble_out_as_one_lump_unless_it_was_worked_loose() {
    let lumps_at = |turns_s: f64| {
        let mut lumps = 0;
        for seed in 0..60 {
            let mut world = world(seed);
            world.load(&bale(DENSE), 0);
            while world.left_kg() > 120.0 {
                let duty = world.duty_for(1.0, DRIVING);
                world.step(Command { duty, enable: true }, DRIVING);
            }
            feed(&mut world, turns_s);
            // Only a tumbling core takes the last hay, which hangs too loosely to clump.
            let laid_kg = 500.0 - world.left_kg();
            let before_kg: f64 = world.clumps().iter().map(|clump| clump.1).sum();
            lumps += usize::from(
                laid_kg == 500.0
                    && before_kg > 0.0
                    && world.clumps().last().is_some_and(|last| last.0 > world.time_s() - 0.002),
            );
        }
        lumps
    };
    let (slow, fast) = (lumps_at(0.4), lumps_at(1.6));
    assert!(slow <= 3, "{slow} of 60 cores tumble when worked slowly");
    assert!(fast > slow && fast >= 4, "{fast} of 60 tumble when turned fast, {slow} when slow");
}
