//! Viscosity of oil and resistance of copper against published values.

use strewn::world::oil::{Grade, Oil, copper_resistance};

#[track_caller]
fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected}");
}

#[test]
fn an_oil_through_two_points() {
    // Worked example of a calculator sheet after ASTM D341, no author, undated: 32 mm2/s at 40 C and
    // 5.4 at 100 C give 8.5 at 80 C. It takes 0 C for 273 K, which makes its constants 9.5259 and
    // 3.7449; with 273.15 K they are these.
    let oil = Oil::through((40.0, 32.0), (100.0, 5.4));
    near(oil.a, 9.5308, 1e-3);
    near(oil.b, 3.7466, 1e-3);
    near(oil.viscosity_mm2_s(80.0), 8.5, 0.05);
    near(oil.viscosity_mm2_s(40.0), 32.0, 1e-9);
    near(oil.viscosity_mm2_s(100.0), 5.4, 1e-9);
}

#[test]
fn common_grades_from_winter_to_a_hot_tank() {
    // Arithmetic on ASTM D341 from the grade at 40 C (ISO 3448) and a common viscosity at 100 C (common
    // practice, no source).
    let celsius = [-10.0, 0.0, 20.0, 40.0, 60.0, 80.0];
    for (grade, a, b, expected) in [
        (Grade::Vg46, 9.4180, 3.6844, [1474.0, 577.0, 134.0, 46.0, 20.6, 11.1]),
        (Grade::Vg68, 9.3097, 3.6244, [2823.0, 1033.0, 215.0, 68.0, 28.7, 14.7]),
    ] {
        let oil = grade.oil();
        near(oil.a, a, 1e-3);
        near(oil.b, b, 1e-3);
        for (celsius, mm2_s) in celsius.into_iter().zip(expected) {
            near(oil.viscosity_mm2_s(celsius), mm2_s, 0.01 * mm2_s);
        }
    }
}

#[test]
fn copper_by_temperature() {
    // IEC 60028, International standard of resistance for copper, 1925 (from memory).
    near(copper_resistance(20.0), 1.0, 0.0);
    near(copper_resistance(80.0), 1.2358, 1e-9);
}
