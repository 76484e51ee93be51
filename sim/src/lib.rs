//! The laptop side of strewn: a modelled world, the same controller as in the cab, and the reports
//! that let a person judge what was laid.
//!
//! | room | turns |
//! | --- | --- |
//! | [`world`] | commands and ground speed into bale, rollers, hydraulics and hay on the ground (SI, f64) |
//! | [`instruments`] | truth into raw wires |
//! | [`actuators`] | raw wires into commands |
//! | [`mod@bench`] | a scenario into a run: world and controller in lockstep, log, replay |
//! | [`rivals`] | what the controller is compared with |
//! | [`score`] | hay on the ground into figures |
//! | [`report`] | records into tables and a page |
#![forbid(unsafe_code)]

pub mod actuators;
pub mod bench;
pub mod cli;
pub mod faults;
pub mod files;
pub mod instruments;
pub mod random;
pub mod report;
pub mod rivals;
pub mod score;
pub mod stops;
pub mod units;
pub mod world;
