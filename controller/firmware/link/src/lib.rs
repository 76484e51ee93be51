//! Between a board and the laptop: the very same controller runs on both, and this crate is what lets
//! them find out whether it does the same.
//!
//! * [`message`]: orders to the board and its answers, framed for a serial line ([`frame`]);
//! * [`keep`]: settings handed over to a board that keeps them, the board's side;
//! * [`fuzz`]: made-up wires, the same on both sides for the same seed;
//! * [`run`]: many steps, their digest and what they cost.
//!
//! As the controller itself: no heap, no float, nothing that panics.
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

pub mod frame;
pub mod fuzz;
pub mod keep;
pub mod message;
pub mod random;
pub mod run;
