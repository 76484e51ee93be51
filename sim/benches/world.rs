//! How long a step of the world takes.

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use strewn::instruments::{InstrumentSpec, Instruments};
use strewn::random::Stream;
use strewn::world::World;
use strewn::world::spec::{BaleSpec, Command, Condition, Hay, MachineSpec, Motion, Profile};

const STEPS: u32 = 10_000;

/// A machine that is laying hay in the middle of a bale.
fn laying() -> (World, Command, Motion) {
    let mut world = World::new(&MachineSpec::default(), Stream::root(1));
    let bale = BaleSpec {
        diameter_m: 1.5,
        width_m: 1.3,
        mass_kg: 1500.0,
        moisture: 0.15,
        hay: Hay::Dry,
        profile: Profile::SoftCore { centre: 0.5, exponent: 1.0 },
        condition: Condition::SOUND,
    };
    world.load(&bale, 0);
    let motion = Motion { speed_m_s: 1.34, engine_turns_s: 20.0 };
    let command = Command { duty: 0.32, enable: true };
    for _ in 0..5000 {
        world.step(command, motion);
    }
    (world, command, motion)
}

fn steps(criterion: &mut Criterion) {
    let (world, command, motion) = laying();
    let mut group = criterion.benchmark_group("world");
    group.throughput(criterion::Throughput::Elements(u64::from(STEPS)));
    group.bench_function("step", |bencher| {
        bencher.iter_batched_ref(
            || world.clone(),
            |world| {
                for _ in 0..STEPS {
                    world.step(black_box(command), black_box(motion));
                }
            },
            BatchSize::LargeInput,
        );
    });
    group.bench_function("step and watch", |bencher| {
        bencher.iter_batched_ref(
            || (world.clone(), Instruments::new(&InstrumentSpec::default(), Stream::root(2))),
            |(world, instruments)| {
                for _ in 0..STEPS {
                    world.step(black_box(command), black_box(motion));
                    instruments.watch(world);
                }
            },
            BatchSize::LargeInput,
        );
    });
    group.finish();
}

criterion_group!(benches, steps);
criterion_main!(benches);
