//! A recorded ground speed: from a file of a person's own tractor into motion and raw wires.

mod candump;
mod csv;
mod error;
mod nmea;

use crate::world::spec::Motion;
pub use error::{Problem, RecordingError};
use std::ops::RangeInclusive;
use strewn_controller::units::Speed;
use strewn_controller::wires::{Frame, Sentence};

/// Ground speed that a recording may hold, m/s.
const SPEED_M_S: RangeInclusive<f64> = 0.0..=25.0;
/// Longest recording, s: four hours.
const LONGEST_S: f64 = 14_400.0;

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
    /// Reads a recording, whose form is recognised by what it holds:
    ///
    /// - NMEA 0183: RMC and VTG of any talker, other sentences skipped. Every line needs a sound
    ///   checksum. A VTG arrives with the RMC before it; a file without times has a sentence a second.
    /// - CSV with a line of column names: `t_s` and `gnss_speed_m_s`, `speed_m_s` or
    ///   `wheel_speed_m_s` (the first of these counts); `engine_rpm` if there is one; other columns are
    ///   skipped. A blank cell is a value that was not measured.
    /// - A CAN log as `candump -l` writes it. The best source present gives the motion: ground-based,
    ///   else machine-selected, else wheel-based speed. Reverse counts as its size.
    ///
    /// Speeds that the source itself calls void or not available are left out of the motion, which
    /// runs straight across.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line.
    pub fn parse(bytes: &[u8]) -> Result<Self, RecordingError> {
        // A stray byte becomes a character that no form allows, and is reported with its line.
        let text = String::from_utf8_lossy(bytes);
        let text = text.trim_start_matches('\u{feff}');
        let lines = || Lines { rest: text.lines().enumerate() };
        let Some((number, first)) = lines().next() else {
            return Err(RecordingError::whole(Problem::Empty));
        };
        let recording = match first.as_bytes() {
            [b'$', ..] => nmea::read(lines())?,
            [b'(', ..] => candump::read(lines())?,
            _ if first.split(',').any(|name| name.trim() == csv::TIME) => csv::read(lines())?,
            _ if candump::is_without_time(first) => {
                return Err(RecordingError::at(number, Problem::NoTimes));
            }
            _ => return Err(RecordingError::at(number, Problem::UnknownForm)),
        };
        match recording.moments.len() {
            0 | 1 => Err(RecordingError::whole(Problem::NoSpeeds)),
            _ => Ok(recording),
        }
    }

    /// Adds a moment, unless there is one at that time already.
    fn add(&mut self, line: usize, moment: Moment) -> Result<(), RecordingError> {
        if !SPEED_M_S.contains(&moment.speed_m_s) {
            let given = format!("{}", moment.speed_m_s);
            let allowed = format!("{} to {} m/s", SPEED_M_S.start(), SPEED_M_S.end());
            return Err(RecordingError::at(
                line,
                Problem::NotAllowed { what: "speed", given, allowed },
            ));
        }
        if moment.time_s > LONGEST_S {
            return Err(RecordingError::at(line, Problem::TooLong));
        }
        if self.moments.last().is_none_or(|last| last.time_s < moment.time_s) {
            self.moments.push(moment);
        }
        Ok(())
    }
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

/// The lines that hold anything, trimmed, numbered from 1.
struct Lines<'a> {
    rest: std::iter::Enumerate<std::str::Lines<'a>>,
}

impl<'a> Iterator for Lines<'a> {
    type Item = (usize, &'a str);

    fn next(&mut self) -> Option<Self::Item> {
        let mut filled = self.rest.by_ref().map(|(index, line)| (index + 1, line.trim()));
        filled.find(|(_, line)| !line.is_empty())
    }
}

/// A speed of the controller's as a plain number, m/s.
fn in_m_s(speed: Speed) -> f64 {
    f64::from(speed.to_bits()) / f64::from(Speed::ONE.to_bits())
}
