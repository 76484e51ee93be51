//! The watch by itself, shown scenes that are made by hand, so that each edge is met to the bit.
//!
//! A whole machine comes near an edge, but never stands on it.

use crate::machine::HELD;
use strewn_controller::estimate::Estimates;
use strewn_controller::metering::Proposal;
use strewn_controller::safety::{Condition, Observed, Passed, Phase, Scene, Watch};
use strewn_controller::settings::{SafetyConfig, SafetySettings};
use strewn_controller::signals::{Quality, Readings, Turn};
use strewn_controller::units::{Bite, Mass, Pressure, Span, TurnRate, Turns};
use strewn_controller::wires::{Inputs, SwitchBits};

/// The watch and the scene that it is shown while hay is laid.
struct Bench {
    settings: SafetySettings,
    watch: Watch,
    inputs: Inputs,
    readings: Readings,
    estimates: Estimates,
    proposal: Proposal,
    passed: Passed,
}

impl Bench {
    /// Rollers that stand while the valve is open and two turns a second are asked for.
    fn new() -> Self {
        let mut bench = Self {
            settings: SafetyConfig::TYPICAL.build().expect("allowed"),
            watch: Watch::default(),
            inputs: Inputs { switches: SwitchBits(HELD), ..Inputs::default() },
            readings: Readings { tick: Span::from_millis(10), ..Readings::default() },
            estimates: Estimates::default(),
            proposal: Proposal { rate: TurnRate::from_whole(2), ..Proposal::default() },
            passed: Passed { valve: 1, enable: true, feed_watchdog: true },
        };
        bench.readings.switches.run = true;
        bench
    }

    fn see(&mut self) -> Observed {
        let scene = Scene {
            inputs: &self.inputs,
            readings: &self.readings,
            estimates: &self.estimates,
            proposal: &self.proposal,
            passed: self.passed,
            too_fast: false,
            intact: true,
            phase: Phase::Laying,
        };
        self.watch.observe(&self.settings, &scene).0
    }

    /// The tick, counted from one, in which a condition is first seen.
    fn first_seen(&mut self, condition: Condition) -> Option<u32> {
        (1..=100).find(|_| self.see().has(condition))
    }
}

/// Whether the condition is seen in the first tick of a scene.
fn seen(condition: Condition, change: impl Fn(&mut Bench)) -> bool {
    let mut bench = Bench::new();
    change(&mut bench);
    bench.see().has(condition)
}

#[test]
fn rollers_are_behind_below_six_tenths_of_what_is_asked() {
    let seen_at = |bits| {
        seen(Condition::RollersBehind, |b| b.estimates.roller.rate = TurnRate::from_bits(bits))
    };
    // 0.6 of two turns a second.
    assert!(!seen_at(78_644) && seen_at(78_643));
    assert!(!seen_at(131_072));
}

#[test]
fn rollers_that_are_not_driven_are_not_behind() {
    // 0.1 turns a second, which rollers may as well refuse.
    for (valve, asked, driven) in
        [(0, 131_072, false), (1, 131_072, true), (1, 6_554, false), (1, 6_555, true)]
    {
        let behind = seen(Condition::RollersBehind, |b| {
            (b.passed.valve, b.proposal.rate) = (valve, TurnRate::from_bits(asked));
        });
        assert_eq!(behind, driven, "valve {valve}, asked {asked}");
    }
}

#[test]
fn rollers_are_missed_once_they_should_have_turned_more_than_a_quarter() {
    let mut bench = Bench::new();
    // A sixteenth of a turn each tick.
    (bench.proposal.rate, bench.readings.tick) =
        (TurnRate::from_whole(4), Span::from_micros(15_625));
    assert_eq!(bench.first_seen(Condition::RollersNotTurning), Some(5));
}

