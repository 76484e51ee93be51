//! Rollers that hunt get less of the correction, until they have long been quiet.

use proptest::prelude::*;
use strewn_controller::metering::ValveLaw;
use strewn_controller::settings::{MeteringConfig, MeteringSettings};
use strewn_controller::units::{Span, TurnRate};

const TICK: Span = Span::from_millis(10);
const WANTED: i32 = 1_000;

fn settings() -> MeteringSettings {
    MeteringConfig { valve_learning_ms: 60_000, ..MeteringConfig::default() }.build().unwrap()
}

/// A law that has wanted one turn a second for a while and got it.
fn quiet(settings: &MeteringSettings) -> ValveLaw {
    let mut law = ValveLaw::taught(strewn_controller::units::Duty::ZERO);
    turn(&mut law, settings, WANTED, 3_000);
    law
}

/// Rollers that turn so fast, in thousandths of a turn a second, for so long.
fn turn(law: &mut ValveLaw, settings: &MeteringSettings, milliturns_s: i32, ms: u32) {
    turn_asked(law, settings, (WANTED, milliturns_s), ms);
}

/// The same, asked for another speed.
fn turn_asked(
    law: &mut ValveLaw,
    settings: &MeteringSettings,
    (wanted, rate): (i32, i32),
    ms: u32,
) {
    for _ in 0..ms / 10 {
        let actual = (TurnRate::from_milli(rate), true);
        law.command(settings, TurnRate::from_milli(wanted), actual, TICK);
    }
}

/// Swings by a share of the wanted speed, in thousandths, from side to side in so long.
fn swing(law: &mut ValveLaw, settings: &MeteringSettings, by: i32, half_ms: u32, halves: u32) {
    for half in 0..halves {
        let away = if half % 2 == 0 { by } else { -by };
        turn(law, settings, WANTED + away, half_ms);
    }
}

/// The share of the correction that the law would use now.
fn share(law: &ValveLaw, settings: &MeteringSettings) -> f64 {
    let duty = |milliturns_s| {
        let mut asked = *law;
        let rate = TurnRate::from_milli(milliturns_s);
        asked.command(settings, TurnRate::from_milli(WANTED), (rate, true), TICK).to_bits()
    };
    let whole = settings.valve_gain.duty_for(TurnRate::from_milli(100)).to_bits();
    f64::from(duty(WANTED - 100) - duty(WANTED)) / f64::from(whole)
}

#[track_caller]
fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() < 0.01, "{value} instead of {expected}");
}

#[test]
fn hunting_takes_a_part_of_the_correction_back_but_never_all() {
    let settings = settings();
    let mut law = quiet(&settings);
    near(share(&law, &settings), 1.0);
    swing(&mut law, &settings, 300, 90, 4);
    near(share(&law, &settings), 1.0);
    swing(&mut law, &settings, 300, 90, 1);
    near(share(&law, &settings), 0.75);
    swing(&mut law, &settings, 300, 90, 101);
    near(share(&law, &settings), 0.5);
}

#[test]
fn small_swings_and_slow_ones_are_no_hunting() {
    let settings = settings();
    for (by, half_ms) in [(180, 90), (300, 250), (600, 1_000)] {
        let mut law = quiet(&settings);
        swing(&mut law, &settings, by, half_ms, 60);
        near(share(&law, &settings), 1.0);
    }
}

#[test]
fn slow_rollers_are_allowed_swings_that_rough_pulses_make() {
    let settings = settings();
    let mut law = quiet(&settings);
    // By half of the wanted speed, but by no more than 0.1 turns/s.
    for half in 0..60 {
        turn_asked(&mut law, &settings, (150, if half % 2 == 0 { 225 } else { 75 }), 90);
    }
    near(share(&law, &settings), 1.0);
}

#[test]
fn stuck_rollers_get_all_of_the_correction_before_long() {
    let settings = settings();
    let mut law = quiet(&settings);
    swing(&mut law, &settings, 300, 90, 100);
    turn(&mut law, &settings, WANTED / 10, 50);
    let asked = |mut law: ValveLaw| {
        let rates = (TurnRate::from_milli(WANTED / 10), true);
        law.command(&settings, TurnRate::from_milli(WANTED), rates, TICK).to_bits()
    };
    let before = asked(law);
    turn(&mut law, &settings, WANTED / 10, 100);
    let error = TurnRate::from_milli(WANTED - WANTED / 10);
    let whole = f64::from(settings.valve_gain.duty_for(error).to_bits());
    near(f64::from(asked(law) - before) / whole, 0.5);
    near(share(&law, &settings), 0.5);
}

