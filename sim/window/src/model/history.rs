//! Moments kept for looking back, the oldest given up first.

use super::Frame;
use std::collections::VecDeque;

/// Moments kept: an hour and a quarter at ten a second.
const MOST: usize = 45_000;

/// Moments in the order of their time.
#[derive(Clone, Debug, Default)]
pub struct History {
    frames: VecDeque<Frame>,
}

impl History {
    /// Adds the newest moment.
    pub fn push(&mut self, frame: Frame) {
        if self.frames.len() >= MOST {
            self.frames.pop_front();
        }
        self.frames.push_back(frame);
    }

    /// Moments kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.frames.len()
    }

    /// Whether none is.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.frames.is_empty()
    }

    /// The newest moment.
    #[must_use]
    pub fn last(&self) -> Option<&Frame> {
        self.frames.back()
    }

    /// Time of the oldest and the newest moment, s; zeros without any.
    #[must_use]
    pub fn span_s(&self) -> (f64, f64) {
        let time = |frame: Option<&Frame>| frame.map_or(0.0, |frame| frame.sample.time_s);
        (time(self.frames.front()), time(self.frames.back()))
    }

    /// The last moment not after a time, s; the oldest one if all are after it.
    #[must_use]
    pub fn at(&self, time_s: f64) -> Option<&Frame> {
        self.frames.get(self.after(time_s).saturating_sub(1))
    }

    /// Moments from one time to another, s, both included, and one more at either end.
    pub fn between(&self, from_s: f64, to_s: f64) -> impl Iterator<Item = &Frame> {
        let from = self.after(from_s).saturating_sub(1);
        let to = (self.after(to_s) + 1).min(self.frames.len());
        self.frames.range(from..to.max(from))
    }

    /// All moments.
    pub fn all(&self) -> impl Iterator<Item = &Frame> {
        self.frames.iter()
    }

    /// How many moments lie not after a time, s.
    fn after(&self, time_s: f64) -> usize {
        self.frames.partition_point(|frame| frame.sample.time_s <= time_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use strewn::bench::record::Sample;

    fn frame(time_s: f64) -> Frame {
        Frame { sample: Sample { time_s, ..Sample::default() }, ..Frame::default() }
    }

    #[test]
    fn memory_has_an_end_and_the_oldest_goes_first() {
        let mut history = History::default();
        for tenth in 0..MOST + 10 {
            history.push(frame(tenth as f64 * 0.1));
        }
        assert_eq!(history.len(), MOST);
        assert!((history.span_s().0 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_moment_is_found_by_its_time() {
        let mut history = History::default();
        assert_eq!(history.at(3.0), None);
        (0..10).for_each(|second| history.push(frame(f64::from(second))));
        let time = |time_s| history.at(time_s).map(|frame| frame.sample.time_s);
        assert_eq!(time(3.5), Some(3.0));
        assert_eq!(time(-1.0), Some(0.0));
        assert_eq!(time(99.0), Some(9.0));
        let times: Vec<f64> = history.between(2.5, 4.0).map(|frame| frame.sample.time_s).collect();
        assert_eq!(times, [2.0, 3.0, 4.0, 5.0]);
    }
}
