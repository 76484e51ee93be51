//! Exact formulas of fluid power in SI units. A turn is a whole turn, not a radian.

use core::f64::consts::PI;

/// Hydraulic power, W, of a flow, m3/s, across a pressure, Pa.
#[must_use]
pub fn hydraulic_power_w(flow_m3_s: f64, pressure_pa: f64) -> f64 {
    flow_m3_s * pressure_pa
}

/// Shaft power, W, of a torque, Nm, at a speed, turns/s.
#[must_use]
pub fn shaft_power_w(torque_nm: f64, turns_s: f64) -> f64 {
    2.0 * PI * torque_nm * turns_s
}

/// Flow, m3/s, that a displacement, m3 a turn, takes or gives at a speed, turns/s, without leakage.
#[must_use]
pub fn flow_m3_s(displacement_m3: f64, turns_s: f64) -> f64 {
    displacement_m3 * turns_s
}

/// Speed, turns/s, that a flow, m3/s, gives a displacement, m3 a turn, without leakage.
#[must_use]
pub fn turns_s(flow_m3_s: f64, displacement_m3: f64) -> f64 {
    flow_m3_s / displacement_m3
}

/// Torque, Nm, of a displacement, m3 a turn, under a pressure, Pa, without friction.
#[must_use]
pub fn torque_nm(displacement_m3: f64, pressure_pa: f64) -> f64 {
    displacement_m3 * pressure_pa / (2.0 * PI)
}

/// Torque, Nm, that carries a shaft power, W, at a speed, turns/s.
#[must_use]
pub fn torque_for_nm(power_w: f64, turns_s: f64) -> f64 {
    power_w / (2.0 * PI * turns_s)
}

/// Share of a pump's ideal flow, m3/s, that is delivered when some of it leaks, m3/s.
#[must_use]
pub fn pump_efficiency(ideal_m3_s: f64, leak_m3_s: f64) -> f64 {
    1.0 - leak_m3_s / ideal_m3_s
}
