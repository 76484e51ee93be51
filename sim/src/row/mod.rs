//! What was really laid: weighed lengths of a row, and small trials of ways to feed.
//!
//! A sheet from the field ([`sheet`]) becomes the evenness of a row ([`weighed`]), beside what a
//! controller's log or figures say was laid ([`laid`]), or the analysis of a trial ([`trial`],
//! [`comparison`]).

pub mod comparison;
pub mod distribution;
pub mod laid;
pub mod sheet;
pub mod trial;
pub mod weighed;