#[test]
fn rollers_are_above_the_command_beyond_half_as_much_again_and_half_a_turn() {
    let seen_at = |bits| {
        seen(Condition::RollersAboveAsked, |b| b.estimates.roller.rate = TurnRate::from_bits(bits))
    };
    // 3.5 turns a second where two are asked for.
    assert!(!seen_at(229_376) && seen_at(229_377));
}

#[test]
fn a_pressure_at_its_limit_is_allowed_and_a_bit_more_is_not() {
    let seen_at = |condition, edge: Pressure, more| {
        let pressure = Some(Pressure::from_bits(edge.to_bits() + more));
        seen(condition, |b| b.estimates.pressure = pressure)
    };
    let settings = Bench::new().settings;
    for (condition, edge) in [
        (Condition::PressureHigh, settings.pressure_limit),
        (Condition::RollersStalled, settings.stall_pressure),
    ] {
        assert!(!seen_at(condition, edge, 0) && seen_at(condition, edge, 1), "{condition:?}");
    }
}

#[test]
fn a_tick_as_long_as_it_may_be_is_neither_slow_nor_late() {
    for (more, third) in [(0, None), (1, Some(3))] {
        let mut bench = Bench::new();
        bench.readings.tick = Span::from_micros(bench.settings.tick_slow.to_micros() + more);
        assert_eq!(bench.first_seen(Condition::TicksSlow), third);
        let late = seen(Condition::TickLate, |b| {
            b.readings.tick = Span::from_micros(b.settings.tick_limit.to_micros() + more);
        });
        assert_eq!(late, more == 1);
    }
}

#[test]
fn a_clock_at_half_its_speed_shows_in_the_third_tick() {
    for (micros, third) in [(6_000, None), (5_999, Some(3))] {
        let mut bench = Bench::new();
        bench.readings.tick = Span::from_micros(micros);
        assert_eq!(bench.first_seen(Condition::ClockBroken), third, "{micros} us");
    }
}

/// Rollers that tear four kilograms from one turn to the next, by what the ticket lets expect.
fn tearing() -> Bench {
    let mut bench = Bench::new();
    bench.readings.turn = Turn::Row;
    let hay = &mut bench.estimates.hay;
    (hay.usual_bite, hay.turned) = (Bite::from_whole(8), Turns::ONE.halved(1));
    hay.left.0 = Mass::from_whole(400);
    bench.readings.weigh.mass.quality = Quality::Good;
    bench.readings.weigh.mass.value = Mass::from_whole(2_000);
    bench
}

#[test]
fn the_scale_settles_for_sixteen_kilograms_and_is_asked_after_eighty_more() {
    // More than 16 kg are expected in the fifth turn, more than 80 kg 21 turns later.
    assert_eq!(tearing().first_seen(Condition::NothingLeaves), Some(5 + 21));
}

#[test]
fn an_eighth_of_what_is_expected_is_enough_and_a_bit_less_is_not() {
    for (less, stops) in [(0, None), (1, Some(21))] {
        let mut bench = tearing();
        for _ in 0..5 {
            bench.see();
        }
        // The scale follows by 1/32: in one turn by 10.5 kg, an eighth of 84 kg; then it stays there.
        let settled = Mass::from_whole(2_000).to_bits();
        let gone = (21 << Mass::FRACTION) / 2 - less;
        bench.readings.weigh.mass.value = Mass::from_bits(settled - 32 * gone);
        bench.see();
        bench.readings.weigh.mass.value = Mass::from_bits(settled - gone);
        let seen_in = (2..=21).find(|_| bench.see().has(Condition::NothingLeaves));
        assert_eq!(seen_in, stops, "{less} less");
    }
}

#[test]
fn fifty_kilograms_may_cling_to_the_rollers_and_a_bit_more_may_not() {
    for (more, seen_in) in [(0, None), (1, Some(26))] {
        let mut bench = tearing();
        bench.estimates.hay.left.0 = Mass::from_bits(Mass::from_whole(50).to_bits() + more);
        assert_eq!(bench.first_seen(Condition::NothingLeaves), seen_in);
    }
}
