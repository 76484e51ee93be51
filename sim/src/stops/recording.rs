//! A trial of the grid as a log: whoever makes the same ticks again is shown the same wires.

use super::DrawError;
use super::grid::{MACHINES, Row};
use super::machine::Machine;
use super::moment::Moment;
use super::worlds::Drawn;
use crate::bench::settings::config;
use crate::bench::{ContestError, log_of};
use crate::faults::{Kind, Wire};
use crate::random::Stream;

/// What was tried, and the log from the machine's first tick to the trial's end.
pub struct Recording {
    /// The row of the grid.
    pub row: Row,
    /// The log.
    pub log: Vec<u8>,
}

/// Why there is no recording.
#[derive(Debug, thiserror::Error)]
pub enum RecordingError {
    /// The machine cannot be drawn.
    #[error(transparent)]
    Draw(#[from] DrawError),
    /// The log cannot be written.
    #[error(transparent)]
    Log(#[from] ContestError),
}

/// Trial `number` under a seed: a row of the grid of single faults, the moments turning fastest, then the
/// kinds, then the wires.
///
/// # Errors
/// A machine that cannot be drawn, which the built-in ranges do not have.
pub fn recording(seed: u64, number: u64) -> Result<Recording, RecordingError> {
    let mut rest = number;
    let moment = place(&Moment::ALL, &mut rest);
    let kind = place(Kind::ALL, &mut rest);
    let wire = place(Wire::ALL, &mut rest);
    let drawn = Drawn::new(seed, number % MACHINES)?;
    let random = Stream::root(seed).named("recording").numbered(number);
    let shown = Machine::new(&drawn).shown(moment, &[(wire, kind)], random);
    let log = log_of(&drawn.scenario, seed, &config(&drawn.scenario, None), &shown)?;
    Ok(Recording { row: Row::Single(wire, kind, moment), log })
}

/// One of all, by a number of which the rest is for the next.
fn place<T: Copy>(all: &[T], number: &mut u64) -> T {
    let count = all.len() as u64;
    let found = all[(*number % count) as usize];
    *number /= count;
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::replay;

    #[test]
    fn a_recording_replays_and_numbers_tell_rows_apart() {
        let (first, next) = (recording(3, 0).unwrap(), recording(3, 9).unwrap());
        assert_eq!(first.log, recording(3, 0).unwrap().log);
        assert_ne!(first.row, next.row);
        for Recording { row, log } in [first, next] {
            // The second act may follow from 4.55 s on, and at least seven seconds are seen through.
            assert!(replay(&log).unwrap().ticks > 1_100, "{}", row.name());
        }
    }
}
