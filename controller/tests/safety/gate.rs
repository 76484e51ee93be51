//! The gate by itself: it takes away whatever the supervisor believes.
//!
//! Nothing here goes through the supervisor, so that neither can hide the other's mistakes.

use strewn_controller::safety::{Gate, Passed, Permit};
use strewn_controller::settings::{SafetyConfig, SafetySettings};
use strewn_controller::units::{Duty, Span, Turns};
use strewn_controller::wires::{Inputs, SwitchBits};

const TICK: Span = Span::from_millis(10);
const RUN: u16 = SwitchBits::RUN | SwitchBits::RUN_B;
const VITAL: [u16; 4] = [
    SwitchBits::PRESENT,
    SwitchBits::STOP_CLEAR_A,
    SwitchBits::STOP_CLEAR_B,
    SwitchBits::GUARD_SHUT,
];

fn settings() -> SafetySettings {
    let config = SafetyConfig {
        guard_fitted: 1,
        run_pair_fitted: 1,
        coil_fitted: 1,
        duty_limit_permille: 800,
        ..SafetyConfig::TYPICAL
    };
    config.build().expect("allowed")
}

struct Bench {
    gate: Gate,
    settings: SafetySettings,
    inputs: Inputs,
}

impl Bench {
    fn new() -> Self {
        let all = VITAL.iter().fold(RUN, |all, bit| all | bit);
        let inputs = Inputs { switches: SwitchBits(all), ..Inputs::default() };
        Self { gate: Gate::default(), settings: settings(), inputs }
    }

    fn pass(&mut self, permit: Permit, proposed: Duty, tick: Span) -> Passed {
        // Sixty edges a turn.
        let turns_per_edge =
            Turns::from_milli(1_000).scaled(strewn_controller::units::Ratio::from_bits(1_092));
        self.gate.pass(&self.settings, turns_per_edge, permit, proposed, &self.inputs, tick)
    }

    /// Wide open, after some ticks.
    fn opened() -> Self {
        let mut bench = Self::new();
        for _ in 0..40 {
            bench.pass(Permit::Lay, Duty::ONE, TICK);
        }
        bench
    }
}

fn is_shut(passed: Passed) -> bool {
    passed.valve == 0 && !passed.enable
}

#[test]
fn it_lets_through_no_more_than_the_limit_and_no_faster_than_the_slew() {
    let mut bench = Bench::new();
    let mut last = 0;
    for _ in 0..40 {
        let passed = bench.pass(Permit::Lay, Duty::ONE, TICK);
        assert!(passed.enable && passed.feed_watchdog);
        // Six strokes a second for ten milliseconds: 6 % of 32,767.
        assert!(passed.valve - last <= 1_967, "{last} to {}", passed.valve);
        last = passed.valve;
    }
    // 80 % of 32,767.
    assert!((26_210..=26_214).contains(&last), "{last}");
    let passed = bench.pass(Permit::Lay, Duty::from_milli(100), TICK);
    assert!((3_270..=3_280).contains(&passed.valve), "it may shrink at once: {}", passed.valve);
    assert_eq!(bench.pass(Permit::Lay, Duty::from_milli(-300), TICK).valve, 0, "never backwards");
}

#[test]
fn each_vital_wire_shuts_in_the_same_tick() {
    for open in VITAL.into_iter().chain([SwitchBits::RUN, SwitchBits::RUN_B]) {
        let mut bench = Bench::opened();
        bench.inputs.switches.0 &= !open;
        assert!(is_shut(bench.pass(Permit::Lay, Duty::ONE, TICK)), "bit {open:b}");
        bench.inputs.switches.0 |= open;
        let again = bench.pass(Permit::Lay, Duty::ONE, TICK).valve;
        assert!(again <= 1_967, "it begins anew: {again}");
    }
}

#[test]
fn a_guard_that_is_not_fitted_is_not_asked_for() {
    let mut bench = Bench::opened();
    bench.settings = SafetyConfig::TYPICAL.build().expect("allowed");
    bench.inputs.switches.0 &= !(SwitchBits::GUARD_SHUT | SwitchBits::RUN_B);
    assert!(bench.pass(Permit::Lay, Duty::ONE, TICK).enable);
}

#[test]
fn late_ticks_and_ticks_without_time_shut_and_do_not_feed() {
    for (tick, good) in [(0, false), (1, true), (25, true), (26, false), (4_000_000, false)] {
        let mut bench = Bench::opened();
        let passed = bench.pass(Permit::Lay, Duty::ONE, Span::from_millis(tick));
        assert_eq!((passed.enable, passed.feed_watchdog), (good, good), "{tick} ms");
    }
}

