//! Before feeding: from herd, hay, bales, place and tractor to pounds a foot, a speed, and what the
//! tractor must carry and drive.
//!
//! A [`Farm`] is what a person knows, read from a file or asked for ([`ask`]). [`make`] walks once:
//! [`ration`] (dry matter, space) -> bales and strip -> [`fit`] (speed, oil) -> [`hitch`] (axles) ->
//! [`ground`] (where, and what it leaves there) -> [`caution`]. [`Plan::scenario`] writes what
//! `strewn feed` takes.

pub mod ask;
pub mod caution;
mod farm;
pub mod fit;
pub mod ground;
pub mod hitch;
mod made;
pub mod ration;
mod read;
mod scenario;

pub use farm::{Farm, Herd, Kind, Lot, Place};
pub use made::{Plan, PlanError, make};
