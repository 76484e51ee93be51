//! What may stand in each field of the book: one reader a kind, for the command line and for tables.

use std::fmt::{Display, Formatter};

/// What would have been allowed. Whoever reads the field names it and what was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allowed(String);

impl Allowed {
    pub(super) fn new(words: impl Into<String>) -> Self {
        Self(words.into())
    }
}

impl Display for Allowed {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "allowed is {}", self.0)
    }
}

impl std::error::Error for Allowed {}

/// A name of a herd, a lot or a place.
///
/// # Errors
/// No name, one of more than 60 characters, one with signs that do not print.
pub fn name(text: &str) -> Result<String, Allowed> {
    let good = (1..=60).contains(&text.chars().count()) && text.trim() == text && prints(text);
    if good { Ok(text.to_owned()) } else { Err(Allowed::new("a name of 1 to 60 characters")) }
}

/// A note; may be empty.
///
/// # Errors
/// More than 200 characters, and signs that do not print.
pub fn note(text: &str) -> Result<String, Allowed> {
    let good = text.chars().count() <= 200 && prints(text);
    if good { Ok(text.to_owned()) } else { Err(Allowed::new("a line of up to 200 characters")) }
}

/// Why something is corrected.
///
/// # Errors
/// As of a note, and an empty one.
pub fn reason(text: &str) -> Result<String, Allowed> {
    note(text)
        .ok()
        .filter(|text| !text.trim().is_empty())
        .ok_or_else(|| Allowed::new("a reason of 1 to 200 characters"))
}

/// Animals fed.
///
/// # Errors
/// Anything but a whole number from 1 to 100,000.
pub fn head(text: &str) -> Result<u32, Allowed> {
    let head = text.parse().ok().filter(|head| (1..=100_000).contains(head));
    head.ok_or_else(|| Allowed::new("a whole number from 1 to 100000"))
}

/// Bales and parts of bales.
///
/// # Errors
/// Anything but a number from 0 to 1,000.
pub fn bales(text: &str) -> Result<f64, Allowed> {
    number(text, 0.0, 1_000.0)
}

/// Bales in stock.
///
/// # Errors
/// Anything but a number from 0 to 100,000.
pub fn stock_bales(text: &str) -> Result<f64, Allowed> {
    number(text, 0.0, 100_000.0)
}

/// Hay fed in one load, lb.
///
/// # Errors
/// Anything but a number from 1 to 100,000.
pub fn fed_lb(text: &str) -> Result<f64, Allowed> {
    number(text, 1.0, 100_000.0)
}

/// Hay found the day after, lb.
///
/// # Errors
/// Anything but a number from 0 to 100,000.
pub fn found_lb(text: &str) -> Result<f64, Allowed> {
    number(text, 0.0, 100_000.0)
}

/// Hay in stock, lb.
///
/// # Errors
/// Anything but a number from 0 to 100,000,000.
pub fn stock_lb(text: &str) -> Result<f64, Allowed> {
    number(text, 0.0, 100_000_000.0)
}

fn number(text: &str, low: f64, high: f64) -> Result<f64, Allowed> {
    let number = text.parse().ok().filter(|number| (low..=high).contains(number));
    // A zero has no sign in a book.
    number
        .map(|number: f64| number + 0.0)
        .ok_or_else(|| Allowed::new(format!("a number from {low} to {high}")))
}

fn prints(text: &str) -> bool {
    !text.chars().any(char::is_control)
}
