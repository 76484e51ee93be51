//! Weigh cells.

use crate::Bench;
use proptest::prelude::*;
use strewn_controller::settings::{SignalConfig, WeighConfig};
use strewn_controller::signals::{Quality, Readings};
use strewn_controller::units::{Mass, Span};

impl Bench {
    /// A new conversion comes with the next tick.
    fn weighed(&mut self, counts: i32) -> Readings {
        self.inputs.weigh.counts = counts;
        self.inputs.weigh.sequence = self.inputs.weigh.sequence.wrapping_add(1);
        self.tick()
    }
}

#[test]
fn counts_become_pounds_of_hay_in_kilograms() {
    // 1 g a count: 500,000 counts are 500 kg.
    let weigh = Bench::new().weighed(500_000).weigh;
    assert_eq!(weigh.mass.good().map(Mass::to_milli), Some(500_000));
    assert!(weigh.fresh);
}

#[test]
fn nothing_is_known_before_the_first_new_conversion() {
    let mut bench = Bench::new();
    bench.inputs.weigh.counts = 500_000;
    let weigh = bench.tick().weigh;
    assert_eq!(
        (weigh.mass.quality, weigh.mass.age, weigh.fresh),
        (Quality::Absent, Span::MAX, false)
    );
}

#[test]
fn a_tick_between_conversions_is_not_fresh() {
    let mut bench = Bench::new();
    bench.weighed(500_000);
    let weigh = bench.tick().weigh;
    assert_eq!((weigh.mass.quality, weigh.fresh), (Quality::Good, false));
    assert_eq!(weigh.mass.age, Span::from_millis(10));
}

#[test]
fn an_amplifier_that_falls_silent_is_stale_after_100_ms() {
    let mut bench = Bench::new();
    bench.weighed(500_000);
    assert_eq!(bench.pass(100).weigh.mass.quality, Quality::Good);
    let mass = bench.tick().weigh.mass;
    assert_eq!((mass.quality, mass.value.to_milli()), (Quality::Stale, 500_000));
    assert_eq!(bench.weighed(499_990).weigh.mass.quality, Quality::Good);
}

#[test]
fn exactly_the_same_counts_for_500_ms_are_frozen() {
    let mut bench = Bench::new();
    bench.weighed(500_000);
    for _ in 0..50 {
        assert_eq!(bench.weighed(500_000).weigh.mass.quality, Quality::Good);
    }
    let frozen = bench.weighed(500_000).weigh;
    assert_eq!((frozen.mass.quality, frozen.fresh), (Quality::Invalid, false));
    assert_eq!(bench.weighed(500_001).weigh.mass.quality, Quality::Good, "one that differs");
}

#[test]
fn a_broken_bridge_is_invalid_at_once() {
    let mut bench = Bench::new();
    bench.weighed(500_000);
    for rail in [8_388_607, -8_388_608, 4_000_001, -500_001] {
        let weigh = bench.weighed(rail).weigh;
        assert_eq!((weigh.mass.quality, weigh.fresh), (Quality::Invalid, false));
        assert_eq!(weigh.mass.value.to_milli(), 500_000, "the last good value stays");
        assert_eq!(bench.weighed(500_000 + rail % 7).weigh.mass.quality, Quality::Good);
        bench.weighed(500_000);
    }
}

proptest! {
    #[test]
    fn scale_and_zero_are_as_configured(
        counts in -8_388_607..=8_388_606i32, zero in -1_000_000..1_000_000i32, mg in 10..=20_000i32,
    ) {
        let weigh = WeighConfig {
            zero_counts: zero, mg_per_count: mg, lowest_counts: -8_388_607,
            highest_counts: 8_388_606, ..WeighConfig::TYPICAL
        };
        let config = SignalConfig { weigh: Some(weigh), ..SignalConfig::TYPICAL };
        let mass = Bench::with(&config).weighed(counts).weigh.mass;
        let true_kg = (f64::from(counts) - f64::from(zero)) * f64::from(mg) * 1e-6;
        let found_kg = f64::from(mass.value.to_bits()) / f64::from(Mass::ONE.to_bits());
        // The scale holds to 2e-6; a place of the mass is 2 mg.
        let allowed_kg = true_kg.abs() * 2e-6 + 2e-6;
        prop_assert!((found_kg - true_kg.clamp(-4_096.0, 4_096.0)).abs() <= allowed_kg);
    }
}
