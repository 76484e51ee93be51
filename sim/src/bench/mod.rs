//! A scenario into a run: world and controller in lockstep, log, replay.

mod contest;
mod driver;
pub mod ground_speed;
mod lockstep;
pub mod log;
pub mod record;
pub mod scenario;
pub(crate) mod settings;

pub use contest::{Contest, ContestError, ReplayError, ReplayReport, contest, replay};
