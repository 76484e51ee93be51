//! What a controller's log, or the figures of a run, say was laid.

use crate::bench::{ReplayError, walk};
use crate::score::spread;
use strewn_controller::safety::Phase;

/// Hay laid on a length of row, as a machine accounts for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laid {
    /// Hay, kg.
    pub mass_kg: f64,
    /// Length driven while laying, m.
    pub length_m: f64,
}

impl Laid {
    /// Mean rate, kg/m; nothing if no length was laid.
    #[must_use]
    pub fn rate_kg_m(&self) -> Option<f64> {
        spread::ratio(self.mass_kg, self.length_m)
    }

    /// From a log: its inputs are fed to the controller again, and what that estimates it lays is
    /// summed over the ground speed it used, while it lays.
    ///
    /// # Errors
    /// A log that is not whole or does not replay.
    pub fn from_log(log: &[u8]) -> Result<Self, ReplayError> {
        const TICK_S: f64 = 0.01;
        let mut laid = Self { mass_kg: 0.0, length_m: 0.0 };
        walk(log, &mut |moment| {
            let view = &moment.outputs.view;
            if view.phase == Phase::Laying {
                let step_m = f64::from(view.ground_speed.to_milli()) * 1e-3 * TICK_S;
                laid.length_m += step_m;
                laid.mass_kg += f64::from(view.laid.to_milli()) * 1e-3 * step_m;
            }
        })?;
        Ok(laid)
    }

    /// From the figures that `strewn feed --json` writes: those of the first contender.
    #[must_use]
    pub fn from_figures(text: &str) -> Option<Self> {
        let figures: serde_json::Value = serde_json::from_str(text).ok()?;
        let whole = figures.get("contenders")?.get(0)?.get("whole")?;
        let number = |key: &str| whole.get(key)?.as_f64();
        Some(Self { mass_kg: number("laid_kg")?, length_m: number("strip_m")? })
    }
}
