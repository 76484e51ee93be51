//! The firmware core of strewn.
//!
//! It knows nothing but wires: counts, edge times, frames and switch bits go in, a valve command and
//! lamps come out. [`step::step`] is one tick. The same code runs on a laptop against modelled bales
//! and on a microcontroller in the cab, and gives the same bits on both.
//!
//! Rooms, from the ground up; each uses only the floors below it:
//!
//! | floor | room | turns |
//! | --- | --- | --- |
//! | 0 | [`units`] | integers into quantities that can only be combined by name |
//! | 1 | [`signals`] | raw wires into readings with age and quality |
//! | 2 | [`estimate`] | readings into roller speed, ground speed, bite and pounds left |
//! | 3 | [`metering`] | estimates and a target into a proposed roller speed and valve duty |
//! | 4 | [`safety`] | everything into permission; its gate is the only writer of the valve |
//! | top | [`step`] | inputs into outputs |
//!
//! Beside them stand [`wires`] (the boundary), [`settings`], [`record`], [`learned`] (what outlasts
//! power-off) and [`view`] (what the
//! operator is told; the feature `screen` draws it). The feature `drivers` holds what hangs on the
//! wires.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::indexing_slicing,
        clippy::float_arithmetic,
        clippy::as_conversions,
        clippy::arithmetic_side_effects,
        clippy::integer_division_remainder_used
    )
)]

#[cfg(test)]
extern crate std;

#[cfg(feature = "drivers")]
pub mod drivers;
pub mod estimate;
pub mod learned;
pub mod metering;
pub mod record;
pub mod safety;
#[cfg(feature = "screen")]
pub mod screen;
pub mod settings;
pub mod signals;
pub mod step;
pub mod units;
pub mod view;
pub mod wires;
