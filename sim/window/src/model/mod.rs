//! What the window shows and what it does, without a window: everything here can be tested by itself.
//!
//! [`Feeding`] is the whole of it: a job, one or two [`Lane`]s that feed it tick by tick, a [`Clock`],
//! the hands on the switches, the plugs. Panels read it and call it; it knows of no panel.

mod against;
mod clock;
mod feeding;
mod frame;
mod hands;
mod history;
mod job;
mod keep;
mod lane;
mod lookback;
mod row;

pub use against::Against;
pub use clock::{Clock, FASTEST, Goal};
pub use feeding::Feeding;
pub use frame::Frame;
pub use hands::Grip;
pub use history::History;
pub use job::{Job, WORLD, WorldKnob};
pub use keep::{Note, Tone};
pub use lane::Lane;
pub use row::{Field, Stretch};
