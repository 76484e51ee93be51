//! Ways of feeding side by side: hay lost, time, ground, nutrients, yearly cost and how sure that is.
//!
//! [`input`] says what an input is, [`defaults`] what each usually is and who says so, a [`Question`] lets a
//! file change any of them. [`cost`] turns one set of numbers into an outcome with the formulas of
//! [`machinery`]; [`uncertainty`] does so over the bounds of all inputs; [`practice`] holds the result
//! against what people in the trade say; an [`Answer`] is all of that.

mod answer;
pub mod cost;
pub mod defaults;
pub mod input;
pub mod machinery;
pub mod practice;
mod read;
pub mod uncertainty;

pub use answer::Answer;
pub use read::Question;
pub(crate) use read::written;
