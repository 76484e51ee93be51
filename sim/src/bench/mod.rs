//! A scenario into a run: world and controller in lockstep, log, replay.

pub mod ground_speed;
pub mod record;
pub mod scenario;
