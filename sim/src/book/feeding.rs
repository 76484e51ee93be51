//! What stands in the book: feedings, looks on the day after, counts of the stock.
//!
//! Pounds stay pounds here. A book keeps what a person wrote, and what was written as 1,100 must not
//! come back as 1,099.9999.

use super::BookError;
use super::day::{Clock, Day};
use serde_json::{Value, json};

/// Hay of one lot fed to one herd at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Feeding {
    /// The day.
    pub day: Day,
    /// Who was fed.
    pub herd: String,
    /// How many animals, where it is known.
    pub head: Option<u32>,
    /// The lot of bales that the hay came from.
    pub lot: String,
    /// Where it was laid.
    pub place: String,
    /// Bales and parts of bales.
    pub bales: f64,
    /// Hay as fed, lb.
    pub fed_lb: f64,
    /// When the tractor came to the place.
    pub entered: Option<Clock>,
    /// When it left.
    pub left: Option<Clock>,
    /// Whatever else is worth knowing.
    pub note: String,
}

impl Feeding {
    /// Whether the parts agree with each other.
    ///
    /// # Errors
    /// The place was left before it was entered.
    pub fn checked(&self) -> Result<(), BookError> {
        match (self.entered, self.left) {
            (Some(entered), Some(left)) if left < entered => {
                Err(BookError::LeftBeforeEntered { entered, left })
            }
            (None, Some(_)) => Err(BookError::LeftButNeverEntered),
            _ => Ok(()),
        }
    }

    /// Minutes at the place, where both times are known.
    #[must_use]
    pub fn minutes(&self) -> Option<f64> {
        let (entered, left) = (self.entered?, self.left?);
        Some(f64::from(left.minutes()) - f64::from(entered.minutes()))
    }

    /// Hay, bales, herd and place in a few words.
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "{}: {} lb of \"{}\" to \"{}\" at \"{}\"",
            self.day, self.fed_lb, self.lot, self.herd, self.place
        )
    }
}

/// What was found where hay was fed.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// The day of the look, usually the one after.
    pub day: Day,
    /// Hay that was refused: clean and left, lb.
    pub refusal_lb: f64,
    /// Residue: hay trodden in or fouled, lb.
    pub residue_lb: f64,
    /// Whatever else was seen.
    pub note: String,
}

/// A feeding as the book has it now.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its number; never used for another.
    pub number: u32,
    /// How often it was written: 1 as first entered.
    pub version: u32,
    /// What was fed.
    pub feeding: Feeding,
    /// The last look at it.
    pub look: Option<Look>,
}

impl Entry {
    /// Share of the hay that was refused or lost; `None` without a look.
    #[must_use]
    pub fn wasted(&self) -> Option<f64> {
        let look = self.look.as_ref()?;
        Some((look.refusal_lb + look.residue_lb) / self.feeding.fed_lb)
    }

    /// The entry as JSON; what is not known is null.
    #[must_use]
    pub fn json(&self) -> Value {
        let Self { number, version, feeding, look } = self;
        let mut value = feeding_json(feeding);
        value["number"] = json!(number);
        value["version"] = json!(version);
        value["look"] = look.as_ref().map_or(Value::Null, |look| {
            json!({
                "day": look.day.to_string(), "refusal_lb": look.refusal_lb,
                "residue_lb": look.residue_lb, "note": look.note,
            })
        });
        value
    }
}

fn feeding_json(feeding: &Feeding) -> Value {
    json!({
        "day": feeding.day.to_string(), "herd": feeding.herd, "head": feeding.head,
        "lot": feeding.lot, "place": feeding.place, "bales": feeding.bales,
        "fed_lb": feeding.fed_lb,
        "entered": feeding.entered.map(|time| time.to_string()),
        "left": feeding.left.map(|time| time.to_string()),
        "note": feeding.note,
    })
}

/// One state that an entry has had.
#[derive(Clone, Debug, PartialEq)]
pub struct Version {
    /// Number of the entry.
    pub number: u32,
    /// 1 as first entered.
    pub version: u32,
    /// When it was written, in universal time.
    pub written: String,
    /// Why it was corrected; empty for the first version.
    pub reason: String,
    /// Whether the entry was struck out by it.
    pub struck: bool,
    /// What it says.
    pub feeding: Feeding,
}

impl Version {
    /// The version as JSON.
    #[must_use]
    pub fn json(&self) -> Value {
        let mut value = feeding_json(&self.feeding);
        value["number"] = json!(self.number);
        value["version"] = json!(self.version);
        value["written"] = json!(self.written);
        value["reason"] = json!(self.reason);
        value["struck"] = json!(self.struck);
        value
    }
}

/// Hay of a lot as counted on a morning, before that day's feeding.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// The day of the count.
    pub day: Day,
    /// The lot.
    pub lot: String,
    /// Bales.
    pub bales: f64,
    /// Their weight as fed, lb.
    pub weight_lb: f64,
}
