//! Figures in the driver's units against their definitions.
//!
//! Pound 0.453 592 37 kg, foot 0.3048 m, mile 1,609.344 m exactly: Thompson and Taylor, Guide for the
//! Use of the International System of Units, NIST SP 811, 2008, appendix B.

use proptest::prelude::*;
use strewn_controller::screen::{line_rate_tenths_lb_ft, mass_lb, speed_tenths_mph};
use strewn_controller::units::{LineRate, Mass, Speed};

proptest! {
    #[test]
    fn figures_are_the_nearest_ones(bits in any::<i32>()) {
        let rate = f64::from(bits) / 65_536.0 * 10.0 * 0.3048 / 0.453_592_37;
        let shown = line_rate_tenths_lb_ft(LineRate::from_bits(bits));
        prop_assert!((f64::from(shown) - rate).abs() < 0.5 + rate.abs() * 1.5e-6);
        let speed = f64::from(bits) / 65_536.0 * 10.0 * 3_600.0 / 1_609.344;
        let shown = speed_tenths_mph(Speed::from_bits(bits));
        prop_assert!((f64::from(shown) - speed).abs() < 0.5 + speed.abs() * 1.5e-6);
        let mass = f64::from(bits) / 524_288.0 / 0.453_592_37;
        let shown = mass_lb(Mass::from_bits(bits));
        prop_assert!((f64::from(shown) - mass).abs() < 0.5 + mass.abs() * 1.5e-6);
    }
}

#[test]
fn three_miles_an_hour_and_five_pounds_a_foot() {
    assert_eq!(speed_tenths_mph(Speed::from_milli(1_341)), 30);
    assert_eq!(line_rate_tenths_lb_ft(LineRate::from_milli(7_441)), 50);
    assert_eq!(mass_lb(Mass::from_whole(500)), 1_102);
}
