//! What is said about a setting that cannot be used.

use core::fmt;
use core::ops::RangeInclusive;

/// A setting outside what is allowed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SettingError {
    /// The field, as written in the configuration.
    pub field: &'static str,
    /// Lowest and highest allowed value, in the field's unit.
    pub allowed: (i32, i32),
    /// The value found.
    pub given: i32,
}

impl fmt::Display for SettingError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { field, allowed: (low, high), given } = self;
        write!(out, "{field} is {given}, but must be from {low} to {high}")
    }
}

impl core::error::Error for SettingError {}

/// The value given, if it is allowed.
///
/// # Errors
/// [`SettingError`] naming the field, if the value lies outside.
pub fn check(
    field: &'static str,
    given: i32,
    allowed: RangeInclusive<i32>,
) -> Result<i32, SettingError> {
    if allowed.contains(&given) {
        return Ok(given);
    }
    Err(SettingError { field, allowed: (*allowed.start(), *allowed.end()), given })
}
