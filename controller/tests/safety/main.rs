//! Safe stop: conditions, gate, supervisor, stories, and sequences of any ticks.

mod arming;
mod bench;
mod clock;
mod conditions;
mod core_watch;
mod edges;
mod gate;
mod lies;
mod machine;
mod mark;
mod published;
mod sequence;
mod sequences;
mod states;
mod stories;
mod supervisor;
mod valve_path;
mod watch;
