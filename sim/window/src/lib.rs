//! The desktop window of strewn: a feeding, live and faster than life, to be watched and meddled with.
//!
//! [`model`] is everything but the window and knows of no panel; [`panels`] draws it and hands every
//! act of a person back to it.
#![forbid(unsafe_code)]

pub mod model;
pub mod panels;
