//! Floor 1: raw wires into readings with age and quality.

mod reading;

pub use reading::{Quality, Reading};
