//! Bale geometry against exact geometry and published worked examples.

use strewn::units::{KG_M_PER_LB_FT, KG_M3_PER_LB_FT3, KG_PER_LB, M_PER_FT, M3_PER_FT3};
use strewn::world::geometry::{
    as_fed_kg, diameter_left_m, dry_matter_kg, layer_length_m, shell_share, volume_m3,
};
use strewn::world::spec::Profile;

const M_PER_IN: f64 = M_PER_FT / 12.0;

#[track_caller]
fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected}");
}

fn volume_ft3(width_ft: f64, diameter_ft: f64) -> f64 {
    volume_m3(diameter_ft * M_PER_FT, width_ft * M_PER_FT) / M3_PER_FT3
}

/// Mass in lb of a bale of this width and diameter in ft at 10 lb of dry matter a cubic foot.
fn dry_lb(width_ft: f64, diameter_ft: f64) -> f64 {
    volume_m3(diameter_ft * M_PER_FT, width_ft * M_PER_FT) * 10.0 * KG_M3_PER_LB_FT3 / KG_PER_LB
}

#[test]
fn volume_of_common_sizes() {
    // Exact geometry: pi/4 D^2 W, sizes as width x diameter in ft.
    for (width, diameter, ft3) in [
        (4.0, 4.0, 50.27),
        (4.0, 5.0, 78.54),
        (5.0, 4.0, 62.83),
        (4.0, 6.0, 113.10),
        (5.0, 5.0, 98.17),
        (6.0, 5.0, 117.81),
        (5.0, 6.0, 141.37),
        (6.0, 6.0, 169.65),
    ] {
        near(volume_ft3(width, diameter), ft3, 0.01);
    }
    near(volume_m3(5.0 * M_PER_FT, 5.0 * M_PER_FT), 2.780, 0.001);
}

#[test]
fn weight_of_common_sizes_dry_and_as_fed() {
    // Exact arithmetic: volume times 10 lb DM/ft3, and dry matter over one minus moisture.
    for (width, diameter, dry, at_15, at_50) in [
        (4.0, 4.0, 503.0, Some(591.0), Some(1005.0)),
        (4.0, 5.0, 785.0, Some(924.0), Some(1571.0)),
        (5.0, 4.0, 628.0, None, None),
        (5.0, 5.0, 982.0, Some(1155.0), Some(1963.0)),
        (6.0, 5.0, 1178.0, Some(1386.0), None),
        (5.0, 6.0, 1414.0, Some(1663.0), Some(2827.0)),
    ] {
        let lb = dry_lb(width, diameter);
        near(lb, dry, 1.0);
        at_15.inspect(|fed| near(as_fed_kg(lb, 0.15), *fed, 1.0));
        at_50.inspect(|fed| near(as_fed_kg(lb, 0.50), *fed, 1.0));
    }
}

#[test]
fn moisture_conversions() {
    // A 1,400-lb bale at 15 %: figures from a general hay article without author; the rest is exact.
    let dry = dry_matter_kg(1400.0, 0.15);
    near(dry, 1190.0, 1e-9);
    near(1400.0 - dry, 210.0, 1e-9);
    near(as_fed_kg(dry, 0.20), 1487.5, 1e-9);
    near(as_fed_kg(dry, 0.50), 2380.0, 1e-9);
}

#[test]
fn share_in_the_outer_shell() {
    // Exact geometry of the curved face: 1 - ((D - 2t)/D)^2, inches.
    let rows: [(f64, &[(f64, f64)]); 4] = [
        (60.0, &[(3.0, 19.0), (4.0, 24.89), (6.0, 36.0), (8.0, 46.22), (12.0, 64.0)]),
        (48.0, &[(4.0, 30.56), (6.0, 43.75), (8.0, 55.56)]),
        (66.0, &[(4.0, 22.77), (6.0, 33.06), (8.0, 42.61)]),
        (72.0, &[(4.0, 20.99), (6.0, 30.56), (8.0, 39.51)]),
    ];
    for (diameter, shells) in rows {
        for (shell, percent) in shells {
            near(100.0 * shell_share(diameter * M_PER_IN, shell * M_PER_IN), *percent, 0.01);
        }
    }
    near(shell_share(1.0, 0.6), 1.0, 0.0);
}

