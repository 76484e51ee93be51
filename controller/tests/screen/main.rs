//! The cab screen: pictures as they were looked at, texts that always fit, states told apart without
//! colour.

mod fits;
mod golden;
mod scenes;
mod units;
