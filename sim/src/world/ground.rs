//! Hay on the ground along the path.

use crate::bench::record::Run;

/// Assumed: how a parcel that lands in one bin lies over its neighbours; 0.3 m from end to end.
const SPREAD_SHARES: [f64; 9] = [0.04, 0.08, 0.12, 0.16, 0.2, 0.16, 0.12, 0.08, 0.04];
/// Bins added when the map becomes too short: 125 m.
const CHUNK: usize = 4096;

/// The row: kg in each bin of [`Run::BIN_M`] from odometer 0.
#[derive(Clone, Debug, Default)]
pub struct Ground {
    bins: Vec<f64>,
}

impl Ground {
    /// Lays hay, kg, about a point of the path, m. What would lie before the start of the path lies
    /// in its first bin.
    pub fn lay(&mut self, odometer_m: f64, kg: f64) {
        let centre = (odometer_m * (1.0 / Run::BIN_M)) as usize;
        let reach = SPREAD_SHARES.len() / 2;
        if centre + reach >= self.bins.len() {
            self.bins.resize(centre + reach + CHUNK, 0.0);
        }
        for (place, share) in SPREAD_SHARES.iter().enumerate() {
            self.bins[(centre + place).saturating_sub(reach)] += kg * share;
        }
    }

    /// The bins, kg each; those beyond the last hay are zero or not there yet.
    #[must_use]
    pub fn kg(&self) -> &[f64] {
        &self.bins
    }
}