#[test]
fn only_a_permit_opens_and_a_test_never_does_with_the_run_switch_held() {
    let cases = [
        (Permit::Never, true, false, 0..=0, false),
        (Permit::Never, false, false, 0..=0, false),
        (Permit::Shut, true, false, 0..=0, true),
        (Permit::Shut, false, false, 0..=0, true),
        (Permit::Feel, true, false, 0..=0, true),
        (Permit::Feel, false, true, 0..=0, true),
        (Permit::Test, true, false, 0..=0, true),
        // 5 % of 32,767.
        (Permit::Test, false, true, 1_637..=1_639, true),
        (Permit::Lay, true, true, 1_960..=1_967, true),
        (Permit::Lay, false, false, 0..=0, true),
    ];
    for (permit, run, enable, valve, feed) in cases {
        let mut bench = Bench::new();
        if !run {
            bench.inputs.switches.0 &= !RUN;
        }
        let passed = bench.pass(permit, Duty::ONE, TICK);
        let told = format!("{permit:?} run {run}: {passed:?}");
        assert!(passed.enable == enable && valve.contains(&passed.valve), "{told}");
        assert_eq!(passed.feed_watchdog, feed, "{told}");
    }
}

/// Turns both rollers, or one of them, at a steady number of edges a tick.
fn turn(bench: &mut Bench, edges: [u32; 2], ticks: u32) -> bool {
    let mut shut = false;
    for _ in 0..ticks {
        for (wire, edges) in bench.inputs.rollers.iter_mut().zip(edges) {
            wire.count = wire.count.wrapping_add(edges);
        }
        shut |= is_shut(bench.pass(Permit::Lay, Duty::ONE, TICK));
    }
    shut
}

#[test]
fn rollers_too_fast_by_its_own_count_shut_it_whichever_roller_tells() {
    // Three edges in a tick of 10 ms are 5 turns a second, above the limit of 4.5.
    for edges in [[3, 3], [3, 0], [0, 3], [200, 1]] {
        let mut bench = Bench::opened();
        assert!(turn(&mut bench, edges, 21), "{edges:?}");
        assert!(bench.gate.saw_too_fast());
        assert!(!bench.pass(Permit::Lay, Duty::ONE, TICK).feed_watchdog);
        turn(&mut bench, [0, 0], 21);
        assert!(!bench.gate.saw_too_fast(), "and slow again");
    }
    // Two edges in a tick are 3.3 turns a second.
    let mut bench = Bench::opened();
    assert!(!turn(&mut bench, [2, 2], 300));
}

#[test]
fn the_fastest_allowed_speed_is_known_to_an_edge_in_a_window() {
    // A window of 100 ms: 27 edges are 4.5 turns a second; one more may fall in by chance, two not.
    for (edges, too_fast) in [(28, false), (29, true)] {
        let mut bench = Bench::new();
        bench.pass(Permit::Lay, Duty::ONE, TICK);
        bench.inputs.rollers[0].count = edges;
        turn(&mut bench, [0, 0], 10);
        assert_eq!(bench.gate.saw_too_fast(), too_fast, "{edges} edges");
    }
}

#[test]
fn the_counter_may_wrap() {
    let mut bench = Bench::new();
    bench.inputs.rollers[0].count = u32::MAX - 3;
    bench.inputs.rollers[1].count = u32::MAX - 3;
    assert!(!turn(&mut bench, [1, 1], 60));
}

#[test]
fn any_flipped_bit_of_its_memory_shuts_it_for_good() {
    let bench = Bench::opened();
    let mut buffer = [0; 200];
    let saved = postcard::to_slice(&bench.gate, &mut buffer).expect("room").to_vec();
    let mut tried = 0;
    for bit in 0..saved.len() * 8 {
        let mut harmed = saved.clone();
        harmed[bit / 8] ^= 1 << (bit % 8);
        let Ok(gate) = postcard::from_bytes::<Gate>(&harmed) else { continue };
        if gate == bench.gate {
            continue;
        }
        tried += 1;
        let mut broken = Bench { gate, ..Bench::new() };
        assert!(!broken.gate.is_intact(), "bit {bit}");
        for _ in 0..3 {
            let passed = broken.pass(Permit::Lay, Duty::ONE, TICK);
            assert!(is_shut(passed) && !passed.feed_watchdog, "bit {bit}");
        }
    }
    assert!(tried > 100, "{tried} flips");
}
