//! How long one tick of the controller takes while hay is laid.

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use std::hint::black_box;
use strewn_controller::settings::{Config, Core, Settings, SignalConfig, TicketConfig};
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::{Frame, Inputs, SwitchBits};

const TICKS: u64 = 1_000;
const SEATED: u16 = SwitchBits::PRESENT | SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;

/// Inputs of a machine that is driven and turns, `tick` ticks after the start.
fn inputs(tick: u64) -> Inputs {
    let now = tick * 10_000;
    let mut inputs = Inputs { now: Instant::from_micros(now), ..Inputs::default() };
    // One turn a second, from the moment that the run switch is held.
    if let Some(edges) = now.checked_sub(900_000).map(|turning| turning / 16_667) {
        for roller in &mut inputs.rollers {
            roller.count = edges as u32;
            roller.last_edge_us = (900_000 + edges * 16_667) as u32;
        }
    }
    inputs.weigh.counts =
        500_000 - (tick.saturating_sub(90) * 60) as i32 + (tick % 13) as i32 * 300;
    inputs.weigh.sequence = tick as u8;
    inputs.analog.pressure = 1_200 + (tick % 7) as u16 * 9;
    inputs.analog.gauge = 2_000;
    inputs.analog.reference = 2_048;
    let acts = match tick {
        50..70 => SwitchBits::ARM,
        90.. => SwitchBits::RUN,
        _ => 0,
    };
    inputs.switches = SwitchBits(SEATED | acts);
    if tick.is_multiple_of(10) {
        let data = [0x3D, 0x05, 0, 0, 0, 0, 0xFF, 0xFD];
        let _ = inputs.frames.push(Frame { id: 0x0CFE_4945, data });
    }
    inputs
}

fn laying() -> (Settings, State, Vec<Inputs>) {
    let ticket =
        TicketConfig { mass_g: 500_000, diameter_mm: 1_524, bite_g: 6_500, core: Core::Even };
    let config = Config {
        signals: SignalConfig { ground: None, ..SignalConfig::TYPICAL },
        estimate: Default::default(),
        metering: Default::default(),
        safety: Default::default(),
        tickets: [ticket].into_iter().collect(),
    };
    let settings = config.build().expect("typical settings are allowed");
    let mut state = State::new(&settings);
    for tick in 1..300 {
        let outputs = step(&settings, &mut state, &inputs(tick));
        assert!(tick < 100 || outputs.enable, "not laying in tick {tick}: {outputs:?}");
    }
    (settings, state, (300..300 + TICKS).map(inputs).collect())
}

fn steps(criterion: &mut Criterion) {
    let (settings, state, ticks) = laying();
    let mut group = criterion.benchmark_group("controller");
    group.throughput(Throughput::Elements(TICKS));
    group.bench_function("step", |bencher| {
        bencher.iter_batched_ref(
            || state,
            |state| {
                for inputs in &ticks {
                    black_box(step(&settings, state, black_box(inputs)));
                }
            },
            BatchSize::SmallInput,
        );
    });
    group.finish();
}

criterion_group!(benches, steps);
criterion_main!(benches);
