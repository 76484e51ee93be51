//! Before feeding: from herd, hay, bales, place and tractor to pounds a foot, a speed, and what the
//! tractor must carry and drive.
//!
//! A [`Farm`] is what a person knows, read from a file or asked for ([`ask`]). [`make`] walks once:
//! [`ration`] (dry matter, space) -> bales and strip -> [`fit`] (speed, oil) -> [`hitch`] and [`mod@category`]
//! (axles, pins) -> [`ground`] (where, and what it leaves there) -> a [`Winter`]'s hay -> [`caution`].
//! [`Plan::scenario`] writes what `strewn feed` takes.

pub mod ask;
pub mod category;
pub mod caution;
mod farm;
pub mod fit;
pub mod ground;
pub mod hitch;
mod made;
pub mod ration;
mod read;
mod scenario;
mod stack;

pub use farm::{Farm, Herd, Kind, Lot, Place};
pub use made::{Plan, PlanError, make};
pub use stack::{Storage, Winter};
