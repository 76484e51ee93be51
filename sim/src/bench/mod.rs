//! A scenario into a run: world and controller in lockstep, log, replay.

mod contest;
mod driver;
pub mod ground_speed;
mod live;
mod lockstep;
pub mod log;
mod machine;
pub mod record;
pub mod scenario;
pub(crate) mod settings;
mod walk;

pub use contest::{
    Contest, ContestError, Power, ReplayError, ReplayReport, Trouble, configuration, configured,
    contest, contest_with, log_of, replay, runs, runs_in,
};
pub use driver::Hands;
pub use live::Live;
pub use machine::{Knob, MachineError, MachineFile, SECTIONS, Section, TRIED};
pub use walk::{Moment, walk};
