//! The ledger in fixed-point numbers against the same rules in f64, over a bale of ten minutes.
//!
//! The error budget is 5 % of the flow, about what the best set of sensors leaves over 10 ft. Rounding may
//! cost a thousandth of it: errors that are independent add as squares, so that is 4.5 % of 5 %.

use proptest::prelude::*;
use strewn::random::Stream;
use strewn_controller::metering::Ledger;
use strewn_controller::settings::MeteringConfig;
use strewn_controller::units::{Length, LineRate, Mass, Seconds, Speed};

const TICK_S: f64 = 0.01;
const FURTHEST_KG: f64 = 40.0;
/// 10 ft, m: what is allowed of the flow is allowed of the hay on such a length.
const LENGTH_M: f64 = 3.048;
const BUDGET: f64 = 0.05;
const ALLOWED: f64 = 0.045 * BUDGET;

/// The rules of the ledger once more.
#[derive(Default)]
struct Twin {
    owed_kg: f64,
    air_kg: f64,
    flying_s: f64,
    begun: bool,
    waiting: bool,
    /// How far what is owed was from making the rollers wait or go on.
    margin_kg: f64,
}

impl Twin {
    fn enter(&mut self, config: &MeteringConfig, tick_s: f64, travelled_m: f64, torn_kg: f64) {
        let (fall_s, target) = (milli(config.fall_ms), target(config));
        self.begun |= torn_kg > 0.0;
        self.air_kg += torn_kg;
        let landed_kg = self.air_kg * (tick_s / fall_s).min(1.0);
        self.air_kg -= landed_kg;
        let due_kg = if self.flying_s < fall_s { 0.0 } else { target * travelled_m };
        if self.begun {
            self.flying_s = (self.flying_s + tick_s).min(fall_s);
        }
        self.owed_kg = (self.owed_kg + due_kg - landed_kg).clamp(-FURTHEST_KG, FURTHEST_KG);
    }

    fn flow(&mut self, config: &MeteringConfig, speed_m_s: f64, landing_m_s: f64) -> f64 {
        let target = target(config);
        let owed_kg = self.owed_kg + target * speed_m_s * self.flying_s - self.air_kg;
        let hold_kg = milli(config.hold_g) * if self.waiting { 0.25 } else { 1.0 };
        self.waiting = -owed_kg > hold_kg;
        self.margin_kg = (owed_kg + hold_kg).abs();
        if self.waiting {
            return 0.0;
        }
        let due = target * landing_m_s;
        let most = due * milli(config.repay_limit_permille);
        (due + (owed_kg / milli(config.repay_ms)).clamp(-most, most)).max(0.0)
    }
}

fn milli(value: i32) -> f64 {
    f64::from(value) * 1e-3
}

/// The target as the controller holds it: a rounded target is another target, not another way of laying it.
fn target(config: &MeteringConfig) -> f64 {
    f64::from(LineRate::from_milli(config.target_g_per_m).to_bits()) / 65_536.0
}

/// Root mean square of the difference of flow over the mean flow. Where only one of the two waits for the
/// ground, a threshold was met a tick sooner or later; it must have been a close call, and the twin
/// follows.
fn difference(seed: u64, config: &MeteringConfig) -> f64 {
    let settings = config.build().expect("settings");
    let (mut ledger, mut twin) = (Ledger::default(), Twin::default());
    ledger.open();
    let random = Stream::root(seed);
    let tick = Seconds::from_micros(10_000);
    let tick_s = f64::from(tick.to_bits()) / f64::from(1u32 << Seconds::FRACTION);
    let (mut flow_kg_s, mut squares, mut flows) = (0.0, 0.0, 0.0);
    let ticks = 60_000;
    for number in 0..ticks {
        // A drive that wanders and hay that comes in tufts, in whole millionths so that both see the same.
        let slow = (number as f64 / 900.0).sin() + 0.5 * (number as f64 / 5_300.0).sin();
        let speed = Speed::from_micro(((1.3 + 0.25 * slow) * 1e6) as i32);
        let speed_m_s = f64::from(speed.to_bits()) / f64::from(1u32 << Speed::FRACTION);
        let travelled = speed.over(tick);
        let tuft = 1.0 + 0.5 * random.named("tuft").normal(number / 30);
        let torn = Mass::from_micro((flow_kg_s * TICK_S * tuft.max(0.0) * 1e6) as i32);
        let torn_kg = f64::from(torn.to_bits()) / f64::from(1u32 << Mass::FRACTION);
        ledger.enter(&settings, travelled, torn, tick);
        twin.enter(config, tick_s, speed_m_s * tick_s, torn_kg);
        let own = ledger.flow(&settings, (speed, speed), Mass::ZERO);
        let other = twin.flow(config, speed_m_s, speed_m_s);
        let own_kg_s = f64::from(own.to_bits()) / 65_536.0;
        if ledger.is_waiting() == twin.waiting {
            squares += (own_kg_s - other) * (own_kg_s - other);
        } else {
            let close_kg = ALLOWED * target(config) * LENGTH_M;
            assert!(twin.margin_kg < close_kg, "{} kg from the threshold", twin.margin_kg);
            twin.waiting = ledger.is_waiting();
        }
        flows += own_kg_s;
        flow_kg_s = own_kg_s;
    }
    let count = ticks as f64;
    (squares / count).sqrt() / (flows / count)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn rounding_costs_a_thousandth_of_the_budget_at_most(
        seed in 0u64..1_000, target_g_per_m in 1_500..9_000i32, repay_ms in 1_500..8_000i32,
    ) {
        let config = MeteringConfig { target_g_per_m, repay_ms, ..MeteringConfig::TYPICAL };
        let found = difference(seed, &config);
        prop_assert!(found < ALLOWED, "{found} of the flow");
    }
}

/// A length travelled is a product of speed and time to within half of the last bit.
#[test]
fn a_tick_of_travel_is_not_rounded_away() {
    let travelled: Length = Speed::from_milli(1_340).over(Seconds::from_micros(10_000));
    let metres = f64::from(travelled.to_bits()) / f64::from(1u32 << Length::FRACTION);
    assert!((metres - 0.0134).abs() < 1.1e-6 + 1e-7, "{metres}");
}
