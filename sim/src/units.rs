//! Conversions between US customary units, in which people talk, and SI, in which everything counts.

/// Kilograms in a pound (exact).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Metres in a foot (exact).
pub const M_PER_FT: f64 = 0.304_8;
/// Metres a second in a mile an hour (exact).
pub const M_S_PER_MPH: f64 = 0.447_04;
/// Metres a second in a knot (exact).
pub const M_S_PER_KNOT: f64 = 1852.0 / 3600.0;
/// Pascals in a pound per square inch.
pub const PA_PER_PSI: f64 = 6_894.757_293_168;
/// Cubic metres a second in a US gallon a minute.
pub const M3_S_PER_GPM: f64 = 3.785_411_784e-3 / 60.0;
/// Cubic metres in a cubic inch (exact).
pub const M3_PER_IN3: f64 = 1.638_706_4e-5;
/// Cubic metres in a cubic foot.
pub const M3_PER_FT3: f64 = M_PER_FT * M_PER_FT * M_PER_FT;
/// Kilograms a metre in a pound a foot.
pub const KG_M_PER_LB_FT: f64 = KG_PER_LB / M_PER_FT;
/// Kilograms a cubic metre in a pound a cubic foot.
pub const KG_M3_PER_LB_FT3: f64 = KG_PER_LB / M3_PER_FT3;
/// Watts in a mechanical horsepower.
pub const W_PER_HP: f64 = 745.699_871_582_27;
