//! Values counted in narrow classes, so that quantiles of any number of them take the same space.
//!
//! A class is a 1,024th of a doubling wide and stands for its middle: a quantile is off by a 2,000th of
//! itself at most, far less than chance makes it.

use super::statistics::{quantile_at, quantile_interval_at};

/// Bits of a number of 4 bytes that a class does not tell apart.
const SHIFT: u32 = 13;
/// Values below count as zero, at and above as infinite.
const LEAST: f32 = 1.0 / 1_024.0;
const MOST: f32 = 16_384.0;
/// The class of the least value, without an offset.
const FIRST: usize = (LEAST.to_bits() >> SHIFT) as usize;
/// Zero, the classes between, infinity.
const CLASSES: usize = (MOST.to_bits() >> SHIFT) as usize - FIRST + 2;

/// How many values there were in each class. Takes 100 kB from the first value on.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    classes: Vec<u32>,
}

/// A tally from which quantiles are read.
#[derive(Clone, Debug)]
pub struct Ranks {
    /// Values in a class and all below it.
    up_to: Vec<u32>,
}

impl Tally {
    /// Takes a value, zero or above. What is no number counts as infinite.
    pub fn add(&mut self, value: f32) {
        self.classes.resize(CLASSES, 0);
        let class = if value < LEAST {
            0
        } else if value < MOST {
            (value.to_bits() >> SHIFT) as usize - FIRST + 1
        } else {
            CLASSES - 1
        };
        self.classes[class] += 1;
    }

    /// Takes all values of another one.
    pub fn merge(&mut self, other: &Self) {
        self.classes.resize(CLASSES, 0);
        self.classes.iter_mut().zip(&other.classes).for_each(|(own, more)| *own += more);
    }

    /// To read quantiles from.
    #[must_use]
    pub fn ranks(mut self) -> Ranks {
        let mut below = 0;
        for class in &mut self.classes {
            below += *class;
            *class = below;
        }
        Ranks { up_to: self.classes }
    }
}

impl Ranks {
    fn count(&self) -> usize {
        self.up_to.last().map_or(0, |all| *all as usize)
    }

    /// The value at a place in rising order, counted from 0.
    fn at(&self, place: usize) -> f64 {
        let class = self.up_to.partition_point(|up_to| *up_to as usize <= place);
        match class {
            0 => 0.0,
            class if class >= CLASSES - 1 => f64::INFINITY,
            class => {
                let low = ((class - 1 + FIRST) as u32) << SHIFT;
                f64::from(f32::from_bits(low | 1 << (SHIFT - 1)))
            }
        }
    }

    /// As [`super::statistics::quantile`].
    #[must_use]
    pub fn quantile(&self, share: f64) -> Option<f64> {
        quantile_at(self.count(), share, |place| self.at(place))
    }

    /// As [`super::statistics::quantile_interval`].
    #[must_use]
    pub fn quantile_interval(&self, share: f64, confidence: f64) -> Option<(f64, f64)> {
        quantile_interval_at(self.count(), share, confidence, |place| self.at(place))
    }
}
