//! Edges of a roller.

use crate::Bench;
use proptest::prelude::*;
use strewn_controller::signals::{PulseChannel, Quality};
use strewn_controller::units::{Instant, Span};
use strewn_controller::wires::PulseWire;

const SHORTEST: Span = Span::from_micros(2_000);

impl Bench {
    /// So many edges come, the last of them this long before the next tick.
    fn edges(&mut self, edges: u32, before_tick_us: u32) {
        let next = self.inputs.now.later_by(Span::from_micros(10_000 - before_tick_us));
        let wire = &mut self.inputs.rollers[0];
        wire.count = wire.count.wrapping_add(edges);
        wire.last_edge_us = u32::try_from(next.to_micros()).expect("a short story");
    }
}

#[test]
fn a_slow_roller_is_measured_by_the_times_of_its_edges() {
    // 20 edges a second; the first has no earlier one to be measured from.
    let mut bench = Bench::new();
    bench.edges(1, 3_000);
    let first = bench.tick().rollers[0];
    assert_eq!((first.edges, first.span, first.quality), (1, None, Quality::Good));
    let between = bench.pass(40).rollers[0];
    assert_eq!((between.edges, between.span), (0, None));
    assert_eq!(between.since_last, Span::from_micros(43_000));
    bench.edges(1, 3_000);
    let second = bench.tick().rollers[0];
    assert_eq!((second.edges, second.span), (1, Some(Span::from_micros(50_000))));
    assert_eq!(second.since_last, Span::from_micros(3_000));
}

#[test]
fn several_edges_of_a_tick_share_their_span() {
    let mut bench = Bench::new();
    bench.edges(2, 1_000);
    bench.tick();
    bench.edges(3, 500);
    let pulses = bench.tick().rollers[0];
    assert_eq!((pulses.edges, pulses.span), (3, Some(Span::from_micros(10_500))));
}

#[test]
fn a_roller_that_never_turned_is_good_and_says_so() {
    let pulses = Bench::new().pass(1_000).rollers[1];
    assert_eq!((pulses.edges, pulses.since_last), (0, Span::MAX));
    assert_eq!(pulses.quality, Quality::Good);
}

#[test]
fn noise_is_refused_for_its_tick_and_the_measure_starts_over() {
    let mut bench = Bench::new();
    bench.edges(1, 2_000);
    bench.tick();
    bench.edges(20, 2_000);
    let noise = bench.tick().rollers[0];
    assert_eq!((noise.edges, noise.span, noise.quality), (0, None, Quality::Invalid));
    bench.edges(1, 2_000);
    let after = bench.tick().rollers[0];
    assert_eq!((after.edges, after.span), (1, Some(Span::from_micros(10_000))));
    assert_eq!(after.quality, Quality::Good);
}

#[test]
fn a_burst_before_any_known_edge_is_refused_as_well() {
    let mut bench = Bench::new();
    bench.edges(20, 2_000);
    assert_eq!(bench.tick().rollers[0].quality, Quality::Invalid);
}

#[test]
fn a_stuck_capture_is_refused() {
    // The counter runs but the time of the last edge does not.
    let mut bench = Bench::new();
    bench.edges(1, 2_000);
    bench.tick();
    for _ in 0..20 {
        bench.inputs.rollers[0].count += 1;
        bench.tick();
    }
    assert_eq!(bench.tick().rollers[0].quality, Quality::Good, "no new edge, nothing to refuse");
    bench.inputs.rollers[0].count += 1;
    assert_eq!(bench.tick().rollers[0].quality, Quality::Invalid);
}

#[test]
fn an_edge_of_another_tick_is_refused_and_measured_from_its_own_tick_on() {
    // 5 ms before the last tick, and 20 ms after this one: both after the edge known.
    for before_tick_us in [15_000i64, -20_000] {
        let mut bench = Bench::new();
        bench.edges(1, 2_000);
        bench.pass(30);
        bench.edges(1, 0);
        let low = i64::from(bench.inputs.rollers[0].last_edge_us) - before_tick_us;
        bench.inputs.rollers[0].last_edge_us = u32::try_from(low).expect("after the start");
        assert_eq!(bench.tick().rollers[0].quality, Quality::Invalid);
        bench.edges(1, 2_000);
        let next = bench.tick().rollers[0];
        assert_eq!((next.edges, next.span), (1, Some(Span::from_micros(8_000))));
    }
}

#[test]
fn a_counter_that_starts_again_is_refused_once() {
    let mut bench = Bench::new();
    bench.edges(5, 2_000);
    bench.pass(100);
    bench.edges(1, 2_000);
    bench.tick();
    bench.inputs.rollers[0].count = 0;
    assert_eq!(bench.tick().rollers[0].quality, Quality::Invalid);
    bench.edges(1, 2_000);
    assert_eq!(bench.tick().rollers[0].quality, Quality::Good);
}

#[test]
fn a_sensor_that_is_not_fitted_is_absent() {
    let config = strewn_controller::settings::SignalConfig {
        ground: None,
        ..strewn_controller::settings::SignalConfig::TYPICAL
    };
    let readings = Bench::with(&config).tick();
    assert_eq!(readings.speeds.pulses.quality, Quality::Absent);
}

proptest! {
    /// Truth: a sensor with this period, seen through wrapping counters, from any moment on.
    #[test]
    fn spans_add_up_to_the_true_time_across_every_wrap(
        start in (1u64 << 33)..(1 << 40), count: u32, period_us in 2_000..60_000u64, wrap: bool,
    ) {
        // Half of the stories straddle the wrap of the low 32 bits of the clock.
        let start = if wrap { (start | 0xFFFF_FFFF) - 300_000 } else { start };
        let mut channel = PulseChannel::default();
        let (mut edges, mut span_us) = (0u64, 0u64);
        let mut measured = 0u64;
        for tick in 0..100u64 {
            let passed = tick * 10_000;
            let true_edges = passed / period_us;
            let last_edge = start + true_edges * period_us;
            let wire = PulseWire {
                count: count.wrapping_add(u32::try_from(true_edges).expect("few")),
                last_edge_us: u32::try_from(last_edge & 0xFFFF_FFFF).expect("32 bits"),
            };
            let now = Instant::from_micros(start + passed);
            let pulses = channel.update(SHORTEST, now, wire);
            prop_assert_eq!(pulses.quality, Quality::Good);
            edges += u64::from(pulses.edges);
            if let Some(span) = pulses.span {
                measured += u64::from(pulses.edges);
                span_us += u64::from(span.to_micros());
            }
            prop_assert_eq!(edges, true_edges);
        }
        prop_assert_eq!(span_us, measured * period_us);
    }
}