/// Rollers that are stuck must not wait for it.
#[test]
fn what_the_valve_learns_is_not_taken_back() {
    let settings = MeteringConfig::default().build().unwrap();
    let stuck = |mut law: ValveLaw| {
        let before = law.learned().to_bits();
        turn(&mut law, &settings, WANTED - 200, 500);
        law.learned().to_bits() - before
    };
    let calm = quiet(&settings);
    let mut hunting = calm;
    swing(&mut hunting, &settings, 300, 90, 100);
    assert!(share(&hunting, &settings) < 0.55);
    let (calm, hunting) = (f64::from(stuck(calm)), f64::from(stuck(hunting)));
    assert!((hunting / calm - 1.0).abs() < 0.05, "{hunting} instead of {calm}");
}

/// Rollers that the gate brakes are no error of the valve.
#[test]
fn nothing_is_learned_while_the_gate_is_shut() {
    let settings = MeteringConfig::default().build().unwrap();
    let mut law = quiet(&settings);
    let wanted = TurnRate::from_milli(WANTED);
    let asked = law.command(&settings, wanted, (wanted, true), TICK);
    let before = law.learned();
    for _ in 0..50 {
        let shut = law.command(&settings, wanted, (TurnRate::ZERO, false), TICK);
        assert!(shut.saturating_sub(asked).to_bits().abs() < 1_000, "{asked:?} and {shut:?}");
    }
    assert_eq!(law.learned(), before);
}

#[test]
fn what_was_taken_is_given_back_in_steps_when_it_is_quiet() {
    let settings = settings();
    let mut law = quiet(&settings);
    swing(&mut law, &settings, 300, 90, 5);
    turn(&mut law, &settings, WANTED, 19_000);
    near(share(&law, &settings), 0.75);
    turn(&mut law, &settings, WANTED, 2_000);
    near(share(&law, &settings), 0.875);
    // A swing now and then is no hunting, but starts the wait anew.
    swing(&mut law, &settings, 300, 90, 2);
    turn(&mut law, &settings, WANTED, 19_000);
    near(share(&law, &settings), 0.875);
    turn(&mut law, &settings, WANTED, 100_000);
    near(share(&law, &settings), 1.0);
}

/// Rollers behind a valve: a lag, then oil and rollers that swing by themselves.
struct Rollers {
    lag_s: f64,
    swing_hz: f64,
    damping: f64,
    spool: f64,
    speed: f64,
    change: f64,
}

impl Rollers {
    /// A tick later, under a share of the stroke beyond the dead band.
    fn tick(&mut self, stroke: f64, full_turns_s: f64) {
        const STEPS: u32 = 20;
        let step_s = 0.01 / f64::from(STEPS);
        let pace = std::f64::consts::TAU * self.swing_hz;
        for _ in 0..STEPS {
            self.spool += (stroke - self.spool) * step_s / self.lag_s;
            let pull = pace * pace * (full_turns_s * self.spool - self.speed);
            self.change += (pull - 2.0 * self.damping * pace * self.change) * step_s;
            self.speed = (self.speed + self.change * step_s).max(0.0);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever valve and oil: within half a minute the rollers no longer hunt.
    #[test]
    fn any_rollers_come_to_turn_evenly(
        lag_s in 0.04..0.2f64,
        swing_hz in 4.0..9.0f64,
        damping in 0.15..0.5f64,
        full_turns_s in 4.5..7.0f64,
        wanted in 500..2_500i32,
    ) {
        let settings = MeteringConfig::default().build().unwrap();
        let dead_band = f64::from(settings.dead_band.to_bits());
        let whole = f64::from(strewn_controller::units::Duty::ONE.to_bits());
        let mut rollers =
            Rollers { lag_s, swing_hz, damping, spool: 0.0, speed: 0.0, change: 0.0 };
        let mut law = ValveLaw::default();
        let wanted_turns_s = f64::from(wanted) / 1_000.0;
        let mut worst: f64 = 0.0;
        for tick in 0..4_000 {
            let rate = TurnRate::from_milli((1_000.0 * rollers.speed) as i32);
            let duty = law.command(&settings, TurnRate::from_milli(wanted), (rate, true), TICK);
            let stroke = (f64::from(duty.to_bits()) - dead_band).max(0.0) / (whole - dead_band);
            rollers.tick(stroke, full_turns_s);
            if tick >= 3_000 {
                worst = worst.max((rollers.speed / wanted_turns_s - 1.0).abs());
            }
        }
        prop_assert!(worst < 0.25, "still {worst:.2} of the wanted speed off");
    }
}