#[test]
fn rings_from_outside_to_core() {
    // Exact geometry; Hersom, University of Florida, shows the same idea with five rings.
    let within = |shell_in: f64| shell_share(60.0 * M_PER_IN, shell_in * M_PER_IN);
    let rings = [6.0, 12.0, 18.0, 24.0, 30.0].map(|outer| within(outer) - within(outer - 6.0));
    for (ring, percent) in rings.iter().zip([36.0, 28.0, 20.0, 12.0, 4.0]) {
        near(100.0 * ring, percent, 1e-9);
    }
    near(rings.iter().sum(), 1.0, 1e-12);
}

#[test]
fn diameter_of_what_is_left() {
    // Exact: D0 sqrt(m/m0).
    near(diameter_left_m(60.0, 0.5), 42.43, 0.01);
    near(diameter_left_m(60.0, 0.25), 30.0, 1e-9);
    near(diameter_left_m(60.0, -0.1), 0.0, 0.0);
    // The general inverse agrees for an even bale.
    near(60.0 * Profile::Even.area_for(0.5, 1.0).sqrt(), 42.43, 0.01);
}

#[test]
fn length_of_the_wound_layer() {
    // Exact: area of the face over thickness of the layer.
    let feet = |diameter: f64, layer: f64| {
        layer_length_m(diameter * M_PER_IN, layer * M_PER_IN) / M_PER_FT
    };
    near(feet(60.0, 1.0), 235.6, 0.1);
    near(feet(60.0, 2.0), 117.8, 0.1);
    near(feet(72.0, 1.5), 226.2, 0.1);
    // A bale of 1,100 lb unrolls at its natural rate of 4.67 lb/ft.
    near(1100.0 / feet(60.0, 1.0), 4.67, 0.005);
}

/// Mean density and share in the outer 6 in of a 60-in bale, per cent, for
/// `centre + (surface - centre) (r/R)^exponent`.
fn profile(centre: f64, surface: f64, exponent: f64) -> (f64, f64) {
    let profile = Profile::SoftCore { centre: centre / surface, exponent };
    (surface * profile.mean(), 100.0 * (1.0 - profile.share_within(24.0 / 30.0)))
}

#[test]
fn mean_and_outer_share_of_density_profiles() {
    // Exact integrals of the radial density; no published measured profile is known.
    for ((centre, surface, exponent), mean, outer) in [
        ((6.0, 12.0, 1.0), 10.0, 41.12),
        ((12.0, 9.0, 1.0), 10.0, 33.44),
        ((6.0, 12.0, 2.0), 9.0, 43.68),
        ((10.0, 10.0, 1.0), 10.0, 36.0),
    ] {
        let found = profile(centre, surface, exponent);
        near(found.0, mean, 1e-9);
        near(found.1, outer, 0.01);
    }
    near(100.0 * (1.0 - Profile::Even.share_within(0.8)), 36.0, 1e-9);
}

#[test]
fn a_five_foot_bale_from_volume_to_row() {
    // Worked example, exact: 5x5 ft, 10 lb DM/ft3, 15 % moisture, laid at 5 lb/ft.
    near(volume_ft3(5.0, 5.0), 98.17, 0.01);
    near(dry_lb(5.0, 5.0), 982.0, 1.0);
    let fed_kg = as_fed_kg(dry_lb(5.0, 5.0) * KG_PER_LB, 0.15);
    near(fed_kg / KG_PER_LB, 1155.0, 1.0);
    near(fed_kg / (5.0 * KG_M_PER_LB_FT) / M_PER_FT, 231.0, 0.1);
    // With a soft core the outer 6 in give 14.2 % more than an even bale would.
    near(100.0 * (profile(6.0, 12.0, 1.0).1 / 36.0 - 1.0), 14.2, 0.05);
}
