//! How much hay lands after a stop, by the rate at which it was being laid.
//!
//! What lands after the rollers stand was in the air by then: rollers that stand tear nothing. It can
//! be no less than the rate times what is left of the time of fall. A clump that broke out of the core
//! shortly before makes a class of its own.

use crate::units::KG_PER_LB;
use std::collections::BTreeMap;

/// Width of a class of rates, lb/s, and of a bin of hay, lb.
pub const CLASS_LB_S: f64 = 5.0;
const BIN_LB: f64 = 0.2;
/// The class of stops with a clump in the air.
pub const CLUMP: u32 = 999;

/// From when on hay is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum From {
    /// From command zero on.
    Zero,
    /// From when the rollers stood.
    Still,
}

/// Stops counted by rate and hay.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hay {
    bins: BTreeMap<(From, u32, u32), u64>,
}

/// One stop.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stop {
    /// Hay torn in the second before, kg/s.
    pub rate_kg_s: f64,
    /// A clump broke out within that second.
    pub clump: bool,
    /// Hay that landed from command zero on, kg.
    pub zero_kg: f64,
    /// Hay that landed after the rollers stood, kg.
    pub still_kg: f64,
}

impl Hay {
    /// Counts a stop.
    pub fn add(&mut self, stop: &Stop) {
        let class = match stop.clump {
            true => CLUMP,
            false => (stop.rate_kg_s / KG_PER_LB / CLASS_LB_S) as u32,
        };
        for (from, kg) in [(From::Zero, stop.zero_kg), (From::Still, stop.still_kg)] {
            let bin = (kg / KG_PER_LB / BIN_LB).round() as u32;
            *self.bins.entry((from, class, bin)).or_default() += 1;
        }
    }

    /// Adds the stops of another count.
    pub fn merge(&mut self, other: &Self) {
        for (key, times) in &other.bins {
            *self.bins.entry(*key).or_default() += times;
        }
    }

    /// Classes of rates in which there was a stop.
    #[must_use]
    pub fn classes(&self) -> Vec<u32> {
        let mut classes: Vec<u32> = self.bins.keys().map(|(_, class, _)| *class).collect();
        classes.sort_unstable();
        classes.dedup();
        classes
    }

    /// Stops in a class.
    #[must_use]
    pub fn stops(&self, class: u32) -> u64 {
        self.of(From::Still, class).map(|(_, times)| times).sum()
    }

    /// The hay, lb, that at least this share (0 to 1) of the stops of a class does not exceed; 0 without
    /// any.
    #[must_use]
    pub fn quantile_lb(&self, from: From, class: u32, share: f64) -> f64 {
        let wanted = self.stops(class) as f64 * share;
        let mut seen = 0;
        let reached = self.of(from, class).find(|(_, times)| {
            seen += times;
            seen as f64 >= wanted
        });
        reached.map_or(0.0, |(bin, _)| f64::from(bin) * BIN_LB)
    }

    fn of(&self, from: From, class: u32) -> impl Iterator<Item = (u32, u64)> {
        self.bins
            .range((from, class, 0)..=(from, class, u32::MAX))
            .map(|((_, _, bin), times)| (*bin, *times))
    }

    /// As words of a line.
    #[must_use]
    pub fn write(&self) -> String {
        let word = |((from, class, bin), times): (&(From, u32, u32), &u64)| {
            format!("{}{class}/{bin}={times}", if *from == From::Zero { 'z' } else { 's' })
        };
        self.bins.iter().map(word).collect::<Vec<_>>().join(" ")
    }

    /// Out of the words of a line; `None` if they are no such words.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let mut hay = Self::default();
        for word in text.split_whitespace() {
            let (from, rest) = match word.split_at_checked(1)? {
                ("z", rest) => (From::Zero, rest),
                ("s", rest) => (From::Still, rest),
                _ => return None,
            };
            let (place, times) = rest.split_once('=')?;
            let (class, bin) = place.split_once('/')?;
            let key = (from, class.parse().ok()?, bin.parse().ok()?);
            hay.bins.insert(key, times.parse().ok()?);
        }
        Some(hay)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_the_stops_counted_and_survive_a_file() {
        let mut hay = Hay::default();
        for tenth in 1..=100 {
            let still_kg = f64::from(tenth) * 0.2 * KG_PER_LB;
            let rate_kg_s = 12.0 * KG_PER_LB;
            hay.add(&Stop { rate_kg_s, clump: false, zero_kg: 2.0 * still_kg, still_kg });
        }
        assert_eq!(hay.classes(), [2]);
        assert_eq!(hay.stops(2), 100);
        assert!((hay.quantile_lb(From::Still, 2, 0.5) - 10.0).abs() < 1e-9);
        assert!((hay.quantile_lb(From::Still, 2, 0.95) - 19.0).abs() < 1e-9);
        assert!((hay.quantile_lb(From::Zero, 2, 1.0) - 40.0).abs() < 1e-9);
        assert_eq!(Hay::read(&hay.write()), Some(hay.clone()));
        assert_eq!(Hay::read("x1/2=3"), None);
        let mut twice = hay.clone();
        twice.merge(&hay);
        assert_eq!(twice.stops(2), 200);
    }
}
