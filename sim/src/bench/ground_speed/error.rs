//! What can be wrong with a recording.

use std::fmt::{Display, Formatter};

/// What is wrong with a recording, and where. Whoever reads the file names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordingError {
    /// The line, counted from 1, unless the whole file is meant.
    pub line: Option<usize>,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong with a recording.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Problem {
    /// Nothing in it.
    #[error("the file is empty; a recorded drive is wanted")]
    Empty,
    /// None of the three forms.
    #[error(
        "this is no recorded drive; allowed are NMEA 0183 sentences, a CSV table with the columns \
         `t_s` and `speed_m_s`, and a log of `candump -l`"
    )]
    UnknownForm,
    /// A CAN log for the eye.
    #[error(
        "this CAN log has no times, so that no speed can be told from it; record with `candump -l`"
    )]
    NoTimes,
    /// A line that is no sentence.
    #[error(
        "this is not an NMEA 0183 sentence; allowed is `$`, text, `*` and two hexadecimal digits"
    )]
    NotNmea,
    /// A sentence that was garbled.
    #[error("the checksum is *{given}, but the sentence sums to *{computed}")]
    Checksum {
        /// As written.
        given: String,
        /// As it should be.
        computed: String,
    },
    /// A line that is no frame.
    #[error("this is not a line of `candump -l`; allowed is `(seconds) bus identifier#data`")]
    NotCandump,
    /// A table without a speed.
    #[error("the table has no column `{0}`")]
    NoColumn(&'static str),
    /// A row that does not fit the names.
    #[error("the row has {found} cells; the first line names {named}")]
    Cells {
        /// Cells in the row.
        found: usize,
        /// Columns named.
        named: usize,
    },
    /// Text where a number belongs.
    #[error("{what} is \"{given}\"; allowed is {allowed}")]
    NotANumber {
        /// The column or field.
        what: String,
        /// What stands there, in short.
        given: String,
        /// What may stand there.
        allowed: &'static str,
    },
    /// A number outside of its range.
    #[error("the {what} is {given}; allowed is {allowed}")]
    NotAllowed {
        /// The quantity.
        what: &'static str,
        /// The number.
        given: String,
        /// The range.
        allowed: String,
    },
    /// Time that does not advance.
    #[error("time runs backwards, from {from} s to {to} s; it must rise from line to line")]
    Backwards {
        /// The time before.
        from: String,
        /// The time in this line.
        to: String,
    },
    /// A recording of more than four hours.
    #[error("the recording is longer than allowed, which is 4 hours; cut it")]
    TooLong,
    /// Fewer than two speeds.
    #[error("the file holds no drive; at least two valid speeds are wanted")]
    NoSpeeds,
}

impl RecordingError {
    pub(super) fn at(line: usize, problem: Problem) -> Self {
        Self { line: Some(line), problem }
    }

    pub(super) fn whole(problem: Problem) -> Self {
        Self { line: None, problem }
    }

    /// Text where a number belongs.
    pub(super) fn text(line: usize, what: String, given: &str, allowed: &'static str) -> Self {
        let given = given.chars().take(40).collect();
        Self::at(line, Problem::NotANumber { what, given, allowed })
    }

    /// Time that does not advance.
    pub(super) fn backwards(line: usize, from_s: f64, to_s: f64) -> Self {
        let (from, to) = (from_s.to_string(), to_s.to_string());
        Self::at(line, Problem::Backwards { from, to })
    }
}

impl Display for RecordingError {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
        match self.line {
            Some(line) => write!(formatter, "line {line}: {}", self.problem),
            None => self.problem.fmt(formatter),
        }
    }
}

impl std::error::Error for RecordingError {}
