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
//! | [`study`] | many bales into figures with their intervals |
//! | [`tune`] | a training population into settings of the controller |
//! | [`loss`] | how hay is stored and fed into what is lost of it |
//! | [`plan`] | herd, hay, bales and place into a target, a scenario and what the tractor must carry |
//! | [`compare`] | ways of feeding into what they cost |
//! | [`board`] | ticks into the library and an emulated board, and the difference |
//! | [`hand_over`] | settings into a board that keeps them |
//! | [`row`] | weighed lengths and small trials into evenness and an analysis of variance |
//! | [`book`] | feedings into a book, and a book into totals |
//! | [`faults`] | wires into wrong wires |
//! | [`stops`] | faults in every moment of a job into what came of them |
//! | [`fit`] | logs into what a machine is like |
//! | [`report`] | records into tables and a page |
#![forbid(unsafe_code)]

pub mod actuators;
pub mod bench;
pub mod board;
pub mod book;
pub mod cli;
pub mod compare;
pub mod faults;
pub mod files;
pub mod fit;
pub mod hand_over;
pub mod instruments;
pub mod loss;
pub mod plan;
pub mod random;
pub mod report;
pub mod rivals;
pub mod row;
pub mod score;
pub mod stops;
pub mod study;
mod table;
pub mod tune;
pub mod units;
pub mod world;
