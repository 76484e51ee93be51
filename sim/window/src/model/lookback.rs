//! A log, fed to the controller once more and kept as moments.

use super::{Frame, History, Lane};
use std::path::Path;
use strewn::bench::{ReplayError, walk};

/// A moment is kept every so many ticks.
const KEEP_TICKS: usize = 10;
/// Length of a tick, s. A log holds the controller's clock, but a broken clock must not bend time here.
const TICK_S: f64 = 0.01;

/// Replays a log and keeps what the controller knew.
///
/// # Errors
/// A log that is not whole, or whose outputs come out otherwise.
pub(super) fn lane(path: &Path, log: &[u8]) -> Result<Lane, ReplayError> {
    let mut history = History::default();
    let (mut tick, mut last) = (0, Frame::default());
    let report = walk(log, &mut |moment| {
        tick += 1;
        if tick % KEEP_TICKS == 0 {
            last = Frame::recalled(moment, &last, tick as f64 * TICK_S);
            history.push(last);
        }
    })?;
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into());
    Ok(Lane::of_log(format!("log {name}"), report, history))
}
