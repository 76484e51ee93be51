//! Safe stop: conditions, gate, supervisor, stories, and sequences of any ticks.

mod conditions;
mod core_watch;
mod gate;
mod machine;
mod published;
mod sequence;
mod sequences;
mod states;
mod stories;
mod valve_path;
