//! Runs on the emulated board that can be made long: which numbers, and what they cost.

use crate::budget;
use std::ops::Range;
use strewn_link::run::{Tally, WIDTH};

/// The numbers that a variable of the environment names, or the usual ones.
pub(crate) fn numbers(variable: &str, usual: Range<u32>) -> Range<u32> {
    let Ok(named) = std::env::var(variable) else { return usual };
    let bounds = named.split_once("..").and_then(|(begin, end)| {
        let numbers = begin.parse().ok()?..end.parse().ok()?;
        (!numbers.is_empty()).then_some(numbers)
    });
    bounds.unwrap_or_else(|| panic!("{variable} is {named}; wanted is such as 100..200"))
}

/// Steps of many tallies.
#[derive(Default)]
pub(crate) struct Costs {
    pub(crate) steps: u64,
    pub(crate) laying: u64,
    /// Instructions of the dearest step.
    pub(crate) worst: u32,
    classes: Vec<u64>,
}

impl Costs {
    pub(crate) fn add(&mut self, tally: &Tally) {
        self.steps += u64::from(tally.steps);
        self.laying += u64::from(tally.laying);
        self.worst = self.worst.max(tally.worst);
        self.classes.resize(tally.classes().count(), 0);
        for (all, class) in self.classes.iter_mut().zip(tally.classes()) {
            *all += u64::from(class);
        }
    }

    /// Middle of the class that the step in the middle fell into, instructions.
    fn median(&self) -> u64 {
        let below = self.classes.iter().scan(0, |below, class| {
            *below += class;
            Some(*below)
        });
        let class = below.take_while(|below| *below <= self.steps / 2).count() as u64;
        class * u64::from(WIDTH) + u64::from(WIDTH) / 2
    }

    /// Prints them, and holds the dearest step to its budget. Gives the one in the middle.
    pub(crate) fn hold(&self) -> u64 {
        let Self { steps, laying, worst, .. } = self;
        let median = self.median();
        println!("{steps} steps, {laying} laying, 0 differing bits");
        println!("instructions: the dearest step {worst}, the one in the middle {median}");
        budget::hold("worst_step_instructions", u64::from(*worst));
        median
    }
}
