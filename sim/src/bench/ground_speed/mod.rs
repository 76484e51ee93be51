//! A recorded ground speed: from a file of a person's own tractor into motion and raw wires.

use crate::world::spec::Motion;
use strewn_controller::wires::{Frame, Sentence};

/// A drive as recorded. Times are s from the start of the recording and never fall.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recording {
    /// The ground speed, times strictly rising; never empty. Linear between the moments.
    pub moments: Vec<Moment>,
    /// The receiver's own speed sentences, by arrival; empty unless the file holds sentences.
    pub sentences: Vec<(f64, Sentence)>,
    /// The bus frames that an implement's filter lets through, by arrival; empty unless the file is
    /// a bus log.
    pub frames: Vec<(f64, Frame)>,
}

/// The tractor at one moment of a recording.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Time since the start, s.
    pub time_s: f64,
    /// Ground speed, m/s, 0 to 25.
    pub speed_m_s: f64,
    /// Engine speed in turns a second, if it was recorded.
    pub engine_turns_s: Option<f64>,
}

impl Recording {
    /// The recorded motion, with a given engine speed (turns a second) where none was recorded.
    #[must_use]
    pub fn motion(&self, engine_turns_s: f64) -> Vec<(f64, Motion)> {
        let motion = |moment: &Moment| Motion {
            speed_m_s: moment.speed_m_s,
            engine_turns_s: moment.engine_turns_s.unwrap_or(engine_turns_s),
        };
        self.moments.iter().map(|moment| (moment.time_s, motion(moment))).collect()
    }
}
