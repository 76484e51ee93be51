//! A walk through a log: what the controller read and knew in every tick.

use super::contest::replay_watched;
use super::{ReplayError, ReplayReport};
use strewn_controller::estimate::{Estimates, Estimator, Hay};
use strewn_controller::settings::Settings;
use strewn_controller::signals::{Readings, Signals, Turn};
use strewn_controller::wires::Outputs;

/// One tick of a log. What has its turn in one tick of several is as of the last one.
#[derive(Clone, Copy, Debug)]
pub struct Moment<'a> {
    /// The controller's settings.
    pub settings: &'a Settings,
    /// What the wires said.
    pub readings: &'a Readings,
    /// What that meant.
    pub estimates: &'a Estimates,
    /// What was commanded for the time until the next tick.
    pub outputs: &'a Outputs,
}

impl Moment<'_> {
    /// What is known of the hay, in the ticks in which that has its turn.
    #[must_use]
    pub fn hay(&self) -> Option<&Hay> {
        (self.readings.turn == Turn::Hay).then_some(&self.estimates.hay)
    }
}

/// Replays a log and shows every tick to `watch`. Readings and estimates are made a second time by
/// the controller's own floors, which do not depend on what the floors above them make of them.
///
/// # Errors
/// As [`super::replay`]; `watch` has then seen the ticks before.
pub fn walk(log: &[u8], watch: &mut dyn FnMut(&Moment<'_>)) -> Result<ReplayReport, ReplayError> {
    let mut signals = Signals::default();
    let mut estimator = None;
    replay_watched(log, &mut |settings, inputs, outputs| {
        let readings = signals.update(&settings.signals, inputs);
        let estimator = estimator.get_or_insert_with(|| Estimator::new(&settings.estimate));
        estimator.update(&settings.estimate, readings);
        watch(&Moment { settings, readings, estimates: estimator.estimates(), outputs });
    })
}
