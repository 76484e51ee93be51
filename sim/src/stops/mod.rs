//! Does it always stop, and never start by itself? Every fault on every wire in every phase.
//!
//! | part | turns |
//! | --- | --- |
//! | `worlds` | a number into a drawn machine, its bales and its settings |
//! | `machine` | a drawn machine and the timetable of its driver into its moments |
//! | `trial` | a machine at a moment, a fault and the hands of its driver into a finding |
//! | [`judge`] | wires, hands and truth into a breach, if there is one |
//! | [`hay`] | stops into hay on the ground, by the rate at which it was laid |
//! | [`grid`] | all cells, drawn many times each, into counts that can be saved and resumed |
//! | [`recording`] | a trial of the grid into a log of what its controller was shown |
//! | [`hours`] | fault-free hours at the worst legal noise into false stops |

mod crew;
pub mod grid;
pub mod hay;
pub mod hours;
pub mod judge;
mod machine;
mod moment;
mod planted;
mod recording;
mod trial;
mod worlds;

pub use moment::Moment;
pub use recording::{Recording, RecordingError, recording};
pub use trial::Finding;
pub use worlds::DrawError;

/// Ticks of the controller a second.
const TICKS_S: f64 = 100.0;
/// One tick, s.
const TICK_S: f64 = 1.0 / TICKS_S;
