//! Truth: bale, rollers, hydraulics, hay in the air and on the ground. SI units, f64, 1 kHz.

pub mod spec;
