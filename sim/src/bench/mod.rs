//! A scenario into a run: world and controller in lockstep, log, replay.

mod contest;
pub mod ground_speed;
pub mod log;
pub mod record;
pub mod scenario;

pub use contest::{Contest, ReplayError, ReplayReport, contest, replay};
