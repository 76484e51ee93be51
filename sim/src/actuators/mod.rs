//! Raw wires into what reaches the valve.

use crate::world::spec::Command;
use strewn_controller::wires::Outputs;

/// The watchdog outside the processor takes the valve's supply away after so long, s: hardware-notes/valve.md.
const WATCHDOG_S: f64 = 0.05;

/// The watchdog outside the processor, in series with the enable.
#[derive(Clone, Copy, Debug, Default)]
pub struct Watchdog {
    hungry_s: f64,
}

impl Watchdog {
    /// One tick: what the watchdog leaves of outputs on their way to the valve.
    #[must_use]
    pub fn pass(&mut self, outputs: &Outputs, tick_s: f64) -> Outputs {
        self.hungry_s = if outputs.feed_watchdog { 0.0 } else { self.hungry_s + tick_s };
        let enable = outputs.enable && self.hungry_s < WATCHDOG_S;
        Outputs { enable, ..*outputs }
    }
}

/// The command that the outputs of a tick give: full duty at +/-32767; -32768 counts as -32767.
#[must_use]
pub fn command(outputs: &Outputs) -> Command {
    Command {
        duty: (f64::from(outputs.valve) / f64::from(i16::MAX)).max(-1.0),
        enable: outputs.enable,
    }
}
