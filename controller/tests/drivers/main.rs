//! Drivers on scripted buses, which fail on missing and on extra traffic, and frames, sentences and
//! checksums against what others have published.

mod address;
mod bridge;
mod bus;
mod converter;
mod display;
mod flash;
mod outputs;
mod serial;
mod store;
mod switches;
mod valve;
