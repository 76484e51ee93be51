//! Pressure, gauge and reference.

use crate::Bench;
use proptest::prelude::*;
use strewn_controller::settings::{GaugeConfig, SignalConfig};
use strewn_controller::signals::Quality;
use strewn_controller::units::{Length, Pressure};
use strewn_controller::wires::AnalogWires;

#[test]
fn both_points_of_each_line_are_met() {
    let mut bench = Bench::new();
    let low = bench.tick().analog;
    assert_eq!((low.pressure.good(), low.gauge.good()), (Some(Pressure::ZERO), Some(Length::ZERO)));
    bench.inputs.analog =
        AnalogWires { pressure: 3_686, gauge: 3_686, reference: 2_048, ..AnalogWires::default() };
    let high = bench.tick().analog;
    let pressure_kpa = high.pressure.good().map(|pressure| pressure.to_milli() / 1_000);
    assert!(pressure_kpa.is_some_and(|kpa| (24_999..=25_000).contains(&kpa)));
    assert_eq!(high.gauge.good().map(Length::to_milli), Some(1_500));
}

#[test]
fn a_cut_or_shorted_cable_is_invalid_and_keeps_the_last_value() {
    let mut bench = Bench::new();
    bench.inputs.analog.pressure = 2_048;
    let before = bench.tick().analog.pressure.value;
    assert!(before > Pressure::ZERO);
    for counts in [0, 204, 3_892, 4_095, u16::MAX] {
        bench.inputs.analog.pressure = counts;
        let analog = bench.tick().analog;
        assert_eq!((analog.pressure.quality, analog.pressure.value), (Quality::Invalid, before));
        assert_eq!(analog.gauge.quality, Quality::Good, "the other channel is not touched");
    }
    for counts in [205, 3_891] {
        bench.inputs.analog.pressure = counts;
        assert_eq!(bench.tick().analog.pressure.quality, Quality::Good);
    }
}

#[test]
fn with_a_wrong_reference_nothing_of_the_converter_is_believed() {
    let mut bench = Bench::new();
    for reference in [0, 1_987, 2_109, 4_095] {
        bench.inputs.analog.reference = reference;
        let analog = bench.tick().analog;
        let qualities = [analog.pressure.quality, analog.gauge.quality, analog.reference];
        assert_eq!(qualities, [Quality::Invalid; 3]);
    }
    bench.inputs.analog.reference = 2_048;
    assert_eq!(bench.tick().analog.gauge.quality, Quality::Good);
}

#[test]
fn channels_that_are_not_fitted_are_absent() {
    let config = SignalConfig { pressure: None, gauge: None, weigh: None, ..SignalConfig::TYPICAL };
    let readings = Bench::with(&config).tick();
    let analog = readings.analog;
    let qualities = [analog.pressure.quality, analog.gauge.quality, readings.weigh.mass.quality];
    assert_eq!(qualities, [Quality::Absent; 3]);
}

proptest! {
    #[test]
    fn a_reading_lies_on_the_line_through_both_points(
        counts in 1..=4_094u16, low in 0..1_000i32, high in 2_000..4_095i32,
        at_low in 0..=4_000i32, at_high in 0..=4_000i32,
    ) {
        let gauge = GaugeConfig {
            first_counts: low, second_counts: high, first_mm: at_low, second_mm: at_high,
            lowest_counts: 1, highest_counts: 4_094,
        };
        let config = SignalConfig { gauge: Some(gauge), ..SignalConfig::TYPICAL };
        let mut bench = Bench::with(&config);
        bench.inputs.analog.gauge = counts;
        let found = bench.tick().analog.gauge.value;
        let share = f64::from(i32::from(counts) - low) / f64::from(high - low);
        let true_m = (f64::from(at_low) + share * f64::from(at_high - at_low)) * 1e-3;
        let found_m = f64::from(found.to_bits()) / f64::from(Length::ONE.to_bits());
        // 1/256 of a place a count, over at most 4,095 counts: 31 um; and the ends' roundings.
        prop_assert!((found_m - true_m.clamp(-4_096.0, 4_096.0)).abs() <= 35e-6);
    }
}
