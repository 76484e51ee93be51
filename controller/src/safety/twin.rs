//! A word kept twice, once as its complement, so that a flipped bit is noticed.

use serde::{Deserialize, Serialize};

/// A word and its complement.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(super) struct Twin {
    word: u32,
    complement: u32,
}

impl Twin {
    pub(super) const fn new(word: u32) -> Self {
        Self { word, complement: !word }
    }

    /// The word; `None` if the copies contradict each other.
    pub(super) const fn get(self) -> Option<u32> {
        if self.word == !self.complement { Some(self.word) } else { None }
    }
}

impl Default for Twin {
    fn default() -> Self {
        Self::new(0)
    }
}
