//! A scenario into a run: world and controller in lockstep, log, replay.

pub mod record;
